"""Reading of speed tags: OpenStreetMap wiki, Key:maxspeed. Unit factors: exact by law."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.roads.speeds import (
    CLASS_KMH,
    MOTORWAY_CAP_KMH,
    RURAL_CAP_KMH,
    SLOWEST_KMH,
    SURFACE_KMH,
    parse_maxspeed,
    posted_kmh,
    truck_kmh,
)


@pytest.mark.parametrize(
    ("text", "kmh"),
    [
        ("50", 50),
        ("50 km/h", 50),
        ("50kmh", 50),
        ("30 mph", 48.28032),
        ("30mph", 48.28032),
        ("5 knots", 9.26),
        ("walk", 7),
        ("DE:walk", 7),
        ("none", 90),
        ("signals", None),
        ("variable", None),
        ("", None),
        ("fast", None),
        ("0", None),
        ("-30", None),
        ("DE:urban", 50),
        ("FR:rural", 80),
        ("RO:motorway", 90),
        ("RU:living_street", 7),
        ("DE:zone30", 30),
        ("DE:zone:30", 30),
        ("zone:20", 20),
        ("GB:nsl_single", 80.4672),
        ("80;60", 60),
        ("50|70", 50),
        ("100; signals", 100),
    ],
)
def test_limits_are_read_in_every_form(text, kmh):
    assert parse_maxspeed(text) == (None if kmh is None else pytest.approx(kmh))


@pytest.mark.parametrize(
    ("tags", "forward", "backward"),
    [
        ({"maxspeed": "70"}, 70, 70),
        ({"maxspeed": "70", "maxspeed:hgv": "60"}, 60, 60),
        ({"maxspeed": "70", "maxspeed:backward": "30"}, 70, 30),
        ({"maxspeed:hgv:forward": "40", "maxspeed": "70"}, 40, 70),
        ({"maxspeed": "signals", "maxspeed:type": "FR:urban"}, 50, 50),
        ({"source:maxspeed": "AT:urban"}, 50, 50),
        ({"zone:maxspeed": "DE:30"}, None, None),
        ({"zone:maxspeed": "DE:zone30"}, 30, 30),
        ({}, None, None),
    ],
)
def test_the_limit_for_trucks_and_for_the_direction_comes_first(
    tags, forward, backward
):
    assert posted_kmh(tags, "forward") == forward
    assert posted_kmh(tags, "backward") == backward


@pytest.mark.parametrize(
    ("road_class", "tags", "kmh"),
    [
        # No limit known: the class speed (common practice, no source).
        ("tertiary", {}, CLASS_KMH["tertiary"]),
        # 90 % of the limit; 90 % of the truck's own cap where the limit is above it.
        ("primary", {"maxspeed": "70"}, 63),
        ("primary", {"maxspeed": "110"}, 72),
        ("primary", {"maxspeed": "none"}, 72),
        ("motorway", {"maxspeed": "130"}, 81),
        ("motorway", {"maxspeed": "none"}, 81),
        ("primary", {"maxspeed": "30 mph"}, 43.452288),
        # A sign never makes a lane faster than a lane is.
        ("unclassified", {"maxspeed": "80"}, CLASS_KMH["unclassified"]),
        ("residential", {"maxspeed": "20"}, 18),
        ("living_street", {"maxspeed": "walk"}, 6.3),
        # Surface, tracktype and smoothness slow down, and never speed up.
        ("secondary", {"surface": "gravel"}, 30),
        ("secondary", {"surface": "asphalt"}, CLASS_KMH["secondary"]),
        ("track", {"tracktype": "grade1"}, CLASS_KMH["track"]),
        ("track", {"tracktype": "grade4"}, 10),
        ("tertiary", {"tracktype": "grade2", "surface": "compacted"}, 20),
        ("track", {"smoothness": "horrible"}, 8),
        ("residential", {"maxspeed": "2"}, SLOWEST_KMH),
    ],
)
def test_a_truck_gets_along_at_the_speed_the_road_admits(road_class, tags, kmh):
    assert truck_kmh(road_class, tags, "forward") == pytest.approx(kmh)


@given(
    road_class=st.sampled_from(sorted(CLASS_KMH)),
    limit=st.one_of(
        st.none(),
        st.integers(1, 200).map(str),
        st.integers(1, 120).map("{} mph".format),
    ),
    surface=st.one_of(st.none(), st.sampled_from([*SURFACE_KMH, "asphalt"])),
)
def test_no_truck_is_faster_than_its_cap_or_slower_than_walking(
    road_class, limit, surface
):
    # property: 80 km/h on roads, 90 on motorways (Directive 92/6/EEC)
    tags = {"maxspeed": limit, "surface": surface}
    known = {key: value for key, value in tags.items() if value is not None}
    speed = truck_kmh(road_class, known, "forward")
    cap = MOTORWAY_CAP_KMH if road_class == "motorway" else RURAL_CAP_KMH
    assert SLOWEST_KMH <= speed <= cap
