"""Shifts as blocks of visits, and driven again from them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from logistics.domain.planning.billing import shift_costs
from logistics.domain.planning.problem import Haul, PlanProblem, Window
from logistics.domain.planning.result import Load, Shift, Stop, StopKind, Trip
from logistics.domain.trucks import LOADS_ITSELF, Truck

HANDLED = (StopKind.LOAD, StopKind.TIP)
"""Stops at which a load is handled."""


@dataclass(frozen=True, slots=True)
class Visit:
    """Something done at a place for `seconds`: at `begin` exactly, or not before `soonest`.

    `trip` tells the loads of one block apart.
    """

    kind: StopKind
    place: int
    seconds: int
    load: Load | None = None
    trip: int = 0
    begin: int | None = None
    soonest: int = 0


@dataclass(frozen=True, slots=True)
class Block:
    """Visits that only make sense together: all for one body, and the rests after it.

    `trips` are the numbers that its loads had; none for a new load. `left` is when its last
    visit was over.
    """

    visits: tuple[Visit, ...]
    trips: tuple[int, ...] = ()
    left: int = 0

    @property
    def cargo(self) -> int:
        """The haul of its first load."""
        return next(own.load.haul for own in self.visits if own.load)


def riding(shift: Shift) -> tuple[int, ...]:
    """For each trip the number of the ride that it is part of: one lasts from an empty
    body until it is empty again."""
    ride, aboard = -1, 0
    found = [0] * len(shift.trips)
    for stop in shift.stops:
        if stop.kind is StopKind.LOAD and stop.trip is not None:
            ride += not aboard
            aboard += 1
            found[stop.trip] = ride
        elif stop.kind is StopKind.TIP:
            aboard -= 1
    return tuple(found)


def companions(shift: Shift, trips: Iterable[int]) -> frozenset[int]:
    """These trips and all that ride with one of them."""
    rides = riding(shift)
    own = {rides[trip] for trip in trips}
    return frozenset(trip for trip, ride in enumerate(rides) if ride in own)


def blocks_of(shift: Shift) -> list[Block]:
    """The blocks of a shift in order; rests before the first load go with it."""
    rides = riding(shift)
    current = 0
    keyed: list[tuple[int, Stop]] = []
    for stop in shift.stops[1:-1]:
        if stop.trip is not None:
            current = rides[stop.trip]
        keyed.append((current, stop))
    return [
        _block(shift, [stop for _, stop in group])
        for _, group in groupby(keyed, key=lambda own: own[0])
    ]


def _block(shift: Shift, stops: Sequence[Stop]) -> Block:
    trips = sorted({own.trip for own in stops if own.trip is not None})
    visits = tuple(
        Visit(
            own.kind,
            own.place,
            own.end - own.begin,
            None if own.trip is None else shift.trips[own.trip].load,
            own.trip or 0,
            begin=own.begin,
        )
        for own in stops
    )
    return Block(visits, tuple(trips), stops[-1].end)


def new_block(haul: Haul, load: Load) -> Block:
    """A load that may be carried at any time."""
    return Block(
        (
            Visit(StopKind.LOAD, haul.origin, haul.load_s, load),
            Visit(StopKind.TIP, haul.destination, haul.unload_s, load),
        )
    )


def load_of(problem: PlanProblem, truck: Truck, haul: int, kg: int) -> Load:
    """A load of this mass; full where not one more piece fits."""
    own = problem.hauls[haul]
    capacity = problem.capacity(truck, own)
    full = kg > capacity.kg - own.unit_kg
    bound = capacity.bound if full else None
    return Load(haul, kg, kg / own.loose_kg_per_m3, bound)


def drive(
    problem: PlanProblem, slot: int, leave: int, blocks: Sequence[Block]
) -> Shift | None:
    """The shift that leaves at a moment and does all this, or None if it cannot."""
    own = problem.slots[slot]
    truck = problem.trucks[own.truck]
    here, now = problem.start(own), leave
    stops = [Stop(StopKind.LEAVE, here, now, now, now, 0, 0)]
    for visit in _visits(problem, truck, blocks):
        stop = _stop(problem, truck, stops[-1], visit)
        if stop is None:
            return None
        stops.append(stop)
    home = _way(problem, truck, stops[-1], problem.end(own))
    if home is None:
        return None
    metres, seconds = home
    back = stops[-1].end + seconds
    stops.append(
        Stop(StopKind.RETURN, problem.end(own), back, back, back, metres, seconds)
    )
    if leave < own.earliest or back > own.latest or back - leave > truck.max_shift_s:
        return None
    return _assembled(problem, slot, stops, blocks)


def _visits(
    problem: PlanProblem, truck: Truck, blocks: Sequence[Block]
) -> Iterator[Visit]:
    """All visits, with the cleaning that a change of cargo takes and no other."""
    for number, block in enumerate(blocks):
        follows = blocks[number + 1] if number + 1 < len(blocks) else None
        yield from (own for own in block.visits if own.kind is not StopKind.CLEAN)
        if follows and truck.cleaning_s:
            ahead, behind = problem.hauls[block.cargo], problem.hauls[follows.cargo]
            if ahead.cargo is not behind.cargo:
                yield Visit(StopKind.CLEAN, block.visits[-1].place, truck.cleaning_s)


def _way(
    problem: PlanProblem, truck: Truck, start: Stop, end: int
) -> tuple[int, int] | None:
    ways = problem.ways(truck)
    if not ways.reachable[start.place, end]:
        return None
    return int(ways.metres[start.place, end]), int(ways.seconds[start.place, end])


def _stop(
    problem: PlanProblem, truck: Truck, before: Stop, visit: Visit
) -> Stop | None:
    where = visit.place if visit.kind in HANDLED else before.place
    way = _way(problem, truck, before, where)
    if way is None:
        return None
    metres, seconds = way
    arrive = before.end + seconds
    begin = _begin(problem, truck, visit, arrive)
    if begin is None:
        return None
    end = begin + visit.seconds
    return Stop(visit.kind, where, arrive, begin, end, metres, seconds)


def _begin(problem: PlanProblem, truck: Truck, visit: Visit, arrive: int) -> int | None:
    if visit.kind not in HANDLED or visit.load is None:
        return arrive
    if visit.begin is not None:
        return visit.begin if arrive <= visit.begin else None
    haul = problem.hauls[visit.load.haul]
    ready = max(arrive, visit.soonest)
    for opens, closes in open_for(haul, truck, visit.kind):
        if max(ready, opens) + visit.seconds <= closes:
            return max(ready, opens)
    return None


def open_for(haul: Haul, truck: Truck, kind: StopKind) -> tuple[Window, ...]:
    """When this truck may load or tip of this haul."""
    if kind is StopKind.TIP:
        return haul.drop_windows
    if haul.loader_windows is None or truck.body in LOADS_ITSELF:
        return haul.pickup_windows
    return tuple(
        sorted(
            (max(a, c), min(b, d))
            for a, b in haul.pickup_windows
            for c, d in haul.loader_windows
            if max(a, c) < min(b, d)
        )
    )


def _assembled(
    problem: PlanProblem, slot: int, stops: Sequence[Stop], blocks: Sequence[Block]
) -> Shift:
    """The shift of these stops, its trips numbered in the order of loading."""
    visits = [
        (body, own)
        for body, block in enumerate(blocks)
        for own in block.visits
        if own.kind in HANDLED
    ]
    handled = [at for at, own in enumerate(stops) if own.kind in HANDLED]
    numbered: list[Stop] = list(stops)
    numbers: dict[tuple[int, int], int] = {}
    picked: list[tuple[Load, Stop, int]] = []
    drops: dict[int, Stop] = {}
    for (body, visit), at in zip(visits, handled, strict=True):
        number = numbers.setdefault((body, visit.trip), len(numbers))
        own = numbered[at] = replace(stops[at], trip=number)
        if visit.kind is StopKind.LOAD and visit.load:
            picked.append((visit.load, own, body))
        else:
            drops[number] = own
    trips = [
        Trip(load, stop, drops[number], body)
        for number, (load, stop, body) in enumerate(picked)
    ]
    bare = Shift(slot, tuple(numbered), tuple(trips), ())
    return replace(bare, costs=shift_costs(problem, bare))
