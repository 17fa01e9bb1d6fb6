"""Grading limits of concrete and masonry sand against the published tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matching.domain.grading import Grading
from matching.domain.sands.bulking import bulking, solid_m3
from matching.domain.sands.limits import (
    LIMITS,
    Limit,
    Seen,
    departures,
    envelope,
    most_between_sieves,
    unmeasured,
    within,
)

# Percent passing, as printed; each row (mm, least, greatest).
C33 = [
    (9.5, 100, 100),
    (4.75, 95, 100),
    (2.36, 80, 100),
    (1.18, 50, 85),
    (0.6, 25, 60),
    (0.3, 5, 30),
    (0.15, 0, 10),
    (0.075, 0, 3),
]
C144_NATURAL = [
    (4.75, 100, 100),
    (2.36, 95, 100),
    (1.18, 70, 100),
    (0.6, 40, 75),
    (0.3, 10, 35),
    (0.15, 2, 15),
]
C144_MANUFACTURED = [
    (4.75, 100, 100),
    (2.36, 95, 100),
    (1.18, 70, 100),
    (0.6, 40, 75),
    (0.3, 20, 40),
    (0.15, 10, 25),
    (0.075, 0, 10),
]
BS_1200 = [
    (5.0, 100, 100),
    (2.36, 90, 100),
    (1.18, 70, 100),
    (0.6, 40, 100),
    (0.3, 5, 70),
    (0.15, 0, 15),
]
MIDDLE = Grading(tuple(sorted((size, (low + high) / 200) for size, low, high in C33)))


@pytest.mark.parametrize(
    ("limit", "rows"),
    [
        (Limit.ASTM_C33, C33),
        (Limit.ASTM_C144_NATURAL, C144_NATURAL),
        (Limit.ASTM_C144_MANUFACTURED, C144_MANUFACTURED),
        (Limit.EN_12620_COARSE, [(0.5, 5, 45)]),
        (Limit.EN_12620_MEDIUM, [(0.5, 30, 70)]),
        (Limit.EN_12620_FINE, [(0.5, 55, 100)]),
        (Limit.BS_1200, BS_1200),
    ],
)
def test_an_envelope_is_the_printed_table(limit, rows):
    """ASTM C33, BS 1200 and ASTM C144 (seen quoted), EN 12620 Annex B (seen): keyed in a
    second time from the reference sheet, coarsest first as printed."""
    printed = tuple((size, low / 100, high / 100) for size, low, high in reversed(rows))
    assert envelope(limit) == printed
    assert LIMITS[limit].seen is not Seen.FROM_MEMORY
    assert LIMITS[limit].source


def test_the_middle_of_concrete_sand_is_within_and_is_no_masonry_sand():
    """ASTM C33 and C144 (seen quoted): the middle passes 67.5, 90 and 97.5 % at 1.18, 2.36
    and 4.75 mm, where masonry sand wants 70, 95 and 100 %."""
    assert within(MIDDLE, Limit.ASTM_C33)
    assert departures(MIDDLE, Limit.ASTM_C33) == ()
    out = departures(MIDDLE, Limit.ASTM_C144_NATURAL)
    assert [at.size_mm for at in out] == [1.18, 2.36, 4.75]
    assert [at.by for at in out] == pytest.approx([-0.025, -0.05, -0.025])
    assert not within(MIDDLE, Limit.ASTM_C144_NATURAL)


def test_a_departure_says_on_which_sieve_and_by_how_much():
    """Hand-worked on ASTM C33: 66 % at 0.6 mm is 6 points too many, 75 % at 2.36 mm is
    5 points too few."""
    curve = Grading(
        ((0.15, 0.05), (0.3, 0.2), (0.6, 0.66), (1.18, 0.7), (2.36, 0.75), (9.5, 1.0))
    )
    found = {d.size_mm: round(d.by, 6) for d in departures(curve, Limit.ASTM_C33)}
    assert found[0.6] == 0.06
    assert found[2.36] == -0.05
    assert set(found) == {0.6, 2.36, 4.75}


def test_a_sieve_that_was_not_used_neither_departs_nor_passes():
    """Property: 60 % passing the coarsest sieve of 1.18 mm leaves 2.36 mm open."""
    curve = Grading(((0.3, 0.2), (0.6, 0.4), (1.18, 0.6)))
    assert departures(curve, Limit.ASTM_C33) == ()
    assert 2.36 in unmeasured(curve, Limit.ASTM_C33)
    assert 0.6 not in unmeasured(curve, Limit.ASTM_C33)


def test_one_european_sand_may_be_coarse_and_medium_at_once():
    """EN 12620 Annex B (seen): 30 to 45 % at 0.5 mm is in CP and in MP."""
    curve = Grading(((0.25, 0.1), (0.5, 0.4), (4.0, 1.0)))
    fits = [limit for limit in Limit if "en_12620" in limit and within(curve, limit)]
    assert fits == [Limit.EN_12620_COARSE, Limit.EN_12620_MEDIUM]


def test_the_45_per_cent_rule_looks_between_neighbouring_sieves():
    """ASTM C33 (seen): at most 45 % between two sieves. Hand-worked: 55 % between 0.3 and
    0.6 mm."""
    curve = Grading(((0.15, 0.02), (0.3, 0.05), (0.6, 0.6), (1.18, 0.85), (4.75, 1.0)))
    assert most_between_sieves(curve) == pytest.approx(0.55)
    assert LIMITS[Limit.ASTM_C33].most_between == 0.45


@given(st.sampled_from(list(Limit)), st.floats(0, 1))
def test_any_blend_of_the_two_limits_is_within_on_every_sieve(limit, part):
    """Property: limits are convex. The edges of ASTM C33 keep 345 and 215 % by hand, so
    its modulus of 2.3 to 3.1 leaves the blends from 35 / 130 to 115 / 130."""
    rows = envelope(limit)
    points = [(size, low + part * (high - low)) for size, low, high in rows]
    if len(points) == 1:
        points.append((points[0][0] * 8, 1.0))
    curve = Grading(tuple(points))
    assert departures(curve, limit) == ()
    if limit is not Limit.ASTM_C33 or 0.27 <= part <= 0.884:
        assert within(curve, limit)
    elif not 0.269 <= part <= 0.885:
        assert not within(curve, limit)


def test_bulking_by_the_published_jar():
    """Civil-engineering pages (seen): 200 mm damp, 160 mm flooded -> 25 %."""
    assert bulking(200, 160) == pytest.approx(0.25)
    assert solid_m3(10, bulking(200, 160)) == pytest.approx(8)
