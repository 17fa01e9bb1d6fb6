"""Which loads to let go of, fewest first, and the plan that each choice leads to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from logistics.domain.living.blocks import companions
from logistics.domain.living.changes import stay_put
from logistics.domain.living.filling import fill
from logistics.domain.living.rest import less_room, the_rest
from logistics.domain.living.standing import Held, Standing
from logistics.domain.living.surgery import cost_of, without
from logistics.domain.planning.planner import Effort, plan_hauls
from logistics.domain.planning.problem import PlanProblem, Slot
from logistics.domain.planning.result import (
    HaulPlan,
    LowerBound,
    Shift,
    Unplanned,
)
from logistics.domain.planning.verify import PlanBroken, verify_plan

Released = frozenset[tuple[int, int]]
"""Loads that may move: by the number of the held shift and of the trip in it."""

EVERY_CHOICE = 6
"""So many loads or fewer: every set of them is tried."""
MOST_CHOICES = 60


@dataclass(frozen=True)
class Choice:
    """A plan beside what is past, with the problem that it answers and what it left."""

    problem: PlanProblem
    plan: HaulPlan
    stayed: int
    rest: HaulPlan

    @property
    def left(self) -> int:
        """kg that no shift carries."""
        return sum(own.mass_kg for own in self.plan.unplanned)

    @property
    def rank(self) -> tuple[int, int, int]:
        """Least left behind, then fewest loads moved, then cost."""
        return self.left, -self.stayed, self.plan.haul_cost


def choices(own: Standing) -> Iterator[Released]:
    """Sets of loads to let go of, the smallest first."""
    free = [at for at, held in enumerate(own.held) if not held.fixed]
    free = [at for at in free if _helps(own, own.held[at])]
    loads = [
        (at, trip)
        for at in free
        for trip in range(len(own.held[at].shift.trips))
        if _truck(own, own.held[at]) not in own.roaming
    ]
    found = {frozenset[tuple[int, int]]()}
    if len(loads) <= EVERY_CHOICE:
        for size in range(1, len(loads) + 1):
            found |= {frozenset(some) for some in combinations(loads, size)}
    else:
        found |= {frozenset((load,)) for load in loads}
    found |= set(_groups(own, free))
    ordered = sorted(found, key=lambda some: (len(some), sorted(some)))
    yield from ordered[:MOST_CHOICES]


def everything(own: Standing) -> Released:
    """All loads that may move at all."""
    return _whole(own, [at for at, held in enumerate(own.held) if not held.fixed])


def _groups(own: Standing, free: Sequence[int]) -> Iterator[Released]:
    """Whole shifts, pairs of them, whole trucks, and more and more of the smallest."""
    trucks = sorted({_truck(own, own.held[at]) for at in free})
    by_truck = [[at for at in free if _truck(own, own.held[at]) == t] for t in trucks]
    alone = [at for at in free if _truck(own, own.held[at]) not in own.roaming]
    yield from (_whole(own, [at]) for at in alone)
    yield from (_whole(own, ats) for ats in by_truck)
    if len(alone) <= EVERY_CHOICE:
        yield from (_whole(own, pair) for pair in combinations(alone, 2))
    rising = sorted(
        alone,
        key=lambda at: (len(own.held[at].shift.trips), cost_of(own.held[at].shift)),
    )
    yield from (_whole(own, rising[:size]) for size in range(2, len(rising)))


def _whole(own: Standing, ats: Sequence[int]) -> Released:
    return frozenset(
        (at, trip) for at in ats for trip in range(len(own.held[at].shift.trips))
    )


def _truck(own: Standing, held: Held) -> int:
    return own.world.slots[held.shift.slot].truck


def _helps(own: Standing, held: Held) -> bool:
    """Whether the truck could carry anything that waits."""
    truck = own.world.trucks[_truck(own, held)]
    return any(
        kg and own.world.barrier(truck, haul) is None
        for kg, haul in zip(own.pending, own.world.hauls, strict=True)
    )


def realised(
    own: Standing, released: Released, old: Sequence[Shift], now: int, effort: Effort
) -> Choice | None:
    """The best plan in which these loads may move, None if none was found."""
    kept = _kept(own, released)
    if kept is None:
        return None
    shifts, pending = kept
    rest = _rest(own, shifts, pending, now, effort)
    planned, left = [*shifts, *rest.shifts], list(rest.unplanned)
    found = [_checked(own, planned, left, rest, old)]
    fuller, waiting = fill(own, shifts, pending, now)
    if waiting != pending:
        more = _rest(own, fuller, waiting, now, effort)
        found.append(_checked(own, [*fuller, *more.shifts], more.unplanned, more, old))
    if left:
        squeezed, still = _squeezed(own, planned, left, now)
        found.append(_checked(own, squeezed, still, rest, old))
    sound = [choice for choice in found if choice]
    return min(sound, key=lambda choice: choice.rank, default=None)


def _kept(own: Standing, released: Released) -> tuple[list[Shift], list[int]] | None:
    """The shifts that hold, and what waits for a truck."""
    shifts, pending = [], list(own.pending)
    for at, held in enumerate(own.held):
        gone = frozenset(trip for number, trip in released if number == at)
        if not gone:
            shifts.append(held.shift)
            continue
        for trip in gone:
            load = held.shift.trips[trip].load
            pending[load.haul] += load.mass_kg
        if len(gone) == len(held.shift.trips):
            continue
        if companions(held.shift, gone) != gone:
            return None
        less = without(own.checked, held.shift, gone, begun=held.begun)
        if less is None:
            return None
        shifts.append(less)
    return shifts, pending


def _rest(
    own: Standing,
    shifts: Sequence[Shift],
    pending: Sequence[int],
    now: int,
    effort: Effort,
) -> HaulPlan:
    """What can be planned in the slots that are free beside these shifts."""
    free = _free(own, shifts, now)
    slots = tuple(
        replace(slot, earliest=max(slot.earliest, own.ready.get(number, now)))
        for number, slot in enumerate(own.world.slots)
    )
    stores = less_room(own.world, own.past)
    room = replace(own.world, slots=slots, stores=stores)
    part = the_rest(room, shifts, free, pending, now)
    plan = plan_hauls(part, effort)
    there = tuple(replace(shift, slot=free[shift.slot]) for shift in plan.shifts)
    return replace(plan, shifts=there)


def _free(own: Standing, shifts: Sequence[Shift], now: int) -> list[int]:
    slots = own.world.slots
    taken = [slots[shift.slot] for shift in (*shifts, *own.past)]
    days = {(slot.truck, slot.day) for slot in taken}
    # One that has a shift comes home each night; one that stays away takes no other.
    bound = {slot.truck for slot in taken}
    return [
        number
        for number, slot in enumerate(slots)
        if (slot.truck, slot.day) not in days
        and not (slot.truck in bound and _away(own, slot))
        and slot.latest > max(slot.earliest, now)
    ]


def _away(own: Standing, slot: Slot) -> bool:
    away = slot.start is not None or slot.end is not None
    return away or slot.truck in own.roaming


def _squeezed(
    own: Standing,
    shifts: list[Shift],
    unplanned: list[Unplanned],
    now: int,
) -> tuple[list[Shift], list[Unplanned]]:
    """What was left, put into shifts that have time, as far as it goes."""
    waiting = [0] * len(own.world.hauls)
    for left in unplanned:
        waiting[left.haul] += left.mass_kg
    shifts, rest = fill(own, shifts, waiting, now)
    still = []
    for left in unplanned:
        kg = min(left.mass_kg, rest[left.haul])
        rest[left.haul] -= kg
        still += [replace(left, mass_kg=kg)] if kg else []
    return shifts, still


def _checked(
    own: Standing,
    shifts: Sequence[Shift],
    unplanned: Sequence[Unplanned],
    rest: HaulPlan,
    old: Sequence[Shift],
) -> Choice | None:
    """The whole of it, if the check of plans admits it."""
    shifts = sorted(shifts, key=lambda shift: (shift.leave.begin, shift.slot))
    mass = [0] * len(own.checked.hauls)
    for shift in shifts:
        for trip in shift.trips:
            mass[trip.load.haul] += trip.load.mass_kg
    for left in unplanned:
        mass[left.haul] += left.mass_kg
    hauls = tuple(
        replace(haul, mass_kg=kg)
        for haul, kg in zip(own.checked.hauls, mass, strict=True)
    )
    problem = replace(own.checked, hauls=hauls, stores=less_room(own.checked, own.past))
    cost = sum(map(cost_of, shifts))
    bound = LowerBound(min(0, cost), "none yet")
    plan = HaulPlan(tuple(shifts), tuple(unplanned), cost, bound, proven_optimal=False)
    try:
        verify_plan(problem, plan)
    except PlanBroken:
        return None
    return Choice(problem, plan, stay_put(old, shifts), rest)
