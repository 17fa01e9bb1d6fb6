"""The grading curve: interpolation both ways, sieve masses, size systems, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from matching.domain.grading import (
    LIMITS_MM,
    Grading,
    SizeSystem,
    fraction_ranges,
    fractions,
    from_cumulative,
    from_retained,
)

FINE_TO_COARSE = Grading(((0.002, 0.2), (0.02, 0.4), (0.2, 0.7), (2.0, 1.0)))


def code_of(refusal: pytest.ExceptionInfo[Refused]) -> str:
    return refusal.value.problems[0].code


@st.composite
def gradings(draw: st.DrawFn) -> Grading:
    """Strictly rising curves of 2 to 8 sizes between 0.001 and 100 mm."""
    count = draw(st.integers(2, 8))
    sizes = draw(
        st.lists(st.integers(1, 100_000), min_size=count, max_size=count, unique=True)
    )
    shares = draw(
        st.lists(st.integers(0, 1000), min_size=count, max_size=count, unique=True)
    )
    return Grading(
        tuple(
            (size / 1000, share / 1000)
            for size, share in zip(sorted(sizes), sorted(shares), strict=True)
        )
    )


def test_halfway_on_the_log_scale_is_halfway_between_the_shares():
    """Hand-worked: 0.2 mm x sqrt(10) is halfway from 0.2 to 2 mm; 0.7 and 1.0 -> 0.85."""
    assert FINE_TO_COARSE.passing(0.2 * math.sqrt(10)) == pytest.approx(0.85)
    assert FINE_TO_COARSE.size_at(0.85) == pytest.approx(0.2 * math.sqrt(10))


def test_a_measured_size_gives_its_own_share():
    """Property: no interpolation at a point."""
    assert [FINE_TO_COARSE.passing(size) for size, _ in FINE_TO_COARSE.points] == [
        0.2,
        0.4,
        0.7,
        1.0,
    ]


def test_everything_passes_a_sieve_above_one_that_all_passes():
    """Property: 1 stays 1; below the finest size it is not known, only bounded."""
    assert FINE_TO_COARSE.passing(50) == 1
    assert FINE_TO_COARSE.bounds(0.001) == (0.0, 0.2)
    with pytest.raises(Refused) as refusal:
        FINE_TO_COARSE.passing(0.001)
    assert code_of(refusal) == "beyond_measured_sizes"


def test_an_open_upper_end_is_bounded_only():
    """Property: 90 % passing 4 mm leaves 90 to 100 % for 8 mm."""
    curve = Grading(((0.5, 0.0), (4.0, 0.9)))
    assert curve.bounds(8) == (0.9, 1.0)
    assert curve.passing(0.1) == 0
    with pytest.raises(Refused) as refusal:
        curve.size_at(0.95)
    assert code_of(refusal) == "beyond_measured_shares"


def test_a_level_stretch_gives_its_finer_end():
    """Property of a gap-graded soil: D50 is where half has passed first."""
    curve = Grading(((0.1, 0.0), (0.2, 0.5), (2.0, 0.5), (4.0, 1.0)))
    assert curve.size_at(0.5) == 0.2
    assert curve.passing(0.5) == 0.5


@given(gradings(), st.floats(0, 1))
def test_size_and_share_undo_each_other(curve, part):
    """Property: size_at(passing(d)) = d on a rising curve."""
    size = curve.finest_mm * (curve.coarsest_mm / curve.finest_mm) ** part
    assume(curve.finest_mm <= size <= curve.coarsest_mm)
    assert curve.size_at(curve.passing(size)) == pytest.approx(size, rel=1e-6)


@given(gradings(), st.floats(0.001, 100), st.floats(0.001, 100))
def test_a_coarser_sieve_never_passes_less(curve, one, other):
    """Property: a distribution function rises."""
    finer, coarser = sorted((one, other))
    assert curve.bounds(finer)[0] <= curve.bounds(coarser)[0]
    assert curve.bounds(finer)[1] <= curve.bounds(coarser)[1]


@given(gradings(), st.sampled_from(list(SizeSystem)))
def test_fractions_of_a_closed_curve_sum_to_one(curve, system):
    """Property: every grain is in one fraction."""
    closed = Grading(
        ((curve.finest_mm / 2, 0.0), *curve.points, (curve.coarsest_mm * 2, 1.0))
    )
    found = fractions(closed, system)
    assert sum(found.values()) == pytest.approx(1)
    assert min(found.values()) >= 0


@given(gradings(), st.sampled_from(list(SizeSystem)))
def test_ranges_hold_what_any_completion_of_the_curve_gives(curve, system):
    """Property: closing the open ends, one way of many, stays inside the ranges."""
    closed = Grading(
        ((curve.finest_mm / 2, 0.0), *curve.points, (curve.coarsest_mm * 2, 1.0))
    )
    ranges = fraction_ranges(curve, system)
    for name, share in fractions(closed, system).items():
        assert ranges[name][0] - 1e-12 <= share <= ranges[name][1] + 1e-12


def test_silt_is_another_share_in_each_system():
    """Soil Survey Manual 0.05 mm, ISO 14688-1 0.063 mm, ASTM D2487 0.075 mm (limits seen
    quoted). Curve 20 % at 0.002 and 80 % at 0.2 mm: 30 % a decade, worked by hand."""
    curve = Grading(((0.002, 0.2), (0.2, 0.8), (2.0, 1.0)))
    usda = fractions(curve, SizeSystem.USDA)
    iso = fractions(curve, SizeSystem.ISO_14688)
    unified = fractions(curve, SizeSystem.UNIFIED)
    assert usda["clay"] == iso["clay"] == pytest.approx(0.2)
    assert usda["silt"] == pytest.approx(0.3 * math.log10(25), abs=1e-12)
    assert iso["silt"] == pytest.approx(0.3 * math.log10(31.5), abs=1e-12)
    assert unified["fines"] == pytest.approx(0.2 + 0.3 * math.log10(37.5), abs=1e-12)
    assert "silt" not in unified


def test_texture_goes_by_what_passes_two_millimetres():
    """USDA texture counts the fine earth alone: half stones, a tenth clay -> 20 % clay."""
    curve = Grading(((0.002, 0.1), (0.05, 0.3), (2.0, 0.5), (60.0, 1.0)))
    fine = fractions(curve, SizeSystem.USDA, below_mm=2.0)
    assert fine["clay"] == pytest.approx(0.2)
    assert fine["silt"] == pytest.approx(0.4)
    assert fine["sand"] == pytest.approx(0.4)
    assert fine["gravel"] == 0


def test_the_limits_ascend_and_end_nowhere():
    """Property of each system."""
    for limits in LIMITS_MM.values():
        sizes = [size for _, size in limits]
        assert sizes == sorted(set(sizes))
        assert sizes[-1] == math.inf


def test_masses_become_shares_passing():
    """Hand-worked: 10 + 20 + 30 g on 2, 1, 0.5 mm and 40 g in the pan."""
    sieving = from_retained((2, 1, 0.5), (10, 20, 30), 40, sample_g=100)
    assert sieving.grading.points == ((0.5, 0.4), (1.0, 0.7), (2.0, 0.9))
    assert sieving.loss == 0
    assert sieving.adds_up


def test_a_loss_is_reported_and_judged():
    """ASTM C136 accepts 0.3 % (seen quoted): 0.2 g of 100 g passes, 0.5 g does not."""
    assert from_retained((2, 1), (50, 30), 19.8, sample_g=100).adds_up is True
    lossy = from_retained((2, 1), (50, 30), 19.5, sample_g=100)
    assert lossy.loss == pytest.approx(0.005)
    assert lossy.adds_up is False
    assert from_retained((2, 1), (50, 30), 19.5).adds_up is None


@given(
    st.lists(st.integers(0, 500), min_size=2, max_size=8),
    st.integers(1, 500),
)
def test_single_and_cumulated_masses_give_the_same_curve(grams, pan):
    """Property: two ways to fill in the same sheet."""
    sieves = [8 / 2**step for step in range(len(grams))]
    cumulated = [sum(grams[: step + 1]) for step in range(len(grams))]
    total = sum(grams) + pan
    single = from_retained(sieves, grams, pan)
    summed = from_cumulative(sieves, cumulated, total)
    for one, other in zip(single.grading.points, summed.grading.points, strict=True):
        assert one == pytest.approx(other)
    assert summed.loss == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("points", "code"),
    [
        (((1.0, 0.5),), "too_few_sizes"),
        ((), "too_few_sizes"),
        (((2.0, 0.5), (1.0, 0.8)), "sizes_not_ascending"),
        (((1.0, 0.5), (1.0, 0.8)), "sieve_twice"),
        (((1.0, 0.8), (2.0, 0.5)), "passing_falls"),
        (((1.0, -0.1), (2.0, 0.5)), "share_outside_0_1"),
        (((1.0, 0.1), (2.0, 50.0)), "share_outside_0_1"),
        (((1.0, math.nan), (2.0, 0.5)), "share_outside_0_1"),
        (((0.0, 0.1), (2.0, 0.5)), "size_not_positive"),
        (((math.nan, 0.1), (2.0, 0.5)), "size_not_positive"),
        (((1.0, 0.1), (math.inf, 0.5)), "size_not_positive"),
    ],
)
def test_an_impossible_curve_is_refused(points, code):
    """Property: each rule of the curve has its code."""
    with pytest.raises(Refused) as refusal:
        Grading(points)
    assert code_of(refusal) == code


@pytest.mark.parametrize(
    ("sieves", "grams", "pan", "sample", "code"),
    [
        ((2, 1), (10,), 5, None, "masses_and_sieves_differ"),
        ((2, 1), (10, -1), 5, None, "mass_negative"),
        ((2, 1), (10, 1), math.nan, None, "mass_negative"),
        ((2, 1), (0, 0), 0, None, "nothing_sieved"),
        ((2, 2), (10, 5), 5, None, "sieve_twice"),
        ((2,), (10,), 5, None, "too_few_sizes"),
        ((2, 1), (10, 5), 5, 0, "sample_without_mass"),
        ((2, 1), (10, 5), 5, 30, "masses_do_not_add_up"),
    ],
)
def test_impossible_masses_are_refused(sieves, grams, pan, sample, code):
    """Property: each mistake of the sheet has its code."""
    with pytest.raises(Refused) as refusal:
        from_retained(sieves, grams, pan, sample_g=sample)
    assert code_of(refusal) == code


def test_a_share_of_nothing_is_refused():
    """Property: all stones, no fine earth."""
    with pytest.raises(Refused) as refusal:
        fractions(Grading(((4.0, 0.0), (20.0, 1.0))), SizeSystem.USDA, below_mm=2.0)
    assert code_of(refusal) == "nothing_below"
