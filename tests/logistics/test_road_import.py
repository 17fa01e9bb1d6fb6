"""What the importer makes of whole files: kept, dropped, refused."""

from __future__ import annotations

import bz2
import gzip
import itertools

import networkx as nx
import osmium
import pytest

from logistics.domain.places import Point, geodesic_m
from logistics.services.road_import import OSM_ATTRIBUTION, ImportReport
from logistics.services.road_store import open_network
from tests.osm_world import (
    RING,
    ROAD,
    SQUARE,
    import_file,
    imported,
    osm_xml,
    refused,
    write_osm,
)


def dropped(report: ImportReport) -> dict[str, int]:
    return {reason: count for reason, _, count in report.left_out}


def test_ways_are_split_where_they_meet_and_nowhere_else(tmp_path):
    # property: 5 is shared by two ways, 2 and 4 by one only
    nodes = SQUARE | {5: (46.005, 3.0), 6: (46.005, 2.99)}
    ways = [([1, 5, 2, 3, 4, 1], ROAD), ([5, 6], ROAD)]
    report, network = imported(tmp_path, osm_xml(nodes, ways))
    assert (report.nodes, report.roads, report.arcs) == (3, 3, 4)
    # Two roads join 1 and 5; of their four arcs two are driven through.
    assert report.slower_parallels == 1 + 1
    assert network.arrays.roads == 3


def test_lengths_are_the_sum_of_geodesics(tmp_path):
    # source: geopy's geodesic (Karney 2013)
    report, _ = imported(tmp_path, osm_xml(SQUARE, [RING]))
    corners = [Point(*SQUARE[n]) for n in (1, 2, 3, 4, 1)]
    total = sum(geodesic_m(a, b) for a, b in itertools.pairwise(corners))
    assert report.km * 1000 == pytest.approx(total, abs=1e-3)


def test_a_way_that_meets_itself_is_split_there(tmp_path):
    # property: a lollipop, stick 6-1, then the ring back to 1
    nodes = SQUARE | {6: (45.99, 3.0)}
    report, network = imported(tmp_path, osm_xml(nodes, [([6, 1, 2, 3, 4, 1], ROAD)]))
    assert (report.nodes, report.roads) == (2, 2)
    on_ring = network.snap(Point(46.0101, 3.005))
    assert (
        network.arrays.road_from[on_ring.road] == network.arrays.road_to[on_ring.road]
    )


def test_what_cannot_be_reached_and_left_is_dropped_and_counted(tmp_path):
    nodes = SQUARE | {
        5: (46.02, 3.0),  # one-way out of the square
        6: (46.5, 3.5),  # an island
        7: (46.5, 3.51),
    }
    ways = [RING, ([2, 5], {**ROAD, "oneway": "yes"}), ([6, 7], ROAD)]
    report, network = imported(tmp_path, osm_xml(nodes, ways))
    assert report.losses.components == 3
    assert (report.losses.nodes, report.losses.roads) == (3, 2)
    lost = geodesic_m(Point(46.01, 3.0), Point(46.02, 3.0)) + geodesic_m(
        Point(46.5, 3.5), Point(46.5, 3.51)
    )
    assert report.losses.km * 1000 == pytest.approx(lost, abs=1e-3)
    graph = network.graph
    assert nx.is_strongly_connected(graph)


def test_every_way_left_out_is_counted_under_its_reason(tmp_path):
    ways = [
        RING,
        ([1, 3], {"highway": "footway"}),
        ([1, 3], {"highway": "path"}),
        ([1, 3], {**ROAD, "access": "private"}),
        ([1, 3], {**ROAD, "maxweight": "7.5"}),
        ([1, 3], {**ROAD, "oneway": "alternating"}),
        ([1, 3], {"route": "ferry"}),
        ([1, 3], {"waterway": "river"}),
        ([1, 3], {"highway": "construction"}),
        ([1], ROAD),
    ]
    report, _ = imported(tmp_path, osm_xml(SQUARE, ways))
    assert report.ways_read == 9
    assert report.ways_kept == 1
    assert dropped(report) == {
        "not_for_trucks": 2,
        "no_access": 1,
        "weight_limit": 1,
        "alternating": 1,
        "ferry": 1,
        "not_built": 1,
        "no_nodes": 1,
    }
    text = "\n".join(report.lines())
    for _, words, count in report.left_out:
        assert f"{count:6d}: {words}" in text


def test_report_and_store_name_openstreetmap_and_its_licence(tmp_path):
    # source: ODbL 1.0, section 4.3
    report, network = imported(tmp_path, osm_xml(SQUARE, [RING]))
    assert "OpenStreetMap" in OSM_ATTRIBUTION
    assert "ODbL" in OSM_ATTRIBUTION
    assert network.facts.attribution == OSM_ATTRIBUTION
    assert OSM_ATTRIBUTION in "\n".join(report.lines())


def test_an_invented_map_is_not_credited_to_openstreetmap(tmp_path):
    text = osm_xml(SQUARE, [RING], generator="Invented map of nowhere")
    _, network = imported(tmp_path, text)
    assert network.facts.attribution == "Invented map of nowhere"


def test_ferries_join_two_shores_only_when_asked_for(tmp_path):
    nodes = {1: (46.0, 3.0), 2: (46.01, 3.0), 3: (46.02, 3.0), 4: (46.03, 3.0)}
    ferry = ([2, 3], {"route": "ferry", "duration": "00:10"})
    text = osm_xml(nodes, [([1, 2], ROAD), ferry, ([3, 4], ROAD)])
    without, _ = imported(tmp_path, text)
    assert without.nodes == 2
    report, network = imported(tmp_path, text, ferries=True)
    assert report.nodes == 4
    table = network.table([Point(46.0, 3.0), Point(46.03, 3.0)])
    land_s = 2 * geodesic_m(Point(46.0, 3.0), Point(46.01, 3.0)) * 3.6 / 35
    assert table.seconds[0, 1] == pytest.approx(600 + land_s, abs=1.0)


def test_a_bollard_cuts_a_road_in_two(tmp_path):
    # The short way 1-2-3 is closed at 2, so the long way over 4 is the only one.
    nodes = {1: (46.0, 3.0), 2: (46.0, 3.005), 3: (46.0, 3.01), 4: (46.01, 3.005)}
    ways = [([1, 2, 3], ROAD), ([1, 4, 3], ROAD)]
    ends = [Point(46.0, 3.0), Point(46.0, 3.01)]
    _, free = imported(tmp_path, osm_xml(nodes, ways))
    closed_text = osm_xml(nodes, ways, node_tags={2: {"barrier": "bollard"}})
    report, closed = imported(tmp_path, closed_text)
    assert report.barriers == 1
    assert free.table(ends).metres[0, 1] == pytest.approx(774, abs=2)
    assert closed.table(ends).metres[0, 1] > 2_000


def test_of_parallel_roads_the_fastest_is_driven_and_the_other_still_serves(tmp_path):
    nodes = {1: (46.0, 3.0), 2: (46.0, 3.02), 3: (46.002, 3.01), 4: (46.0, 2.99)}
    ways = [
        ([1, 2], {"highway": "primary"}),
        ([1, 3, 2], {"highway": "track"}),
        ([4, 1], ROAD),
    ]
    report, network = imported(tmp_path, osm_xml(nodes, ways))
    assert (report.roads, report.arcs, report.slower_parallels) == (3, 4, 2)
    beside_track = network.snap(Point(46.0021, 3.01))
    assert beside_track.distance_m == pytest.approx(11, abs=1)
    table = network.table([Point(46.0, 3.0), Point(46.0, 3.02)])
    assert table.metres[0, 1] == pytest.approx(1549, abs=2)


def test_the_view_holds_the_roads_that_networkx_keeps(tmp_path):
    # source: networkx on the ways as written; every node of them is a junction here
    nodes = SQUARE | {5: (46.02, 3.0), 6: (46.005, 3.02)}
    ways = [
        RING,
        ([2, 5], {**ROAD, "oneway": "yes"}),
        ([3, 6, 4], ROAD),
        ([1, 3], ROAD),
        ([2, 4], ROAD),
    ]
    file = write_osm(tmp_path, osm_xml(nodes, ways))
    import_file(file)
    network = open_network(tmp_path / "networks", "world")
    plain: nx.DiGraph[int] = nx.DiGraph()
    for refs, tags in ways:
        for a, b in itertools.pairwise(refs):
            metres = geodesic_m(Point(*nodes[a]), Point(*nodes[b]))
            plain.add_edge(a, b, metres=metres)
            if "oneway" not in tags:
                plain.add_edge(b, a, metres=metres)
    kept = max(nx.strongly_connected_components(plain), key=len)
    assert kept == {1, 2, 3, 4, 6}
    stored = network.graph
    assert nx.is_strongly_connected(stored)
    where = {
        (round(lat, 7), round(lon, 7)): index
        for index, (lat, lon) in enumerate(
            zip(network.arrays.node_lat, network.arrays.node_lon, strict=True)
        )
    }
    # 6 is a bend, and of the two ways from 3 to 4 the straight one is the faster.
    assert {where[nodes[node]] for node in (1, 2, 3, 4)} == set(stored)
    for a, b in itertools.permutations((1, 2, 3, 4), 2):
        found = nx.dijkstra_path_length(
            stored, where[nodes[a]], where[nodes[b]], weight="metres"
        )
        wanted = nx.dijkstra_path_length(plain, a, b, weight="metres")
        assert found == pytest.approx(wanted, abs=1e-3)


def test_a_way_cut_off_by_the_edge_of_the_extract_keeps_its_known_parts(tmp_path):
    nodes = SQUARE | {5: (46.0, 3.02)}
    report, _ = imported(tmp_path, osm_xml(nodes, [RING, ([3, 4, 98, 99, 5], ROAD)]))
    assert (report.ways_clipped, report.nodes_missing) == (1, 2)
    assert report.slower_parallels == 2


def test_a_text_longer_than_any_tag_may_be_is_refused(tmp_path):
    # property: what the reader cannot hold is bad input, not a fault
    text = osm_xml(SQUARE, [RING, ([1, 3], {**ROAD, "name": "x" * 70_000})])
    assert refused(lambda: imported(tmp_path, text)) == "not_osm"


def test_a_deleted_way_is_no_road(tmp_path):
    # source: OSM XML, visible="false" marks an object that was deleted
    text = osm_xml(SQUARE, [RING, ([1, 3], ROAD)])
    head, tail = text.rsplit("<way ", 1)
    report, _ = imported(tmp_path, f'{head}<way visible="false" {tail}')
    assert report.ways_kept == 1


@pytest.mark.parametrize("suffix", [".osm", ".osm.gz", ".osm.bz2", ".osm.pbf"])
def test_every_file_form_gives_the_same_network(tmp_path, suffix):
    # source: the writers are pyosmium, gzip and bz2
    text = osm_xml(SQUARE, [RING, ([1, 3], ROAD)])
    plain = write_osm(tmp_path, text)
    file = tmp_path / f"other{suffix}"
    if suffix == ".osm.gz":
        file.write_bytes(gzip.compress(text.encode()))
    elif suffix == ".osm.bz2":
        file.write_bytes(bz2.compress(text.encode()))
    else:
        with osmium.SimpleWriter(file) as writer:
            for thing in osmium.FileProcessor(plain):
                writer.add(thing)
    report = import_file(file)
    assert (report.nodes, report.roads, report.arcs) == (2, 3, 2)
    assert report.km == pytest.approx(5.125, abs=0.02)


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("roads.csv", b"a,b", "wrong_suffix"),
        ("roads.osm.zip", b"PK", "wrong_suffix"),
        ("roads.osc", b"<osmChange/>", "wrong_suffix"),
        ("roads.osm", b"", "file_empty"),
        ("roads.osm.pbf", b"", "file_empty"),
        ("roads.osm", b"hello", "not_osm"),
        ("roads.osm", b"<html></html>", "not_osm"),
        (
            "roads.osm",
            b'<osm version="0.6"><node id="9223372036854775808"/></osm>',
            "not_osm",
        ),
        ("roads.osm.pbf", b"hello, this is not a block of anything", "not_osm"),
        ("roads.osm.gz", b"<osm version='0.6'></osm", "not_osm"),
        ("roads.osm", b'<osm version="0.6"></osm>', "no_drivable_road"),
        ("roads.osm", b'<osm version="0.6"><node id="1" lat="95" lon="3"', "not_osm"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_by_name(tmp_path, name, content, code):
    file = tmp_path / name
    file.write_bytes(content)
    assert refused(lambda: import_file(file)) == code
    assert not (tmp_path / "networks").exists()


def test_a_missing_file_is_refused(tmp_path):
    assert refused(lambda: import_file(tmp_path / "none.osm.pbf")) == "file_missing"
    assert refused(lambda: import_file(tmp_path)) == "wrong_suffix"


@pytest.mark.parametrize("suffix", [".osm", ".osm.gz", ".osm.bz2", ".osm.pbf"])
def test_a_truncated_file_is_refused_and_stores_nothing(tmp_path, suffix):
    text = osm_xml(SQUARE, [RING] * 200)
    whole = tmp_path / f"whole{suffix}"
    with osmium.SimpleWriter(whole) as writer:
        for thing in osmium.FileProcessor(write_osm(tmp_path, text)):
            writer.add(thing)
    file = tmp_path / f"cut{suffix}"
    file.write_bytes(whole.read_bytes()[: whole.stat().st_size * 3 // 4])
    assert refused(lambda: import_file(file)) == "not_osm"
    assert not (tmp_path / "networks").exists()


@pytest.mark.parametrize(
    ("lat", "lon"), [("95", "3"), ("46", "181"), ("nan", "3"), ("460", "3"), ("x", "3")]
)
def test_nodes_that_are_not_on_the_earth_are_refused(tmp_path, lat, lon):
    text = osm_xml(SQUARE, [RING]).replace(
        'lat="46.0" lon="3.0"', f'lat="{lat}" lon="{lon}"'
    )
    file = write_osm(tmp_path, text)
    assert refused(lambda: import_file(file)) == "not_on_earth"


def test_a_file_that_lacks_the_nodes_of_its_roads_is_refused(tmp_path):
    file = write_osm(tmp_path, osm_xml({1: (46.0, 3.0)}, [RING]))
    assert refused(lambda: import_file(file)) == "nodes_missing"


@pytest.mark.parametrize(
    "ways",
    [
        [([1, 2], {"highway": "footway"})],
        [([1, 2], {"building": "yes"})],
        [([1, 2], {**ROAD, "oneway": "yes"})],
        [([1], ROAD)],
    ],
)
def test_a_file_without_a_road_there_and_back_is_refused(tmp_path, ways):
    file = write_osm(tmp_path, osm_xml(SQUARE, ways))
    assert refused(lambda: import_file(file)) == "no_drivable_road"
    assert not (tmp_path / "networks").exists()
