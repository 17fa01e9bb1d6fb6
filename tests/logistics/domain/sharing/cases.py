"""Games for the tests, written by who takes part."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

from logistics.domain.sharing.games import CostGame, group_of


def game(costs: dict[str, int], scale: int = 1) -> CostGame:
    """From a table such as {"A": 3, "AB": 4}, players in the order of the alphabet."""
    names = sorted({letter for own in costs for letter in own})
    return CostGame(
        tuple(names),
        {
            group_of(names.index(letter) for letter in own): cost * scale
            for own, cost in costs.items()
        },
    )


def listed(count: int, values: Sequence[int], scale: int = 1) -> CostGame:
    """From values of all groups, single players first, then pairs, and so on."""
    players = range(count)
    groups = [
        group_of(own)
        for size in range(1, count + 1)
        for own in combinations(players, size)
    ]
    names = tuple("ABCDEFGHIJKLMNOP"[:count])
    costs = dict(zip(groups, (value * scale for value in values), strict=True))
    return CostGame(names, costs)


def made(count: int, cost: Callable[[tuple[int, ...]], int]) -> CostGame:
    """From a rule over the players of a group."""
    groups = [
        own for size in range(1, count + 1) for own in combinations(range(count), size)
    ]
    names = tuple(f"P{index}" for index in range(count))
    return CostGame(names, {group_of(own): cost(own) for own in groups})
