"""Roads that some trucks may use, and why a place cannot be reached: hand-written files.

Source of the tags: OpenStreetMap wiki, pages of the keys and Conditional restrictions.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from logistics.domain.errors import Refused
from logistics.domain.places import Point
from logistics.domain.roads.access import barrier_rule, rule_of
from logistics.domain.roads.fleets import own_ways, vehicle_of
from logistics.domain.roads.limits import DEFAULT_VEHICLE, FREE, HeavyVehicle, Rule
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.trucks import BodyKind, Truck, TruckRates
from tests.osm_world import ROAD, Tags, imported, osm_xml

# A main road 1 - 2 - 3, and from 2 a lane to the north by 4 to 5.
NODES = {
    1: (46.0, 2.99),
    2: (46.0, 3.0),
    3: (46.0, 3.01),
    4: (46.005, 3.0),
    5: (46.01, 3.0),
}
LANE: Tags = {**ROAD, "name": "Mill Lane"}
MAIN, FARM = Point(46.0, 3.005), Point(46.008, 3.0002)
SMALL = HeavyVehicle(gross_t=3.5, axle_t=2, height_m=2, width_m=2, length_m=5)


def village(
    folder: Path, lane: Tags, node_tags: dict[int, Tags] | None = None
) -> RoadNetwork:
    ways = [([1, 2, 3], ROAD), ([2, 4, 5], {**LANE, **lane})]
    return imported(folder, osm_xml(NODES, ways, node_tags=node_tags or {}))[1]


@pytest.mark.parametrize(
    ("tags", "why"),
    [
        ({"maxweight": "7.5"}, "limited to 7.5 t {}; this truck weighs 32 t"),
        ({"maxweightrating": "18"}, "limited to 18 t {}; this truck weighs 32 t"),
        ({"maxweightrating:hgv": "26"}, "limited to 26 t {}; this truck weighs 32 t"),
        (
            {"maxaxleload": "8"},
            "limited to axles of 8 t {}; an axle of this truck weighs 11.5 t",
        ),
        (
            {"maxheight": "3.2"},
            "limited to a height of 3.2 m {}; this truck is 4 m high",
        ),
        (
            {"maxwidth": "2.1"},
            "limited to a width of 2.1 m {}; this truck is 2.55 m wide",
        ),
        (
            {"maxlength": "9"},
            "limited to a length of 9 m {}; this truck is 10 m long",
        ),
        ({"hgv": "no"}, "closed to heavy goods vehicles {}"),
        (
            {"hgv": "private", "motor_vehicle": "yes"},
            "closed to heavy goods vehicles {}",
        ),
        (
            {"hgv:conditional": "no @ (weight>7.5)"},
            "closed to vehicles over 7.5 t {}; this truck weighs 32 t",
        ),
    ],
)
def test_a_place_says_which_limit_stopped_the_truck_and_where(tmp_path, tags, why):
    network = village(tmp_path, tags)
    table = network.table([MAIN, FARM])
    where = "on Mill Lane (46.00000, 3.00000)"
    assert table.barred == {1: f"the way to it is {why.format(where)}"}
    assert table.why_not(0, 1) == table.barred[1]
    assert table.reachable.tolist() == [[True, False], [False, True]]
    small = network.for_vehicle(SMALL).table([MAIN, FARM])
    assert small.barred == {}
    assert small.reachable.all()
    assert small.metres[0, 1] == pytest.approx(1290, abs=10)
    with pytest.raises(Refused) as refusal:
        network.route(MAIN, FARM)
    problem = refusal.value.problems[0]
    assert (problem.code, problem.field) == ("place_barred", "end")
    assert "Mill Lane" in problem.message


def test_the_first_limit_on_the_way_is_named_and_not_the_last(tmp_path):
    ways = [
        ([1, 2, 3], ROAD),
        ([2, 4], {**ROAD, "name": "Mill Lane", "maxheight": "3"}),
        ([4, 5], {**ROAD, "name": "Barn Road", "maxweight": "7.5"}),
    ]
    network = imported(tmp_path, osm_xml(NODES, ways))[1]
    assert "Mill Lane (46.00000" in network.table([MAIN, FARM]).barred[1]
    low = network.for_vehicle(HeavyVehicle(height_m=2.9))
    assert "Barn Road (46.00500" in low.table([MAIN, FARM]).barred[1]


def test_a_place_that_can_be_reached_but_not_left_says_so(tmp_path):
    ways = [
        ([1, 2, 3], ROAD),
        ([2, 4, 5], {**LANE, "maxweight:backward": "7.5"}),
    ]
    network = imported(tmp_path, osm_xml(NODES, ways))[1]
    why = network.table([MAIN, FARM]).barred[1]
    assert why.startswith("the way from it is limited to 7.5 t on Mill Lane (46.01")


def test_a_road_that_no_truck_may_use_is_no_way_at_all(tmp_path):
    # A farm 890 m up a private road is too far from any road.
    network = village(tmp_path, {"access": "private"})
    with pytest.raises(Refused) as refusal:
        network.table([MAIN, FARM])
    assert refusal.value.problems[0].code == "too_far_from_road"


def test_a_place_between_two_roads_is_served_from_the_one_that_is_open(tmp_path):
    # 25 m off the lane; the open road beside it is 25 or 100 m farther.
    for east, barred in ((3.00097, False), (3.00194, True)):
        nodes = NODES | {6: (46.0, east), 7: (46.01, east)}
        ways = [
            ([1, 2, 6, 3], ROAD),
            ([2, 4, 5], {**LANE, "maxweight": "7.5"}),
            ([6, 7], ROAD),
        ]
        network = imported(tmp_path, osm_xml(nodes, ways))[1]
        point = Point(46.008, 3.00032)
        assert (1 in network.table([MAIN, point]).barred) is barred


@pytest.mark.parametrize(
    ("tags", "passes"),
    [
        ({"barrier": "height_restrictor", "maxheight": "2.3"}, (False, True)),
        ({"barrier": "height_restrictor", "maxheight": "4.5"}, (True, True)),
        ({"barrier": "lift_gate", "maxweight": "12"}, (False, True)),
        ({"barrier": "gate", "maxwidth": "2.3"}, (False, True)),
        ({"barrier": "gate"}, (True, True)),
        ({"barrier": "lift_gate", "hgv": "no"}, (False, True)),
        ({"barrier": "bollard", "motor_vehicle": "yes"}, (True, True)),
        ({"maxheight": "3"}, (False, True)),
        ({"maxheight": "3", "traffic_sign": "maxheight"}, (True, True)),
    ],
)
def test_a_barrier_stops_those_whom_its_limit_stops(tmp_path, tags, passes):
    network = village(tmp_path, {}, {4: tags})
    for vehicle, goes in zip((DEFAULT_VEHICLE, SMALL), passes, strict=True):
        table = network.for_vehicle(vehicle).table([MAIN, FARM])
        assert bool(table.reachable[0, 1]) is goes
        if not goes:
            assert "at a barrier on Mill Lane (46.00500, 3.00000)" in table.barred[1]


def test_a_bollard_stops_everybody(tmp_path):
    network = village(tmp_path, {}, {4: {"barrier": "bollard"}})
    small = network.for_vehicle(SMALL)
    assert small.snap(Point(46.006, 3.0), 5_000).on_road.lat == pytest.approx(46.005)
    assert barrier_rule({"barrier": "bollard"}) is None
    assert barrier_rule({"barrier": "height_restrictor"}) is None


# The square around a short cut from 1 to 3: round it is four times as long.
SHORT = {1: (46.0, 3.0), 2: (46.01, 3.005), 3: (46.0, 3.01), 4: (46.003, 3.005)}
A, B, INSIDE = Point(46.0, 2.9999), Point(46.0, 3.0101), Point(46.0031, 3.005)


@pytest.mark.parametrize(
    "value", ["destination", "delivery", "customers", "loading", "unloading"]
)
@pytest.mark.parametrize("key", ["access", "motor_vehicle", "hgv"])
def test_a_road_for_those_who_have_business_there_is_not_driven_through(
    tmp_path, key, value
):
    ways = [([1, 2, 3], ROAD), ([1, 4, 3], {**ROAD, key: value})]
    report, network = imported(tmp_path, osm_xml(SHORT, ways))
    assert report.end_only == 1
    points = [A, B, INSIDE]
    table = network.table(points)
    assert table.barred == {}
    assert table.metres[0, 1] > 2_300
    assert Point(*SHORT[2]) in network.route(A, B).points
    for row, column in ((0, 2), (2, 0), (1, 2), (2, 1)):
        assert table.metres[row, column] < 600
    light = network.for_vehicle(SMALL)
    assert bool(light.table(points).metres[0, 1] < 1_100) is (key == "hgv")


def test_roads_behind_one_for_business_only_can_be_reached_over_it(tmp_path):
    # 2 - 4 for business only, 4 - 5 says nothing: a close within the area.
    ways = [
        ([1, 2, 3], ROAD),
        ([2, 4], {**LANE, "access": "destination"}),
        ([4, 5], ROAD),
    ]
    network = imported(tmp_path, osm_xml(NODES, ways))[1]
    table = network.table([MAIN, FARM])
    assert table.reachable.all()
    assert table.metres[0, 1] == pytest.approx(1290, abs=10)


def test_two_places_on_roads_for_business_only_may_drive_from_one_to_the_other(
    tmp_path,
):
    ways = [([1, 2, 3], ROAD), ([1, 4, 3], {**ROAD, "access": "destination"})]
    network = imported(tmp_path, osm_xml(SHORT, ways))[1]
    first, second = Point(46.0015, 3.0025), Point(46.0015, 3.0075)
    assert network.table([first, second]).metres[0, 1] < 1_000


@pytest.mark.parametrize(
    ("tags", "rule"),
    [
        ({}, FREE),
        ({"hgv:conditional": "no @ (weight>7.5)"}, Rule(closed_over_t=7.5)),
        ({"hgv:conditional": "no @ weight > 7.5"}, Rule(closed_over_t=7.5)),
        ({"hgv:conditional": "no @ (weight>2)"}, Rule(closed_over_t=3.5)),
        ({"motor_vehicle:conditional": "no @ (weight>2)"}, Rule(closed_over_t=2)),
        ({"access:conditional": "no @ (maxweight>12 t)"}, Rule(closed_over_t=12)),
        ({"hgv:conditional": "destination @ (weight>7.5)"}, Rule(end_over_t=7.5)),
        ({"hgv:conditional": "no @ (length>12)"}, Rule(length_m=12)),
        ({"hgv:conditional": "no @ (axleload>8)"}, Rule(axle_t=8)),
        ({"hgv:conditional": "no @ (22:00-06:00)"}, FREE),
        ({"hgv:conditional": "no @ (weight>7.5 AND 22:00-06:00)"}, FREE),
        (
            {"hgv:conditional": "no @ (Mo-Fr 07:00-09:00); no @ (weight>18)"},
            Rule(closed_over_t=18),
        ),
        ({"hgv": "no", "hgv:conditional": "yes @ delivery"}, Rule(end_over_t=3.5)),
        ({"access": "no", "hgv:conditional": "yes @ destination"}, Rule(end_over_t=0)),
        (
            {"maxweight": "7.5", "maxweight:conditional": "none @ destination"},
            Rule(end_over_t=7.5),
        ),
        (
            {"maxweight": "7.5", "maxweight:conditional": "none @ (delivery)"},
            Rule(end_over_t=7.5),
        ),
        ({"maxweight": "7.5", "maxweight:hgv": "none"}, FREE),
        ({"maxweight": "40", "maxgcweight": "26"}, Rule(gross_t=26)),
        ({"maxheight:forward": "3.5"}, Rule(height_m=3.5)),
        ({"hgv": "destination"}, Rule(end_over_t=3.5)),
        ({"access": "destination"}, Rule(end_over_t=0)),
        ({"hgv": "designated", "access:conditional": "no @ (weight>7.5)"}, FREE),
    ],
)
def test_tags_become_the_rule_that_they_mean(tags, rule):
    assert rule_of(tags, "forward").rule == rule


def test_conditions_that_hold_at_hours_only_are_counted_and_not_read(tmp_path):
    ways = [
        ([1, 2, 3], ROAD),
        ([2, 4], {**ROAD, "hgv:conditional": "no @ (22:00-06:00)"}),
        ([4, 5], {**ROAD, "hgv:conditional": "no @ (weight>40)"}),
    ]
    report, _ = imported(tmp_path, osm_xml(NODES, ways))
    assert (report.unread, report.conditional) == (1, 1)
    text = "\n".join(report.lines())
    assert "1 kept ways have conditional tags that are not read" in text
    assert "1 kept ways have conditional limits that were read" in text


def truck(
    key: str,
    tare_kg: int | None = None,
    payload_kg: int = 19_500,
    height_m: float | None = None,
) -> Truck:
    return Truck(
        key=key,
        name=key,
        body=BodyKind.TIPPER,
        base=0,
        payload_kg=payload_kg,
        body_m3=12.0,
        rates=TruckRates(0, 0, 0),
        max_shift_s=3_600,
        tare_kg=tare_kg,
        height_m=height_m,
    )


def test_a_truck_is_on_the_road_what_is_known_of_it(tmp_path):
    # 12.5 t empty and 19.5 t of load; what is not known is as the network's vehicle
    own = vehicle_of(truck("a", tare_kg=12_500, height_m=3.4), DEFAULT_VEHICLE)
    assert own == HeavyVehicle(gross_t=32.0, height_m=3.4)
    assert vehicle_of(truck("b"), DEFAULT_VEHICLE) == DEFAULT_VEHICLE


def test_only_trucks_to_which_other_roads_are_open_get_tables_of_their_own(tmp_path):
    network = village(tmp_path, {"maxweight": "7.5"})
    fleet = (
        truck("big", tare_kg=12_500),
        truck("middle", tare_kg=8_000, payload_kg=6_000),
        truck("light", tare_kg=3_000, payload_kg=3_500),
        truck("unknown"),
    )
    ways = own_ways(network, [MAIN, FARM], fleet)
    assert set(ways) == {"light"}
    assert ways["light"].reachable.all()
    assert not network.table([MAIN, FARM]).reachable[0, 1]
    assert "6.5 t" in ways["light"].basis
