"""Rows that bind shifts to one another: receiving limits, room, and trucks that stay out.

Each row is true of every plan that keeps the rules, so bounds may use it. That at most so
many trucks stand at a place at once is more than these rows say (they count the hours of
the day); `timetable` sees to the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from logistics.domain.planning.groups import visit_windows
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.rows import Floats, Row, RowMaker
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.tasks import Visit, visit_place

Spare = dict[tuple[int, str], int]
"""Seconds of a place and day that may be used, where fewer than it is open."""


def coupling_rows(maker: RowMaker, spare: Spare) -> list[Row]:
    """All rows that bind the shifts of several trucks or days."""
    return [
        *_places(maker, spare),
        *_stores(maker),
        *_nights(maker),
    ]


def _days(groups: Sequence[SlotClass]) -> list[str]:
    return sorted({day for slots in groups for day in slots.days})


def _places(maker: RowMaker, spare: Spare) -> list[Row]:
    rows = []
    for number, place in enumerate(maker.problem.places):
        if place.loads_a_day is None and place.at_once is None:
            continue
        trips, seconds = _visits(maker, number)
        if not trips.any():
            continue
        for day in _days(maker.groups):
            on = np.array([day in slots.days for slots in maker.groups])[:, None]
            if place.loads_a_day is not None:
                rows.append(maker.row(-float(place.loads_a_day), -trips * on))
            if place.at_once is not None:
                most = open_s(maker.problem, maker.groups, number, day) * place.at_once
                most = min(most, spare.get((number, day), most))
                rows.append(maker.row(-float(most), -seconds * on))
    return rows


def _visits(maker: RowMaker, place: int) -> tuple[Floats, Floats]:
    """Trips that load or tip at a place, and seconds of that, by group and task."""
    trips, seconds = np.zeros(maker.shape), np.zeros(maker.shape)
    tasks = maker.groups[0].tasks if maker.groups else ()
    for at, task in enumerate(tasks):
        here = [v for v in task.visits if visit_place(maker.problem, v) == place]
        trips[:, at] = len({visit.haul for visit in here})
        seconds[:, at] = sum(service_s(maker.problem, visit) for visit in here)
    return trips * maker.able, seconds * maker.able


def service_s(problem: PlanProblem, visit: Visit) -> int:
    """How long loading or tipping takes."""
    haul = problem.hauls[visit.haul]
    return haul.load_s if visit.loads else haul.unload_s


def open_s(
    problem: PlanProblem, groups: Sequence[SlotClass], place: int, day: str
) -> int:
    """Seconds of a day in which any truck may be served at a place."""
    found: list[Window] = []
    for slots in groups:
        if day not in slots.days:
            continue
        slot = problem.slots[slots.slots[slots.days.index(day)]]
        for index, haul in enumerate(problem.hauls):
            for loads, at in ((True, haul.origin), (False, haul.destination)):
                if at == place and haul.mass_kg > 0:
                    windows = visit_windows(problem, slots.truck, Visit(index, loads))
                    found += [
                        (max(a, slot.earliest), min(b, slot.latest)) for a, b in windows
                    ]
    return _covered(found)


def _covered(windows: Iterable[Window]) -> int:
    total, until = 0, None
    for opens, closes in sorted(windows):
        if closes <= opens:
            continue
        begins = opens if until is None else max(opens, until)
        total += max(0, closes - begins)
        until = closes if until is None else max(until, closes)
    return total


def _stores(maker: RowMaker) -> list[Row]:
    """What was brought until the end of a day is no more than there is room for."""
    hauls = maker.problem.hauls
    rows = []
    for store in maker.problem.stores:
        for day, room in store.room_m3:
            sides = [
                (own.column, -hauls[index].unit_kg / hauls[index].loose_kg_per_m3)
                for index in store.hauls
                for own in maker.sides.of(index)
                if own.day is not None and own.day <= day
            ]
            if sides:
                rows.append(maker.row(-float(room), sides=sides))
    return rows


def _nights(maker: RowMaker) -> list[Row]:
    """A truck drives one shift a day, from where it was left the evening before."""
    groups, problem = maker.groups, maker.problem
    rows: list[Row] = []
    # On weak roads a truck is another one of the same key.
    trucks = [problem.trucks[problem.slots[slots.slots[0]].truck] for slots in groups]
    for key in sorted({truck.key for truck in trucks}):
        own = [number for number, truck in enumerate(trucks) if truck.key == key]
        base = trucks[own[0]].base
        away = {groups[n].start_place for n in own} | {groups[n].end_place for n in own}
        if away <= {base}:
            continue
        rows += _truck_nights(maker, own, base, sorted(away - {base}))
    return rows


def _truck_nights(
    maker: RowMaker, own: Sequence[int], base: int, away: Sequence[int]
) -> list[Row]:
    groups, count = maker.groups, maker.shape[0]
    rows: list[Row] = []
    left_at = {place: np.zeros(count) for place in away}
    for day in sorted({groups[number].days[0] for number in own}):
        today = [number for number in own if groups[number].days[0] == day]
        once, from_base = np.zeros(count), np.zeros(count)
        for number in today:
            once[number] = -1.0
            from_base[number] = -1.0 if groups[number].start_place == base else 0.0
        rows.append(maker.row(-1.0, shifts=once))
        rows.append(maker.row(-1.0, shifts=from_base - sum(left_at.values())))
        for place in away:
            begin = np.zeros(count)
            change = np.zeros(count)
            for number in today:
                begin[number] = -float(groups[number].start_place == place)
                change[number] = begin[number] + (groups[number].end_place == place)
            rows.append(maker.row(0.0, shifts=left_at[place] + begin))
            left_at[place] = left_at[place] + change
    rows += [maker.row(0.0, shifts=-left) for left in left_at.values()]
    return rows
