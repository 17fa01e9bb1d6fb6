"""The cheapest plan of a tiny problem, found by trying every plan.

Shares no code with the planner beyond the dataclasses of the question. Every shift of every
slot is tried (exhaustive_drive.py) with every whole number of pieces in every trip; the
slots are joined day by day over what is left of each haul, where each truck stands, how
many loads each place has had that day and which docks were taken when.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.trucks import Truck
from tests.logistics.domain.planning.exhaustive_drive import (
    EARTH,
    Body,
    Dock,
    Driven,
    Driver,
    half_up,
)

Left = tuple[int, ...]
"""Kilograms still to carry of each haul."""
Loads = tuple[tuple[int, int], ...]
"""(place, loads of the day so far), places with a limit alone."""


class State(NamedTuple):
    """What of the past the rest of the plan depends on."""

    left: Left
    stands: tuple[int, ...]
    loads: Loads
    docks: tuple[Dock, ...]


class Outcome(NamedTuple):
    """What a shift does to the state."""

    carried: Left
    loads: Loads
    docks: tuple[Dock, ...]


def exhaustive(
    problem: PlanProblem, *, grid: int = 1, most_trips: int = 4
) -> dict[int, int]:
    """The least cost for each total mass, in kg, that can be left behind.

    All times of the problem are multiples of `grid`; no shift makes more than `most_trips`
    trips, so the problem must not admit more of use.
    """
    outcomes = [
        _outcomes(problem, slot, grid, most_trips) for slot in range(len(problem.slots))
    ]
    start = State(
        tuple(haul.mass_kg for haul in problem.hauls),
        tuple(truck.base for truck in problem.trucks),
        (),
        (),
    )
    states = {start: 0}
    order = sorted(
        range(len(problem.slots)),
        key=lambda s: (problem.slots[s].day, problem.slots[s].truck),
    )
    for day, of_day in groupby(order, key=lambda s: problem.slots[s].day):
        for _, own in groupby(of_day, key=lambda s: problem.slots[s].truck):
            states = _driven(problem, states, {slot: outcomes[slot] for slot in own})
        states = _night(problem, states, day)
    found: dict[int, int] = {}
    for state, cost in states.items():
        if state.stands == start.stands:
            total = sum(state.left)
            found[total] = min(cost, found.get(total, cost))
    return found


def _driven(
    problem: PlanProblem,
    states: dict[State, int],
    slots: dict[int, dict[Outcome, int]],
) -> dict[State, int]:
    """The states after one truck's day: it rests or drives one of its slots."""
    after = dict(states)
    for number, outcomes in slots.items():
        slot = problem.slots[number]
        base = problem.trucks[slot.truck].base
        start = base if slot.start is None else slot.start
        end = base if slot.end is None else slot.end
        for state, cost in states.items():
            if state.stands[slot.truck] != start:
                continue
            stands = list(state.stands)
            stands[slot.truck] = end
            for outcome, price in outcomes.items():
                following = _joined(problem, state, outcome, tuple(stands))
                if following is not None:
                    total = cost + price
                    after[following] = min(total, after.get(following, total))
    return after


def _joined(
    problem: PlanProblem, state: State, outcome: Outcome, stands: tuple[int, ...]
) -> State | None:
    left = tuple(a - b for a, b in zip(state.left, outcome.carried, strict=True))
    if min(left) < 0:
        return None
    loads = Counter(dict(state.loads)) + Counter(dict(outcome.loads))
    for place, count in loads.items():
        most = problem.places[place].loads_a_day
        if most is not None and count > most:
            return None
    docks = tuple(sorted((*state.docks, *outcome.docks)))
    if not _docks_hold(problem, docks):
        return None
    return State(left, stands, tuple(sorted(loads.items())), docks)


def _docks_hold(problem: PlanProblem, docks: tuple[Dock, ...]) -> bool:
    for place, moment, _ in docks:
        there = sum(p == place and b <= moment < e for p, b, e in docks)
        most = problem.places[place].at_once
        if most is not None and there > most:
            return False
    return True


def _night(
    problem: PlanProblem, states: dict[State, int], day: str
) -> dict[State, int]:
    """Forget the day's loads and docks; drop states whose stores are too full."""
    after: dict[State, int] = {}
    for state, cost in states.items():
        if _stores_hold(problem, state.left, day):
            following = state._replace(loads=(), docks=())
            after[following] = min(cost, after.get(following, cost))
    return after


def _stores_hold(problem: PlanProblem, left: Left, day: str) -> bool:
    hauls = problem.hauls
    for store in problem.stores:
        m3 = sum(
            (hauls[h].mass_kg - left[h]) / hauls[h].loose_kg_per_m3 for h in store.hauls
        )
        if any(m3 > room + 1e-6 for until, room in store.room_m3 if until >= day):
            return False
    return True


def _outcomes(
    problem: PlanProblem, slot: int, grid: int, most_trips: int
) -> dict[Outcome, int]:
    driver = Driver(problem, slot, grid=grid, most=most_trips)
    found: dict[Outcome, int] = {}
    for driven in driver.shifts():
        loads = _loads(problem, driven)
        for carried, fees in _masses(problem, driver, driven).items():
            key = Outcome(carried, loads, driven.docks)
            cost = driven.cost + fees
            found[key] = min(cost, found.get(key, cost))
    return found


def _loads(problem: PlanProblem, driven: Driven) -> Loads:
    visits = Counter(
        place
        for body in driven.bodies
        for haul in body.hauls
        for place in {problem.hauls[haul].origin, problem.hauls[haul].destination}
        if problem.places[place].loads_a_day is not None
    )
    return tuple(sorted(visits.items()))


def _masses(problem: PlanProblem, driver: Driver, driven: Driven) -> dict[Left, int]:
    """The least fees for each way to share what a shift carries among hauls."""
    found: dict[Left, int] = {tuple(0 for _ in problem.hauls): 0}
    for body in driven.bodies:
        following: dict[Left, int] = {}
        for kgs in _fillings(problem, driver, body):
            fees = sum(
                _fees(problem.hauls[h], driver, kg)
                for h, kg in zip(body.hauls, kgs, strict=True)
            )
            for carried, cost in found.items():
                total = list(carried)
                for h, kg in zip(body.hauls, kgs, strict=True):
                    total[h] += kg
                if all(
                    kg <= haul.mass_kg
                    for kg, haul in zip(total, problem.hauls, strict=True)
                ):
                    key = tuple(total)
                    following[key] = min(cost + fees, following.get(key, cost + fees))
        found = following
    return found


def _fillings(
    problem: PlanProblem, driver: Driver, body: Body
) -> Iterator[tuple[int, ...]]:
    """All ways to load a body with at least one piece of each of its hauls."""
    hauls = [problem.hauls[h] for h in body.hauls]
    truck = driver.truck
    heaped = truck.heaped_m3 if hauls[0].cargo in EARTH else None
    room = heaped or truck.body_m3

    def more(kgs: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if len(kgs) == len(hauls):
            if all(
                driver.enters(place, sum(kgs[at] for at in aboard))
                for place, aboard in body.visits
            ):
                yield kgs
            return
        haul = hauls[len(kgs)]
        for kg in range(haul.unit_kg, haul.mass_kg + 1, haul.unit_kg):
            m3 = sum(
                own / h.loose_kg_per_m3
                for own, h in zip((*kgs, kg), hauls, strict=False)
            )
            if sum(kgs) + kg > truck.payload_kg or m3 > room + 1e-6:
                break
            yield from more((*kgs, kg))

    yield from more(())


def _fees(haul: Haul, driver: Driver, kg: int) -> int:
    """What one trip of this mass costs besides the shift that makes it."""
    truck: Truck = driver.truck
    rates, tariff = truck.rates, truck.rates.delivery
    fees = rates.per_load + half_up(Fraction(rates.per_tonne * kg, 1000))
    fees += haul.loading_fee
    fees += haul.part_load.charge if kg < haul.part_load.below_kg else 0
    if tariff is not None:
        ride = driver.metres[haul.origin][haul.destination]
        band = next(own for own in tariff.bands if ride <= own.up_to_m)
        charged = max(kg, tariff.minimum_kg)
        fees += band.per_load + half_up(Fraction(band.per_tonne * charged, 1000))
        longer = max(0, haul.unload_s - tariff.free_unload_s)
        fees += half_up(Fraction(tariff.waiting_per_hour * longer, 3600))
    return fees
