"""Laboratory sheets in three size systems, moved to USDA by hand."""

from __future__ import annotations

from math import log

import pytest

from logistics.domain.errors import Refused
from matching.domain.grading import SizeSystem
from matching.domain.soil.evidence import Finding, Rung
from matching.domain.soil.readings.laboratory import read_laboratory
from matching.domain.soil.records import LabGrading, LabMethod
from tests.matching.domain.soil.cases import LABEL


def shares(found: Finding) -> tuple[float, float]:
    assert found.clay is not None
    assert found.silt is not None
    return found.clay.likely, found.silt.likely


def test_usda_shares_stand_as_they_are():
    found = read_laboratory(LabGrading(LABEL, clay=0.30, silt=0.40, sand=0.30))
    assert shares(found) == pytest.approx((0.30, 0.40))
    assert found.rung is Rung.LABORATORY
    assert found.stones is None


def test_iso_silt_ends_at_0_063_mm_and_is_more_than_usda_silt():
    """ISO 14688-1: silt to 0.063 mm (seen). Hand-worked, even in the logarithm: 0.40 x
    ln 25 / ln 31.5 = 0.3732."""
    sheet = LabGrading(
        LABEL, clay=0.30, silt=0.40, sand=0.30, system=SizeSystem.ISO_14688
    )
    found = read_laboratory(sheet)
    assert shares(found) == pytest.approx((0.30, 0.40 * log(25) / log(31.5)))
    assert found.silt is not None
    assert found.silt.high - found.silt.low > 0.10 + 0.05
    assert "another size" in found.doubt


def test_unified_sand_reaches_4_75_mm_so_shares_are_cut_at_2_mm():
    """Hand-worked: fines 0.50, sand 0.50 to 4.75 mm; 2 mm is at ln(2/0.075) / ln(4.75/0.075)
    = 0.7914 of it, so 0.8957 passes and clay is 0.20 / 0.8957 = 0.2233."""
    sheet = LabGrading(
        LABEL, clay=0.20, silt=0.30, sand=0.50, system=SizeSystem.UNIFIED
    )
    passing = 0.5 + 0.5 * log(2 / 0.075) / log(4.75 / 0.075)
    silt = 0.30 * log(0.05 / 0.002) / log(0.075 / 0.002)
    assert shares(read_laboratory(sheet)) == pytest.approx(
        (0.20 / passing, silt / passing)
    )


def test_gravel_on_the_sheet_may_be_stones_and_clay_is_of_the_fine_earth():
    """Hand-worked: 0.18 of the whole is 0.20 of the 0.90 that passes 2 mm. Of gravel over
    2 mm a share of ln(63/20) / ln(63/2) = 0.3326 is over 20 mm, even in the logarithm."""
    found = read_laboratory(
        LabGrading(LABEL, clay=0.18, silt=0.36, sand=0.36, gravel=0.10)
    )
    assert shares(found) == pytest.approx((0.20, 0.40))
    assert found.stones is not None
    assert found.stones.low == 0
    assert found.stones.likely == pytest.approx(0.0333, abs=1e-4)
    assert found.stones.high == pytest.approx(0.13)


@pytest.mark.parametrize(
    ("coarse", "low", "likely", "high"),
    [
        # All passes 20 mm: fine gravel and no stones.
        (((20.0, 1.0),), 0.0, 0.0, 0.01),
        # 10 % is coarser than 20 mm; a fifth of it and 1 point either way.
        (((20.0, 0.90), (63.0, 1.0)), 0.07, 0.10, 0.13),
        # The sieves end at 2 mm with 20 % on them.
        ((), 0.0, 0.2 * log(63 / 20) / log(63 / 2), 0.25),
    ],
)
def test_of_a_curve_what_is_coarser_than_20_mm_is_stones(coarse, low, likely, high):
    """Devon Earth Building Association (seen): fine gravel belongs into cob. Hand-worked;
    20 % of this soil is coarser than 2 mm."""
    points = ((0.002, 0.20), (0.05, 0.45), (2.0, 0.80), *coarse)
    stones = read_laboratory(LabGrading(LABEL, points=points)).stones
    assert stones is not None
    assert (stones.low, stones.likely, stones.high) == pytest.approx(
        (low, likely, high)
    )


def test_a_curve_with_a_hydrometer_is_read_between_its_points():
    """Hand-worked: 0.001 mm 0.20, 0.004 mm 0.30: 0.002 mm lies half way in the logarithm,
    0.25; 0.8 passes 2 mm."""
    points = ((0.001, 0.20), (0.004, 0.30), (0.05, 0.45), (2.0, 0.80), (20.0, 1.0))
    found = read_laboratory(
        LabGrading(LABEL, points=points, method=LabMethod.HYDROMETER)
    )
    assert shares(found) == pytest.approx((0.25 / 0.8, 0.20 / 0.8))
    assert found.clay is not None
    # 4 points of method and a quarter of 0.05 of bend, over 0.8.
    assert found.clay.high == pytest.approx(0.25 / 0.8 + 0.04 + 0.0125 / 0.8)


def test_sieves_alone_set_only_the_most_clay():
    """0.063 mm passes 0.50 and 2 mm passes all: clay is 0 to 0.50, and 4 points."""
    found = read_laboratory(
        LabGrading(LABEL, points=((0.063, 0.5), (2, 1.0)), method=LabMethod.SIEVE_ONLY)
    )
    assert found.clay is not None
    assert (found.clay.low, found.clay.high) == pytest.approx((0.0, 0.54))
    assert found.rung is Rung.HAND
    assert "hydrometer" in found.doubt


def test_a_hydrometer_without_sieves_leaves_the_silt_open():
    """Measured to 0.02 mm only: silt may be anything that the clay leaves room for."""
    points = ((0.002, 0.20), (0.02, 0.40))
    found = read_laboratory(
        LabGrading(LABEL, points=points, method=LabMethod.HYDROMETER)
    )
    assert found.silt is not None
    assert found.silt.high == 1.0
    assert found.silt.low < 0.40 - 0.20 + 0.10


def test_sieves_that_stop_below_2_mm_leave_the_coarse_end_open():
    """0.5 mm passes 0.90: what passes 2 mm is between 0.90 and 1, taken as 0.95."""
    points = ((0.002, 0.19), (0.05, 0.38), (0.5, 0.90))
    found = read_laboratory(LabGrading(LABEL, points=points))
    assert shares(found) == pytest.approx((0.20, 0.20))
    assert found.stones is None


def test_rounded_percents_that_sum_to_101_are_scaled():
    """Sheets round to whole percents (common practice, no source)."""
    found = read_laboratory(LabGrading(LABEL, clay=0.31, silt=0.40, sand=0.30))
    assert shares(found) == pytest.approx((0.31 / 1.01, 0.40 / 1.01))


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({}, "shares_incomplete"),
        ({"clay": 0.3}, "shares_incomplete"),
        ({"clay": 30, "silt": 40, "sand": 30}, "figure_out_of_range"),
        ({"clay": -0.1, "silt": 0.6, "sand": 0.5}, "figure_out_of_range"),
        ({"clay": 0.3, "silt": 0.3, "sand": 0.3}, "shares_do_not_add_up"),
        ({"points": ((0.002, 0.3), (2, 1.0)), "clay": 0.3}, "curve_and_shares"),
        ({"points": ((2, 1.0), (0.002, 0.3))}, "sizes_not_ascending"),
        ({"points": ((0.002, 0.5), (2, 0.3))}, "passing_falls"),
        ({"points": ((4, 0.5), (8, 1.0))}, "figure_out_of_range"),
    ],
)
def test_an_absurd_sheet_is_refused(fields, code):
    with pytest.raises(Refused) as caught:
        LabGrading(LABEL, **fields)
    assert caught.value.problems[0].code == code
