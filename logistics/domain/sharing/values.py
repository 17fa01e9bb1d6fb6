"""Shares without a programme: the Shapley value, and how far any fair share can go."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import factorial

from logistics.domain.errors import refuse
from logistics.domain.sharing.games import CostGame


def shapley(game: CostGame) -> tuple[Fraction, ...]:
    """Each player's added cost, averaged over all orders of arrival (Shapley 1953), exact.

    It need not lie in the core. Raises Refused "groups_unknown" unless the game is
    complete.
    """
    if not game.complete:
        raise refuse(
            "groups_unknown",
            field="costs",
            given=f"{len(game.costs)} of {game.everybody} groups",
            message="the Shapley value takes the cost of every group",
            remedy="Give the cost of each group, or share by the nucleolus.",
        )
    count = len(game.players)
    weights = [
        Fraction(factorial(size) * factorial(count - size - 1), factorial(count))
        for size in range(count)
    ]
    values = []
    for player in range(count):
        bit = 1 << player
        others = (own for own in range(game.everybody + 1) if not own & bit)
        values.append(
            sum(
                (
                    weights[group.bit_count()]
                    * (game.costs[group | bit] - game.costs.get(group, 0))
                    for group in others
                ),
                Fraction(0),
            )
        )
    return tuple(values)


@dataclass(frozen=True, slots=True)
class ShareBounds:
    """`separable` is what a player adds to all others, None where their cost without it is
    not known; `alone` is what it would pay by itself. In the core every share lies between
    the two."""

    separable: int | None
    alone: int


def share_bounds(game: CostGame) -> tuple[ShareBounds, ...]:
    """The bounds of every player's share."""
    found = []
    for player in range(len(game.players)):
        rest = game.everybody ^ (1 << player)
        without = 0 if rest == 0 else game.costs.get(rest)
        separable = None if without is None else game.total - without
        found.append(ShareBounds(separable, game.costs[1 << player]))
    return tuple(found)
