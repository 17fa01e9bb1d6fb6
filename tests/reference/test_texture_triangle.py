"""The USDA triangle, against published points and an independent implementation."""

from __future__ import annotations

from itertools import product

import pedotri
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.soil.texture import (
    OUTLINES,
    Texture,
    bounds_of,
    texture_of,
    textures_within,
)

# sand, silt, clay in %. The first two: worked points of published texture sheets. The
# others lie on the lines of the Soil Survey Manual's inequalities and were classed from
# them by hand.
POINTS = [
    (50.64, 37.75, 11.61, "loam"),
    (30, 40, 30, "clay_loam"),
    (92, 5, 3, "sand"),
    (82, 12, 6, "loamy_sand"),
    (65, 25, 10, "sandy_loam"),
    (70, 15, 15, "sandy_loam"),
    (60, 35, 5, "sandy_loam"),
    (52, 41, 7, "loam"),
    (40, 40, 20, "loam"),
    (52, 28, 20, "loam"),
    (20, 65, 15, "silt_loam"),
    (5, 90, 5, "silt"),
    (60, 15, 25, "sandy_clay_loam"),
    (45, 28, 27, "clay_loam"),
    (20, 53, 27, "silty_clay_loam"),
    (10, 56, 34, "silty_clay_loam"),
    (52, 6, 42, "sandy_clay"),
    (20, 40, 40, "silty_clay"),
    (5, 48, 47, "silty_clay"),
    (45, 15, 40, "clay"),
    (20, 20, 60, "clay"),
]


def by_the_manual(sand: float, silt: float, clay: float) -> list[str]:
    """The Soil Survey Manual's inequalities as printed, each class on its own."""
    fits = {
        "sand": silt + 1.5 * clay < 15,
        "loamy_sand": silt + 1.5 * clay >= 15 and silt + 2 * clay < 30,
        "sandy_loam": (7 <= clay < 20 and sand > 52 and silt + 2 * clay >= 30)
        or (clay < 7 and silt < 50 and silt + 2 * clay >= 30),
        "loam": 7 <= clay < 27 and 28 <= silt < 50 and sand <= 52,
        "silt_loam": (silt >= 50 and 12 <= clay < 27)
        or (50 <= silt < 80 and clay < 12),
        "silt": silt >= 80 and clay < 12,
        "sandy_clay_loam": 20 <= clay < 35 and silt < 28 and sand > 45,
        "clay_loam": 27 <= clay < 40 and 20 < sand <= 45,
        "silty_clay_loam": 27 <= clay < 40 and sand <= 20,
        "sandy_clay": clay >= 35 and sand > 45,
        "silty_clay": clay >= 40 and silt >= 40,
        "clay": clay >= 40 and sand <= 45 and silt < 40,
    }
    return [name for name, fit in fits.items() if fit]


@pytest.mark.parametrize(("sand", "silt", "clay", "name"), POINTS)
def test_published_and_hand_classed_points(sand, silt, clay, name):
    assert texture_of(clay / 100, silt / 100) == name


def test_every_half_percent_of_the_triangle_is_classed_once_as_the_manual_says():
    """20 301 points; the manual's inequalities class each of them exactly once."""
    points = [
        (clay / 2, silt / 2)
        for clay, silt in product(range(201), repeat=2)
        if clay + silt <= 200
    ]
    assert len(points) == 20_301
    wrong = [
        (clay, silt)
        for clay, silt in points
        if by_the_manual(100 - clay - silt, silt, clay)
        != [texture_of(clay / 100, silt / 100)]
    ]
    assert wrong == []


def test_an_independent_implementation_agrees_off_the_lines():
    """Oracle: the package pedotri 0.4.1, which has its own polygons."""
    # 0.31 and 0.17 off the whole percents keep every point off the classes' lines.
    points = [
        (clay + 0.31, silt + 0.17)
        for clay, silt in product(range(0, 100, 2), repeat=2)
        if clay + silt < 99
    ]
    theirs = pedotri.classify(
        [100 - clay - silt for clay, silt in points],
        [clay for clay, _ in points],
        "USDA",
        detailed=True,
    )
    differ = [
        (point, found.key)
        for point, found in zip(points, theirs, strict=True)
        if str(found.key).replace("-", "_")
        != texture_of(point[0] / 100, point[1] / 100)
    ]
    assert differ == []


def test_the_outlines_tile_the_triangle():
    """Property: areas add up to the triangle's half, no two overlap."""
    shapes = {texture: Polygon(outline) for texture, outline in OUTLINES.items()}
    assert sum(shape.area for shape in shapes.values()) == pytest.approx(0.5)
    for one, other in product(shapes, repeat=2):
        if one is not other:
            assert shapes[one].intersection(shapes[other]).area < 1e-12


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_soil_lies_in_the_outline_and_bounds_of_its_class(clay, part):
    silt = (1 - clay) * part
    texture = texture_of(clay, silt)
    assert Polygon(OUTLINES[texture]).distance(Point(clay, silt)) < 1e-6
    bounds = bounds_of(texture)
    assert bounds.clay.low - 1e-6 <= clay <= bounds.clay.high + 1e-6
    assert bounds.silt.low - 1e-6 <= silt <= bounds.silt.high + 1e-6
    assert bounds.sand.low - 1e-6 <= 1 - clay - silt <= bounds.sand.high + 1e-6


def test_bounds_of_loam_are_those_printed():
    """Soil Survey Manual: loam holds 7-27 % clay, 28-50 % silt, 23-52 % sand."""
    bounds = bounds_of(Texture.LOAM)
    assert (bounds.clay.low, bounds.clay.high) == (0.07, 0.27)
    assert (bounds.silt.low, bounds.silt.high) == (0.28, 0.50)
    assert (bounds.sand.low, bounds.sand.high) == pytest.approx((0.23, 0.52))


@pytest.mark.parametrize(
    ("clay", "silt"), [(-0.1, 0.5), (0.6, 0.5), (20, 40), (float("nan"), 0.1)]
)
def test_shares_off_the_triangle_are_refused(clay, silt):
    with pytest.raises(Refused) as caught:
        texture_of(clay, silt)
    assert caught.value.problems[0].code == "shares_out_of_range"


shares = st.integers(0, 100)


@given(shares, shares, shares, shares, st.floats(0, 1), st.floats(0, 1))
def test_a_region_names_the_class_of_every_point_in_it(a, b, c, d, one, other):
    """Property: no class of any inner point is left out."""
    clay = Spread(min(a, b) / 100, min(a, b) / 100, max(a, b) / 100)
    silt = Spread(min(c, d) / 100, min(c, d) / 100, max(c, d) / 100)
    point = (
        clay.low + one * (clay.high - clay.low),
        silt.low + other * (silt.high - silt.low),
    )
    if sum(point) <= 1:
        assert texture_of(*point) in textures_within(clay, silt)


def test_a_region_names_no_class_that_it_only_borders():
    """Hand-worked: clay 27-39 % and sand 21-44 % is clay loam alone."""
    assert textures_within(Spread(0.28, 0.30, 0.32), Spread(0.30, 0.35, 0.40)) == (
        Texture.CLAY_LOAM,
    )
    # Up to, and not over, the line at 27 % clay and 28 % silt.
    assert textures_within(Spread(0.20, 0.22, 0.25), Spread(0.10, 0.20, 0.27)) == (
        Texture.SANDY_CLAY_LOAM,
    )


def test_nothing_known_may_be_any_class():
    assert textures_within(Spread(0.0, 0.3, 1.0)) == tuple(Texture)
