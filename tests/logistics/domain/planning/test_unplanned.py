"""What is said about a haul that stays behind: the reason, a remedy, and if it is proven.

Common practice, no source: each case has one cause, put there by hand.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from logistics.domain.places import AccessLimits
from logistics.domain.planning.planner import Effort, plan_hauls
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.result import Unplanned
from logistics.domain.trucks import BodyKind
from tests.logistics.domain.planning.medium_worlds import HOUR, medium_world


def _world() -> PlanProblem:
    return medium_world(11, hauls=1, trucks=1, days=1, most_kg=15_000)


def _only(problem: PlanProblem) -> Unplanned:
    plan = plan_hauls(problem)
    assert plan.shifts == ()
    assert plan.proven_optimal
    (left,) = plan.unplanned
    assert left.proven
    assert left.mass_kg == problem.hauls[0].mass_kg
    return left


def _limited(problem: PlanProblem, limits: AccessLimits) -> PlanProblem:
    drop = problem.hauls[0].destination
    places = list(problem.places)
    places[drop] = replace(places[drop], access=limits)
    return replace(problem, places=tuple(places))


def test_the_same_haul_is_carried_when_nothing_is_in_its_way() -> None:
    assert plan_hauls(_world()).unplanned == ()


def test_a_body_that_does_not_suit_is_named() -> None:
    problem = _world()
    bed = replace(problem.trucks[0], body=BodyKind.FLAT_BED)
    left = _only(replace(problem, trucks=(bed,)))
    assert left.code == "no_suitable_truck"
    assert "a flat bed does not carry subsoil" in left.reasons[0]
    assert "body" in left.remedy


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        (AccessLimits(max_gross_kg=11_500), "the limit is 11.5 t"),
        (AccessLimits(max_height_m=3.0), "is 3.20 m high, the limit is 3.00 m"),
    ],
)
def test_a_weight_or_height_limit_is_named_with_both_figures(
    limits: AccessLimits, said: str
) -> None:
    problem = _limited(_world(), limits)
    truck = replace(problem.trucks[0], tare_kg=12_000, height_m=3.2)
    left = _only(replace(problem, trucks=(truck,)))
    assert left.code == "no_suitable_truck"
    assert said in left.reasons[0]
    assert "access" in left.remedy


def test_a_truck_is_loaded_no_heavier_than_the_way_in_admits() -> None:
    """The gross mass is tare and load (common practice, no source)."""
    problem = _limited(_world(), AccessLimits(max_gross_kg=16_000))
    truck = replace(problem.trucks[0], tare_kg=12_000)
    plan = plan_hauls(replace(problem, trucks=(truck,)))
    loads = [trip.load.mass_kg for shift in plan.shifts for trip in shift.trips]
    assert plan.unplanned == ()
    assert max(loads) == 4_000
    assert sum(loads) == problem.hauls[0].mass_kg


def test_a_pair_without_a_way_is_named() -> None:
    problem = _world()
    haul, reachable = problem.hauls[0], problem.distances.reachable.copy()
    reachable[haul.origin, haul.destination] = False
    table = replace(problem.distances, reachable=reachable)
    left = _only(replace(problem, distances=table))
    assert "no way was found from place 0 to place 1" in left.reasons[0]


def test_a_drop_that_is_closed_all_day_is_named() -> None:
    problem = _world()
    haul = replace(problem.hauls[0], drop_windows=())
    left = _only(replace(problem, hauls=(haul,)))
    assert left.code == "no_time"
    assert "the drop is never open" in left.reasons[0]
    assert "opening hours" in left.remedy


def test_a_shift_that_is_too_short_is_named_and_the_remedy_works() -> None:
    problem = _world()
    whole = plan_hauls(problem).shifts[0].duration_s
    short = replace(problem.trucks[0], max_shift_s=whole - 1200)
    left = _only(replace(problem, trucks=(short,)))
    assert "the longest shift is" in left.reasons[0]
    assert "0 h 30 min more in its longest shift" in left.remedy
    longer = replace(short, max_shift_s=short.max_shift_s + 1800)
    assert plan_hauls(replace(problem, trucks=(longer,))).unplanned == ()


def test_a_truck_day_that_is_too_short_is_named_and_the_remedy_works() -> None:
    problem = _world()
    slot = problem.slots[0]
    late = replace(slot, latest=slot.earliest + 2 * HOUR)
    left = _only(replace(problem, slots=(late,)))
    assert left.code == "no_time"
    assert "more at either end of its day" in left.remedy
    words = left.remedy.split()
    extra = int(words[0]) * HOUR + int(words[2]) * 60
    wide = replace(late, earliest=late.earliest - extra, latest=late.latest + extra)
    assert plan_hauls(replace(problem, slots=(wide,))).unplanned == ()


def test_used_up_truck_days_are_named_and_so_are_the_days_that_are_missing() -> None:
    problem = medium_world(11, hauls=2, trucks=1, days=1, most_kg=400_000)
    plan = plan_hauls(problem)
    left = [own for own in plan.unplanned if own.code == "no_time_left"]
    assert left
    assert all("1 truck day" in own.reasons[0] for own in left)
    assert any("more days of truck 0" in own.remedy for own in left)
    assert plan.proven_optimal
    assert all(own.proven for own in left)


@pytest.mark.parametrize("seed", [1, 4, 7])
def test_the_longer_day_that_is_named_is_enough(seed: int) -> None:
    """Oracle: the planner, given what was said to help."""
    problem = medium_world(seed, hauls=3, trucks=1, days=1, most_kg=150_000)
    left = plan_hauls(problem).unplanned
    assert left
    said = left[0].remedy
    found = re.search(r"(\d+) h (\d+) min more for truck 0 on d0", said)
    assert found or "of truck 0, with the hours of d0" in said
    extra = int(found[1]) * HOUR + int(found[2]) * 60 if found else 0
    slots = tuple(replace(slot, latest=slot.latest + extra) for slot in problem.slots)
    trucks = tuple(
        replace(truck, max_shift_s=truck.max_shift_s + extra)
        for truck in problem.trucks
    )
    hauls = problem.hauls
    if "gates" in said:
        hauls = tuple(
            replace(
                haul,
                pickup_windows=_drawn(haul.pickup_windows, extra),
                drop_windows=_drawn(haul.drop_windows, extra),
            )
            for haul in hauls
        )
    if not found:
        day = slots[0]
        slots = (
            *slots,
            *(replace(day, day=f"more {number}") for number in range(4)),
        )
    again = plan_hauls(replace(problem, slots=slots, trucks=trucks, hauls=hauls))
    before = sum(own.mass_kg for own in left)
    after = sum(own.mass_kg for own in again.unplanned)
    assert before - after >= left[0].mass_kg


def _drawn(windows: tuple[Window, ...], extra: int) -> tuple[Window, ...]:
    return (*windows[:-1], (windows[-1][0], windows[-1][1] + extra))


def test_a_limit_of_loads_a_day_is_named_where_more_would_come_without_it() -> None:
    problem = medium_world(11, hauls=1, trucks=2, days=1, most_kg=60_000)
    drop = problem.hauls[0].destination
    places = list(problem.places)
    places[drop] = replace(places[drop], loads_a_day=1)
    (left,) = plan_hauls(replace(problem, places=tuple(places))).unplanned
    assert f"{places[drop].name} takes 1 loads a day" in left.reasons
    assert f"more than 1 loads a day at {places[drop].name}" in left.remedy
    assert left.adds is not None


def test_what_was_not_proven_is_not_called_proven() -> None:
    problem = medium_world(5, hauls=8, trucks=2, days=1, most_kg=90_000)
    plan = plan_hauls(problem, Effort(partial_shifts=0, near_shifts=0))
    left = [own for own in plan.unplanned if own.code == "no_time_left"]
    assert left
    assert not any(own.proven for own in left)
    assert not plan.proven_optimal
    assert all("no plan was found" in own.reasons[0] for own in left)
