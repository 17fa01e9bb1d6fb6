"""What is left to plan beside shifts that hold: the part of the problem that they leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.living.reshaping import cut
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Store, Window
from logistics.domain.planning.result import Shift


def the_rest(
    problem: PlanProblem,
    holding: Sequence[Shift],
    free: Sequence[int],
    pending: Sequence[int],
    now: int,
) -> PlanProblem:
    """The problem of the `pending` kg in the `free` slots, from `now` on.

    Whatever fits it fits beside the shifts that hold. Stores lose what those bring. Where
    a place takes few trucks at once, its windows lose the times of those shifts; where it
    takes few loads a day, days that are full, and elsewhere as many as on its busiest day:
    that is more than they take, so a tight place may need shifts released.
    """
    places = list(problem.places)
    hauls = [
        replace(own, mass_kg=kg) for own, kg in zip(problem.hauls, pending, strict=True)
    ]
    for number, place in enumerate(problem.places):
        if place.at_once is not None:
            for busy in _stays(holding, number):
                hauls = [_shut(own, number, busy) for own in hauls]
        if place.loads_a_day is not None:
            taken = _loads(problem, holding, number)
            full = [day for day, own in taken.items() if own >= place.loads_a_day]
            most = max((n for day, n in taken.items() if day not in full), default=0)
            places[number] = replace(place, loads_a_day=place.loads_a_day - most)
            for day in full:
                hauls = [_shut(own, number, _span(problem, day)) for own in hauls]
    return replace(
        problem,
        places=tuple(places),
        hauls=tuple(hauls),
        slots=tuple(_from(problem.slots[number], now) for number in free),
        stores=less_room(problem, holding),
    )


def less_room(problem: PlanProblem, shifts: Sequence[Shift]) -> tuple[Store, ...]:
    """The stores without the room that these shifts fill."""
    found = []
    for store in problem.stores:
        room = []
        for day, m3 in store.room_m3:
            taken = sum(
                trip.load.mass_kg / problem.hauls[trip.load.haul].loose_kg_per_m3
                for shift in shifts
                if problem.slots[shift.slot].day <= day
                for trip in shift.trips
                if trip.load.haul in store.hauls
            )
            room.append((day, max(m3 - taken, 0.0)))
        found.append(replace(store, room_m3=tuple(room)))
    return tuple(found)


def _from(slot: Slot, now: int) -> Slot:
    earliest = max(slot.earliest, now)
    return replace(slot, earliest=earliest, latest=max(slot.latest, earliest))


def _stays(shifts: Sequence[Shift], place: int) -> list[Window]:
    return [
        (stop.begin, stop.end)
        for shift in shifts
        for stop in shift.stops
        if stop.place == place and stop.trip is not None and stop.end > stop.begin
    ]


def _loads(problem: PlanProblem, shifts: Sequence[Shift], place: int) -> dict[str, int]:
    found: dict[str, int] = {}
    for shift in shifts:
        day = problem.slots[shift.slot].day
        for trip in shift.trips:
            if place in (trip.pickup.place, trip.drop.place):
                found[day] = found.get(day, 0) + 1
    return found


def _span(problem: PlanProblem, day: str) -> Window:
    own = [slot for slot in problem.slots if slot.day == day]
    return min(slot.earliest for slot in own), max(slot.latest for slot in own)


def _shut(haul: Haul, place: int, busy: Window) -> Haul:
    pickup, drop = haul.pickup_windows, haul.drop_windows
    if haul.origin == place:
        pickup = cut(pickup, *busy)
    if haul.destination == place:
        drop = cut(drop, *busy)
    return replace(haul, pickup_windows=pickup, drop_windows=drop)
