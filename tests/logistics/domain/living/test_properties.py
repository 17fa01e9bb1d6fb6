"""What holds whatever happens; and the fewest changes, against every way to keep loads."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest

from logistics.domain.living.arrivals import Facts
from logistics.domain.living.changes import ChangeKind, stay_put
from logistics.domain.living.disruptions import (
    DigStopped,
    Disruption,
    MassChanged,
    PlaceClosed,
    RunsLate,
    TruckOut,
    TurnedAway,
)
from logistics.domain.living.replanning import Replanned, replan
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, Shift
from logistics.domain.planning.verify import verify_plan
from tests.logistics.domain.planning.tiny_worlds import DAY, tiny_world

SEEDS = range(700, 760)


def happening(rng: random.Random, problem: PlanProblem, plan: HaulPlan) -> Disruption:
    start = rng.randrange(0, 2 * DAY)
    until = rng.choice((None, start + rng.randint(5, 60)))
    shift = rng.randrange(len(plan.shifts))
    place = rng.choice(problem.places).key
    truck = problem.trucks[problem.slots[plan.shifts[shift].slot].truck].key
    kind = rng.randrange(6)
    if kind == 0:
        return TruckOut(truck, start, until)
    if kind == 1:
        return PlaceClosed(place, start, until)
    if kind == 2:
        return DigStopped(place, start, until)
    if kind == 3:
        return TurnedAway(shift, 0, comes_again=rng.random() < 0.7)
    if kind == 4:
        return MassChanged(
            rng.choice(problem.hauls).key, rng.choice((-60, -20, 20, 60))
        )
    return RunsLate(truck, problem.slots[plan.shifts[shift].slot].day, 1)


def worlds(seed: int) -> tuple[PlanProblem, HaulPlan, int, Facts, Disruption]:
    """The first world from this seed on in which anything drives."""
    rng = random.Random(seed)
    problem = next(
        own
        for own in map(tiny_world, range(seed * 100, seed * 100 + 100))
        if plan_hauls(own).shifts
    )
    plan = plan_hauls(problem)
    pinned = frozenset(
        number for number in range(len(plan.shifts)) if rng.random() < 0.2
    )
    now = rng.choice((0, rng.randrange(0, DAY)))
    return problem, plan, now, Facts(pinned=pinned), happening(rng, problem, plan)


def anew(seed: int) -> tuple[PlanProblem, HaulPlan, int, Facts, Replanned]:
    problem, plan, now, facts, what = worlds(seed)
    new = replan(problem, plan, done=facts, now=now, disruptions=[what])
    return problem, plan, now, facts, new


@pytest.mark.parametrize("seed", SEEDS)
def test_the_new_plan_is_sound_and_loses_no_kilogram(seed):
    """Property, with the check that shares nothing with the planner."""
    *_, new = anew(seed)
    verify_plan(new.problem, new.plan)
    assert new.plan.bound.amount <= new.plan.haul_cost
    told = Counter(change.kind for change in new.changes)
    assert told[ChangeKind.KEPT] + told[ChangeKind.MOVED] + told[
        ChangeKind.ADDED
    ] == sum(len(shift.trips) for shift in new.shifts)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_done_or_pinned_never_changes(seed):
    """Property: a load tipped before the moment is in the new plan as it was, whatever
    happens, and so is one of a pinned shift that nothing touches."""
    _, plan, now, facts, new = anew(seed)
    there = {
        (shift.slot, trip.pickup.begin, trip.drop.begin, trip.load.haul)
        for shift in new.shifts
        for trip in shift.trips
    }
    broke = _broke(seed)
    for shift in plan.shifts:
        for trip in shift.trips:
            own = (shift.slot, trip.pickup.begin, trip.drop.begin, trip.load.haul)
            if trip.drop.end <= min(now, broke):
                assert own in there
    for change in new.changes:
        if change.old and change.old.shift in facts.pinned and change.kind != "kept":
            assert _touches(seed, plan.shifts[change.old.shift])


def _broke(seed: int) -> int:
    what = worlds(seed)[4]
    return what.start if isinstance(what, TruckOut) else 2 * DAY


def _touches(seed: int, shift: Shift) -> bool:
    """Whether what happened could have anything to do with a shift."""
    problem, _, _, _, what = worlds(seed)
    if isinstance(what, PlaceClosed | DigStopped):
        return any(problem.places[stop.place].key == what.place for stop in shift.stops)
    if isinstance(what, TruckOut | RunsLate):
        truck = problem.trucks[problem.slots[shift.slot].truck].key
        return truck == what.truck
    if isinstance(what, MassChanged):
        hauls = {problem.hauls[trip.load.haul].key for trip in shift.trips}
        return what.haul in hauls
    return False


@pytest.mark.parametrize("seed", SEEDS[:20])
def test_the_same_question_gets_the_same_answer(seed):
    """Property."""
    one, two = anew(seed)[4], anew(seed)[4]
    assert (one.plan, one.past, one.changes) == (two.plan, two.past, two.changes)


@pytest.mark.parametrize("seed", range(800, 830))
def test_no_other_set_of_loads_left_in_place_does_better(seed):
    """Against every way to hold some shifts of the old plan and plan the rest freely with
    the planner alone: none leaves less behind, nor as little with fewer loads moved."""
    problem, plan, *_ = worlds(seed)
    closed = PlaceClosed(problem.places[plan.shifts[0].trips[0].drop.place].key, 40, 60)
    new = replan(problem, plan, done=Facts(), now=0, disruptions=[closed])
    stayed = stay_put(plan.shifts, new.plan.shifts)
    for size in range(len(plan.shifts) + 1):
        for held in combinations(plan.shifts, size):
            other = _held_and_free(new, held)
            if other is None:
                continue
            left, kept = other[0], stay_put(plan.shifts, other[1])
            assert (new.left_after_kg, -stayed) <= (left, -kept)


def _held_and_free(
    new: Replanned, held: tuple[Shift, ...]
) -> tuple[int, list[Shift]] | None:
    """What the planner does beside these shifts; None if they cannot stay."""
    mass = [haul.mass_kg for haul in new.problem.hauls]
    for shift in held:
        for trip in shift.trips:
            mass[trip.load.haul] -= trip.load.mass_kg
            haul = new.problem.hauls[trip.load.haul]
            for stop, windows in (
                (trip.pickup, haul.pickup_windows),
                (trip.drop, haul.drop_windows),
            ):
                if not any(a <= stop.begin and stop.end <= b for a, b in windows):
                    return None
    taken = {shift.slot for shift in held}
    free = [n for n in range(len(new.problem.slots)) if n not in taken]
    rest = plan_hauls(
        replace(
            new.problem,
            slots=tuple(new.problem.slots[n] for n in free),
            hauls=tuple(
                replace(haul, mass_kg=kg)
                for haul, kg in zip(new.problem.hauls, mass, strict=True)
            ),
        )
    )
    there = [replace(shift, slot=free[shift.slot]) for shift in rest.shifts]
    return sum(own.mass_kg for own in rest.unplanned), [*held, *there]
