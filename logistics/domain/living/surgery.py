"""Loads taken out of shifts or put between others; shifts that run late or break off.

Nothing that stays changes its moment, unless it is late. What comes out is checked by
`verify_plan`; only what the check admits is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from logistics.domain.living.blocks import (
    HANDLED,
    Block,
    blocks_of,
    drive,
    load_of,
    new_block,
)
from logistics.domain.planning.billing import shift_costs
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import (
    CostLine,
    HaulPlan,
    LineKind,
    Load,
    LowerBound,
    Shift,
    StopKind,
)
from logistics.domain.planning.verify import PlanBroken, verify_plan


def sound(problem: PlanProblem, shift: Shift | None) -> Shift | None:
    """The shift if the check of plans admits it alone, else None."""
    if shift is None:
        return None
    carried = [0] * len(problem.hauls)
    for trip in shift.trips:
        carried[trip.load.haul] += trip.load.mass_kg
    hauls = tuple(
        replace(haul, mass_kg=kg)
        for haul, kg in zip(problem.hauls, carried, strict=True)
    )
    cost = sum(line.amount for line in shift.costs)
    plan = HaulPlan((shift,), (), cost, LowerBound(cost, ""), proven_optimal=False)
    try:
        verify_plan(replace(problem, hauls=hauls, stores=()), plan)
    except PlanBroken:
        return None
    return shift


def without(
    problem: PlanProblem, shift: Shift, gone: frozenset[int], *, begun: bool
) -> Shift | None:
    """The shift without some of its trips, the others at their moments.

    Loads that share a body with one that goes, go as well. None if nothing is left, or if
    what is left cannot be driven so.
    """
    all_blocks = blocks_of(shift)
    blocks = [own for own in all_blocks if not gone & set(own.trips)]
    if not blocks:
        return None
    leave = shift.leave.begin
    if not begun and blocks[0] is not all_blocks[0]:
        leave = _latest_leave(problem, shift.slot, blocks[0]) or leave
    return sound(problem, drive(problem, shift.slot, leave, blocks))


def _latest_leave(problem: PlanProblem, slot: int, block: Block) -> int | None:
    first, own = block.visits[0], problem.slots[slot]
    truck = problem.trucks[own.truck]
    here = problem.start(own)
    if first.begin is None or first.kind not in HANDLED:
        return None
    seconds = int(problem.ways(truck).seconds[here, first.place])
    return max(own.earliest, first.begin - seconds)


def inserted(problem: PlanProblem, shift: Shift, load: Load, now: int) -> Shift | None:
    """The shift with one load more, nothing else moved, at the least cost; None if it
    cannot take it. A truck that is on its way somewhere goes there first."""
    blocks = blocks_of(shift)
    new = new_block(problem.hauls[load.haul], load)
    found = []
    for at in range(len(blocks) + 1):
        left = blocks[at - 1].left if at else shift.leave.begin
        if left < now:
            continue
        longer = [*blocks[:at], new, *blocks[at:]]
        leave = shift.leave.begin
        if at == 0:
            leave = max(problem.slots[shift.slot].earliest, now)
            own = _tightened(problem, shift.slot, leave, longer)
        else:
            own = drive(problem, shift.slot, leave, longer)
        if sound(problem, own) and own is not None:
            found.append(own)
    return min(found, key=cost_of, default=None)


def _tightened(
    problem: PlanProblem, slot: int, leave: int, blocks: Sequence[Block]
) -> Shift | None:
    """Leaves as late as waiting for what is fixed allows."""
    early = drive(problem, slot, leave, blocks)
    if early is None:
        return None
    waits = [stop.begin - stop.arrive for stop in early.stops[1:-1]]
    late = drive(problem, slot, leave + min(waits[: len(blocks[0].visits) + 1]), blocks)
    return late or early


def late(
    problem: PlanProblem, shift: Shift, seconds: int, now: int
) -> tuple[Shift | None, frozenset[int]]:
    """The shift so much later from `now` on, and the trips that it no longer manages.

    Waits swallow what they can. The last trips are given up first; one whose load is
    aboard already is not. None if the shift cannot be driven in any such way.
    """
    blocks = _delayed(shift, seconds, now)
    begun = shift.leave.begin <= now
    leave = shift.leave.begin + (0 if begun else seconds)
    gone: frozenset[int] = frozenset()
    while blocks:
        own = sound(problem, drive(problem, shift.slot, leave, blocks))
        if own is not None:
            return own, gone
        if blocks[-1].visits[0].begin is not None:
            break
        gone |= frozenset(blocks.pop().trips)
    return None, gone


def _delayed(shift: Shift, seconds: int, now: int) -> list[Block]:
    """The blocks of the shift, free to begin later in what is ahead, never sooner than
    planned; the delay itself comes at the first visit that is ahead."""
    found, due = [], shift.leave.begin <= now
    for block in blocks_of(shift):
        visits = []
        for own in block.visits:
            if own.begin is not None and own.begin > now:
                more = seconds if due and own.kind in HANDLED else 0
                due = due and not more
                visits.append(replace(own, begin=None, soonest=own.begin + more))
            else:
                visits.append(own)
        found.append(replace(block, visits=tuple(visits)))
    return found


def broken_off(
    problem: PlanProblem, shift: Shift, at: int, done: frozenset[int]
) -> Shift:
    """What was driven of a shift until it broke off, and what that costs.

    It ends where the truck was last; the hire is paid until then, loads that were tipped
    by their terms, and loading where a load is still aboard.
    """
    order = sorted(done)
    number = {old: new for new, old in enumerate(order)}
    stops = []
    for stop in shift.stops:
        if stop.end <= at or stop.trip in done:
            trip = None if stop.trip is None else number.get(stop.trip)
            stops.append(replace(stop, trip=trip))
    last = stops[-1]
    if last.end < at and last.kind is not StopKind.RETURN:
        stops[-1] = replace(last, end=at)
    trips = []
    for new, old in enumerate(order):
        own = shift.trips[old]
        trips.append(
            replace(
                own,
                pickup=replace(own.pickup, trip=new),
                drop=replace(own.drop, trip=new),
            )
        )
    bare = Shift(shift.slot, tuple(stops), tuple(trips), ())
    lines = [*shift_costs(problem, bare), *_aboard(problem, shift, at, done)]
    return replace(bare, costs=tuple(lines))


def _aboard(
    problem: PlanProblem, shift: Shift, at: int, done: frozenset[int]
) -> Iterator[CostLine]:
    for number, trip in enumerate(shift.trips):
        haul = problem.hauls[trip.load.haul]
        if number not in done and trip.pickup.end <= at and haul.loading_fee:
            yield CostLine(
                LineKind.LOADING, haul.key, haul.loading_fee, "loaded, not tipped"
            )


def cost_of(shift: Shift) -> int:
    """The sum of the lines of a shift."""
    return sum(line.amount for line in shift.costs)


def reweighed(problem: PlanProblem, shift: Shift, kgs: dict[int, int]) -> Shift | None:
    """The shift with other masses in some of its trips, every moment the same."""
    truck = problem.trucks[problem.slots[shift.slot].truck]
    trips = tuple(
        replace(own, load=load_of(problem, truck, own.load.haul, kgs[number]))
        if number in kgs
        else own
        for number, own in enumerate(shift.trips)
    )
    bare = replace(shift, trips=trips)
    return sound(problem, replace(bare, costs=shift_costs(problem, bare)))
