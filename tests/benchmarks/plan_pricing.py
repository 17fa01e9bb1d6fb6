"""A rival's answer as a plan of ours: timed by our windows, billed by our rules, replayed.

The rivals' own times are put aside: the order of the loads in each shift is kept and driven
at the best times found, so that no answer fails for a matter of rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from logistics.domain.planning.problem import PlanProblem, Slot, Window
from logistics.domain.planning.result import (
    CostLine,
    HaulPlan,
    Load,
    LowerBound,
    Shift,
    Stop,
    StopKind,
    Trip,
)
from logistics.domain.trucks import Truck
from tests.benchmarks.plan_rivals import Answer, Nodes
from tests.logistics.domain.planning.replay import bill, faults

STEP_S = 300


@dataclass(frozen=True)
class Task:
    """One thing to do on a shift: where, how long, when it may begin and be over."""

    kind: StopKind
    place: int
    work_s: int
    windows: tuple[Window, ...]
    trip: int | None = None


def priced(nodes: Nodes, answer: Answer) -> tuple[int | None, str]:
    """The cost of an answer by our rules, or None and what is wrong with it."""
    missing = len(nodes.loads) - sum(len(loads) for _, loads in answer)
    if missing:
        return None, f"{missing} loads left out"
    free: dict[int, list[int]] = {}
    for number, slot in enumerate(nodes.problem.slots):
        free.setdefault(slot.truck, []).append(number)
    shifts = []
    for truck, loads in answer:
        shift = _driven(nodes, free[truck].pop(0), loads)
        if shift is None:
            return None, "a shift cannot be driven in time"
        shifts.append(shift)
    cost = sum(line.amount for shift in shifts for line in shift.costs)
    bound = LowerBound(0, "none")
    plan = HaulPlan(tuple(shifts), (), cost, bound, proven_optimal=False)
    broken = faults(nodes.problem, plan)
    return (None, broken[0]) if broken else (cost, "")


def _driven(nodes: Nodes, number: int, loads: Sequence[int]) -> Shift | None:
    problem = nodes.problem
    slot = problem.slots[number]
    truck = problem.trucks[slot.truck]
    tasks = _tasks(nodes, truck, loads)
    best: tuple[Stop, ...] = ()
    for leave in range(slot.earliest, slot.latest, STEP_S):
        stops = _timed(problem, slot, tasks, leave)
        if stops and (not best or _length(stops) < _length(best)):
            best = stops
    if not best:
        return None
    own = {(stop.trip, stop.kind): stop for stop in best}
    trips = []
    for trip, load in enumerate(loads):
        haul = problem.hauls[nodes.loads[load].haul]
        most, kg = problem.capacity(truck, haul), nodes.loads[load].kg
        carried = Load(
            nodes.loads[load].haul,
            kg,
            kg / haul.loose_kg_per_m3,
            most.bound if kg == most.kg else None,
        )
        pickup, drop = own[trip, StopKind.LOAD], own[trip, StopKind.TIP]
        trips.append(Trip(carried, pickup, drop, trip))
    shift = Shift(number, best, tuple(trips), ())
    lines = [CostLine(kind, "", due, "") for kind, due in bill(problem, shift).items()]
    return replace(shift, costs=tuple(lines))


def _length(stops: Sequence[Stop]) -> int:
    return stops[-1].end - stops[0].begin


def _tasks(nodes: Nodes, truck: Truck, loads: Sequence[int]) -> list[Task]:
    hauls = [nodes.problem.hauls[nodes.loads[load].haul] for load in loads]
    found: list[Task] = []
    last = hauls[0].cargo
    for trip, haul in enumerate(hauls):
        if haul.cargo != last:
            place = found[-1].place
            found.append(Task(StopKind.CLEAN, place, truck.cleaning_s, ()))
        load = (StopKind.LOAD, haul.origin, haul.load_s, haul.pickup_windows)
        tip = (StopKind.TIP, haul.destination, haul.unload_s, haul.drop_windows)
        found += [Task(*load, trip), Task(*tip, trip)]
        last = haul.cargo
    return found


def _timed(
    problem: PlanProblem, slot: Slot, tasks: Sequence[Task], leave: int
) -> tuple[Stop, ...]:
    """The stops of a shift that leaves no earlier, as short as its end admits."""
    base = problem.trucks[slot.truck].base
    seconds, metres = problem.distances.seconds, problem.distances.metres
    every = [
        Task(StopKind.LEAVE, base, 0, ()),
        *tasks,
        Task(StopKind.RETURN, base, 0, ()),
    ]
    legs = [0, *(int(seconds[a.place, b.place]) for a, b in pairwise(every))]
    long = [0, *(int(metres[a.place, b.place]) for a, b in pairwise(every))]
    now, used = leave, []
    for task, leg in zip(every, legs, strict=True):
        window = _window(task, now + leg)
        if window is None:
            return ()
        used.append(window)
        now = max(now + leg, window[0]) + task.work_s
    if now > slot.latest:
        return ()
    ends = [now]
    for at in range(len(every) - 1, 0, -1):
        begin = ends[0] - every[at].work_s
        ends.insert(0, min(begin - legs[at], used[at - 1][1]))
    stops, now = [], ends[0]
    for at, task in enumerate(every):
        arrive = now + legs[at]
        begin = max(arrive, used[at][0])
        now = begin + task.work_s
        stops.append(
            Stop(
                task.kind, task.place, arrive, begin, now, long[at], legs[at], task.trip
            )
        )
    return tuple(stops)


def _window(task: Task, arrive: int) -> Window | None:
    """The opening in which a task that is reached now can be done."""
    if not task.windows:
        return arrive, 10**12
    for opens, closes in task.windows:
        if max(arrive, opens) + task.work_s <= closes:
            return opens, closes
    return None
