"""Checks a finished plan from the problem alone.

Nothing here is shared with the planner: no label, no pattern, no pricing function. What
the planner gets wrong, this must find.
"""

from __future__ import annotations

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, LineKind, Shift, StopKind, Trip
from logistics.domain.trucks import CARRIES, Truck


class PlanBroken(Exception):
    """A plan that must not be stored: the planner has a fault. Lists what is wrong."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(faults))


def verify_plan(problem: PlanProblem, plan: HaulPlan) -> None:
    """Recompute every time, load, window and cost. Raises PlanBroken with all faults."""
    used = Counter(shift.slot for shift in plan.shifts)
    faults = [f"slot {slot} is used {n} times" for slot, n in used.items() if n > 1]
    for shift in plan.shifts:
        faults += [
            f"shift in slot {shift.slot}: {fault}" for fault in _shift(problem, shift)
        ]
    faults += _masses(problem, plan)
    total = sum(line.amount for shift in plan.shifts for line in shift.costs)
    if total != plan.haul_cost:
        faults.append(f"cost lines sum to {total}, the plan says {plan.haul_cost}")
    if plan.bound.amount > plan.haul_cost:
        faults.append(f"bound {plan.bound.amount} lies above the cost {plan.haul_cost}")
    if faults:
        raise PlanBroken(faults)


def _masses(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    carried: Counter[int] = Counter()
    for shift in plan.shifts:
        for trip in shift.trips:
            carried[trip.load.haul] += trip.load.mass_kg
    for unplanned in plan.unplanned:
        carried[unplanned.haul] += unplanned.mass_kg
    return [
        f"haul {haul.key}: {carried[index]} kg planned or left, {haul.mass_kg} kg asked"
        for index, haul in enumerate(problem.hauls)
        if carried[index] != haul.mass_kg
    ]


def _shift(problem: PlanProblem, shift: Shift) -> list[str]:
    slot = problem.slots[shift.slot]
    truck = problem.trucks[slot.truck]
    faults = _drive(problem, shift, truck.base)
    if shift.leave.begin < slot.earliest or shift.back.end > slot.latest:
        faults.append("outside the hours of the truck")
    if shift.back.end - shift.leave.begin > truck.max_shift_s:
        faults.append("longer than the longest shift")
    for trip in shift.trips:
        faults += _load(problem, truck, trip) + _visits(problem, trip)
        for where in (trip.pickup.place, trip.drop.place):
            faults += _access(problem, truck, where, trip.load.mass_kg)
    return faults + _access(problem, truck, truck.base, 0) + _bill(problem, shift)


def _load(problem: PlanProblem, truck: Truck, trip: Trip) -> list[str]:
    haul, kg = problem.hauls[trip.load.haul], trip.load.mass_kg
    faults = []
    if haul.cargo not in CARRIES[truck.body]:
        faults.append(f"{truck.body} carries {haul.cargo}")
    if not 0 < kg <= truck.payload_kg:
        faults.append(f"load of {kg} kg on {truck.payload_kg} kg")
    if kg > truck.body_m3 * haul.loose_kg_per_m3 + 1e-3:
        faults.append(f"load of {kg} kg is larger than the body")
    if kg % haul.unit_kg:
        faults.append(f"load of {kg} kg cuts a piece of {haul.unit_kg} kg")
    return faults


def _visits(problem: PlanProblem, trip: Trip) -> list[str]:
    haul = problem.hauls[trip.load.haul]
    faults = []
    if (trip.pickup.place, trip.drop.place) != (haul.origin, haul.destination):
        faults.append("load taken to another place")
    for stop, work, windows in (
        (trip.pickup, haul.load_s, haul.pickup_windows),
        (trip.drop, haul.unload_s, haul.drop_windows),
    ):
        if stop.end - stop.begin != work:
            faults.append(f"work at place {stop.place} takes another time")
        if not any(a <= stop.begin and stop.end <= b for a, b in windows):
            faults.append(f"place {stop.place} is closed at {stop.begin}")
    return faults


def _access(problem: PlanProblem, truck: Truck, where: int, kg: int) -> list[str]:
    access = problem.places[where].access
    tare = truck.tare_kg or 0
    faults = []
    limit_kg = access.max_gross_kg
    if limit_kg is not None and tare + kg > limit_kg:
        faults.append(f"too heavy for place {where}")
    for word, size, limit in (
        ("high", truck.height_m, access.max_height_m),
        ("wide", truck.width_m, access.max_width_m),
        ("long", truck.length_m, access.max_length_m),
    ):
        if size is not None and limit is not None and size > limit:
            faults.append(f"too {word} for place {where}")
    return faults


def _drive(problem: PlanProblem, shift: Shift, base: int) -> list[str]:
    faults = []
    stops = shift.stops
    kinds = [stop.kind for stop in stops]
    wanted = [
        StopKind.LEAVE,
        *[StopKind.LOAD, StopKind.TIP] * len(shift.trips),
        StopKind.RETURN,
    ]
    if kinds != wanted or stops[0].place != base or stops[-1].place != base:
        faults.append("does not go from its base over loads and drops to its base")
    for before, after in pairwise(stops):
        seconds = int(problem.distances.seconds[before.place, after.place])
        metres = int(problem.distances.metres[before.place, after.place])
        if not problem.distances.reachable[before.place, after.place]:
            faults.append(f"no way from {before.place} to {after.place}")
        if after.arrive != before.end + seconds or after.begin < after.arrive:
            faults.append(f"times do not join at place {after.place}")
        if (after.leg_m, after.leg_s) != (metres, seconds):
            faults.append(f"length of the way to place {after.place} differs")
    return faults


def _bill(problem: PlanProblem, shift: Shift) -> list[str]:
    truck = problem.trucks[problem.slots[shift.slot].truck]
    metres = sum(
        int(problem.distances.metres[a.place, b.place])
        for a, b in pairwise(shift.stops)
    )
    seconds = shift.back.end - shift.leave.begin
    due: Counter[LineKind] = Counter()
    due[LineKind.CALL_OUT] = truck.rates.call_out
    due[LineKind.DRIVING_DISTANCE] = _rounded(truck.rates.per_km * metres, 1000)
    due[LineKind.DRIVING_TIME] = _rounded(truck.rates.per_hour * seconds, 3600)
    for trip in shift.trips:
        haul = problem.hauls[trip.load.haul]
        due[LineKind.LOADING] += haul.loading_fee
        if trip.load.mass_kg < haul.part_load.below_kg:
            due[LineKind.PART_LOAD] += haul.part_load.charge
    billed: Counter[LineKind] = Counter()
    for line in shift.costs:
        billed[line.kind] += line.amount
    return [
        f"{kind} is billed {billed[kind]}, due {due[kind]}"
        for kind in LineKind
        if billed[kind] != due[kind]
    ]


def _rounded(product: int, divisor: int) -> int:
    return int(
        (Decimal(product) / divisor).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    )
