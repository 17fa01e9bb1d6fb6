"""Checks a finished plan from the problem alone.

Nothing here is shared with the planner: no label, no pattern, no pricing function. What
the planner gets wrong, this must find.
"""

from __future__ import annotations

from collections import Counter

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, Shift, StopKind, Trip
from logistics.domain.planning.verify_bill import bill_faults
from logistics.domain.planning.verify_drive import drive_faults
from logistics.domain.planning.verify_together import together_faults
from logistics.domain.trucks import CARRIES, LOADS_ITSELF, Truck


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
    faults += together_faults(problem, plan)
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
    faults = drive_faults(problem, shift)
    if shift.leave.begin < slot.earliest or shift.back.end > slot.latest:
        faults.append("outside the hours of the truck")
    if shift.back.end - shift.leave.begin > truck.max_shift_s:
        faults.append("longer than the longest shift")
    for trip in shift.trips:
        faults += _load(truck, problem, trip) + _visits(problem, truck, trip)
    faults += _aboard(problem, truck, shift)
    for where in (truck.base, shift.leave.place, shift.back.place):
        faults += _access(problem, truck, where, 0)
    return faults + bill_faults(problem, shift)


def _load(truck: Truck, problem: PlanProblem, trip: Trip) -> list[str]:
    haul, kg = problem.hauls[trip.load.haul], trip.load.mass_kg
    faults = []
    if haul.cargo not in CARRIES[truck.body]:
        faults.append(f"{truck.body} carries {haul.cargo}")
    if truck.only_from is not None and haul.origin not in truck.only_from:
        faults.append(f"does not load at place {haul.origin}")
    if not 0 < kg <= truck.payload_kg:
        faults.append(f"load of {kg} kg on {truck.payload_kg} kg")
    if kg % haul.unit_kg:
        faults.append(f"load of {kg} kg cuts a piece of {haul.unit_kg} kg")
    return faults


def _visits(problem: PlanProblem, truck: Truck, trip: Trip) -> list[str]:
    haul = problem.hauls[trip.load.haul]
    faults = []
    if (trip.pickup.place, trip.drop.place) != (haul.origin, haul.destination):
        faults.append("load taken to another place")
    visits = [
        (trip.pickup, haul.load_s, haul.pickup_windows),
        (trip.drop, haul.unload_s, haul.drop_windows),
    ]
    if haul.loader_windows is not None and truck.body not in LOADS_ITSELF:
        visits.append((trip.pickup, haul.load_s, haul.loader_windows))
    for stop, work, windows in visits:
        if stop.end - stop.begin != work:
            faults.append(f"work at place {stop.place} takes another time")
        if not any(a <= stop.begin and stop.end <= b for a, b in windows):
            faults.append(f"place {stop.place} is closed at {stop.begin}")
    return faults


def _aboard(problem: PlanProblem, truck: Truck, shift: Shift) -> list[str]:
    """What is aboard at each stop fits the body and the limits of the place."""
    faults: list[str] = []
    aboard: dict[int, Trip] = {}
    for stop in shift.stops:
        if stop.trip is not None and stop.kind is StopKind.LOAD:
            aboard[stop.trip] = shift.trips[stop.trip]
        hauls = [problem.hauls[trip.load.haul] for trip in aboard.values()]
        kg = sum(trip.load.mass_kg for trip in aboard.values())
        m3 = sum(
            trip.load.mass_kg / haul.loose_kg_per_m3
            for trip, haul in zip(aboard.values(), hauls, strict=True)
        )
        if kg > truck.payload_kg:
            faults.append(f"{kg} kg aboard on {truck.payload_kg} kg")
        room = truck.volume_m3(hauls[0].cargo) if hauls else 0.0
        if m3 > room + 1e-3:
            faults.append(f"load of {kg} kg is larger than the body")
        if len(hauls) > 1:
            bodies = {trip.body for trip in aboard.values()}
            alike = len(bodies) == 1 and len({haul.cargo for haul in hauls}) == 1
            if not alike or not all(haul.shared for haul in hauls):
                faults.append("hauls ride together that may not")
        faults += _access(problem, truck, stop.place, kg)
        if stop.trip is not None and stop.kind is StopKind.TIP:
            aboard.pop(stop.trip, None)
    return faults


def _access(problem: PlanProblem, truck: Truck, where: int, kg: int) -> list[str]:
    access = problem.places[where].access
    tare = truck.tare_kg or 0
    faults = []
    limit_kg = access.max_gross_kg
    if limit_kg is not None and tare + kg > limit_kg:
        faults.append(f"too heavy for place {where}")
    if access.max_axle_kg is not None and any(
        axle.empty_kg + axle.share * kg > access.max_axle_kg + 1
        for axle in truck.axle_loads
    ):
        faults.append(f"an axle is too heavy for place {where}")
    for word, size, limit in (
        ("high", truck.height_m, access.max_height_m),
        ("wide", truck.width_m, access.max_width_m),
        ("long", truck.length_m, access.max_length_m),
    ):
        if size is not None and limit is not None and size > limit:
            faults.append(f"too {word} for place {where}")
    return faults
