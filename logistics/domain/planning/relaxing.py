"""The cheapest change that would let a haul be carried that stays behind.

Each change is tried. Where a place receives so many loads, or has so much room, it is
planned anew without that limit. Else a longer day of one truck, longer hours of the gates
and another day of a truck are tried with all that stands in the plan as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from logistics.domain.places import Place
from logistics.domain.planning.groups import slot_class
from logistics.domain.planning.loading import Chosen
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.problem import Haul, PlanProblem, Window
from logistics.domain.planning.shifts import SlotClass

STEPS = (900, 1800, 2700, 3600, 5400, 7200, 10_800, 14_400)
"""Seconds more that are tried, in this order."""


@dataclass(frozen=True, slots=True)
class Left:
    """The kg of a haul that a plan leaves behind, and what its haulage costs."""

    kg: int
    cost: int


Again = Callable[[PlanProblem], tuple[tuple[int, ...], int]]
"""Plans anew: the kg left of each haul, and what the haulage costs."""
MOST_AGAIN = 3
"""Limits that are tried for a plan: each takes as long as a plan."""


class Retrial:
    """Plans without one limit of a place; what was tried is remembered."""

    def __init__(self, again: Again) -> None:
        self._again = again
        self._known: dict[str, tuple[tuple[int, ...], int]] = {}

    def left(self, text: str, problem: PlanProblem, index: int) -> Left | None:
        """What is left of a haul without the limit of that name; None if not tried."""
        if text not in self._known:
            if len(self._known) >= MOST_AGAIN:
                return None
            self._known[text] = self._again(problem)
        left, cost = self._known[text]
        return Left(left[index], cost)


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A change in words, and what the haulage costs more with it, in minor units."""

    text: str
    adds: int


def cheapest_relaxation(
    problem: PlanProblem, driven: Chosen, index: int, left: Left, retrial: Retrial
) -> Relaxation | None:
    """The change that admits what is left at the least cost; None if none was found.

    Where a limit of a place is lifted more of the haul is carried, perhaps not all.
    """
    found = list(_limits(problem, index, left, retrial))
    if not found:
        found = [
            *_longer_days(problem, driven, index, left.kg),
            *_other_days(problem, index, left.kg),
        ]
    return min(found, key=lambda own: (own.adds, own.text), default=None)


def _longer_days(
    problem: PlanProblem, driven: Chosen, index: int, kg: int
) -> Iterator[Relaxation]:
    """More time for one truck on one day, or at the gates as well."""
    patterns = dict(driven)
    for number, slot in enumerate(problem.slots):
        truck = problem.trucks[slot.truck]
        if slot.start is not None or slot.end is not None:
            continue
        if problem.barrier(truck, problem.hauls[index]):
            continue
        before = patterns.get(number)
        for gates in (False, True):
            grown = _least_longer(problem, number, before, index, kg, gates=gates)
            if grown:
                extra, pattern = grown
                gate = " and at the gates that it comes to" if gates else ""
                text = f"{hm(extra)} more for {truck.name} on {slot.day}{gate}"
                adds = pattern.cost - (before.cost if before else 0)
                yield Relaxation(text, max(0, adds))
                break


def _least_longer(
    problem: PlanProblem,
    number: int,
    before: Pattern | None,
    index: int,
    kg: int,
    *,
    gates: bool,
) -> tuple[int, Pattern] | None:
    for extra in STEPS:
        slots = longer(problem, number, extra, gates=gates)
        pattern = with_trips(slots, before.tasks if before else (), index, kg)
        if pattern:
            return extra, pattern
    return None


def with_trips(
    slots: SlotClass, tasks: tuple[int, ...], index: int, kg: int
) -> Pattern | None:
    """The cheapest shift with the trips for so much of a haul put in at one place."""
    most = slots.capacity[index]
    if not most or not slots.trips[index]:
        return None
    more = (index,) * -(-kg // most)
    found = [
        pattern
        for at in range(len(tasks) + 1)
        if (pattern := pattern_of(0, slots, (*tasks[:at], *more, *tasks[at:])))
    ]
    return min(found, key=lambda own: own.cost, default=None)


def longer(
    problem: PlanProblem, number: int, extra: int, *, gates: bool = False
) -> SlotClass:
    """A slot that ends later, of a truck that may be out for longer."""
    old = problem.slots[number]
    slots, trucks = list(problem.slots), list(problem.trucks)
    slots[number] = replace(old, latest=old.latest + extra)
    trucks[old.truck] = replace(
        trucks[old.truck], max_shift_s=trucks[old.truck].max_shift_s + extra
    )
    hauls = problem.hauls
    if gates:
        hauls = tuple(_open_later(haul, old.earliest, extra) for haul in hauls)
    return slot_class(
        replace(problem, slots=tuple(slots), trucks=tuple(trucks), hauls=hauls),
        (number,),
    )


def _open_later(haul: Haul, since: int, extra: int) -> Haul:
    """The haul with the last window of the day that begins at `since` drawn out."""

    def drawn(windows: tuple[Window, ...]) -> tuple[Window, ...]:
        today = [w for w in windows if since <= w[0] < since + 86_400]
        if not today:
            return windows
        last = max(today)
        return tuple(sorted({*windows, (last[0], last[1] + extra)} - {last}))

    loader = haul.loader_windows
    return replace(
        haul,
        pickup_windows=drawn(haul.pickup_windows),
        drop_windows=drawn(haul.drop_windows),
        loader_windows=None if loader is None else drawn(loader),
    )


def _other_days(problem: PlanProblem, index: int, kg: int) -> Iterator[Relaxation]:
    """Further days of a truck, with the hours of one that it has."""
    told: set[str] = set()
    for number, slot in enumerate(problem.slots):
        truck = problem.trucks[slot.truck]
        if truck.key in told or slot.start is not None or slot.end is not None:
            continue
        full = _fullest_day(slot_class(problem, (number,)), index, kg)
        if full:
            told.add(truck.key)
            carried, cost = full
            days = -(-kg // carried)
            more = "another day" if days == 1 else f"{days} more days"
            text = f"{more} of {truck.name}, with the hours of {slot.day}"
            yield Relaxation(text, days * cost)


def _fullest_day(slots: SlotClass, index: int, kg: int) -> tuple[int, int] | None:
    """The kg of a haul that a truck brings in a day of its own, and what that costs."""
    found = None
    for trips in range(1, slots.trips[index] + 1):
        carried = min(kg, trips * slots.capacity[index])
        pattern = pattern_of(0, slots, (index,) * trips)
        if pattern is None:
            break
        found = carried, pattern.cost
        if carried == kg:
            break
    return found


def _limits(
    problem: PlanProblem, index: int, left: Left, retrial: Retrial
) -> Iterator[Relaxation]:
    """Receiving limits and room without which less of a haul stays behind."""
    haul = problem.hauls[index]
    for text, without in _without_limits(problem, haul, index):
        after = retrial.left(text, without, index)
        if after and after.kg < left.kg:
            yield Relaxation(text, max(0, after.cost - left.cost))


def _without_limits(
    problem: PlanProblem, haul: Haul, index: int
) -> Iterator[tuple[str, PlanProblem]]:
    for where in sorted({haul.origin, haul.destination}):
        place = problem.places[where]
        if place.loads_a_day is not None:
            text = f"more than {place.loads_a_day} loads a day at {place.name}"
            yield text, _with_place(problem, where, replace(place, loads_a_day=None))
        if place.at_once is not None:
            text = f"room for more than {place.at_once} trucks at once at {place.name}"
            yield text, _with_place(problem, where, replace(place, at_once=None))
    for number, store in enumerate(problem.stores):
        if index in store.hauls:
            others = (*problem.stores[:number], *problem.stores[number + 1 :])
            text = f"more room for material at {store.name}"
            yield text, replace(problem, stores=others)


def _with_place(problem: PlanProblem, where: int, place: Place) -> PlanProblem:
    places = list(problem.places)
    places[where] = place
    return replace(problem, places=tuple(places))


def hm(seconds: int) -> str:
    """Hours and minutes, rounded up to the minute."""
    minutes = -(-seconds // 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"
