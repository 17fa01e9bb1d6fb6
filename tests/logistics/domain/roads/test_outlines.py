"""Roads as lines to draw. GeoJSON wants longitude first (RFC 7946, section 3.1.1)."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.roads.outlines import Box, Line
from tests.osm_world import imported, osm_xml

# A primary of three parts to the east with a bend each, and a track to the north.
NODES = {
    1: (46.0, 3.0),
    2: (46.0001, 3.005),
    3: (46.0, 3.01),
    4: (46.02, 3.0),
    5: (46.00005, 3.0051),
}


@pytest.fixture
def network(tmp_path):
    ways = [
        ([1, 2, 5, 3], {"highway": "primary"}),
        ([1, 4], {"highway": "track"}),
    ]
    return imported(tmp_path, osm_xml(NODES, ways))[1]


def lines_of(network: RoadNetwork, **options: Any) -> dict[str, Line]:
    return dict(network.outline(**options))


def test_every_road_is_a_line_with_longitude_first(network):
    assert lines_of(network) == {
        "primary": ((3.0, 46.0), (3.005, 46.0001), (3.0051, 46.00005), (3.01, 46.0)),
        "track": ((3.0, 46.0), (3.0, 46.02)),
    }


def test_only_the_wanted_classes_are_drawn(network):
    assert set(lines_of(network, classes={"primary", "no such class"})) == {"primary"}
    assert lines_of(network, classes=()) == {}


def test_only_roads_that_meet_the_box_are_drawn(network):
    assert set(lines_of(network, box=Box(46.01, 2.9, 46.03, 3.1))) == {"track"}
    assert set(lines_of(network, box=Box(45.9, 3.006, 46.1, 3.007))) == {"primary"}
    assert lines_of(network, box=Box(47.0, 3.0, 48.0, 4.0)) == {}


def test_coarse_lines_have_fewer_points_and_the_same_ends(network):
    fine, coarse = lines_of(network), lines_of(network, coarse_m=100.0)
    assert len(coarse["primary"]) < len(fine["primary"])
    for name, line in coarse.items():
        assert (line[0], line[-1]) == (fine[name][0], fine[name][-1])
        # property: what was dropped lies within a square's diagonal of what was kept
        for lon, lat in fine[name]:
            near = min(geodesic_m(Point(lat, lon), Point(y, x)) for x, y in line)
            assert near <= 100 * 2**0.5


def test_the_extent_holds_every_point(network):
    box = network.extent
    assert (box.south, box.west, box.north, box.east) == (46.0, 3.0, 46.02, 3.01)
    points = list(itertools.chain.from_iterable(line for _, line in network.outline()))
    assert all(box.west <= lon <= box.east for lon, _ in points)
