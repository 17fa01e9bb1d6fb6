"""Whether a group had better leave: excesses, the core and the least core.

The excess of a group is what its members pay together beyond what they would pay by
themselves. Shares lie in the core if no group's excess is above nothing. The least core
holds the shares whose greatest excess is least (Maschler, Peleg and Shapley 1979).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from logistics.domain.sharing.games import CostGame

EXACT = 1e-6
"""Fractions of a minor unit that are nothing."""
PRICED = 1e-6
"""Weights of groups, which add up to 1 over at most one more than there are players, that
are nothing."""
MORE = 24
"""Groups taken into a programme at once."""


@dataclass(frozen=True, slots=True)
class Excess:
    """A group and what it pays beyond its own cost; below 0 it saves."""

    group: int
    amount: float


def worst(game: CostGame, shares: Sequence[float]) -> Excess | None:
    """The known group with most reason to leave, None with fewer than two players."""
    if len(game.players) < 2:
        return None
    over = game.table @ np.asarray(shares, dtype=np.float64) - game.limits
    index = int(np.argmax(over))
    return Excess(game.groups[index], float(over[index]))


def in_core(game: CostGame, shares: Sequence[int]) -> bool:
    """Whether whole shares add up to the total and no known group pays more than its cost."""
    return sum(shares) == game.total and all(
        sum(share for player, share in enumerate(shares) if group >> player & 1) <= cost
        for group, cost in game.costs.items()
    )


@dataclass(frozen=True)
class Fixed:
    """Groups whose excess is settled, by their place among the known groups, with it."""

    rows: tuple[int, ...] = ()
    excess: tuple[float, ...] = ()


@dataclass(frozen=True)
class LeastExcess:
    """Shares with the least greatest excess among groups not settled; `binding` are the
    groups, by their place, that keep it from being less, whatever the shares."""

    shares: tuple[float, ...]
    excess: float
    binding: tuple[int, ...]


@dataclass
class LeastCore:
    """The programme behind the least core, which takes in groups as they matter.

    `capped` holds every share at or below the player's own cost. `asked` are the places of
    the groups whose excess counts so far.
    """

    game: CostGame
    capped: bool
    asked: list[int] = field(default_factory=list)

    def solve(self, fixed: Fixed, open_rows: NDArray[np.bool_]) -> LeastExcess:
        """The least greatest excess over the open rows, with the settled ones kept."""
        game = self.game
        tolerance = max(EXACT, 1e-10 * float(np.abs(game.limits).max(initial=1.0)))
        asked = [row for row in self.asked if open_rows[row]]
        if not asked:
            asked = [int(row) for row in np.flatnonzero(open_rows)[:MORE]]
        while True:
            found = self._least(fixed, asked)
            over = game.table @ np.array(found.shares) - game.limits - found.excess
            over[~open_rows] = -np.inf
            over[asked] = -np.inf
            order = np.argsort(-over, kind="stable")[:MORE]
            more = [int(row) for row in order if over[row] > tolerance]
            if not more:
                self.asked = asked
                return found
            asked += more

    def _least(self, fixed: Fixed, asked: Sequence[int]) -> LeastExcess:
        game, count = self.game, len(self.game.players)
        rows = game.table[list(asked)]
        kept = game.table[list(fixed.rows)]
        both = np.vstack([np.ones((1, count)), kept])
        sums = np.concatenate(
            [[game.total], game.limits[list(fixed.rows)] + np.array(fixed.excess)]
        )
        tops = game.alone if self.capped else (None,) * count
        result = linprog(
            np.append(np.zeros(count), 1.0),
            A_ub=np.hstack([rows, -np.ones((len(asked), 1))]),
            b_ub=game.limits[list(asked)],
            A_eq=np.hstack([both, np.zeros((len(both), 1))]),
            b_eq=sums,
            bounds=[*((None, top) for top in tops), (None, None)],
            method="highs",
            options={
                "primal_feasibility_tolerance": 1e-9,
                "dual_feasibility_tolerance": 1e-9,
            },
        )
        if result.status != 0 or result.x is None:  # pragma: no cover - never empty
            raise ArithmeticError(f"least core: {result.message}")
        weights = -np.asarray(result.ineqlin.marginals)
        binding = tuple(asked[int(row)] for row in np.flatnonzero(weights > PRICED))
        return LeastExcess(
            tuple(map(float, result.x[:-1])), float(result.x[-1]), binding
        )


def can_cap(game: CostGame) -> bool:
    """Whether shares exist with which nobody pays more than alone."""
    return sum(game.alone) >= game.total


def least_core(game: CostGame) -> LeastExcess:
    """Shares of the least core. An excess above 0 says that the core is empty, and the
    binding groups why: together they would pay less than all do."""
    if len(game.players) == 1:
        return LeastExcess((float(game.total),), 0.0, ())
    everything = np.ones(len(game.groups), dtype=np.bool_)
    # The core test asks for singles like for any group, so they are not capped here.
    return LeastCore(game, capped=False).solve(Fixed(), everything)
