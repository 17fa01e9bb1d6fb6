"""What a test is worth before the truck moves."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.mix.haul import Haul, Programme, Terms
from matching.domain.mix.knowing import Knowing, knowing
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.prior import Prior, SoilTest
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.worth import worth_of_knowing, worth_of_test
from matching.domain.takeoff import MixTarget
from tests.matching.domain.mix.soils import LIMITS, MIX, sand, soil, spreads

POINT = MixTarget(clay_low=0.20, clay_target=0.20, clay_high=0.20)
NO_FINES_LIMIT = MixLimits(1.0)


def world(heap: Part, **terms: float) -> Haul:
    """A doubtful heap, a rich soil at 3 and sand at 2 minor units a kg; a tonne of mix."""
    parts = (heap, soil(0.50, "rich", per_kg=3.0), sand(per_kg=2.0))
    return Haul(parts, heap.key, POINT, NO_FINES_LIMIT, 1000.0, Terms(**terms))


def known(haul: Haul, *more: Any) -> Knowing:
    found = knowing(haul, *more)
    assert isinstance(found, Knowing)
    return found


TWO_POINTS = Prior(((0.10, 0.5), (0.30, 0.5)))


def test_a_two_point_prior_worked_by_hand():
    """Heap at 1 a kg holds 10 or 30 % clay, the mix wants 20.

    Known lean: 750 heap + 250 rich = 1500. Known rich: 2/3 heap + 1/3 sand = 1333.33. Mean
    1416.67. Now, at 20 % as likely, 1000 of heap are ordered: lean, 250 of them stay over and
    250 rich follow at 4.5 (1125): 2125; rich, 333.33 of sand at 3: 2000. Mean 2062.5, so
    knowing saves 645.83.
    """
    found = known(world(soil(0.2, per_kg=1.0)), TWO_POINTS)
    assert found.cost_known == pytest.approx(1416.67, abs=0.01)
    assert found.cost_now == pytest.approx(2062.5, abs=0.01)
    assert found.worth == pytest.approx(645.83, abs=0.01)
    assert found.order_now.text == "1.00 t of Heap ada"
    assert "0.75 t of Heap ada, 0.25 t of Heap rich" in found.edges[0].text
    assert found.edges[0].chance_below == 0.5


def test_the_fee_of_a_second_delivery_counts_once():
    """Hand-worked on the same figures: each state pays 100 more, whatever is fetched."""
    found = known(world(soil(0.2, per_kg=1.0), second_delivery=100), TWO_POINTS)
    assert found.cost_now == pytest.approx(2162.5, abs=0.01)
    assert found.cost_known == pytest.approx(1416.67, abs=0.01)


def test_leftovers_cost_what_they_are_said_to():
    """Hand-worked: 250 kg stay over when lean and 333.33 when rich, at 1 each."""
    found = known(world(soil(0.2, per_kg=1.0), leftover_per_dry_kg=1.0), TWO_POINTS)
    assert found.cost_now == pytest.approx(2062.5 + (250 + 333.33) / 2, abs=0.01)


def test_nobody_gets_rich_by_taking_what_he_cannot_use():
    """A holder pays 5 a kg; unused soil costs as much to be rid of. So no more than the mix
    takes earns anything: 750 or 666.67 kg."""
    found = known(world(soil(0.2, per_kg=-5.0)), TWO_POINTS)
    assert found.cost_now >= -5 * 750


@pytest.mark.parametrize("target_first", [True, False])
def test_the_order_now_is_the_recipe_of_the_same_aim(target_first):
    """The two orders of one page must not contradict each other. Hand-worked: free soil of
    40 %, sand at a price: half of it for 20 %, 5/8 of it for the edge of 25 %."""
    parts = (soil(Spread(0.34, 0.40, 0.46), per_kg=0.0), sand(per_kg=2.0))
    haul = Haul(parts, "ada", MIX, NO_FINES_LIMIT, 1000.0, target_first=target_first)
    amounts = {own.key: kg for own, kg in known(haul).order_now.amounts}
    wanted = 500 if target_first else 625
    assert amounts["ada"] == pytest.approx(wanted, abs=0.1)


def test_a_mix_that_would_leave_its_window_costs_the_sand_that_is_fetched():
    """Hand-worked: half soil, half sand at 2 a kg, 1000 kg; at 60 % clay the window takes
    25/60 soil, so that 83.33 of sand follow at 3: 250. Known: 2/3 sand, 1333.33."""
    parts = (soil(Spread(0.20, 0.40, 0.60), per_kg=0.0), sand(per_kg=2.0))
    haul = Haul(parts, "ada", MIX, NO_FINES_LIMIT, 1000.0, target_first=True)
    found = known(haul, Prior(((0.60, 1.0),)))
    assert found.cost_now == pytest.approx(1250, abs=0.1)
    # Knowing, one still orders the half: the target would take 1333 of sand.
    assert found.worth == pytest.approx(0, abs=0.1)


@settings(max_examples=25, deadline=None)
@given(spreads(0.45), st.sampled_from([0.0, 0.5, 3.0]), st.sampled_from([0.0, 300.0]))
def test_knowing_is_never_worth_less_than_nothing(clay, rush, fee):
    """Property. A test that errs is worth something between nothing and the truth."""
    heap = soil(clay, per_kg=1.0)
    tests = (SoilTest("rough", 0.10), SoilTest("true", 0.0))
    haul = world(heap, rush=rush, second_delivery=fee)
    found = known(haul, Prior.of(clay, 7), tests)
    assert found.worth >= 0
    rough, true = found.tests
    assert -1e-6 <= rough.worth <= found.worth + 1e-6
    assert true.worth == pytest.approx(found.worth, abs=1e-6)


@given(st.integers(50, 450))
@settings(max_examples=15, deadline=None)
def test_knowing_what_is_known_is_worth_nothing(thousandths):
    """Property: a point has no doubt to settle."""
    found = known(world(soil(thousandths / 1000, per_kg=1.0)))
    assert found.worth == pytest.approx(0, abs=1e-4)
    assert found.edges == ()


def test_a_range_inside_the_window_is_worth_nothing_to_know():
    """Hand-worked: 17 to 23 % is ready whatever it is, and cheaper than anything else."""
    parts = (soil(Spread(0.17, 0.2, 0.23), per_kg=1.0), sand(per_kg=2.0))
    found = known(Haul(parts, "ada", MIX, LIMITS, 1000.0))
    assert found.worth == pytest.approx(0, abs=1e-4)


def test_a_test_pays_if_it_saves_more_than_it_costs():
    found = known(
        world(soil(0.2, per_kg=1.0)), TWO_POINTS, (SoilTest("lab", 0.0, 75.0),)
    )
    assert found.tests[0].net == pytest.approx(645.83 - 75, abs=0.01)


def test_a_state_without_a_way_out_is_said():
    """A heap that may be too lean and nothing richer."""
    parts = (soil(Spread(0.10, 0.18, 0.20), per_kg=1.0), sand(per_kg=2.0))
    found = knowing(Haul(parts, "ada", MIX, LIMITS, 1000.0))
    assert isinstance(found, NoRecipe)
    assert found.reason.code == "no_recourse"
    assert "ready mix" in found.reason.text


def test_the_prior_is_the_triangle_it_says():
    """Triangle over 0.1, 0.2, 0.4: mean 0.7 / 3; below its peak lies a third."""
    prior = Prior.of(Spread(0.1, 0.2, 0.4), 999)
    assert sum(s * p for s, p in prior.points) == pytest.approx(0.7 / 3, abs=1e-4)
    assert prior.chance_below(0.2) == pytest.approx(1 / 3, abs=2e-3)
    assert Prior.of(Spread(0.2, 0.2, 0.3), 3).points[0][0] > 0.2


def test_bad_questions_are_refused():
    heap = soil(0.2, per_kg=1.0)
    with pytest.raises(Refused, match="per_kg"):
        knowing(Haul((soil(0.2), sand(per_kg=1.0)), "ada", MIX, LIMITS, 1000.0))
    with pytest.raises(Refused, match="heap"):
        knowing(Haul((heap,), "ben", MIX, LIMITS, 1000.0))
    with pytest.raises(Refused, match="dry_kg"):
        knowing(Haul((heap,), "ada", MIX, LIMITS, 0.0))
    with pytest.raises(Refused, match="rush"):
        Terms(rush=-1)
    with pytest.raises(Refused, match="prior"):
        Prior(((0.2, 0.5), (0.1, 0.5)))
    with pytest.raises(Refused, match="error"):
        SoilTest("?", -1)
    with pytest.raises(Refused, match="costs"):
        worth_of_knowing([[1.0]], [0.5, 0.5])
    with pytest.raises(Refused, match="probabilities"):
        worth_of_knowing([[1.0, 2.0]], [0.5, 0.4])
    with pytest.raises(Refused, match="likelihood"):
        worth_of_test([[1.0, 2.0]], [0.5, 0.5], [[0.5, 0.5]])


def test_a_programme_over_a_hopeless_state_does_not_pretend():
    """Sand and 10 % clay never make 20 %."""
    parts = (soil(0.10, per_kg=1.0), sand(per_kg=2.0))
    programme = Programme(Haul(parts, "ada", POINT, NO_FINES_LIMIT, 1.0), [0.10])
    with pytest.raises(ArithmeticError):
        programme.costs_of(np.array([1.0, 0.0]))
