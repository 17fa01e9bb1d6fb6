"""Source unless said otherwise: the OpenStreetMap wiki, page of the key in question."""

from __future__ import annotations

import pytest

from logistics.domain.errors import Refused
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.tags import (
    REASONS,
    Drivable,
    LeftOut,
    blocks_trucks,
    direction_of,
    judge_way,
    parse_duration_s,
)


def directions(tags: dict[str, str]) -> str:
    verdict = judge_way(tags)
    assert isinstance(verdict, Drivable), verdict
    forward, backward = verdict.forward_kmh, verdict.backward_kmh
    return ("F" if forward else "") + ("B" if backward else "")


def reason(tags: dict[str, str], *, ferries: bool = False) -> str:
    verdict = judge_way(tags, ferries=ferries)
    assert isinstance(verdict, LeftOut), verdict
    return verdict.reason


# Key:highway lists these as roads; the rest is for others or not there (yet).
@pytest.mark.parametrize(
    "road_class",
    [
        *("motorway", "trunk", "primary", "secondary", "tertiary", "unclassified"),
        *("motorway_link", "trunk_link", "primary_link", "secondary_link"),
        *("tertiary_link", "residential", "living_street", "service", "road", "track"),
    ],
)
def test_roads_that_carry_motor_vehicles_are_drivable(road_class):
    verdict = judge_way({"highway": road_class})
    assert isinstance(verdict, Drivable)
    assert verdict.road_class == road_class


@pytest.mark.parametrize(
    ("tags", "why"),
    [
        ({}, "not_a_road"),
        ({"building": "yes"}, "not_a_road"),
        ({"highway": "footway"}, "not_for_trucks"),
        ({"highway": "path"}, "not_for_trucks"),
        ({"highway": "cycleway"}, "not_for_trucks"),
        ({"highway": "pedestrian"}, "not_for_trucks"),
        ({"highway": "steps"}, "not_for_trucks"),
        ({"highway": "bridleway"}, "not_for_trucks"),
        ({"highway": "busway"}, "not_for_trucks"),
        ({"highway": "ferry"}, "not_for_trucks"),
        ({"highway": "construction", "construction": "primary"}, "not_built"),
        ({"highway": "proposed", "proposed": "primary"}, "not_built"),
        ({"highway": "residential", "construction": "yes"}, "not_built"),
        ({"highway": "service", "area": "yes"}, "area"),
        ({"highway": "track", "smoothness": "impassable"}, "impassable"),
        ({"highway": "track", "4wd_only": "yes"}, "impassable"),
    ],
)
def test_what_is_no_road_for_trucks_is_left_out_with_its_reason(tags, why):
    assert reason(tags) == why


def test_every_reason_has_words_for_the_report():
    # property: the report looks each reason up
    found = {
        reason({}),
        reason({"highway": "steps"}),
        reason({"highway": "proposed"}),
        reason({"highway": "road", "area": "yes"}),
        reason({"highway": "road", "access": "no"}),
        reason({"highway": "road", "maxweight": "3.5"}),
        reason({"highway": "road", "maxaxleload": "5"}),
        reason({"highway": "road", "maxheight": "3"}),
        reason({"highway": "road", "maxwidth": "2"}),
        reason({"highway": "road", "maxlength": "7"}),
        reason({"highway": "road", "smoothness": "impassable"}),
        reason({"highway": "road", "oneway": "reversible"}),
        reason({"route": "ferry"}),
    }
    assert found == set(REASONS)


# Key:oneway, with the values it lists as synonyms.
@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({}, "FB"),
        ({"oneway": "yes"}, "F"),
        ({"oneway": "true"}, "F"),
        ({"oneway": "1"}, "F"),
        ({"oneway": "-1"}, "B"),
        ({"oneway": "reverse"}, "B"),
        ({"oneway": "no"}, "FB"),
        ({"oneway": "false"}, "FB"),
        ({"oneway": "0"}, "FB"),
        ({"oneway": "nonsense"}, "FB"),
        ({"junction": "roundabout"}, "F"),
        ({"junction": "circular"}, "F"),
        ({"junction": "roundabout", "oneway": "-1"}, "B"),
        ({"junction": "roundabout", "oneway": "no"}, "FB"),
        ({"junction": "roundabout", "oneway": "nonsense"}, "F"),
        ({"junction": "jughandle"}, "FB"),
        ({"highway": "motorway"}, "F"),
        ({"highway": "motorway_link"}, "F"),
        ({"highway": "motorway", "oneway": "no"}, "FB"),
        ({"highway": "trunk_link"}, "FB"),
        ({"oneway": "yes", "oneway:bicycle": "no"}, "F"),
        ({"oneway": "yes", "oneway:hgv": "no"}, "FB"),
        ({"oneway:motor_vehicle": "yes"}, "F"),
        ({"hgv:backward": "no"}, "F"),
        ({"motor_vehicle:forward": "no"}, "B"),
    ],
)
def test_direction_follows_every_form_of_oneway(tags, expected):
    assert directions({"highway": "residential", **tags}) == expected


@pytest.mark.parametrize("value", ["reversible", "alternating"])
def test_roads_whose_direction_changes_with_the_hour_are_left_out(value):
    assert reason({"highway": "primary", "oneway": value}) == "alternating"
    assert direction_of({"oneway": value}) == "alternating"


# Key:access, "transport mode hierarchy": the more specific mode overrides.
@pytest.mark.parametrize(
    ("tags", "is_open"),
    [
        ({"access": "yes"}, True),
        ({"access": "no"}, False),
        ({"access": "private"}, False),
        ({"access": "agricultural"}, False),
        ({"access": "forestry"}, False),
        ({"access": "agricultural;forestry"}, False),
        ({"access": "permit"}, False),
        ({"access": "military"}, False),
        ({"access": "a word nobody knows"}, False),
        ({"access": "unknown"}, True),
        ({"access": "destination"}, True),
        ({"access": "delivery"}, True),
        ({"access": "customers"}, True),
        ({"access": "designated"}, True),
        ({"access": "permissive"}, True),
        ({"access": "agricultural;destination"}, True),
        ({"vehicle": "no"}, False),
        ({"motor_vehicle": "no"}, False),
        ({"hgv": "no"}, False),
        ({"bicycle": "no", "foot": "no", "motorcar": "no"}, True),
        ({"access": "no", "vehicle": "yes"}, True),
        ({"vehicle": "no", "motor_vehicle": "yes"}, True),
        ({"motor_vehicle": "no", "hgv": "yes"}, True),
        ({"access": "private", "hgv": "yes"}, True),
        ({"access": "yes", "hgv": "no"}, False),
        ({"motor_vehicle": "destination", "hgv": "no"}, False),
        ({"access": "no", "hgv": "unknown"}, False),
        ({"access": "no", "hgv:forward": "yes"}, True),
    ],
)
def test_access_goes_by_the_most_specific_mode_that_is_tagged(tags, is_open):
    verdict = judge_way({"highway": "service", **tags})
    assert isinstance(verdict, Drivable) is is_open
    assert is_open or verdict == LeftOut("no_access")


def test_ways_for_destination_traffic_only_are_marked():
    marked = judge_way({"highway": "residential", "hgv": "destination"})
    plain = judge_way({"highway": "residential", "hgv": "designated"})
    assert isinstance(marked, Drivable)
    assert marked.end_only
    assert isinstance(plain, Drivable)
    assert not plain.end_only


def test_a_way_closed_in_the_only_direction_it_has_is_left_out():
    # property
    assert (
        reason({"highway": "primary", "oneway": "yes", "hgv:forward": "no"})
        == "no_access"
    )


# Key:maxweight: tonnes unless a unit is given; Key:maxheight: metres, or feet and inches.
@pytest.mark.parametrize(
    ("tags", "why"),
    [
        ({"maxweight": "7.5"}, "weight_limit"),
        ({"maxweight": "31.9 t"}, "weight_limit"),
        ({"maxweight": "32"}, None),
        ({"maxweight": "40"}, None),
        ({"maxweight": "8000 kg"}, "weight_limit"),
        ({"maxweight": "35 st"}, "weight_limit"),  # 31.75 t
        ({"maxweight": "36 st"}, None),  # 32.66 t
        ({"maxweight": "unsigned"}, None),
        ({"maxweight": "none"}, None),
        ({"maxweight": "3.5", "maxweight:hgv": "40"}, None),
        ({"maxweight:hgv": "12"}, "weight_limit"),
        ({"maxweightrating:hgv": "18"}, "weight_limit"),
        ({"maxaxleload": "10"}, "axle_limit"),
        ({"maxaxleload": "11.5"}, None),
        ({"maxheight": "3.8"}, "height_limit"),
        ({"maxheight": "3,8 m"}, "height_limit"),
        ({"maxheight": "4"}, None),
        ({"maxheight": "13'1\""}, "height_limit"),  # 3.988 m
        ({"maxheight": "13'2\""}, None),  # 4.013 m
        ({"maxheight": "default"}, None),
        ({"maxheight": "4.2;3.9"}, "height_limit"),
        ({"maxwidth": "2.5"}, "width_limit"),
        ({"maxwidth": "3"}, None),
        ({"maxlength": "9"}, "length_limit"),
    ],
)
def test_posted_limits_below_the_vehicle_close_a_road(tags, why):
    verdict = judge_way({"highway": "tertiary", **tags})
    assert (verdict.reason if isinstance(verdict, LeftOut) else None) == why


def test_a_smaller_vehicle_passes_where_a_larger_one_may_not():
    tags = {"highway": "tertiary", "maxweight": "7.5"}
    assert isinstance(judge_way(tags, vehicle=HeavyVehicle(gross_t=7.5)), Drivable)
    assert isinstance(judge_way(tags, vehicle=HeavyVehicle(gross_t=7.6)), LeftOut)


@pytest.mark.parametrize("size", [0.0, -1.0, float("nan"), float("inf")])
def test_a_vehicle_of_impossible_size_is_refused_by_name(size):
    with pytest.raises(Refused) as refusal:
        HeavyVehicle(height_m=size)
    assert refusal.value.problems[0].field == "vehicle.height_m"


def test_ferries_are_left_out_unless_asked_for():
    tags = {"route": "ferry", "duration": "00:20"}
    assert reason(tags) == "ferry"
    verdict = judge_way(tags, ferries=True)
    assert isinstance(verdict, Drivable)
    assert (verdict.crossing_s, verdict.may_stop) == (1200.0, False)


def test_a_ferry_for_walkers_stays_out_even_when_ferries_are_asked_for():
    tags = {"route": "ferry", "foot": "yes", "motor_vehicle": "no"}
    assert reason(tags, ferries=True) == "no_access"


# The wiki's page on the key `duration`.
@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("20", 1200),
        ("00:20", 1200),
        ("1:05:30", 3930),
        ("PT1H20M", 4800),
        ("PT15M", 900),
        ("PT45S", 45),
        ("", None),
        ("PT", None),
        ("0", None),
        ("soon", None),
    ],
)
def test_durations_are_read_in_each_form(text, seconds):
    assert parse_duration_s(text) == seconds


@pytest.mark.parametrize(
    ("tags", "stops"),
    [
        ({"highway": "motorway"}, False),
        ({"highway": "motorway_link"}, False),
        ({"highway": "trunk", "motorroad": "yes"}, False),
        ({"highway": "trunk"}, True),
        ({"highway": "track"}, True),
    ],
)
def test_nobody_loads_at_the_edge_of_a_motorway(tags, stops):
    # common practice, no source
    verdict = judge_way(tags)
    assert isinstance(verdict, Drivable)
    assert verdict.may_stop is stops


# Key:barrier: access on the barrier's node beats what the kind of barrier implies.
@pytest.mark.parametrize(
    ("tags", "stops"),
    [
        ({}, False),
        ({"barrier": "bollard"}, True),
        ({"barrier": "block"}, True),
        ({"barrier": "gate"}, False),
        ({"barrier": "lift_gate"}, False),
        ({"barrier": "gate", "access": "private"}, True),
        ({"barrier": "gate", "motor_vehicle": "no"}, True),
        ({"barrier": "bollard", "motor_vehicle": "yes"}, False),
        ({"barrier": "height_restrictor"}, True),
        ({"barrier": "height_restrictor", "maxheight": "2.2"}, True),
        ({"barrier": "height_restrictor", "maxheight": "4.5"}, False),
        ({"barrier": "cattle_grid"}, False),
        ({"barrier": "toll_booth"}, False),
    ],
)
def test_barriers_stop_trucks_when_they_are_hard_or_closed(tags, stops):
    assert blocks_trucks(tags) is stops
