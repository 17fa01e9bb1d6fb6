"""Plans as GeoJSON and GPX, read by libraries that did not write them."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as Xml

import gpxpy
import pytest
from geojson_pydantic import FeatureCollection, Point
from hypothesis import given
from hypothesis import strategies as st

from api.exports.antimeridian import cut
from api.exports.book import Book, Line
from api.exports.geojson import plan_geojson
from api.exports.gpx import NAMESPACE, shift_gpx
from logistics.domain.errors import Refused
from logistics.domain.planning.result import StopKind
from tests.api.exports.plans import (
    MORNING,
    PLACES,
    STORED,
    STRANGE,
    book,
    milk_run,
    place,
    plan,
    shift,
    stop,
    strange_book,
    two_loads,
)


def features(own: Book) -> list[dict[str, Any]]:
    body = plan_geojson(own)
    # geojson-pydantic holds documents to RFC 7946: forms, positions, properties.
    FeatureCollection.model_validate_json(body)
    found: list[dict[str, Any]] = json.loads(body)["features"]
    return found


def legs(own: Book) -> list[dict[str, Any]]:
    return [one for one in features(own) if one["properties"]["what"] == "leg"]


def far_book() -> Book:
    """Across the 180th meridian, from Fiji's side to Samoa's and home."""
    stops = [
        stop(StopKind.LEAVE, "depot", MORNING),
        stop(StopKind.RETURN, "pit", MORNING.replace(hour=9)),
    ]
    places = [
        place("depot", lat=-16.0, lon=179.5),
        place("pit", lat=-14.0, lon=-179.0),
    ]
    return Book(plan([shift(stops, [])], places=places), STORED)


@pytest.mark.parametrize(
    "own",
    [
        book(),
        book(milk_run(MORNING)),
        strange_book(),
        far_book(),
        Book(plan([]), STORED),
    ],
    ids=["day", "milk run", "strange", "far", "none"],
)
def test_a_validator_takes_the_geojson(own):
    collection: FeatureCollection[Any] = FeatureCollection.model_validate_json(
        plan_geojson(own)
    )
    points = [one for one in collection.features if isinstance(one.geometry, Point)]
    assert len(points) == len(own.plan.places)


def test_positions_are_longitude_first_with_at_most_seven_decimals():
    """RFC 7946, sections 3.1.1 and 11.2."""
    places = [
        place("depot", lat=46.123456789, lon=3.987654321),
        *[place(key) for key in PLACES if key != "depot"],
    ]
    own = Book(plan([two_loads(MORNING)], places=places), STORED)
    text = plan_geojson(own).decode()
    (depot,) = [one for one in features(own) if one.get("id") == "depot"]
    assert depot["geometry"] == {"type": "Point", "coordinates": [3.987654, 46.123457]}
    digits = [len(found) for found in re.findall(r"\d\.(\d+)[,\]]", text)]
    assert max(digits) <= 7


def test_a_leg_says_who_drives_when_and_with_what():
    found = legs(book())
    # The body is cleaned and the rest is taken where the truck stands: no leg leads there.
    assert [one["properties"]["then"] for one in found] == [
        "load",
        "tip",
        "load",
        "tip",
        "return",
    ]
    about = found[1]["properties"]
    assert (
        about
        | {
            "truck": "tipper",
            "day": "2026-05-04",
            "depart": "2026-05-04T07:30:00+02:00",
            "arrive": "2026-05-04T07:40:00+02:00",
            "moist_kg": 8000,
            "loaded": True,
            "by_road": False,
        }
        == about
    )
    assert found[0]["properties"]["moist_kg"] == 0


def test_what_rides_together_is_aboard_until_its_own_tip():
    found = legs(book(milk_run(MORNING)))
    aboard = [one["properties"]["moist_kg"] for one in found]
    # Two tips at one place: between them the truck does not move.
    assert aboard == [0, 900, 1200, 0]


def test_a_line_over_the_180th_meridian_is_cut_there():
    """RFC 7946, section 3.1.9; a third of the way east the latitude is -15 1/3."""
    (leg,) = legs(far_book())
    assert leg["geometry"] == {
        "type": "MultiLineString",
        "coordinates": [
            [[179.5, -16.0], [180.0, pytest.approx(-15.333333)]],
            [[-180.0, pytest.approx(-15.333333)], [-179.0, -14.0]],
        ],
    }


@given(
    st.lists(
        st.tuples(st.floats(-179.9, 179.9), st.floats(-85, 85)), min_size=2, max_size=12
    )
)
def test_no_part_of_a_cut_line_crosses(points):
    """Property: parts step less than half around, and the ends of the line are kept."""
    parts = cut(tuple(points))
    for part in parts:
        assert len(part) > 1
        assert all(abs(b[0] - a[0]) <= 180 for a, b in pairwise(part))
    kept = {own for part in parts for own in part}
    assert (
        not parts or {points[0], points[-1]} <= kept or len(set(points)) < len(points)
    )


def test_a_plan_without_roads_says_so_and_one_with_roads_names_them():
    assert "straight lines" in json.loads(plan_geojson(book()))["note"]
    own = book()
    ends = [("depot", "pit"), ("pit", "garden"), ("garden", "pit"), ("garden", "depot")]
    line: Line = ((3.01, 46.01), (3.015, 46.02), (3.03, 46.02))
    by_road = Book(own.plan, STORED, dict.fromkeys(ends, line), "© people who map")
    document = json.loads(plan_geojson(by_road))
    assert "note" not in document
    assert document["attribution"] == "© people who map"
    assert len(legs(by_road)[0]["geometry"]["coordinates"]) == 3


def test_gpxpy_reads_a_shift_with_stops_route_and_track():
    read = gpxpy.parse(shift_gpx(book(), 1).decode())
    assert read.version == "1.1"
    assert [own.name for own in read.waypoints][:3] == [
        "1 Leave 07:00: Depot",
        "2 Load 07:20: Ada's pit",
        "3 Tip 07:40: Ben's garden",
    ]
    assert f"{read.waypoints[1].time:%Y-%m-%dT%H:%M%z}" == "2026-05-04T05:20+0000"
    assert "8.00 t" in (read.waypoints[1].description or "")
    assert [own.type for own in read.routes[0].points] == [
        "leave",
        "load",
        "tip",
        "clean",
        "rest",
        "load",
        "tip",
        "return",
    ]
    assert len(read.tracks[0].segments) == 5


# The order of elements in the GPX 1.1 schema (xsd:sequence of gpxType, wptType, rteType,
# trkType and metadataType); from memory, the schema could not be fetched here.
ORDER = {
    "gpx": ["metadata", "wpt", "rte", "trk"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time"],
    "point": ["ele", "time", "name", "cmt", "desc", "src", "link", "sym", "type"],
    "rte": ["name", "cmt", "desc", "src", "link", "number", "type", "rtept"],
    "trk": ["name", "cmt", "desc", "src", "link", "number", "type", "trkseg"],
    "trkseg": ["trkpt"],
}
POINTS = {"wpt", "rtept", "trkpt"}


@pytest.mark.parametrize("own", [book(), strange_book(), far_book()])
def test_gpx_keeps_the_order_and_ranges_of_its_schema(own):
    root = Xml.fromstring(shift_gpx(own, 1))
    assert root.get("version") == "1.1"
    assert root.get("creator")
    for element in root.iter():
        name = element.tag.removeprefix(f"{{{NAMESPACE}}}")
        assert not name.startswith("{")
        order = ORDER.get("point" if name in POINTS else name, [])
        at = [order.index(own.tag.removeprefix(f"{{{NAMESPACE}}}")) for own in element]
        assert at == sorted(at)
        if name in POINTS:
            assert -90 <= float(element.get("lat") or "") <= 90
            assert -180 <= float(element.get("lon") or "") < 180
        if name == "time":
            assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", element.text or "")


def test_strange_names_come_through_gpx_without_what_xml_forbids():
    read = gpxpy.parse(shift_gpx(strange_book(), 1).decode())
    assert STRANGE.replace("\x0b", "") in (read.waypoints[0].name or "")


@pytest.mark.parametrize("number", [0, 2, -1])
def test_a_shift_that_is_not_in_the_plan_is_refused(number):
    with pytest.raises(Refused) as refused:
        shift_gpx(book(), number)
    assert refused.value.problems[0].code == "unknown_shift"
