"""Tables and routes against networkx on the same roads, and what must always hold."""

from __future__ import annotations

import itertools
import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads import matrices
from logistics.domain.roads.building import prepare
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import ACCESS_KMH, NetworkFacts, RoadNetwork
from tests.benchmarks.matrix import grid_ways
from tests.osm_world import ROAD, Tags, imported, osm_xml
from tests.road_oracle import slow_table

FACTS = NetworkFacts("grid", "2026-01-01T00:00:00", "grid", "invented", HeavyVehicle())
KMH = 35.0  # the class speed of ROAD


def grid(side: int, seed: int) -> RoadNetwork:
    return RoadNetwork(prepare(grid_ways(side, seed)).arrays, FACTS)


def places_in(network: RoadNetwork, count: int, seed: int) -> list[Point]:
    random = np.random.default_rng(seed)
    box = network.extent
    return [
        Point(random.uniform(box.south, box.north), random.uniform(box.west, box.east))
        for _ in range(count)
    ]


@settings(max_examples=40, deadline=None)
@given(side=st.integers(2, 8), seed=st.integers(0, 10_000), count=st.integers(1, 12))
def test_the_table_is_what_networkx_finds_on_roads_cut_at_the_places(side, seed, count):
    # The source is networkx.
    network = grid(side, seed)
    points = places_in(network, count, seed)
    # Some places twice, and some on the same road.
    points += points[: count // 2]
    snaps = [network.snap(point, 2_000) for point in points]
    seconds, metres = slow_table(network, snaps)
    table = network.table(points, limit_m=2_000)
    assert table.reachable.all()
    np.testing.assert_allclose(table.metres, metres, atol=0.51)
    assert (table.seconds == np.ceil(np.round(seconds, 6))).all()


@settings(max_examples=25, deadline=None)
@given(side=st.integers(2, 8), seed=st.integers(0, 10_000))
def test_a_route_has_the_figures_of_the_table_and_the_length_of_its_line(side, seed):
    # property; the line is measured by geopy
    network = grid(side, seed)
    points = places_in(network, 4, seed)
    table = network.table(points, limit_m=2_000)
    for (row, start), (column, end) in itertools.product(enumerate(points), repeat=2):
        route = network.route(start, end, limit_m=2_000)
        assert abs(route.metres - int(table.metres[row, column])) <= 1
        assert abs(route.seconds - int(table.seconds[row, column])) <= 1
        assert route.points[0] == start
        assert route.points[-1] == end
        line = sum(geodesic_m(a, b) for a, b in itertools.pairwise(route.points))
        assert line == pytest.approx(route.metres, abs=1.5)


@settings(max_examples=25, deadline=None)
@given(side=st.integers(3, 8), seed=st.integers(0, 10_000))
def test_no_detour_is_shorter_than_the_way_of_the_table(side, seed):
    # property: triangle inequality, one second of rounding and the access at the middle
    network = grid(side, seed)
    points = places_in(network, 6, seed)
    table = network.table(points, limit_m=2_000)
    seconds = table.seconds.astype(float)
    access = [
        network.snap(point, 2_000).distance_m * 7.2 / ACCESS_KMH for point in points
    ]
    for middle in range(6):
        by_middle = seconds[:, [middle]] + seconds[[middle], :]
        assert (seconds <= by_middle + 1).all()
        off_diagonal = [i for i in range(6) if i != middle]
        pick = np.ix_(off_diagonal, off_diagonal)
        assert (by_middle[pick] + 1 >= access[middle]).all()


def test_a_table_in_many_small_batches_is_the_same(monkeypatch):
    # property
    network = grid(12, 5)
    points = places_in(network, 15, 5)
    whole = network.table(points, limit_m=2_000)
    monkeypatch.setattr(matrices, "_BATCH_NODES", 1)
    parts = network.table(points, limit_m=2_000)
    assert (whole.seconds == parts.seconds).all()
    assert (whole.metres == parts.metres).all()


def test_searches_that_stopped_too_soon_are_repeated(monkeypatch):
    # property: the guess of how far to search must not show in the result
    network = grid(12, 6)
    points = places_in(network, 15, 6)
    whole = network.table(points, limit_m=2_000)
    monkeypatch.setattr(matrices, "_LIMIT_SLACK", 0.2)
    parts = network.table(points, limit_m=2_000)
    assert (whole.seconds == parts.seconds).all()
    assert (whole.metres == parts.metres).all()


def test_no_places_and_one_place_make_small_tables():
    network = grid(3, 1)
    assert network.table([]).metres.shape == (0, 0)
    one = network.table(places_in(network, 1, 1), limit_m=2_000)
    assert one.metres.tolist() == [[0]]
    assert one.reachable.tolist() == [[True]]


# A straight one-way street of two parts with a two-way bypass back: 1 -> 2 -> 3, 3 - 4 - 1.
LOOP = {1: (46.0, 3.0), 2: (46.0, 3.01), 3: (46.0, 3.02), 4: (46.02, 3.01)}
ONEWAY = {**ROAD, "oneway": "yes"}


def loop_network(tmp_path: Path, oneway: Tags) -> RoadNetwork:
    ways = [([1, 2, 3], oneway), ([3, 4, 1], ROAD)]
    return imported(tmp_path, osm_xml(LOOP, ways))[1]


def test_two_places_on_one_road_take_the_stretch_between_them(tmp_path):
    network = loop_network(tmp_path, ROAD)
    a, b = Point(46.0, 3.004), Point(46.0, 3.006)
    table = network.table([a, b])
    straight = geodesic_m(a, b)
    for row, column in ((0, 1), (1, 0)):
        assert table.metres[row, column] == round(straight)
        assert table.seconds[row, column] == np.ceil(straight * 3.6 / KMH)


def test_backwards_on_a_one_way_road_means_all_the_way_round(tmp_path):
    network = loop_network(tmp_path, ONEWAY)
    a, b = Point(46.0, 3.004), Point(46.0, 3.006)
    table = network.table([a, b])
    assert table.metres[0, 1] == round(geodesic_m(a, b))
    corners = [Point(*LOOP[n]) for n in (1, 2, 3, 4, 1)]
    ring = sum(geodesic_m(p, q) for p, q in itertools.pairwise(corners))
    assert table.metres[1, 0] == pytest.approx(ring - geodesic_m(a, b), abs=1)
    assert network.route(b, a).metres == table.metres[1, 0]


def test_a_one_way_road_drawn_against_its_direction_is_driven_in_it(tmp_path):
    network = loop_network(tmp_path, {**ROAD, "oneway": "-1"})
    a, b = Point(46.0, 3.004), Point(46.0, 3.006)
    table = network.table([a, b])
    assert table.metres[1, 0] == round(geodesic_m(a, b))
    assert table.metres[0, 1] > 5_000


def test_a_roundabout_is_driven_one_way_round(tmp_path):
    # Arms at 1 (west) and 3 (east); counterclockwise, so west to east goes by the south.
    nodes = {
        1: (46.0, 3.0),
        2: (45.9995, 3.0007),
        3: (46.0, 3.0014),
        4: (46.0005, 3.0007),
        5: (46.0, 2.99),
        6: (46.0, 3.0114),
    }
    ring = ([1, 2, 3, 4, 1], {**ROAD, "junction": "roundabout"})
    _, network = imported(
        tmp_path, osm_xml(nodes, [ring, ([5, 1], ROAD), ([3, 6], ROAD)])
    )
    west, east = Point(46.0, 2.99), Point(46.0, 3.0114)
    to_east = [point.lat for point in network.route(west, east).points]
    to_west = [point.lat for point in network.route(east, west).points]
    assert (min(to_east), max(to_east)) == (45.9995, 46.0)
    assert (min(to_west), max(to_west)) == (46.0, 46.0005)


def test_a_place_on_a_dead_end_loop_can_be_reached_and_left(tmp_path):
    nodes = {
        1: (46.0, 3.0),
        2: (46.0, 3.01),
        3: (46.001, 3.011),
        4: (46.001, 3.012),
        5: (46.0, 3.011),
    }
    ways = [([1, 2], ROAD), ([2, 3, 4, 5, 2], ONEWAY)]
    _, network = imported(tmp_path, osm_xml(nodes, ways))
    start, inside = Point(46.0, 3.0), Point(46.001, 3.0115)
    table = network.table([start, inside])
    corners = [Point(*nodes[n]) for n in (2, 3, 4, 5, 2)]
    ring = sum(geodesic_m(p, q) for p, q in itertools.pairwise(corners))
    both_ways = 2 * geodesic_m(start, Point(46.0, 3.01)) + ring
    assert table.metres[0, 1] + table.metres[1, 0] == pytest.approx(both_ways, abs=1.5)


def test_places_at_a_junction_can_be_reached_whatever_road_they_snap_to(tmp_path):
    network = loop_network(tmp_path, ONEWAY)
    points = [Point(*LOOP[n]) for n in (1, 2, 3, 4)]
    snaps = [network.snap(point) for point in points]
    _, metres = slow_table(network, snaps)
    table = network.table(points)
    np.testing.assert_allclose(table.metres, metres, atol=0.51)
    assert table.metres[0, 1] == round(geodesic_m(points[0], points[1]))


def test_the_way_from_road_to_place_counts_at_both_ends_at_ten_km_per_hour(tmp_path):
    network = loop_network(tmp_path, ROAD)
    a, b = Point(46.0009, 3.004), Point(45.9991, 3.006)
    on_a, on_b = network.snap(a), network.snap(b)
    access = on_a.distance_m + on_b.distance_m
    road = geodesic_m(on_a.on_road, on_b.on_road)
    assert access == pytest.approx(200, abs=1)
    table = network.table([a, b])
    assert table.metres[0, 1] == round(access + road)
    expected_s = access * 3.6 / 10 + road * 3.6 / KMH
    assert table.seconds[0, 1] == pytest.approx(expected_s, abs=1)
    assert "10 km/h" in table.basis


def test_places_at_the_same_coordinates_are_no_way_apart(tmp_path):
    network = loop_network(tmp_path, ONEWAY)
    here = Point(46.0009, 3.004)
    table = network.table([here, Point(46.0, 3.015), here])
    assert table.metres[0, 2] == table.metres[2, 0] == 0
    assert table.seconds[0, 2] == table.seconds[2, 0] == 0
    assert table.reachable.all()
    assert (table.metres[0] == table.metres[2]).all()
    assert network.route(here, here).metres == 0


def test_every_place_too_far_from_a_road_is_named(tmp_path):
    network = loop_network(tmp_path, ROAD)
    near, far, sea = Point(46.0, 3.004), Point(46.1, 3.0), Point(0.0, 0.0)
    with pytest.raises(Refused) as refusal:
        network.table([near, far, sea])
    problems = refusal.value.problems
    assert [problem.field for problem in problems] == ["points[1]", "points[2]"]
    assert {problem.code for problem in problems} == {"too_far_from_road"}
    with pytest.raises(Refused):
        network.route(near, far)


def test_a_senseless_limit_is_refused_once_and_not_for_every_place(tmp_path):
    network = loop_network(tmp_path, ROAD)
    with pytest.raises(Refused) as refusal:
        network.table([Point(46.0, 3.004), Point(46.0, 3.006)], limit_m=0)
    assert [problem.field for problem in refusal.value.problems] == ["limit_m"]


def test_the_basis_says_which_network_the_figures_come_from(tmp_path):
    network = loop_network(tmp_path, ROAD)
    basis = network.table([Point(46.0, 3.004)]).basis
    assert "fastest road route in network 'world'" in basis
    assert "(2 nodes, imported 2026-03-01" in basis


def test_routes_from_many_threads_do_not_disturb_each_other():
    # property
    network = grid(8, 3)
    points = places_in(network, 6, 3)
    table = network.table(points, limit_m=2_000)
    wrong: list[tuple[int, int]] = []

    def drive(row: int) -> None:
        for column in range(6):
            route = network.route(points[row], points[column], limit_m=2_000)
            if abs(route.metres - int(table.metres[row, column])) > 1:
                wrong.append((row, column))

    threads = [threading.Thread(target=drive, args=(row,)) for row in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert network.graph.number_of_nodes() == network.arrays.nodes
