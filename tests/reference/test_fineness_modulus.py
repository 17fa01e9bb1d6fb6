"""Fineness modulus against published worked examples."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from matching.domain.grading import Grading, from_cumulative, from_retained
from matching.domain.sands.fineness import (
    EN_12620_BANDS,
    FinenessSeries,
    en_12620_bands,
    fineness_modulus,
    fineness_range,
)
from matching.domain.sands.limits import LIMITS, Limit, LimitPoint

ASTM = (4.75, 2.36, 1.18, 0.6, 0.3, 0.15)


def test_the_worked_example_of_the_texas_method():
    """Tex-402-A (seen): 500.3 g, cumulative retained on No. 4 to No. 100; FM 2.96."""
    grams = (31.5, 99.1, 195.6, 306.7, 367.2, 482.8)
    sheet = from_cumulative(ASTM, grams, 500.3)
    retained = [round(100 * (1 - share), 1) for _, share in sheet.grading.points]
    assert retained == [96.5, 73.4, 61.3, 39.1, 19.8, 6.3]
    assert fineness_modulus(sheet.grading) == pytest.approx(2.96, abs=0.005)


def test_an_examination_question_on_a_kilogram_of_sand():
    """Question bank (seen on two pages): 0, 100, 150, 200, 350, 200 g of 1000 g -> 2.60."""
    sheet = from_retained(ASTM, (0, 100, 150, 200, 350, 200), 0, sample_g=1000)
    assert sheet.loss == 0
    assert fineness_modulus(sheet.grading) == pytest.approx(2.60)


def test_an_examination_sheet_of_cumulated_shares():
    """Question bank (seen): 6, 25, 51, 71, 85, 92 % retained -> 3.30; it counts sieves to
    80 mm, which retain nothing."""
    retained = (6, 25, 51, 71, 85, 92)
    points = [
        (9.5, 1.0),
        *((s, 1 - r / 100) for s, r in zip(ASTM, retained, strict=True)),
    ]
    curve = Grading(tuple(sorted(points)))
    assert fineness_modulus(curve) == pytest.approx(3.30)


def test_the_limits_of_concrete_sand_bracket_its_modulus():
    """ASTM C33 (seen quoted): the coarse limit gives 3.45 and the fine one 2.15 (worked by
    hand from the table), so the 2.3 to 3.1 that it also asks for is the narrower rule."""
    rows = [at for at in LIMITS[Limit.ASTM_C33].points if at.size_mm >= 0.15]
    coarse = Grading(tuple((at.size_mm, at.low) for at in rows))
    fine = Grading(tuple((at.size_mm, at.high) for at in rows))
    assert fineness_modulus(coarse) == pytest.approx(3.45)
    assert fineness_modulus(fine) == pytest.approx(2.15)
    assert LIMITS[Limit.ASTM_C33].fineness == (2.3, 3.1)


def test_the_european_modulus_takes_its_own_sieves():
    """EN 12620 Annex B (seen): 4, 2, 1, 0.5, 0.25, 0.125 mm. Hand-worked: 5 + 20 + 40 + 60
    + 80 + 95 = 300 % -> 3.00, in the coarse band only."""
    retained = {8: 0, 4: 5, 2: 20, 1: 40, 0.5: 60, 0.25: 80, 0.125: 95}
    curve = Grading(tuple(sorted((s, 1 - r / 100) for s, r in retained.items())))
    modulus = fineness_modulus(curve, FinenessSeries.EN_12620)
    assert modulus == pytest.approx(3.0)
    assert en_12620_bands(modulus) == ("CF",)
    assert fineness_modulus(curve, FinenessSeries.ASTM) != pytest.approx(modulus)


@pytest.mark.parametrize(
    ("modulus", "names"),
    [
        (4.0, ("CF",)),
        (2.6, ("CF", "MF")),
        (2.2, ("MF",)),
        (1.8, ("MF", "FF")),
        (0.6, ("FF",)),
        (0.5, ()),
        (4.1, ()),
    ],
)
def test_the_european_bands_overlap(modulus, names):
    """EN 12620:2002+A1 (seen): CF 4.0-2.4, MF 2.8-1.5, FF 2.1-0.6."""
    assert en_12620_bands(modulus) == names
    assert EN_12620_BANDS["MF"] == (1.5, 2.8)


def test_a_modulus_without_the_finest_sieve_is_a_range():
    """Property: the unknown 0.15 mm sieve can add 0 (all passes) to 1 of the rest."""
    curve = Grading(((0.3, 0.2), (0.6, 0.5), (1.18, 0.7), (2.36, 0.9), (4.75, 1.0)))
    assert fineness_range(curve) == pytest.approx((1.7 + 0.8, 1.7 + 1.0))
    with pytest.raises(Refused) as refusal:
        fineness_modulus(curve)
    assert refusal.value.problems[0].code == "beyond_measured_sizes"


def test_a_modulus_without_the_coarse_sieves_is_a_range():
    """Property: 60 % passing 1.18 mm leaves 0 to 40 % on 2.36 and on 4.75 mm."""
    curve = Grading(((0.15, 0.0), (0.3, 0.2), (0.6, 0.4), (1.18, 0.6)))
    assert fineness_range(curve) == pytest.approx((2.8, 3.6))
    with pytest.raises(Refused):
        fineness_modulus(curve)


@st.composite
def sheets(draw: st.DrawFn) -> tuple[list[LimitPoint], Grading]:
    """Concrete-sand limits and a curve drawn inside them."""
    rows = [at for at in LIMITS[Limit.ASTM_C33].points if at.size_mm >= 0.15]
    points, least = [], 0.0
    for at in rows:
        low = max(at.low, least)
        least = low + draw(st.floats(0, 1)) * (at.high - low)
        points.append((at.size_mm, min(least, at.high)))
    return rows, Grading(tuple(points))


@given(sheets())
def test_a_curve_between_two_others_has_a_modulus_between_theirs(sheet):
    """Property: the modulus falls as more passes."""
    rows, curve = sheet
    coarse = Grading(tuple((at.size_mm, at.low) for at in rows))
    fine = Grading(tuple((at.size_mm, at.high) for at in rows))
    assert (
        fineness_modulus(fine) - 1e-9
        <= fineness_modulus(curve)
        <= fineness_modulus(coarse) + 1e-9
    )
    assert fineness_range(curve) == pytest.approx((fineness_modulus(curve),) * 2)
