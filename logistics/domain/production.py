"""How many trucks keep a digger busy, and how much earth they move in an hour.

The handbook model of one kind of truck and one kind of loader, both of which work steadily:
a truck that comes to a busy loader waits. Sources: cycle and balance number as in courses
on construction equipment (NPTEL), match factor by Burt and Caccetta (2007), waiting and
idle times by the same identity.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logistics.domain.errors import refuse

HOUR_S = 3600.0


def drive_s(metres: float, kmh: float) -> float:
    """Seconds to drive so far at a mean speed. Raises Refused for a speed of 0 or less."""
    _positive("kmh", kmh)
    return metres / kmh * 3.6


@dataclass(frozen=True, slots=True)
class Cycle:
    """One round of a truck, in seconds: placing it to be loaded, loading, the ride, placing
    it to tip, tipping, and the drive back."""

    load_s: float
    ride_s: float
    tip_s: float
    back_s: float
    place_s: float = 0.0
    place_to_tip_s: float = 0.0

    def __post_init__(self) -> None:
        """Raises Refused unless loading takes time and nothing takes less than none."""
        _positive("load_s", self.load_s)
        for name in ("ride_s", "tip_s", "back_s", "place_s", "place_to_tip_s"):
            value = getattr(self, name)
            if not 0 <= value < math.inf:
                raise refuse(
                    "duration_negative",
                    field=name,
                    given=value,
                    message="a duration is a number of seconds",
                    remedy="Give 0 or more.",
                )

    @property
    def total_s(self) -> float:
        """The whole round when nobody waits."""
        return (
            self.place_s
            + self.load_s
            + self.ride_s
            + self.place_to_tip_s
            + self.tip_s
            + self.back_s
        )


@dataclass(frozen=True, slots=True)
class Fleet:
    """So many trucks of one kind at so many loaders.

    `load_m3` is what a truck carries, in the state in which the answers are wanted (loose
    volume for loose volume). Raises Refused for less than one of either, or no load.
    """

    cycle: Cycle
    load_m3: float
    trucks: int
    loaders: int = 1

    def __post_init__(self) -> None:
        """Raises Refused as said above."""
        for name in ("load_m3", "trucks", "loaders"):
            _positive(name, getattr(self, name))

    @property
    def match_factor(self) -> float:
        """Loads wanted by loads that the loaders can give: below 1 the loaders wait."""
        own = self.cycle
        return self.trucks * own.load_s / (self.loaders * own.total_s)

    @property
    def m3_per_hour(self) -> float:
        """What is moved, held down by the trucks or by the loaders."""
        by_trucks = self.trucks * self.load_m3 / self.cycle.total_s
        by_loaders = self.loaders * self.load_m3 / self.cycle.load_s
        return min(by_trucks, by_loaders) * HOUR_S

    @property
    def truck_waits_s(self) -> float:
        """What each truck waits for a loader in each round."""
        busy = self.trucks * self.cycle.load_s / self.loaders
        return max(0.0, busy - self.cycle.total_s)

    @property
    def loader_waits_s(self) -> float:
        """What each loader waits for trucks in the time of one round."""
        busy = self.trucks * self.cycle.load_s / self.loaders
        return max(0.0, self.cycle.total_s - busy)

    def minor_per_m3(self, truck_per_hour: int, loader_per_hour: int) -> float:
        """What a cubic metre costs, in minor units, at these prices of an hour."""
        hour = self.trucks * truck_per_hour + self.loaders * loader_per_hour
        return hour / self.m3_per_hour


def balance_number(cycle: Cycle, loaders: int = 1) -> float:
    """The number of trucks at which neither they nor the loaders wait."""
    _positive("loaders", loaders)
    return loaders * cycle.total_s / cycle.load_s


def trucks_to_keep_busy(cycle: Cycle, loaders: int = 1) -> int:
    """The fewest trucks with which the loaders never wait."""
    return math.ceil(balance_number(cycle, loaders) - 1e-9)


def cheapest_fleet(
    cycle: Cycle,
    load_m3: float,
    *,
    truck_per_hour: int,
    loader_per_hour: int,
    loaders: int = 1,
) -> Fleet:
    """The fleet that moves a cubic metre for least; the smaller of two that cost the same.

    Fewer trucks than the balance number share the loaders' hours among less earth, more of
    them wait: so it is one of the two whole numbers around it.
    """
    enough = trucks_to_keep_busy(cycle, loaders)
    fleets = [
        Fleet(cycle, load_m3, trucks, loaders)
        for trucks in (max(enough - 1, 1), enough)
    ]
    return min(
        fleets, key=lambda own: own.minor_per_m3(truck_per_hour, loader_per_hour)
    )


def _positive(field: str, value: float) -> None:
    if not 0 < value < math.inf:
        raise refuse(
            "not_positive",
            field=field,
            given=value,
            message="this must be a number above 0",
            remedy="Give more than 0.",
        )
