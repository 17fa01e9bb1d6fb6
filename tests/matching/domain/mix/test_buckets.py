"""Buckets, batches and days."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import Crew
from matching.domain.mix.batches import batch_of, day_of, mixing_day
from matching.domain.mix.buckets import NoRatio, Ratio, by_mass, in_buckets
from matching.domain.mix.parts import Part, mineral_dry_kg_per_m3
from matching.domain.mix.recipe import Recipe, design
from matching.domain.takeoff import MixTarget
from tests.matching.domain.mix.soils import LIMITS, MIX, random_parts, sand, soil


def ratio(*parts: Part, mix: MixTarget = MIX) -> Ratio:
    recipe = design(parts, mix, LIMITS)
    assert isinstance(recipe, Recipe)
    found = in_buckets(recipe, mix, LIMITS)
    assert isinstance(found, Ratio)
    return found


@settings(max_examples=60, deadline=None)
@given(random_parts(), st.booleans())
def test_rounding_to_buckets_stays_in_the_window(parts, safe):
    """Property: recomputed from buckets and densities alone."""
    recipe = design(parts, MIX, LIMITS, safe=safe)
    if not isinstance(recipe, Recipe):
        return
    found = in_buckets(recipe, MIX, LIMITS)
    if isinstance(found, NoRatio):
        assert "Weigh" in found.reason.text
        return
    dry = [(p, n * p.loose_kg_per_m3 / (1 + p.water.likely)) for p, n in found.buckets]
    whole = sum(own for _, own in dry)

    def mean(values: list[float]) -> float:
        return sum(v * own for v, (_, own) in zip(values, dry, strict=True)) / whole

    clay = mean([p.clay.likely for p, _ in dry])
    assert MIX.clay_low - 2e-6 <= clay <= MIX.clay_high + 2e-6
    assert found.recipe.clay.likely == pytest.approx(clay)
    if safe:
        assert mean([p.clay.low for p, _ in dry]) >= MIX.clay_low - 2e-6
        assert mean([p.clay.high for p, _ in dry]) <= MIX.clay_high + 2e-6
        assert mean([p.most_fines for p, _ in dry]) <= LIMITS.most_fines + 2e-6
    assert all(n > 0 and (2 * n).is_integer() for _, n in found.buckets)


def test_half_and_half_is_one_to_one():
    """Hand-worked: equal densities, no water."""
    found = ratio(soil(0.40), sand())
    assert [n for _, n in found.buckets] == [1, 1]
    assert found.error == pytest.approx(0, abs=1e-6)
    assert found.text == "Buckets: 1 of Heap ada to 1 of Sand; gives 20.0 % clay."


def test_buckets_use_up_the_order():
    """Hand-worked: 8 parts to 7 are 53.3 %; five to four would be 55.6 %, 2.2 points off."""
    found = ratio(soil(0.375), sand())
    assert [n for _, n in found.buckets] != [5, 4]
    assert found.error <= 0.01
    assert "stays over" not in found.text


def test_rounding_turns_inwards_at_the_edge():
    """Hand-worked: 30 % clay, dear sand: 25 % takes 5 of soil to 1 of sand exactly; if the
    soil is denser (1600 to 1400 kg/m3) five to one would give 25.5 %, out of the window."""
    heavy = soil(0.30, per_kg=0.1, loose_kg_per_m3=1600)
    light = sand(per_kg=5.0, loose_kg_per_m3=1400)
    found = ratio(heavy, light)
    assert found.recipe.clay.likely <= MIX.clay_high + 1e-6
    (_, one), (_, two) = found.buckets
    assert one / two < 5 * 1400 / 1600 + 1e-9


def test_no_ratio_hits_a_window_without_width():
    """Hand-worked: two to one by dry mass, but 18 and 5 % of water make it irrational."""
    mix = MixTarget(clay_low=0.2, clay_target=0.2, clay_high=0.2)
    recipe = design((soil(0.30, moisture=0.18), sand(moisture=0.05)), mix, LIMITS)
    assert isinstance(recipe, Recipe)
    found = in_buckets(recipe, mix, LIMITS)
    assert isinstance(found, NoRatio)
    assert [kg for _, kg in found.kg_per_100] == pytest.approx(
        [200 / 3 * 1.18, 100 / 3 * 1.05], rel=1e-5
    )
    assert by_mass(recipe, 100) == found.kg_per_100


def test_a_batch_adds_up():
    """Hand-worked: 4 + 4 buckets of 10 L at 1500 kg/m3, no water: 120 kg dry, straw
    120 x 0.015 / 0.985, water a quarter of it."""
    batch = batch_of(ratio(soil(0.40), sand()), MIX)
    assert [load.buckets for load in batch.loads] == [4, 4]
    assert batch.loose_l == 80
    assert batch.dry_kg == pytest.approx(120)
    assert batch.straw_kg.likely == pytest.approx(1.827, abs=1e-3)
    assert batch.bales.likely == pytest.approx(1.827 / 16, abs=1e-4)
    water = (batch.water_l.low, batch.water_l.likely, batch.water_l.high)
    assert water == pytest.approx((24, 30, 39.6))
    assert batch.wall_m3.likely == pytest.approx(120 / (1650 * 1.1 * 0.985))


def test_wet_heaps_bring_their_water():
    """Hand-worked: at 40 % of moisture nothing is to be added to a mix of 33 % at most."""
    batch = batch_of(ratio(soil(0.20, moisture=0.40)), MIX)
    assert batch.water_l == Spread(0, 0, 0)


def test_another_bucket_makes_the_same_batch_size():
    """19 L buckets: 2 + 2 are 76 L, the nearest to 80."""
    batch = batch_of(ratio(soil(0.40), sand()), MIX, bucket_l=19)
    assert [load.buckets for load in batch.loads] == [2, 2]
    half = batch_of(ratio(soil(0.40), sand()), MIX, bucket_l=19, loose_l=20)
    assert [load.buckets for load in half.loads] == [0.5, 0.5]


def test_a_bucket_without_size_is_refused():
    with pytest.raises(Refused, match="bucket_l"):
        batch_of(ratio(soil(0.20)), MIX, bucket_l=0)


@given(st.floats(0.1, 10.0))
def test_a_day_swallows_what_its_wall_is_made_of(placed):
    """Property: batches of a day hold the dry mass that its m3 ask for."""
    batch = batch_of(ratio(soil(0.40, moisture=0.18, stones=0.1), sand()), MIX)
    day = day_of(batch, Spread.exactly(placed))
    dry = sum(own.moist_kg.likely * own.part.usable for own in day.swallowed)
    assert dry == pytest.approx(placed * mineral_dry_kg_per_m3(MIX).likely)
    for own in day.swallowed:
        assert own.loose_m3.likely * 1500 == pytest.approx(own.moist_kg.likely)


def test_more_hands_make_more_batches():
    """Six trained against six new helpers: twice the rate (job.md, labour table)."""
    batch = batch_of(ratio(soil(0.40), sand()), MIX)
    novice = mixing_day(batch, Crew(novices=6, no_show=Spread.exactly(0.0)))
    trained = mixing_day(batch, Crew(trained=6))
    assert novice.wall_m3.low == pytest.approx(0.72)
    assert trained.wall_m3.high == pytest.approx(1.8)
    assert trained.batches.likely > 1.8 * novice.batches.likely
    assert trained.bales.likely * 16 == pytest.approx(trained.straw_kg.likely)
