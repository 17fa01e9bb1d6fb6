"""Replays a plan stop by stop and says which rules it breaks.

Shares no code with the planner beyond the dataclasses of question and answer, and asks
nothing of their methods: capacities, ways, bills and sums are reckoned here once more.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise

from logistics.domain.planning.problem import PlanProblem, Slot
from logistics.domain.planning.result import HaulPlan, LineKind, Shift, Stop, StopKind
from tests.logistics.domain.planning.replay_drive import Drive

SLACK = 1e-6
"""m3: densities are no whole numbers."""


def faults(problem: PlanProblem, plan: HaulPlan) -> list[str]:
    """Every rule that the plan breaks, in words; an empty list for a sound plan."""
    found = []
    for number, shift in enumerate(plan.shifts):
        own = [*Drive(problem, shift).faults(), *_billed(problem, shift)]
        found += [f"shift {number}: {fault}" for fault in own]
    return [
        *found,
        *_quantities(problem, plan),
        *_one_a_day(problem, plan),
        *_nights(problem, plan),
        *_docks(problem, plan),
        *_loads_a_day(problem, plan),
        *_stores(problem, plan),
        *_sums(plan),
    ]


def _half_up(amount: Fraction) -> int:
    return (2 * amount.numerator + amount.denominator) // (2 * amount.denominator)


def bill(problem: PlanProblem, shift: Shift) -> Mapping[LineKind, int]:
    """What a shift costs by kind of line, reckoned anew; kinds that cost nothing left out."""
    truck = problem.trucks[problem.slots[shift.slot].truck]
    ways = problem.own_ways.get(truck.key, problem.distances)
    rates, tariff = truck.rates, truck.rates.delivery
    paid = shift.stops[-1].end - shift.stops[0].begin
    due: Counter[LineKind] = Counter()

    def add(kind: LineKind, amount: int, per: int = 1) -> None:
        due[kind] += _half_up(Fraction(amount, per))

    add(LineKind.CALL_OUT, rates.call_out)
    metres = sum(stop.leg_m for stop in shift.stops)
    add(LineKind.DRIVING_DISTANCE, rates.per_km * metres, 1000)
    hired = max(paid, rates.minimum_hire_s)
    add(LineKind.DRIVING_TIME, rates.per_hour * hired, 3600)
    if rates.overtime_after_s is not None:
        over = max(0, paid - rates.overtime_after_s)
        add(LineKind.OVERTIME, rates.overtime_per_hour * over, 3600)
    for trip in shift.trips:
        haul, kg = problem.hauls[trip.load.haul], trip.load.mass_kg
        add(LineKind.PER_LOAD, rates.per_load)
        add(LineKind.PER_TONNE, rates.per_tonne * kg, 1000)
        add(LineKind.LOADING, haul.loading_fee)
        light = kg < haul.part_load.below_kg
        add(LineKind.PART_LOAD, haul.part_load.charge if light else 0)
        if tariff is not None:
            ride = int(ways.metres[haul.origin, haul.destination])
            band = next((own for own in tariff.bands if ride <= own.up_to_m), None)
            if band is None:
                due[LineKind.DELIVERY] = -1
                continue
            charged = max(kg, tariff.minimum_kg)
            add(
                LineKind.DELIVERY, 1000 * band.per_load + band.per_tonne * charged, 1000
            )
            longer = max(0, haul.unload_s - tariff.free_unload_s)
            add(LineKind.WAITING, tariff.waiting_per_hour * longer, 3600)
    return {kind: amount for kind, amount in due.items() if amount}


def _billed(problem: PlanProblem, shift: Shift) -> Iterator[str]:
    due = bill(problem, shift)
    if due.get(LineKind.DELIVERY, 0) < 0:
        yield "a load is delivered farther than the tariff goes"
    said: Counter[LineKind] = Counter()
    for line in shift.costs:
        said[line.kind] += line.amount
    for kind in {*due, *said}:
        if due.get(kind, 0) != said[kind]:
            yield f"{kind} is billed at {said[kind]}, due is {due.get(kind, 0)}"


def _sums(plan: HaulPlan) -> Iterator[str]:
    total = sum(line.amount for shift in plan.shifts for line in shift.costs)
    if total != plan.haul_cost:
        yield f"the lines sum to {total}, the plan says {plan.haul_cost}"
    if plan.bound.amount > plan.haul_cost:
        yield f"the bound {plan.bound.amount} is above the cost {plan.haul_cost}"
    if plan.proven_optimal and plan.bound.amount != plan.haul_cost:
        yield "it is called proven with a gap"


def _quantities(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    carried: Counter[int] = Counter()
    for shift in plan.shifts:
        for trip in shift.trips:
            carried[trip.load.haul] += trip.load.mass_kg
    for left in plan.unplanned:
        carried[left.haul] += left.mass_kg
        if left.mass_kg <= 0 or left.mass_kg % problem.hauls[left.haul].unit_kg:
            yield f"haul {left.haul}: {left.mass_kg} kg are left, no whole pieces"
    for index, haul in enumerate(problem.hauls):
        if carried[index] != haul.mass_kg:
            yield f"haul {index}: {carried[index]} of {haul.mass_kg} kg accounted for"


def _slots(problem: PlanProblem, plan: HaulPlan) -> list[tuple[Slot, Shift]]:
    return [(problem.slots[shift.slot], shift) for shift in plan.shifts]


def _one_a_day(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    used = Counter((slot.truck, slot.day) for slot, _ in _slots(problem, plan))
    for (truck, day), times in used.items():
        if times > 1:
            yield f"truck {truck} drives {times} shifts on {day}"


def _nights(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    order = sorted(_slots(problem, plan), key=lambda own: own[1].stops[0].begin)
    by_truck: defaultdict[int, list[Shift]] = defaultdict(list)
    for slot, shift in order:
        by_truck[slot.truck].append(shift)
    for truck, shifts in by_truck.items():
        base = problem.trucks[truck].base
        ends = [base, *(shift.stops[-1].place for shift in shifts)]
        starts = [*(shift.stops[0].place for shift in shifts), base]
        if ends != starts:
            yield f"truck {truck} is left at {ends} and found at {starts}"
        for one, two in pairwise(shifts):
            if one.stops[-1].end > two.stops[0].begin:
                yield f"truck {truck} drives two shifts at once"


def _worked(plan: HaulPlan) -> Iterator[tuple[Shift, Stop]]:
    for shift in plan.shifts:
        for stop in shift.stops:
            if stop.kind in {StopKind.LOAD, StopKind.TIP}:
                yield shift, stop


def _docks(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    for number, place in enumerate(problem.places):
        if place.at_once is None:
            continue
        times = [(s.begin, s.end) for _, s in _worked(plan) if s.place == number]
        for moment, _ in times:
            there = sum(begin <= moment < end for begin, end in times)
            if there > place.at_once:
                yield f"{there} trucks at place {number} at {moment}"


def _loads_a_day(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    trips: defaultdict[tuple[int, str], set[tuple[int, int | None]]] = defaultdict(set)
    for shift, stop in _worked(plan):
        day = problem.slots[shift.slot].day
        trips[stop.place, day].add((shift.slot, stop.trip))
    for (number, day), own in trips.items():
        most = problem.places[number].loads_a_day
        if most is not None and len(own) > most:
            yield f"{len(own)} loads at place {number} on {day}"


def _stores(problem: PlanProblem, plan: HaulPlan) -> Iterator[str]:
    brought = [
        (problem.slots[shift.slot].day, trip.load.haul, trip.load.mass_kg)
        for shift in plan.shifts
        for trip in shift.trips
    ]
    for store in problem.stores:
        for until, room in store.room_m3:
            m3 = sum(
                kg / problem.hauls[haul].loose_kg_per_m3
                for day, haul, kg in brought
                if haul in store.hauls and day <= until
            )
            if m3 > room + SLACK:
                yield f"{m3:.3f} m3 in {store.name} on {until}, room is {room:.3f}"
