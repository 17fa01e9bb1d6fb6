"""The check of a finished plan against rules that the plan was not made for.

A plan of a problem without a rule is held against the same problem with it: the check
shares nothing with the planner and must find what is wrong. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem, Slot, Store
from logistics.domain.planning.result import HaulPlan
from logistics.domain.planning.verify import PlanBroken, verify_plan
from logistics.domain.trucks import (
    BodyKind,
    Cargo,
    DeliveryBand,
    DeliveryTariff,
    RestRule,
    Truck,
)
from tests.logistics.domain.planning.medium_worlds import HOUR, medium_world

Change = Callable[[PlanProblem], PlanProblem]
MINUTE = 60


@cache
def _planned() -> tuple[PlanProblem, HaulPlan]:
    """Sand and subsoil to one site, several trips of each by two trucks."""
    problem = medium_world(3, hauls=2, trucks=2, days=1, most_kg=60_000)
    site = problem.hauls[0].destination
    hauls = tuple(
        replace(haul, cargo=cargo, destination=site, mass_kg=50_000)
        for haul, cargo in zip(problem.hauls, (Cargo.SUBSOIL, Cargo.SAND), strict=True)
    )
    problem = replace(problem, hauls=hauls)
    plan = plan_hauls(problem)
    assert not plan.unplanned
    assert any(len(shift.trips) > 1 for shift in plan.shifts)
    return problem, plan


def _trucks(problem: PlanProblem, change: Callable[[Truck], Truck]) -> PlanProblem:
    return replace(problem, trucks=tuple(map(change, problem.trucks)))


def _truck(**changes: object) -> Change:
    def change(problem: PlanProblem) -> PlanProblem:
        return _trucks(problem, lambda own: replace(own, **changes))  # type: ignore[arg-type]

    return change


def _rates(**changes: object) -> Change:
    def change(problem: PlanProblem) -> PlanProblem:
        return _trucks(
            problem,
            lambda own: replace(own, rates=replace(own.rates, **changes)),  # type: ignore[arg-type]
        )

    return change


def _site(**changes: int) -> Change:
    def change(problem: PlanProblem) -> PlanProblem:
        places, at = list(problem.places), problem.hauls[0].destination
        places[at] = replace(places[at], **changes)  # type: ignore[arg-type]
        return replace(problem, places=tuple(places))

    return change


def _room(problem: PlanProblem) -> PlanProblem:
    return replace(problem, stores=(Store("yard", (0, 1), (("d0", 20.0),)),))


def _loader(problem: PlanProblem) -> PlanProblem:
    first = problem.hauls[0]
    noon = ((12 * HOUR, 12 * HOUR + 30 * MINUTE),)
    return replace(
        problem, hauls=(replace(first, loader_windows=noon), *problem.hauls[1:])
    )


def _nights(problem: PlanProblem) -> PlanProblem:
    slots = tuple(replace(slot, start=0) for slot in problem.slots)
    return replace(problem, slots=slots)


def _other_roads(problem: PlanProblem) -> PlanProblem:
    longer = replace(problem.distances, metres=problem.distances.metres + 500)
    return replace(problem, own_ways={truck.key: longer for truck in problem.trucks})


def _barred_roads(problem: PlanProblem) -> PlanProblem:
    table = problem.distances
    shut = replace(table, reachable=np.zeros_like(table.reachable))
    return replace(problem, own_ways={truck.key: shut for truck in problem.trucks})


TARIFF = DeliveryTariff((DeliveryBand(100_000, 5_000, 300),), 20_000, 60, 9_000)
RULES: list[tuple[str, Change]] = [
    ("drives too long without a rest", _truck(rest=RestRule("x", 60, 600))),
    ("works too long without a rest", _truck(rest=RestRule("x", 60, None, 600))),
    ("drives too long in a day", _truck(rest=RestRule("x", 60, most_driving_s=600))),
    ("without cleaning", _truck(cleaning_s=600)),
    ("does not load at place", _truck(only_from=frozenset())),
    ("larger than the body", _truck(heaped_m3=2.0)),
    ("driving_time is billed", _rates(minimum_hire_s=20 * HOUR)),
    (
        "overtime is billed 0",
        _rates(overtime_after_s=HOUR, overtime_per_hour=2_000),
    ),
    ("per_load is billed 0", _rates(per_load=700)),
    ("per_tonne is billed 0", _rates(per_tonne=90)),
    ("delivery is billed 0", _rates(delivery=TARIFF)),
    ("waiting is billed 0", _rates(delivery=TARIFF)),
    ("trucks at once at place", _site(at_once=0)),
    ("loads at place", _site(loads_a_day=1)),
    ("yard holds", _room),
    ("is closed at", _loader),
    ("does not go from its start", _nights),
    ("length of the way", _other_roads),
    ("no way from", _barred_roads),
]


def test_the_plan_is_sound_without_the_rules() -> None:
    verify_plan(*_planned())


@pytest.mark.parametrize(("said", "rule"), RULES, ids=[said for said, _ in RULES])
def test_a_plan_that_does_not_know_a_rule_is_found_to_break_it(
    said: str, rule: Change
) -> None:
    problem, plan = _planned()
    with pytest.raises(PlanBroken, match=said):
        verify_plan(rule(problem), plan)


def test_loads_of_hauls_that_may_not_share_a_body_are_found() -> None:
    """Two parts of one bed of bales, planned while sharing was allowed."""
    problem = medium_world(8, hauls=2, trucks=1, days=1)
    first, second = problem.hauls
    near = replace(second, origin=first.origin, destination=first.destination)
    hauls = tuple(
        replace(haul, cargo=Cargo.STRAW, mass_kg=320, unit_kg=16, shared=True)
        for haul in (first, near)
    )
    beds = tuple(replace(t, body=BodyKind.FLAT_BED) for t in problem.trucks)
    problem = replace(problem, hauls=hauls, trucks=beds)
    plan = plan_hauls(problem)
    assert [trip.body for trip in plan.shifts[0].trips] == [0, 0]
    alone = tuple(replace(haul, shared=False) for haul in hauls)
    with pytest.raises(PlanBroken, match="ride together that may not"):
        verify_plan(replace(problem, hauls=alone), plan)


def test_a_resting_driver_who_only_drives_home_is_planned() -> None:
    """One load on the first day, the truck stays out; rests are asked for."""
    problem = medium_world(8, hauls=1, trucks=1, days=2, most_kg=9_000)
    haul, (first, last) = problem.hauls[0], problem.slots
    away = haul.destination
    truck = replace(problem.trucks[0], rest=RestRule("x", 60, 4 * HOUR))
    slots = (replace(first, end=away), replace(last, start=away))
    only = replace(problem, trucks=(truck,), slots=slots)
    plan = plan_hauls(only)
    assert not plan.unplanned
    assert {len(shift.trips) for shift in plan.shifts} == {0, 1}


def test_a_truck_that_is_left_elsewhere_in_the_end_is_found() -> None:
    problem, plan = _planned()
    left = plan.shifts[0].slot
    slots: list[Slot] = list(problem.slots)
    slots[left] = replace(slots[left], end=problem.hauls[0].destination)
    with pytest.raises(PlanBroken, match="does not go from its start"):
        verify_plan(replace(problem, slots=tuple(slots)), plan)
