"""The texture triangle: corners worked by hand, regions, and where sand leads."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pictures.drawing import Size
from api.pictures.triangle import Sanding, Sheet, cob_band, region, triangle
from logistics.domain.quantities import Spread
from matching.domain.soil.texture import Outline, Texture
from matching.domain.takeoff import MixTarget
from tests.api.pictures.drawn import outside, told

SHEET = Sheet(left=10, bottom=100, side=100)


def flat(outline: Outline) -> list[float]:
    return [share for point in outline for share in point]


@st.composite
def soils(draw: st.DrawFn) -> tuple[Spread, Spread | None]:
    clay = Spread(*sorted(draw(st.tuples(*[st.floats(0, 1)] * 3))))
    silt = draw(st.one_of(st.none(), st.tuples(*[st.floats(0, 1)] * 3)))
    if silt is None:
        return clay, None
    low, likely, high = sorted(own * (1 - clay.likely) for own in silt)
    return clay, Spread(low, likely, high)


def test_corners_are_sand_silt_and_clay():
    """Hand-worked: an equilateral triangle of side 100; its height is 50 sqrt 3."""
    assert SHEET.at(0, 0) == pytest.approx((10, 100))
    assert SHEET.at(0, 1) == pytest.approx((110, 100))
    assert SHEET.at(1, 0) == pytest.approx((60, 100 - 50 * math.sqrt(3)))


def test_equal_thirds_lie_in_the_middle():
    """Hand-worked: the centroid is a third of the height up."""
    at = SHEET.at(1 / 3, 1 / 3)
    assert at == pytest.approx((60, 100 - 50 * math.sqrt(3) / 3))


def test_the_point_of_a_soil_is_at_its_likely_shares():
    """Hand-worked: side 560 from x 80; clay 0.4, silt 0.2: x = 80 + 560 (0.2 + 0.2)."""
    drawn = triangle(Spread.exactly(0.4), Spread.exactly(0.2))
    assert drawn.point.x == pytest.approx(80 + 224)
    base = drawn.ground.points[0][1]
    assert drawn.point.y == pytest.approx(base - 560 * 0.4 * math.sqrt(3) / 2)


def test_the_region_is_cut_off_where_shares_exceed_the_whole():
    """Hand-worked: clay 0.2 to 0.6 and any silt: from silt 0.8 down to 0.4 at the rim."""
    found = region(Spread(0.2, 0.3, 0.6), Spread(0, 0.3, 1))
    assert flat(found) == pytest.approx([0.2, 0, 0.2, 0.8, 0.6, 0.4, 0.6, 0])


def test_a_region_whose_far_corner_is_beyond_the_rim_ends_in_a_tip():
    """Hand-worked: silt at least 0.5 leaves clay at most 0.5."""
    found = region(Spread(0.3, 0.4, 0.7), Spread(0.5, 0.5, 0.6))
    assert flat(found) == pytest.approx([0.3, 0.5, 0.3, 0.6, 0.4, 0.6, 0.5, 0.5])


def test_cob_as_dug_has_its_clay_window_and_half_sand():
    """Practitioners' window of 15 to 25 % with more than half sand (see MixTarget)."""
    assert flat(cob_band(MixTarget())) == pytest.approx(
        [0.15, 0, 0.15, 0.35, 0.25, 0.25, 0.25, 0]
    )


def test_sand_moves_a_soil_straight_towards_the_sand():
    """Hand-worked: half of 40 % clay and 20 % silt is 20 % and 10 %."""
    assert Sanding(0.5).mixed(0.4, 0.2) == pytest.approx((0.2, 0.1))
    drawn = triangle(
        Spread.exactly(0.4), Spread.exactly(0.2), sanding=Sanding(0.5, 0.0, 0.02)
    )
    assert drawn.sanding is not None
    assert drawn.recipe is not None
    (x0, y0), (x1, y1) = drawn.sanding.points
    tip = drawn.recipe.points
    assert sum(x for x, _ in tip) / 4 == pytest.approx((x0 + x1) / 2)
    assert sum(y for _, y in tip) / 4 == pytest.approx((y0 + y1) / 2)
    assert "20 %".replace(" ", "\N{NO-BREAK SPACE}") in told(drawn)


def test_every_class_is_drawn_and_named_even_on_a_phone():
    for size in Size:
        drawn = triangle(Spread.exactly(0.3), None, size=size)
        assert len(drawn.classes) == len(Texture)
        words = {own.text for own in drawn.names}
        assert {"clay", "loam", "silt"} <= words
        assert ("LS" in words) is (size is Size.NARROW)


@given(soils(), st.sampled_from(Size), st.floats(0, 1))
def test_any_soil_stays_within_the_triangle(soil, size, share):
    """Property."""
    drawn = triangle(*soil, sanding=Sanding(share), size=size)
    assert outside(drawn) == []
    left, top, right = drawn.ground.points
    for x, y in drawn.region.points:
        assert top[1] - 0.1 <= y <= left[1] + 0.1
        rise = (left[1] - y) / math.sqrt(3)
        assert left[0] + rise - 0.1 <= x
        assert x <= right[0] - rise + 0.1
