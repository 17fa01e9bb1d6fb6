"""Checks what binds the shifts of a plan to one another."""

from __future__ import annotations

from collections import Counter, defaultdict

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, Shift


def together_faults(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    """Receiving limits, room, and where trucks are left, over all shifts."""
    return [
        *_gates(problem, plan),
        *_days(problem, plan),
        *_stores(problem, plan),
        *_nights(problem, plan),
    ]


def _gates(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    faults = []
    served: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    for shift in plan.shifts:
        for stop in shift.stops:
            if stop.trip is not None and stop.end > stop.begin:
                served[stop.place] += [(stop.begin, 1), (stop.end, -1)]
    for number, place in enumerate(problem.places):
        if place.at_once is None:
            continue
        there = 0
        for moment, change in sorted(served[number]):  # leaving comes before arriving
            there += change
            if there > place.at_once:
                faults.append(f"{there} trucks at once at place {number} at {moment}")
                break
    return faults


def _days(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    loads: Counter[tuple[int, str]] = Counter()
    for shift in plan.shifts:
        day = problem.slots[shift.slot].day
        for trip in shift.trips:
            haul = problem.hauls[trip.load.haul]
            loads.update({(at, day) for at in (haul.origin, haul.destination)})
    return [
        f"{count} loads at place {at} on {day}"
        for (at, day), count in sorted(loads.items())
        if (most := problem.places[at].loads_a_day) is not None and count > most
    ]


def _stores(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    faults = []
    for store in problem.stores:
        for day, room in store.room_m3:
            brought = sum(
                trip.load.mass_kg / problem.hauls[trip.load.haul].loose_kg_per_m3
                for shift in plan.shifts
                for trip in shift.trips
                if trip.load.haul in store.hauls
                and problem.slots[shift.slot].day <= day
            )
            if brought > room + 1e-6:
                faults.append(f"{store.name} holds {brought:.2f} m3 on {day}")
    return faults


def _nights(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    faults = []
    driven: defaultdict[str, list[Shift]] = defaultdict(list)
    bases = {truck.key: truck.base for truck in problem.trucks}
    for shift in plan.shifts:
        driven[problem.trucks[problem.slots[shift.slot].truck].key].append(shift)
    for truck, shifts in sorted(driven.items()):
        days = [problem.slots[shift.slot].day for shift in shifts]
        if len(set(days)) < len(days):
            faults.append(f"truck {truck} drives two shifts on a day")
        at = base = bases[truck]
        for shift in sorted(shifts, key=lambda own: own.leave.begin):
            if shift.leave.place != at:
                faults.append(f"truck {truck} does not start where it was left")
            at = shift.back.place
        if at != base:
            faults.append(f"truck {truck} is not at its base in the end")
    return faults
