"""Recipe bars, buckets, ranges and costs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pictures.bucket_row import bucket_row, count_words
from api.pictures.cost_bars import CostPart, cost_bars
from api.pictures.drawing import Shape, Size, plain
from api.pictures.range_bar import Asked, range_bar
from api.pictures.recipe_bars import part_looks, recipe_bars
from logistics.domain.quantities import Spread
from matching.domain.mix.buckets import Ratio
from matching.domain.mix.parts import Part
from matching.domain.mix.recipe import recipe_of
from tests.api.pictures.drawn import MIX, PARTS, RECIPE, outside, told

CLAY = Asked("Clay share", "%", 15, 25)
figures_ = st.floats(-1e6, 1e6, allow_subnormal=False)


def wide(shape: Shape) -> float:
    xs = [x for x, _ in shape.points]
    return max(xs) - min(xs)


def area(shape: Shape) -> float:
    """Shoelace formula."""
    twice = 0.0
    for (x0, y0), (x1, y1) in zip(
        shape.points, (*shape.points[1:], shape.points[0]), strict=True
    ):
        twice += x0 * y1 - x1 * y0
    return abs(twice) / 2


def test_pieces_of_a_bar_are_as_long_as_their_shares():
    """Hand-worked: a recipe of 3 to 1 by dry mass."""
    recipe = recipe_of(((PARTS[0], 0.75), (PARTS[1], 0.25)), MIX, None)
    soil, sand = recipe_bars(recipe).bars[0].pieces
    assert wide(soil.shape) == pytest.approx(3 * wide(sand.shape))
    assert soil.share is not None
    assert "75" in soil.share.text


def test_the_whisker_spans_the_whole_range_of_the_mass():
    """By definition: its ends are the sums of all low and of all high ends."""
    bar = recipe_bars(RECIPE).bars[0]
    low, high = (x for x, _ in bar.whisker[0].points)
    least = sum(dose.dry_kg_per_m3.low for dose in RECIPE.doses)
    most = sum(dose.dry_kg_per_m3.high for dose in RECIPE.doses)
    edge = bar.pieces[0].shape.points[0][0]
    assert (low - edge) / (high - edge) == pytest.approx(least / most)


def test_two_soils_and_two_sands_look_different():
    """Nothing is told apart by colour alone (WCAG 2.2, 1.4.1): the patterns differ."""
    soil = Part("x", "x", Spread.exactly(0.3))
    sand = Part("y", "y", Spread.exactly(0), is_sand=True)
    looks = part_looks([soil, soil, sand, sand])
    assert len(set(looks)) == 4


def test_a_half_bucket_is_drawn_half_full():
    """Hand-worked: 2.5 buckets are two full ones and one filled to half its height."""
    drawn = bucket_row(Ratio(((PARTS[0], 2.5), (PARTS[1], 3.0)), RECIPE, 0.0))
    soil, sand = drawn.parts
    assert (len(soil.buckets), len(sand.buckets)) == (3, 3)
    full, half = soil.buckets[0], soil.buckets[2]
    assert full.filling.points == full.pail.points
    top, foot = half.filling.points[0][1], half.filling.points[2][1]
    assert foot - top == pytest.approx((foot - half.pail.points[0][1]) / 2)
    assert "2½ buckets" in told(drawn)


def test_numbers_of_buckets_read_as_people_say_them():
    assert [count_words(n) for n in (0.5, 1, 1.5, 3)] == [
        "½ bucket",
        "1 bucket",
        "1½ buckets",
        "3 buckets",
    ]


@given(
    st.lists(st.integers(1, 40).map(lambda n: n / 2), min_size=2, max_size=2),
    st.sampled_from(Size),
)
def test_any_ratio_has_as_many_buckets_as_it_says(counts, size):
    """Property: the area of the fillings, a half counting as nearly half."""
    pairs = tuple(zip(PARTS, counts, strict=True))
    drawn = bucket_row(Ratio(pairs, RECIPE, 0.0), size=size)
    assert outside(drawn) == []
    for part, count in zip(drawn.parts, counts, strict=True):
        filled = sum(area(own.filling) for own in part.buckets)
        one = area(part.buckets[0].pail)
        assert filled / one == pytest.approx(count, abs=0.1)


def test_a_range_lies_where_its_figures_say():
    """Hand-worked: on a scale from 0 to 50, 25 lies in the middle, 10 a fifth along."""
    drawn = range_bar(Spread(10, 25, 40), CLAY, scale=(0, 50))
    left, right = drawn.track.points[0][0], drawn.track.points[1][0]
    tip = drawn.likely.points[0][0]
    assert tip == pytest.approx((left + right) / 2)
    low, high = (x for x, _ in drawn.whisker[0].points)
    assert (low - left) / (right - left) == pytest.approx(0.2)
    assert (high - left) / (right - left) == pytest.approx(0.8)
    window = (drawn.window.points[0][0] - left) / (right - left)
    assert window == pytest.approx(0.3)


def test_what_is_wanted_is_told_with_one_end_or_none():
    ends = {
        "at most 25 %": (None, 25),
        "at least 15 %": (15, None),
        "wanted any": (None, None),
    }
    for words, (low, high) in ends.items():
        drawn = range_bar(Spread(1, 2, 3), Asked("Clay", "%", low, high))
        assert words in told(drawn)
    assert "15 to 25 %" in told(range_bar(Spread.exactly(3), CLAY))


@given(st.tuples(figures_, figures_, figures_), st.tuples(figures_, figures_))
def test_any_figure_stays_within_its_bar(figure, window):
    """Property."""
    low, high = sorted(window)
    drawn = range_bar(Spread(*sorted(figure)), Asked("Clay", "%", low, high))
    assert outside(drawn) == []


def test_costs_that_a_holder_pays_lie_left_of_zero_and_sum_up():
    """Hand-worked: -10 and 30 sum to 20; from zero 30 is three times as long as 10."""
    parts = (CostPart("Soil", -1000, "soil"), CostPart("Haul", 3000, "haul"))
    drawn = cost_bars("A m³ of wall", parts, "EUR")
    soil, haul, whole = (own.bar for own in drawn.bars)
    zero = drawn.zero.points[0][0]
    assert max(x for x, _ in soil.points) == pytest.approx(zero)
    assert min(x for x, _ in haul.points) == pytest.approx(zero)
    assert wide(haul) == pytest.approx(3 * wide(soil))
    assert wide(whole) == pytest.approx(2 * wide(soil))
    assert "20.00" in drawn.bars[2].amount.text


@given(st.lists(st.integers(-(10**9), 10**9), max_size=6), st.sampled_from(Size))
def test_any_costs_stay_within_their_drawing(costs, size):
    """Property."""
    parts = [CostPart(f"Part {n}", own, "haul") for n, own in enumerate(costs)]
    assert outside(cost_bars("Costs", parts, "EUR", size=size)) == []


def test_figures_have_no_needless_zeros_and_no_sign_on_nothing():
    assert plain(1234.50, 2).replace("\N{NO-BREAK SPACE}", " ") == "1 234.5"
    assert plain(-0.001, 1) == "0"
    assert plain(-3.0, 1) == "\N{MINUS SIGN}3"
    assert plain(100.0, 0) == "100"
