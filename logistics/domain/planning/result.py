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
    OVERTIME = "overtime"
    PER_LOAD = "per_load"
    PER_TONNE = "per_tonne"
    DELIVERY = "delivery"
    WAITING = "waiting"
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
    REST = "rest"
    CLEAN = "clean"
    RETURN = "return"


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a shift: arrival, begin and end of what is done, in seconds UTC.

    `leg_m` and `leg_s` are the drive that led here. A rest or the cleaning of the body is
    a stop of its own at the place where the truck stands. `trip` is the number of the trip
    that is loaded or tipped here.
    """

    kind: StopKind
    place: int
    arrive: int
    begin: int
    end: int
    leg_m: int
    leg_s: int
    trip: int | None = None


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
    """What is carried for one haul, from where it is loaded to where it is tipped.

    Trips of one shift with the same `body` ride together: all are loaded before the first
    of them is tipped.
    """

    load: Load
    pickup: Stop
    drop: Stop
    body: int = 0


@dataclass(frozen=True, slots=True)
class Shift:
    """One truck's working day: all `stops` in the order in which they are driven, from
    leaving until the return, and what is carried between them."""

    slot: int
    stops: tuple[Stop, ...]
    trips: tuple[Trip, ...]
    costs: tuple[CostLine, ...]

    @property
    def leave(self) -> Stop:
        """The begin of the shift."""
        return self.stops[0]

    @property
    def back(self) -> Stop:
        """The end of the shift."""
        return self.stops[-1]

    @property
    def metres(self) -> int:
        """Length of the whole shift."""
        return sum(stop.leg_m for stop in self.stops)

    @property
    def empty_metres(self) -> int:
        """Length driven without a load."""
        aboard, empty = 0, 0
        for stop in self.stops:
            empty += stop.leg_m if not aboard else 0
            aboard += (stop.kind is StopKind.LOAD) - (stop.kind is StopKind.TIP)
        return empty

    @property
    def driving_s(self) -> int:
        """Time at the wheel."""
        return sum(stop.leg_s for stop in self.stops)

    @property
    def duration_s(self) -> int:
        """Paid time, from leaving the base until the return to it."""
        return self.back.end - self.leave.begin

    @property
    def tonne_km(self) -> float:
        """Transport work of the shift: what is aboard on each leg, times its length."""
        aboard, work = 0, 0
        for stop in self.stops:
            work += aboard * stop.leg_m
            if stop.trip is not None:
                kg = self.trips[stop.trip].load.mass_kg
                aboard += kg if stop.kind is StopKind.LOAD else -kg
        return work / 1e6


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
    adds: int | None = None
    """What the remedy adds to the haulage, in minor units, if it was reckoned."""


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
