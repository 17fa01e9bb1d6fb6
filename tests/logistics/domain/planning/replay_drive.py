"""Drives one shift of a plan stop by stop and says which rules it breaks.

Shares no code with the planner beyond the dataclasses of question and answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from logistics.domain.distances import DistanceTable
from logistics.domain.loads import Bound
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Window
from logistics.domain.planning.result import Shift, Stop, StopKind, Trip
from logistics.domain.trucks import BodyKind, Cargo, Truck

EARTH = {Cargo.SUBSOIL, Cargo.SAND}
TAKES = {
    BodyKind.TIPPER: EARTH,
    BodyKind.GRAB: EARTH,
    BodyKind.HOOK_LIFT: EARTH,
    BodyKind.FLAT_BED: {Cargo.STRAW},
    BodyKind.TRAILER: EARTH | {Cargo.STRAW},
}
SLACK = 1e-6
"""m3: densities are no whole numbers."""


def _inside(stop: Stop, windows: Iterable[Window]) -> bool:
    return any(opens <= stop.begin and stop.end <= closes for opens, closes in windows)


def _takes_m3(truck: Truck, cargo: Cargo) -> float:
    if cargo in EARTH and truck.heaped_m3:
        return truck.heaped_m3
    return truck.body_m3


@dataclass
class Drive:
    """One shift as it is driven: the clock, what is aboard, and what was driven."""

    problem: PlanProblem
    shift: Shift
    here: int = -1
    now: int = 0
    aboard: dict[int, Trip] = field(default_factory=dict)
    tipping: bool = False
    last_cargo: Cargo | None = None
    clean: bool = True
    driven: int = 0
    since_rest_driven: int = 0
    since_rest_worked: int = 0
    loaded: set[int] = field(default_factory=set)
    tipped: set[int] = field(default_factory=set)

    @property
    def slot(self) -> Slot:
        return self.problem.slots[self.shift.slot]

    @property
    def truck(self) -> Truck:
        return self.problem.trucks[self.slot.truck]

    @property
    def ways(self) -> DistanceTable:
        return self.problem.own_ways.get(self.truck.key, self.problem.distances)

    def faults(self) -> Iterator[str]:
        """Every rule that the shift breaks by itself, but for its bill."""
        stops = self.shift.stops
        kinds = [stop.kind for stop in stops]
        if kinds[:1] != [StopKind.LEAVE] or kinds[-1:] != [StopKind.RETURN]:
            yield "it does not go from leaving to returning"
            return
        if kinds.count(StopKind.LEAVE) != 1 or kinds.count(StopKind.RETURN) != 1:
            yield "it leaves or returns more than once"
        yield from self._frame(stops[0], stops[-1])
        for stop, following in zip(stops[1:], [*stops[2:], stops[-1]], strict=True):
            rests = stop.kind is StopKind.REST
            if rests and stop.place not in {self.here, following.place}:
                yield "it rests on the road"
            yield from self._drive(stop)
            yield from self._entry(stop)
            yield from self._act(stop)
            self.here, self.now = stop.place, stop.end
        every = set(range(len(self.shift.trips)))
        if self.loaded != every or self.tipped != every:
            yield "not every trip is loaded and tipped"

    def _frame(self, leave: Stop, back: Stop) -> Iterator[str]:
        slot, base = self.slot, self.truck.base
        start = base if slot.start is None else slot.start
        end = base if slot.end is None else slot.end
        if leave.place != start or back.place != end:
            yield f"it goes from {leave.place} to {back.place}, not {start} to {end}"
        if leave.leg_m or leave.leg_s or not leave.arrive <= leave.begin <= leave.end:
            yield "it drives before it leaves"
        if leave.begin < slot.earliest or back.end > slot.latest:
            yield "it drives outside the hours of the truck"
        if back.end - leave.begin > self.truck.max_shift_s:
            yield "it is longer than the longest shift"
        self.here, self.now = leave.place, leave.end
        yield from self._entry(leave)

    def _drive(self, stop: Stop) -> Iterator[str]:
        # A rest on arrival is the first stop at its place, and has the way to it.
        arriving = stop.kind is StopKind.REST and stop.place != self.here
        if stop.kind in {StopKind.REST, StopKind.CLEAN} and not arriving:
            if stop.place != self.here or stop.leg_m or stop.leg_s:
                yield f"a {stop.kind} is not where the truck stands"
        elif not self.ways.reachable[self.here, stop.place]:
            yield f"no way leads from {self.here} to {stop.place}"
        elif (stop.leg_m, stop.leg_s) != (
            int(self.ways.metres[self.here, stop.place]),
            int(self.ways.seconds[self.here, stop.place]),
        ):
            yield f"the leg to {stop.place} has another length"
        if stop.arrive != self.now + stop.leg_s:
            yield f"it arrives at {stop.arrive}, not {self.now + stop.leg_s}"
        if not stop.arrive <= stop.begin <= stop.end:
            yield f"a {stop.kind} begins before arriving or ends before beginning"
        self.driven += stop.leg_s
        yield from self._count(drive=stop.leg_s, work=stop.leg_s)

    def _count(self, *, drive: int, work: int) -> Iterator[str]:
        self.since_rest_driven += drive
        self.since_rest_worked += work
        rule = self.truck.rest
        if rule is None:
            return
        for what, count, most in (
            ("driving since a rest", self.since_rest_driven, rule.after_driving_s),
            ("work since a rest", self.since_rest_worked, rule.after_work_s),
            ("driving of the shift", self.driven, rule.most_driving_s),
        ):
            if most is not None and count > most:
                yield f"{what} is {count} s, at most {most} s by {rule.name}"

    def _entry(self, stop: Stop) -> Iterator[str]:
        """The truck with what is aboard at its heaviest there against the place."""
        kg = sum(trip.load.mass_kg for trip in self.aboard.values())
        if stop.kind is StopKind.LOAD and stop.trip is not None:
            kg += self.shift.trips[stop.trip].load.mass_kg
        limits, truck = self.problem.places[stop.place].access, self.truck
        for what, size, limit in (
            ("weight", (truck.tare_kg or 0) + kg, limits.max_gross_kg),
            ("height", truck.height_m, limits.max_height_m),
            ("width", truck.width_m, limits.max_width_m),
            ("length", truck.length_m, limits.max_length_m),
        ):
            if size is not None and limit is not None and size > limit:
                yield f"{what} {size} is too much for place {stop.place}"

    def _act(self, stop: Stop) -> Iterator[str]:
        if stop.kind in {StopKind.LOAD, StopKind.TIP}:
            if stop.trip is None or not 0 <= stop.trip < len(self.shift.trips):
                yield f"a {stop.kind} is of no trip"
                return
            trip = self.shift.trips[stop.trip]
            work = self._load if stop.kind is StopKind.LOAD else self._tip
            yield from work(stop, stop.trip, trip)
            yield from self._count(drive=0, work=stop.end - stop.begin)
        elif stop.kind is StopKind.REST:
            rule = self.truck.rest
            if rule is None or stop.end - stop.begin >= rule.rest_s:
                self.since_rest_driven = self.since_rest_worked = 0
        elif stop.kind is StopKind.CLEAN:
            if stop.end - stop.begin != self.truck.cleaning_s:
                yield "the cleaning takes another time"
            if self.aboard:
                yield "a full body is cleaned"
            self.clean = True
            yield from self._count(drive=0, work=stop.end - stop.begin)

    def _load(self, stop: Stop, number: int, trip: Trip) -> Iterator[str]:
        haul, truck = self.problem.hauls[trip.load.haul], self.truck
        if stop != trip.pickup or stop.place != haul.origin:
            yield f"trip {number} is loaded elsewhere"
        if number in self.loaded:
            yield f"trip {number} is loaded twice"
        if stop.end - stop.begin != haul.load_s:
            yield f"loading trip {number} takes another time"
        if not _inside(stop, haul.pickup_windows):
            yield f"trip {number} is loaded while the pickup is closed"
        by_loader = haul.loader_windows is not None and truck.body != BodyKind.GRAB
        if by_loader and not _inside(stop, haul.loader_windows or ()):
            yield f"trip {number} is loaded without a loader"
        same = self.last_cargo in {None, haul.cargo}
        if not same and not self.clean and truck.cleaning_s:
            yield f"{haul.cargo} is loaded after {self.last_cargo} without cleaning"
        yield from self._may(haul)
        self.loaded.add(number)
        yield from self._rides_with(number, trip, haul)
        self.aboard[number] = trip
        self.last_cargo, self.clean, self.tipping = haul.cargo, False, False
        yield from self._fits(number, trip, haul)

    def _may(self, haul: Haul) -> Iterator[str]:
        truck = self.truck
        if haul.cargo not in TAKES[truck.body]:
            yield f"a {truck.body} carries {haul.cargo}"
        if truck.only_from is not None and haul.origin not in truck.only_from:
            yield f"it loads at {haul.origin}, where it does not load"

    def _rides_with(self, number: int, trip: Trip, haul: Haul) -> Iterator[str]:
        if not self.aboard:
            return
        if self.tipping:
            yield f"trip {number} is loaded after the first of its body was tipped"
        for other in self.aboard.values():
            own = self.problem.hauls[other.load.haul]
            if other.body != trip.body:
                yield f"trip {number} is loaded onto another body's load"
            if own.cargo != haul.cargo or not (own.shared and haul.shared):
                yield f"trip {number} may not ride with another"

    def _fits(self, number: int, trip: Trip, haul: Haul) -> Iterator[str]:
        aboard = [own.load for own in self.aboard.values()]
        kg = sum(load.mass_kg for load in aboard)
        hauls = self.problem.hauls
        m3 = sum(load.mass_kg / hauls[load.haul].loose_kg_per_m3 for load in aboard)
        room = _takes_m3(self.truck, haul.cargo)
        if kg > self.truck.payload_kg or m3 > room + SLACK:
            yield f"{kg} kg, {m3:.3f} m3 aboard are too much"
        load = trip.load
        if load.mass_kg <= 0 or load.mass_kg % haul.unit_kg:
            yield f"trip {number} carries {load.mass_kg} kg, pieces are {haul.unit_kg} kg"
        if abs(load.loose_m3 - load.mass_kg / haul.loose_kg_per_m3) > SLACK:
            yield f"trip {number} says another volume"
        if len(self.aboard) == 1:
            yield from self._bound(number, trip, haul)

    def _bound(self, number: int, trip: Trip, haul: Haul) -> Iterator[str]:
        """A limit is named when, and only when, another piece would exceed it."""
        if sum(own.body == trip.body for own in self.shift.trips) > 1:
            return
        limits = [
            self.problem.places[p].access for p in (haul.origin, haul.destination)
        ]
        most = min(
            self.truck.payload_kg,
            *(
                own.max_gross_kg - (self.truck.tare_kg or 0)
                for own in limits
                if own.max_gross_kg is not None
            ),
            10**9,
        )
        more = trip.load.mass_kg + haul.unit_kg
        room = _takes_m3(self.truck, haul.cargo) * haul.loose_kg_per_m3 + SLACK
        full = {
            bound
            for bound, over in ((Bound.MASS, more > most), (Bound.VOLUME, more > room))
            if over
        }
        if (trip.load.bound is not None) != bool(full):
            yield f"trip {number} names the limit {trip.load.bound}, bind {full}"
        elif full and trip.load.bound not in full:
            yield f"trip {number} names the wrong limit {trip.load.bound}"

    def _tip(self, stop: Stop, number: int, trip: Trip) -> Iterator[str]:
        haul = self.problem.hauls[trip.load.haul]
        if stop != trip.drop or stop.place != haul.destination:
            yield f"trip {number} is tipped elsewhere"
        if self.aboard.pop(number, None) is None:
            yield f"trip {number} is tipped without being aboard"
        if stop.end - stop.begin != haul.unload_s:
            yield f"tipping trip {number} takes another time"
        if not _inside(stop, haul.drop_windows):
            yield f"trip {number} is tipped while the drop is closed"
        self.tipped.add(number)
        self.tipping = True
