"""The planner against trying every plan (brute_force.py, which shares no code with it)."""

from __future__ import annotations

import pytest

from logistics.domain.planning.planner import Effort, plan_hauls
from tests.logistics.domain.planning.brute_force import brute_force
from tests.logistics.domain.planning.tiny_worlds import tiny_world

NO_ENUMERATION = Effort(partial_shifts=0)


def _agrees(seed: int, shut_ways: float, effort: Effort) -> None:
    problem = tiny_world(seed, shut_ways=shut_ways)
    best = brute_force(problem)
    plan = plan_hauls(problem, effort)
    found = (sum(own.mass_kg for own in plan.unplanned), plan.haul_cost)
    assert found == best, f"seed {seed}"
    assert plan.bound.amount == best.cost, f"seed {seed}"
    assert plan.proven_optimal, f"seed {seed}"
    assert all(own.proven for own in plan.unplanned), f"seed {seed}"


@pytest.mark.parametrize("start", range(0, 200, 20))
def test_least_mass_left_and_cost_are_those_of_trying_everything(start: int) -> None:
    """Oracle: brute force. Mixed bodies and payloads, breaks, part loads, several days."""
    for seed in range(start, start + 20):
        _agrees(seed, 0.0, Effort())


@pytest.mark.parametrize("start", range(0, 200, 20))
def test_column_generation_agrees_with_trying_everything(start: int) -> None:
    """Oracle: brute force, with the enumeration of all patterns switched off."""
    for seed in range(start, start + 20):
        _agrees(seed, 0.0, NO_ENUMERATION)


@pytest.mark.parametrize("effort", [Effort(), NO_ENUMERATION])
def test_missing_ways_are_never_driven_and_the_rest_is_still_best(
    effort: Effort,
) -> None:
    """Oracle: brute force, with a third of the ways missing and zeros in their place."""
    for seed in range(1000, 1060):
        _agrees(seed, 0.35, effort)


def test_the_tiny_worlds_hold_what_they_are_meant_to_hold() -> None:
    """Property of the test itself: no kind of problem may be missing from it."""
    worlds = [tiny_world(seed) for seed in range(200)]
    whole = sum(brute_force(world).left_kg == 0 for world in worlds)
    assert 40 < whole < 160
    assert sum(len({s.day for s in w.slots}) > 1 for w in worlds) > 40
    assert sum(len({t.payload_kg for t in w.trucks}) > 1 for w in worlds) > 40
    hauls = [haul for world in worlds for haul in world.hauls]
    assert sum(haul.unit_kg > 1 for haul in hauls) > 40
    assert sum(haul.part_load.charge > 0 for haul in hauls) > 100
    assert sum(len(haul.drop_windows) > 1 for haul in hauls) > 100
