"""Shares in whole minor units that add up exactly and stay in the core if they can."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from logistics.domain.sharing.games import CostGame
from logistics.domain.sharing.stability import can_cap, in_core


def largest_remainder(total: int, shares: Sequence[float]) -> tuple[int, ...]:
    """Each share rounded down, the rest in single units to the largest fractions."""
    down = [math.floor(share) for share in shares]
    by_fraction = sorted(
        range(len(shares)), key=lambda own: (down[own] - shares[own], own)
    )
    for index in range(total - sum(down)):
        down[by_fraction[index % len(down)]] += 1
    # Shares that add up to a little more than the total, by the last digits of a float.
    for index in range(sum(down) - total):
        down[by_fraction[-1 - index % len(down)]] -= 1
    return tuple(down)


def whole_shares(game: CostGame, shares: Sequence[float]) -> tuple[int, ...]:
    """Whole shares near these, which add up to the total.

    Plain rounding if that lies in the core. Otherwise, among whole shares within as many
    units of these as there are players: the least greatest excess above nothing, so 0 if
    any of them lies in the core, then the least change in all. Nobody pays more than alone
    if the shares allow it.
    """
    plain = largest_remainder(game.total, shares)
    if len(shares) == 1 or in_core(game, plain):
        return plain
    rows = game.table
    order = np.argsort(-(rows @ np.array(shares) - game.limits), kind="stable")
    asked = [int(row) for row in order[: 4 * len(shares)]]
    while True:
        found, excess = _nearest(game, shares, asked)
        over = rows @ np.array(found, dtype=np.float64) - game.limits - excess
        over[asked] = -np.inf
        if over.max(initial=-np.inf) < 0.5:
            return found
        asked.append(int(np.argmax(over)))


def _nearest(
    game: CostGame, shares: Sequence[float], asked: Sequence[int]
) -> tuple[tuple[int, ...], int]:
    """Whole shares and their greatest excess over the groups asked for.

    Unknowns: the shares, how far each is moved, the excess.
    """
    count = len(shares)
    target = np.array(shares)
    low, high = np.floor(target) - count, np.ceil(target) + count
    if can_cap(game):
        high = np.maximum(np.minimum(high, game.alone), low)
    one, none = np.eye(count), np.zeros((count, 1))
    rows, limits = game.table[list(asked)], game.limits[list(asked)]
    weights = np.concatenate([np.zeros(count), np.ones(count), [4.0 * count**2]])
    result = milp(
        weights,
        integrality=np.concatenate([np.ones(count), np.zeros(count), [1]]),
        bounds=Bounds(
            np.concatenate([low, np.zeros(count + 1)]),
            np.concatenate([high, np.full(count + 1, np.inf)]),
        ),
        constraints=[
            LinearConstraint(
                np.concatenate([np.ones(count), np.zeros(count + 1)])[None],
                game.total,
                game.total,
            ),
            LinearConstraint(np.hstack([one, -one, none]), -np.inf, target),
            LinearConstraint(np.hstack([one, one, none]), target, np.inf),
            LinearConstraint(_beside(rows, count), -np.inf, limits),
        ],
        options={"mip_rel_gap": 0.0},
    )
    if result.x is None:  # pragma: no cover - plain rounding is among the answers
        raise ArithmeticError(f"rounding: {result.message}")
    found = tuple(round(float(own)) for own in result.x[:count])
    return found, round(float(result.x[-1]))


def _beside(rows: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """The groups' rows over all unknowns: their shares less the excess."""
    return np.hstack([rows, np.zeros((len(rows), count)), -np.ones((len(rows), 1))])
