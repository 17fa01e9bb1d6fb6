"""Turns, from hand-written files. Source: OpenStreetMap wiki, Relation:restriction."""

from __future__ import annotations

from pathlib import Path

import pytest

from logistics.domain.places import Point
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import RoadNetwork
from logistics.services.road_import import ImportReport
from tests.osm_world import ROAD, Relation, Tags, imported, osm_xml

# A crossing 5 with arms to the west (1), north (2), east (3) and south (4), and a ring road
# 1 - 2 - 3 - 4 - 1 around it. Ways: 1 to 4 are the arms, each drawn towards the crossing.
NODES = {
    1: (46.0, 2.99),
    2: (46.01, 3.0),
    3: (46.0, 3.01),
    4: (45.99, 3.0),
    5: (46.0, 3.0),
}
ARMS = [([node, 5], ROAD) for node in (1, 2, 3, 4)]
RING = ([1, 2, 3, 4, 1], ROAD)
WEST, NORTH, EAST, SOUTH = (Point(*NODES[node]) for node in (1, 2, 3, 4))
CROSS_M = pytest.approx(1886, abs=15)  # 774 m of parallel and 1112 m of meridian


def turn(kind: Tags, start: int = 1, end: int = 2, via: int = 5) -> Relation:
    members = (("from", "way", start), ("via", "node", via), ("to", "way", end))
    return members, {"type": "restriction", **kind}


def world(
    folder: Path, *relations: Relation, arms: int = 4
) -> tuple[ImportReport, RoadNetwork]:
    text = osm_xml(NODES, [*ARMS[:arms], RING], relations=relations)
    return imported(folder, text)


def by_the_crossing(network: RoadNetwork, start: Point, end: Point) -> bool:
    """Whether the way leads over the crossing, not around on the ring."""
    return Point(*NODES[5]) in network.route(start, end).points


# From a bit down the arm to a bit up the next one, where the ring is a detour.
def near(point: Point) -> Point:
    middle = NODES[5]
    return Point((point.lat + middle[0]) / 2, (point.lon + middle[1]) / 2)


def test_without_a_restriction_every_turn_is_taken(tmp_path):
    _, network = world(tmp_path)
    assert by_the_crossing(network, near(WEST), near(NORTH))
    assert network.route(near(WEST), near(NORTH)).metres == CROSS_M.expected // 2


@pytest.mark.parametrize(
    "value", ["no_left_turn", "no_right_turn", "no_straight_on", "no_entry", "no_exit"]
)
def test_a_forbidden_turn_is_not_taken_and_all_others_are(tmp_path, value):
    _, network = world(tmp_path, turn({"restriction": value}))
    around = network.route(near(WEST), near(NORTH))
    # Over the crossing, to the end of another arm and back, or around on the ring.
    assert around.metres > 2 * CROSS_M.expected / 2
    assert network.route(near(NORTH), near(WEST)).metres < 1_000
    for end in (EAST, SOUTH):
        assert network.route(near(WEST), near(end)).metres < 1_200
    table = network.table([near(WEST), near(NORTH)])
    assert table.metres[0, 1] == around.metres


def test_the_only_turn_forbids_all_the_others(tmp_path):
    _, network = world(tmp_path, turn({"restriction": "only_straight_on"}, end=3))
    assert network.route(near(WEST), near(EAST)).metres < 1_000
    for end in (NORTH, SOUTH):
        assert network.route(near(WEST), near(end)).metres > 1_400
        assert network.route(near(end), near(WEST)).metres < 1_000


@pytest.mark.parametrize(
    ("tags", "heavy", "light"),
    [
        ({"restriction": "no_left_turn", "except": "bus;hgv"}, True, True),
        ({"restriction": "no_left_turn", "except": "bicycle;psv"}, False, False),
        ({"restriction:hgv": "no_left_turn"}, False, True),
        ({"restriction": "no_left_turn", "except": "motor_vehicle"}, True, True),
        ({"restriction:bicycle": "no_left_turn"}, True, True),
    ],
)
def test_a_restriction_binds_those_for_whom_it_is(tmp_path, tags, heavy, light):
    _, network = world(tmp_path, turn(tags))
    van = network.for_vehicle(HeavyVehicle(gross_t=3.5))
    for own, free in ((network, heavy), (van, light)):
        assert (own.route(near(WEST), near(NORTH)).metres < 1_000) is free


def test_turning_back_is_forbidden_where_it_says_so(tmp_path):
    # A dead end beyond the crossing: from 5 to 4 and back, where the sign stands at 4.
    text = osm_xml(
        NODES,
        [([1, 5], ROAD), ([5, 4], ROAD), ([1, 2, 5], ROAD)],
        relations=[turn({"restriction": "no_u_turn"}, start=1, end=1)],
    )
    _, network = imported(tmp_path, text)
    back = network.table([near(WEST), near(SOUTH)])
    assert back.reachable.all()
    view = network.view
    loops = [
        (before, after)
        for before in network.graph.predecessors(int(view.indices[0]))
        for after in network.graph.successors(before)
    ]
    assert loops
    assert len(network.arrays.turn_from) == 1
    own = int(network.arrays.turn_from[0]), int(network.arrays.turn_to[0])
    assert own[0] // 2 == own[1] // 2


def test_the_way_to_a_place_goes_round_when_it_starts_before_the_turn(tmp_path):
    # property: the same restriction, but the place lies behind it
    _, network = world(tmp_path, turn({"restriction": "no_left_turn"}))
    at_the_crossing = Point(*NODES[5])
    assert network.route(at_the_crossing, near(NORTH)).metres < 600


def test_what_is_not_obeyed_is_counted(tmp_path):
    over_a_way: Relation = (
        (("from", "way", 1), ("via", "way", 2), ("to", "way", 3)),
        {"type": "restriction", "restriction": "no_u_turn"},
    )
    at_hours = turn({"restriction:conditional": "no_left_turn @ (07:00-09:00)"})
    elsewhere = turn({"restriction": "no_left_turn"}, start=77)
    report, _ = world(tmp_path, over_a_way, at_hours, elsewhere)
    assert report.turns == 0
    assert (report.turns_by_way, report.turns_unread) == (1, 1)
    assert report.losses.turns_unfit == 1
    text = "\n".join(report.lines())
    assert "1 turn restrictions over a way are not obeyed" in text
    assert "1 turn restrictions fit no junction" in text


def test_of_several_ways_in_and_out_each_pair_is_forbidden(tmp_path):
    members = (
        ("from", "way", 1),
        ("from", "way", 4),
        ("via", "node", 5),
        ("to", "way", 2),
    )
    _, network = world(
        tmp_path, (members, {"type": "restriction", "restriction": "no_entry"})
    )
    for start in (WEST, SOUTH):
        assert network.route(near(start), near(NORTH)).metres > 1_400
    assert network.route(near(EAST), near(NORTH)).metres < 1_000
