"""Weak roads: days on which axles may carry less, as the ground thaws."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from logistics.domain.errors import refuse

USUAL_PERCENT = 65.0
"""Axle limits cut by 35 % in March, April and May (Michigan; en.wikipedia.org/wiki/Frost_law,
kentcountyroads.net)."""


@dataclass(frozen=True, slots=True)
class WeakRoads:
    """From `first` to `last`, both included, axles and gross may reach `axle_percent` of
    their usual limits. Raises Refused for days out of order or a share that is none."""

    first: date
    last: date
    axle_percent: float = USUAL_PERCENT

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise refuse(
                "window_ends_before_it_begins",
                field="until",
                given=f"{self.first} to {self.last}",
                message="the weak roads end before they begin",
                remedy="Swap the dates or correct the year.",
            )
        if not 0 < self.axle_percent <= 100:
            raise refuse(
                "not_a_share",
                field="axle_percent",
                given=self.axle_percent,
                message="weak roads bear a part of what they bear otherwise",
                remedy="Give what is still allowed, in percent: 65 if 35 % are cut.",
            )

    @property
    def share(self) -> float:
        """What is left of each limit, from 0 to 1."""
        return self.axle_percent / 100

    @property
    def words(self) -> str:
        """What it does, in words."""
        return f"cut to {self.axle_percent:g} % on weak roads"

    def on(self, day: date) -> bool:
        """Whether the roads are weak on this day."""
        return self.first <= day <= self.last
