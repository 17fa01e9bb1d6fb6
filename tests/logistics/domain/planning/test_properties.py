"""What holds for every plan, whatever the problem; and what the last check must catch."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.planning.planner import Effort, plan_hauls
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, LowerBound, Shift, Stop
from logistics.domain.planning.verify import PlanBroken, verify_plan
from tests.logistics.domain.planning.medium_worlds import medium_world
from tests.logistics.domain.planning.tiny_worlds import tiny_world

worlds = st.builds(tiny_world, st.integers(10_000, 10_000_000))
few = settings(derandomize=True, max_examples=60, deadline=None)


@few
@given(worlds)
def test_no_kilogram_is_lost_and_no_truck_is_overloaded(problem: PlanProblem) -> None:
    """Property."""
    plan = plan_hauls(problem)
    carried: Counter[int] = Counter()
    for shift in plan.shifts:
        truck = problem.trucks[problem.slots[shift.slot].truck]
        for trip in shift.trips:
            haul = problem.hauls[trip.load.haul]
            carried[trip.load.haul] += trip.load.mass_kg
            assert 0 < trip.load.mass_kg <= truck.payload_kg
            assert trip.load.mass_kg / haul.loose_kg_per_m3 <= truck.body_m3 + 1e-6
            assert trip.load.mass_kg % haul.unit_kg == 0
    for left in plan.unplanned:
        carried[left.haul] += left.mass_kg
    assert [carried[i] for i in range(len(problem.hauls))] == [
        haul.mass_kg for haul in problem.hauls
    ]


@few
@given(worlds)
def test_cost_lines_sum_to_the_total_and_the_bound_is_no_higher(
    problem: PlanProblem,
) -> None:
    """Property."""
    plan = plan_hauls(problem)
    lines = [line.amount for shift in plan.shifts for line in shift.costs]
    assert sum(lines) == plan.haul_cost
    assert 0 <= plan.bound.amount <= plan.haul_cost
    assert plan.gap >= 0


@few
@given(worlds)
def test_one_more_truck_day_never_carries_less(problem: PlanProblem) -> None:
    """Property: what is possible stays possible."""
    fewer = replace(problem, slots=problem.slots[:-1])
    left = [
        sum(own.mass_kg for own in plan_hauls(given).unplanned)
        for given in (fewer, problem)
    ]
    assert left[1] <= left[0]


def test_the_same_problem_gives_the_same_plan_by_either_way() -> None:
    """Property: nothing depends on the clock, on chance or on the order of a set."""
    problem = medium_world(7, hauls=6, trucks=3, days=2)
    assert plan_hauls(problem) == plan_hauls(problem)
    quick = Effort(partial_shifts=0)
    assert plan_hauls(problem, quick) == plan_hauls(problem, quick)
    assert plan_hauls(problem, quick).haul_cost == plan_hauls(problem).haul_cost


def test_without_the_last_enumeration_the_bound_still_lies_below_the_optimum() -> None:
    """Property: a bound is proven however the search ends."""
    for seed in range(5):
        problem = medium_world(seed, hauls=5, trucks=2, days=2)
        best = plan_hauls(problem)
        cut_short = plan_hauls(problem, Effort(partial_shifts=0, near_shifts=0))
        assert best.proven_optimal
        assert cut_short.bound.amount <= best.haul_cost <= cut_short.haul_cost


@pytest.mark.parametrize("missing", ["trucks", "slots", "hauls"])
def test_nothing_to_drive_with_or_to_carry_is_an_empty_plan(missing: str) -> None:
    """Common practice, no source."""
    problem = medium_world(1, hauls=2, trucks=1, days=1)
    without: dict[str, tuple[()]] = {missing: ()}
    if missing == "trucks":
        without["slots"] = ()
    plan = plan_hauls(replace(problem, **without))  # type: ignore[arg-type]
    assert plan.shifts == ()
    assert plan.haul_cost == plan.bound.amount == 0
    assert plan.proven_optimal
    assert len(plan.unplanned) == (0 if missing == "hauls" else 2)


@pytest.mark.parametrize(("mass", "unit"), [(-5, 1), (25, 16), (10, 0)])
def test_a_quantity_that_is_no_number_of_pieces_is_refused(
    mass: int, unit: int
) -> None:
    """Common practice, no source."""
    problem = medium_world(1, hauls=1, trucks=1, days=1)
    haul = replace(problem.hauls[0], mass_kg=mass, unit_kg=unit)
    with pytest.raises(Refused) as refused:
        plan_hauls(replace(problem, hauls=(haul,)))
    assert refused.value.problems[0].field == "hauls[0].mass_kg"


Break = Callable[[HaulPlan], HaulPlan]


def _first(plan: HaulPlan, change: Callable[[Shift], Shift]) -> HaulPlan:
    return replace(plan, shifts=(change(plan.shifts[0]), *plan.shifts[1:]))


def _load(shift: Shift, **change: int) -> Shift:
    trip = shift.trips[0]
    own = replace(trip, load=replace(trip.load, **change))  # type: ignore[arg-type]
    return replace(shift, trips=(own, *shift.trips[1:]))


def _pickup(shift: Shift, **change: int) -> Shift:
    trip = shift.trips[0]
    own = replace(trip, pickup=replace(trip.pickup, **change))  # type: ignore[arg-type]
    stops = [own.pickup if stop is trip.pickup else stop for stop in shift.stops]
    return replace(shift, stops=tuple(stops), trips=(own, *shift.trips[1:]))


def _moved(shift: Shift, seconds: int) -> Shift:
    def later(stop: Stop) -> Stop:
        return replace(
            stop,
            arrive=stop.arrive + seconds,
            begin=stop.begin + seconds,
            end=stop.end + seconds,
        )

    trips = tuple(
        replace(trip, pickup=later(trip.pickup), drop=later(trip.drop))
        for trip in shift.trips
    )
    return replace(shift, stops=tuple(map(later, shift.stops)), trips=trips)


BROKEN: list[tuple[str, Break]] = [
    ("is used 2 times", lambda p: replace(p, shifts=(*p.shifts, p.shifts[0]))),
    ("planned or left", lambda p: _first(p, lambda s: _load(s, mass_kg=1))),
    ("load of 99999 kg on", lambda p: _first(p, lambda s: _load(s, mass_kg=99_999))),
    ("load of 0 kg on", lambda p: _first(p, lambda s: _load(s, mass_kg=0))),
    ("larger than the body", lambda p: _first(p, lambda s: _load(s, mass_kg=17_990))),
    ("cost lines sum", lambda p: replace(p, haul_cost=p.haul_cost + 1)),
    (
        "lies above the cost",
        lambda p: replace(p, bound=LowerBound(p.haul_cost + 1, "x")),
    ),
    ("billed", lambda p: _first(p, lambda s: replace(s, costs=s.costs[1:]))),
    ("outside the hours", lambda p: _first(p, lambda s: _moved(s, -43_200))),
    ("is closed", lambda p: _first(p, lambda s: _moved(s, -43_200))),
    ("does not go from", lambda p: _first(p, lambda s: replace(s, stops=s.stops[1:]))),
    ("to another place", lambda p: _first(p, lambda s: _pickup(s, place=1))),
    ("length of the way", lambda p: _first(p, lambda s: _pickup(s, leg_m=5))),
    ("times do not join", lambda p: _first(p, lambda s: _pickup(s, arrive=5))),
    ("takes another time", lambda p: _first(p, lambda s: _pickup(s, begin=5))),
    ("no way from", lambda p: p),
    ("carries", lambda p: p),
    ("cuts a piece", lambda p: p),
    ("longer than the longest", lambda p: p),
    ("too heavy", lambda p: p),
    ("too high", lambda p: p),
]


@pytest.mark.parametrize(("fault", "damage"), BROKEN, ids=[own[0] for own in BROKEN])
def test_the_last_check_catches_each_fault(fault: str, damage: Break) -> None:
    """Property: a plan is damaged, or the question behind it changed, in one way."""
    problem = medium_world(3, hauls=3, trucks=1, days=2)
    plan = plan_hauls(problem)
    verify_plan(problem, plan)
    with pytest.raises(PlanBroken, match=fault):
        verify_plan(_changed(problem, fault), damage(plan))


def _changed(problem: PlanProblem, fault: str) -> PlanProblem:
    truck, table = problem.trucks[0], problem.distances
    places = problem.places
    match fault:
        case "no way from":
            none = table.reachable & False
            return replace(problem, distances=replace(table, reachable=none))
        case "carries":
            body = type(truck.body).FLAT_BED
            return replace(problem, trucks=(replace(truck, body=body),))
        case "cuts a piece":
            hauls = tuple(replace(haul, unit_kg=16) for haul in problem.hauls)
            return replace(problem, hauls=hauls)
        case "longer than the longest":
            return replace(problem, trucks=(replace(truck, max_shift_s=60),))
        case "too heavy" | "too high":
            limits = type(places[0].access)(max_gross_kg=12_500, max_height_m=3.0)
            return replace(
                problem,
                places=tuple(replace(place, access=limits) for place in places),
                trucks=(replace(truck, tare_kg=12_000, height_m=3.2),),
            )
    return problem
