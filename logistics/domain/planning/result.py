"""What the planner answers: shifts, loads, cost lines, and how good the plan is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.loads import Bound


class LineKind(StrEnum):
    """What a cost line pays for."""

    MATERIAL = "material"
    DRIVING_TIME = "driving_time"
    DRIVING_DISTANCE = "driving_distance"
    CALL_OUT = "call_out"
    LOADING = "loading"
    PART_LOAD = "part_load"
    TIPPING_AVOIDED = "tipping_avoided"


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the bill, in minor currency units; lines add up to the total exactly."""

    kind: LineKind
    subject: str
    amount: int
    formula: str


class StopKind(StrEnum):
    """What a truck does at a stop."""

    LEAVE = "leave"
    LOAD = "load"
    TIP = "tip"
    RETURN = "return"


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a shift: arrival, begin and end of the work, in seconds UTC.

    `leg_m` and `leg_s` are the drive that led here.
    """

    kind: StopKind
    place: int
    arrive: int
    begin: int
    end: int
    leg_m: int
    leg_s: int


@dataclass(frozen=True, slots=True)
class Load:
    """What a truck body carries at once."""

    haul: int
    mass_kg: int
    loose_m3: float
    bound: Bound | None
    """The limit that stopped the loading; None for a load that is not full."""


@dataclass(frozen=True, slots=True)
class Trip:
    """One load from where it is loaded to where it is tipped."""

    load: Load
    pickup: Stop
    drop: Stop


@dataclass(frozen=True, slots=True)
class Shift:
    """One truck's working day."""

    slot: int
    leave: Stop
    trips: tuple[Trip, ...]
    back: Stop
    costs: tuple[CostLine, ...]

    @property
    def stops(self) -> tuple[Stop, ...]:
        """All stops in the order in which they are driven."""
        middle = [stop for trip in self.trips for stop in (trip.pickup, trip.drop)]
        return (self.leave, *middle, self.back)

    @property
    def metres(self) -> int:
        """Length of the whole shift."""
        return sum(stop.leg_m for stop in self.stops)

    @property
    def empty_metres(self) -> int:
        """Length driven without a load."""
        return sum(
            stop.leg_m
            for stop in self.stops
            if stop.kind in (StopKind.LOAD, StopKind.RETURN)
        )

    @property
    def duration_s(self) -> int:
        """Paid time, from leaving the base until the return to it."""
        return self.back.end - self.leave.begin

    @property
    def tonne_km(self) -> float:
        """Transport work of the shift."""
        return sum(trip.load.mass_kg * trip.drop.leg_m for trip in self.trips) / 1e6


@dataclass(frozen=True, slots=True)
class Unplanned:
    """A haul, or what is left of it, that no shift carries, and why."""

    haul: int
    mass_kg: int
    code: str
    reasons: tuple[str, ...]
    remedy: str
    proven: bool
    """True if no plan at all can carry it; False if none was found."""


@dataclass(frozen=True, slots=True)
class LowerBound:
    """A proven lower bound on the haul cost, in minor units, and how it was found."""

    amount: int
    method: str


@dataclass(frozen=True, slots=True)
class HaulPlan:
    """The shifts for a set of hauls.

    `haul_cost` is the sum of all shift cost lines. `bound` is at most the cost of any plan
    that carries as much as this one does.
    """

    shifts: tuple[Shift, ...]
    unplanned: tuple[Unplanned, ...]
    haul_cost: int
    bound: LowerBound
    proven_optimal: bool

    @property
    def gap(self) -> float:
        """How much dearer than the bound the plan is, as a share of its cost."""
        return (
            (self.haul_cost - self.bound.amount) / self.haul_cost
            if self.haul_cost
            else 0.0
        )
