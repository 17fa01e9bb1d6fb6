"""The nucleolus: excesses as small as can be, the greatest first, then the next.

Schmeidler (1969), by a sequence of linear programmes (Kopelowitz 1967, in the form of
Fromen 1997): each finds the least greatest excess, settles the groups with a price in its
dual, whose excess is the same in every answer, and drops all groups whose excess follows
from those. A group with a price never depends on the ones settled before, so that there
are no more programmes than players. It lies in the core wherever that is not empty.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logistics.domain.sharing.games import CostGame
from logistics.domain.sharing.stability import Fixed, LeastCore, can_cap

DEPENDENT = 1e-7


def nucleolus(game: CostGame) -> tuple[float, ...]:
    """Shares in minor units, not rounded, over the known groups.

    No share is above the player's own cost if such shares exist; where the singles cost
    less than the total together, it is the prenucleolus. Groups that are not known do not
    count: with few known it is as fair as they can tell.
    """
    count = len(game.players)
    if count == 1:
        return (float(game.total),)
    programme = LeastCore(game, capped=can_cap(game))
    fixed, basis = Fixed(), _orthonormal(np.ones((1, count)))
    open_rows = _independent(game.table, basis)
    shares: tuple[float, ...] = ()
    while open_rows.any():
        found = programme.solve(fixed, open_rows)
        shares = found.shares
        fixed = Fixed(
            fixed.rows + found.binding,
            fixed.excess + (found.excess,) * len(found.binding),
        )
        fixed, basis = _reduced(game, fixed)
        open_rows = _independent(game.table, basis)
    return shares


def _reduced(game: CostGame, fixed: Fixed) -> tuple[Fixed, NDArray[np.float64]]:
    """The settled groups without those that follow from others, and their span: rows that
    say the same twice would clash in the last digits."""
    basis = _orthonormal(np.ones((1, len(game.players))))
    rows, excess = [], []
    for row, amount in zip(fixed.rows, fixed.excess, strict=True):
        if _independent(game.table[[row]], basis).any():
            basis = _orthonormal(np.vstack([basis, game.table[[row]]]))
            rows.append(row)
            excess.append(amount)
    return Fixed(tuple(rows), tuple(excess)), basis


def _orthonormal(rows: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.linalg.qr(rows.T)[0].T, dtype=np.float64)


def _independent(
    rows: NDArray[np.float64], basis: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Which rows do not lie in the span of the basis."""
    rest = rows - (rows @ basis.T) @ basis
    return np.asarray(np.abs(rest).max(axis=1) > DEPENDENT, dtype=np.bool_)
