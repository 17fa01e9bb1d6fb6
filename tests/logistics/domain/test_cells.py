"""Looking places up by ranges of cells: nothing within reach may be missed."""

from __future__ import annotations

import h3
import pytest
from geopy.distance import geodesic
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.cells import RESOLUTION, cell_of, ranges_around
from logistics.domain.places import Point

PENTAGONS = [h3.cell_to_latlng(cell) for cell in sorted(h3.get_pentagons(4))]


def inside(point: Point, ranges: list[tuple[str, str]]) -> bool:
    return any(low <= cell_of(point) <= high for low, high in ranges)


def moved(point: Point, metres: float, bearing: float) -> Point:
    """The place at the end of a geodesic, by an independent implementation (geopy)."""
    end = geodesic(meters=metres).destination((point.lat, point.lon), bearing)
    return Point(end.latitude, (end.longitude + 180) % 360 - 180)


positions = st.builds(
    Point, st.floats(-90, 90), st.floats(-180, 180, exclude_max=True)
) | st.builds(
    lambda at, north, east: Point(at[0] + north, at[1] + east),
    st.sampled_from(PENTAGONS),
    st.floats(-0.9, 0.9),
    st.floats(-0.9, 0.9),
).filter(lambda point: abs(point.lon) < 180)


@given(
    centre=positions,
    reach=st.floats(100, 1_000_000),
    share=st.floats(0, 1),
    bearing=st.floats(0, 360),
)
def test_every_place_within_reach_is_in_a_range(centre, reach, share, bearing):
    """Property, on the whole earth, pentagons and the date line included."""
    place = moved(centre, reach * share * 0.999999, bearing)
    assert inside(place, ranges_around(centre, reach))


@pytest.mark.parametrize("reach", [500, 5_000, 50_000, 80_000, 500_000])
def test_few_ranges_cover_the_circle_and_little_else(reach):
    """Property: a place at four times the reach, or 6 km for short reaches, is outside."""
    centre = Point(46.0, 3.0)
    ranges = ranges_around(centre, reach)
    assert 0 < len(ranges) <= 200
    for bearing in range(0, 360, 15):
        assert not inside(moved(centre, max(4 * reach, 6_000), bearing), ranges)


def test_ranges_are_in_order_and_apart():
    """Property: so each cell is asked for once."""
    ranges = ranges_around(Point(46.0, 3.0), 80_000)
    edges = [edge for span in ranges for edge in span]
    assert edges == sorted(edges)
    assert len(set(edges)) == len(edges)


def test_a_cell_is_what_the_grid_says():
    """The grid's own function is the source; 15 digits fill the column."""
    cell = cell_of(Point(46.0, 3.0))
    assert h3.get_resolution(cell) == RESOLUTION
    assert len(cell) == 15
