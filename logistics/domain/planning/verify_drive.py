"""Checks how a shift is driven: the order of its stops, times, cleaning and rests."""

from __future__ import annotations

from itertools import pairwise

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import Shift, Stop, StopKind

_INNER = (StopKind.LOAD, StopKind.TIP, StopKind.REST, StopKind.CLEAN)


def drive_faults(problem: PlanProblem, shift: Shift) -> list[str]:
    """What is wrong with the way of a shift from its begin to its end."""
    return [
        *_order(problem, shift),
        *_times(problem, shift),
        *_cleaning(problem, shift),
        *_rests(problem, shift),
    ]


def _order(problem: PlanProblem, shift: Shift) -> list[str]:
    slot, stops = problem.slots[shift.slot], shift.stops
    base = problem.trucks[slot.truck].base
    start = base if slot.start is None else slot.start
    end = base if slot.end is None else slot.end
    kinds = [stop.kind for stop in stops]
    right = (
        kinds[0] is StopKind.LEAVE
        and kinds[-1] is StopKind.RETURN
        and all(kind in _INNER for kind in kinds[1:-1])
        and (stops[0].place, stops[-1].place) == (start, end)
    )
    faults = [] if right else ["does not go from its start over loads to its end"]
    seen: list[tuple[int | None, StopKind]] = [
        (stop.trip, stop.kind) for stop in stops if stop.trip is not None
    ]
    wanted = {
        (number, kind)
        for number in range(len(shift.trips))
        for kind in (StopKind.LOAD, StopKind.TIP)
    }
    if len(seen) != len(wanted) or set(seen) != wanted:
        return [*faults, "a trip is not loaded and tipped once"]
    for number, trip in enumerate(shift.trips):
        first = seen.index((number, StopKind.LOAD))
        last = seen.index((number, StopKind.TIP))
        if first > last:
            faults.append(f"trip {number} is tipped before it is loaded")
        own = [stop for stop in stops if stop.trip == number]
        if own != [trip.pickup, trip.drop]:
            faults.append(f"stops of trip {number} differ from the shift's")
    return faults


def _times(problem: PlanProblem, shift: Shift) -> list[str]:
    ways = problem.ways(problem.trucks[problem.slots[shift.slot].truck])
    faults = []
    for before, after in pairwise(shift.stops):
        seconds = metres = 0
        if before.place != after.place or not _paused(before, after):
            seconds = int(ways.seconds[before.place, after.place])
            metres = int(ways.metres[before.place, after.place])
            if not ways.reachable[before.place, after.place]:
                faults.append(f"no way from {before.place} to {after.place}")
        if after.arrive != before.end + seconds or after.begin < after.arrive:
            faults.append(f"times do not join at place {after.place}")
        if (after.leg_m, after.leg_s) != (metres, seconds):
            faults.append(f"length of the way to place {after.place} differs")
    return faults


def _paused(before: Stop, after: Stop) -> bool:
    """Whether the truck stands still between two stops at one place."""
    pauses = (StopKind.REST, StopKind.CLEAN)
    return before.kind in pauses or after.kind in pauses


def _cleaning(problem: PlanProblem, shift: Shift) -> list[str]:
    truck = problem.trucks[problem.slots[shift.slot].truck]
    faults = []
    cargo, clean = None, True
    for stop in shift.stops:
        if stop.kind is StopKind.CLEAN:
            clean = True
            if stop.end - stop.begin != truck.cleaning_s:
                faults.append("cleaning takes another time")
        elif stop.kind is StopKind.LOAD and stop.trip is not None:
            own = problem.hauls[shift.trips[stop.trip].load.haul].cargo
            if truck.cleaning_s and not clean and own != cargo:
                faults.append(f"{own} is loaded after {cargo} without cleaning")
            cargo, clean = own, False
    return faults


def _rests(problem: PlanProblem, shift: Shift) -> list[str]:
    rule = problem.trucks[problem.slots[shift.slot].truck].rest
    if rule is None:
        return []
    faults = []
    wheel = work = day = 0
    for stop in shift.stops:
        wheel, work, day = wheel + stop.leg_s, work + stop.leg_s, day + stop.leg_s
        if stop.kind is not StopKind.REST:
            work += stop.end - stop.begin
        if rule.after_driving_s is not None and wheel > rule.after_driving_s:
            faults.append("drives too long without a rest")
        if rule.after_work_s is not None and work > rule.after_work_s:
            faults.append("works too long without a rest")
        if stop.kind is StopKind.REST and stop.end - stop.begin >= rule.rest_s:
            wheel = work = 0
    if rule.most_driving_s is not None and day > rule.most_driving_s:
        faults.append("drives too long in a day")
    return faults
