"""Snapping against a plain look at every segment."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads.arrays import RoadArrays
from logistics.domain.roads.building import Ways, prepare
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.roads.snapping import snap
from tests.benchmarks.matrix import grid_ways
from tests.osm_world import ROAD, Way, imported, osm_xml

NODES = {1: (46.0, 3.0), 2: (46.0, 3.01), 3: (46.01, 3.01)}
ARRAYS = {seed: prepare(grid_ways(12, seed)).arrays for seed in range(3)}


def network(tmp_path: Path, *more: Way) -> RoadNetwork:
    return imported(tmp_path, osm_xml(NODES, [([1, 2, 3], ROAD), *more]))[1]


@settings(max_examples=200, deadline=None)
@given(
    seed=st.sampled_from(sorted(ARRAYS)),
    lat=st.floats(45.99, 46.04),
    lon=st.floats(2.99, 3.05),
)
def test_no_point_of_any_road_is_nearer_than_the_snap(seed, lat, lon):
    # property: every segment, sampled at 21 points, measured over the ellipsoid
    arrays = ARRAYS[seed]
    found = snap(arrays, Point(lat, lon), 5_000)
    starts = np.setdiff1d(np.arange(len(arrays.lat)), arrays.offsets[1:] - 1)
    share = np.linspace(0, 1, 21)[:, None]
    lats = arrays.lat[starts] * (1 - share) + arrays.lat[starts + 1] * share
    lons = arrays.lon[starts] * (1 - share) + arrays.lon[starts + 1] * share
    assert found.distance_m <= lengths_m(lat, lon, lats, lons).min() + 0.01


CORNERS = [(46.0, 3.0), (46.11, 3.03), (46.04, 3.2), (46.0, 3.0)]


def far_apart() -> RoadArrays:
    """Three straight roads of 12 to 17 km, each across many cells of the grid."""
    lat, lon = np.array(CORNERS).T
    order = np.array([0, 1, 1, 2, 2, 3])
    return prepare(
        Ways(
            refs=np.array([1, 2, 2, 3, 3, 1]),
            lat=lat[order],
            lon=lon[order],
            offsets=np.array([0, 2, 4, 6]),
            forward_kmh=np.full(3, 50.0),
            backward_kmh=np.full(3, 50.0),
            crossing_s=np.full(3, np.nan),
            road_class=np.zeros(3, dtype=np.uint8),
            may_stop=np.ones(3, dtype=np.bool_),
        )
    ).arrays


FAR_APART = far_apart()


@settings(max_examples=200, deadline=None)
@given(
    road=st.integers(0, 2),
    share=st.floats(0, 1),
    north=st.floats(-0.004, 0.004),
    east=st.floats(-0.006, 0.006),
)
def test_a_long_road_is_found_from_beside_any_part_of_it(road, share, north, east):
    # property: both lines are sampled every 9 m
    (lat0, lon0), (lat1, lon1) = CORNERS[road], CORNERS[road + 1]
    lat = lat0 + share * (lat1 - lat0) + north
    lon = lon0 + share * (lon1 - lon0) + east
    along = np.linspace(0, 1, 2_001)[:, None]
    corners = np.array(CORNERS)
    samples = corners[:-1, None] + along * (corners[1:, None] - corners[:-1, None])
    nearest = lengths_m(lat, lon, samples[..., 0], samples[..., 1]).min()
    assert snap(FAR_APART, Point(lat, lon), 5_000).distance_m <= nearest + 0.01


@settings(max_examples=100, deadline=None)
@given(
    seed=st.sampled_from(sorted(ARRAYS)),
    lat=st.floats(46.0, 46.03),
    lon=st.floats(3.0, 3.04),
)
def test_the_snapped_point_lies_on_its_road_where_the_fraction_says(seed, lat, lon):
    # property
    arrays = ARRAYS[seed]
    found = snap(arrays, Point(lat, lon), 5_000)
    shape = arrays.shape(found.road)
    at = found.fraction * arrays.road_metres[found.road]
    on_lat = float(np.interp(at, arrays.along[shape], arrays.lat[shape]))
    on_lon = float(np.interp(at, arrays.along[shape], arrays.lon[shape]))
    assert geodesic_m(found.on_road, Point(on_lat, on_lon)) < 0.01
    assert found.distance_m == geodesic_m(found.point, found.on_road)
    assert 0 <= found.fraction <= 1


def test_a_place_snaps_to_the_middle_of_a_long_road_not_to_its_far_ends(tmp_path):
    # A straight of 15 km: the ends are 7 km away, the road itself 111 m.
    nodes = {1: (46.0, 3.0), 2: (46.0, 3.2)}
    _, long_road = imported(tmp_path, osm_xml(nodes, [([1, 2], ROAD)]))
    found = long_road.snap(Point(46.001, 3.1))
    assert found.fraction == pytest.approx(0.5, abs=1e-6)
    assert found.distance_m == pytest.approx(111.16, abs=0.5)


def test_beyond_a_hundred_metres_the_snap_is_marked_as_far(tmp_path):
    roads = network(tmp_path)
    assert not roads.snap(Point(46.00089, 3.005)).far
    assert roads.snap(Point(46.00091, 3.005)).far


def test_beyond_the_limit_the_refusal_says_how_far_the_road_is_and_what_to_do(tmp_path):
    roads = network(tmp_path)
    place = Point(46.0, 2.99)
    with pytest.raises(Refused) as refusal:
        roads.snap(place)
    problem = refusal.value.problems[0]
    assert problem.code == "too_far_from_road"
    away = geodesic_m(place, Point(46.0, 3.0))
    assert f"{away:.0f} m away" in problem.message
    assert "46.00000, 3.00000" in problem.message
    assert "500 m" in problem.remedy
    assert roads.snap(place, limit_m=away + 0.01).distance_m == pytest.approx(away)
    with pytest.raises(Refused):
        roads.snap(place, limit_m=away - 0.01)


@pytest.mark.parametrize("limit", [0.0, -1.0, float("nan"), float("inf"), 50_001.0])
def test_a_limit_that_makes_no_sense_is_refused(tmp_path, limit):
    # property
    with pytest.raises(Refused) as refusal:
        network(tmp_path).snap(Point(46.0, 3.005), limit)
    assert refusal.value.problems[0].code == "limit_out_of_range"


def test_far_from_all_roads_the_refusal_suspects_swapped_axes(tmp_path):
    with pytest.raises(Refused) as refusal:
        network(tmp_path).snap(Point(3.0, 46.0))
    problem = refusal.value.problems[0]
    assert "no road within 50 km" in problem.message
    assert "swapped" in problem.remedy


def test_nobody_is_snapped_to_a_motorway_or_a_ferry(tmp_path):
    nodes = NODES | {4: (46.002, 3.0), 5: (46.002, 3.01)}
    both_ways = {"highway": "motorway", "oneway": "no"}
    roads = network(tmp_path, ([1, 4, 5, 2], both_ways))
    assert roads.arrays.nodes == 2  # 4 and 5 lie on one way only, 3 is a dead end
    beside = roads.snap(Point(46.0019, 3.005))
    assert nodes[1][0] == beside.on_road.lat
    assert beside.distance_m == pytest.approx(211, abs=1)


def test_snapping_near_the_180th_meridian_and_the_pole_stays_in_the_grid(tmp_path):
    # property: no index runs off the edge of the grid
    nodes = {1: (66.0, 179.999), 2: (66.001, 180.0)}
    _, roads = imported(tmp_path, osm_xml(nodes, [([1, 2], ROAD)]))
    assert roads.snap(Point(66.0005, 179.9999)).distance_m < 60
    with pytest.raises(Refused):
        roads.snap(Point(90.0, 0.0))
