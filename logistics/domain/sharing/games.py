"""Cost games: who takes part, and what each group of them would pay by itself.

A group is a whole number with one bit for each player, so that groups can be enumerated
and looked up quickly: player i is in `group` if `group >> i & 1`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from logistics.domain.errors import refuse


def group_of(players: Iterable[int]) -> int:
    """The group of these players."""
    group = 0
    for player in players:
        group |= 1 << player
    return group


def members(group: int) -> Iterator[int]:
    """The players of a group, in order."""
    player = 0
    while group:
        if group & 1:
            yield player
        group >>= 1
        player += 1


@dataclass(frozen=True)
class CostGame:
    """Players by name and the cost of groups of them, in whole minor units.

    Everybody together and every player alone must be known; of other groups as many as
    somebody reckoned. Costs may be negative. Raises Refused "unfit_game".
    """

    players: tuple[str, ...]
    costs: Mapping[int, int]

    def __post_init__(self) -> None:
        count = len(self.players)
        wanted = {1 << player for player in range(count)} | {self.everybody}
        missing = wanted - set(self.costs)
        strange = [own for own in self.costs if not 0 < own <= self.everybody]
        if not count or missing or strange:
            raise refuse(
                "unfit_game",
                field="costs",
                given=f"{count} players, {len(self.costs)} groups",
                message="the cost of everybody and of each player alone must be known,"
                " and of groups of the players only",
                remedy="Give the cost of each single player and of all together.",
            )

    @property
    def everybody(self) -> int:
        """The group of all."""
        return (1 << len(self.players)) - 1

    @property
    def total(self) -> int:
        """What all pay together."""
        return self.costs[self.everybody]

    @property
    def alone(self) -> tuple[int, ...]:
        """What each would pay alone."""
        return tuple(self.costs[1 << player] for player in range(len(self.players)))

    @property
    def complete(self) -> bool:
        """Whether the cost of every group is known."""
        return len(self.costs) == self.everybody

    @cached_property
    def groups(self) -> tuple[int, ...]:
        """All known groups but that of everybody, in order."""
        return tuple(own for own in sorted(self.costs) if own != self.everybody)

    @cached_property
    def table(self) -> NDArray[np.float64]:
        """One row a known group, one column a player: 1 where the player is in it."""
        groups = np.array(self.groups, dtype=np.int64)
        shifts = np.arange(len(self.players))
        return ((groups[:, None] >> shifts) & 1).astype(np.float64)

    @cached_property
    def limits(self) -> NDArray[np.float64]:
        """The costs of the known groups, in their order."""
        return np.array([self.costs[own] for own in self.groups], dtype=np.float64)

    def names(self, group: int) -> str:
        """The players of a group in words."""
        names = [self.players[player] for player in members(group)]
        return " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)
