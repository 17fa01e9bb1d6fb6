"""Take-offs over HTTP: walls worked by hand, and walls that cannot be."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest

from tests.worlds import bens_build, raw

# Take-offs are not stored: most of these tests touch no table.
PATH = "/api/v1/take-offs/"


def legs(*points: tuple[float, ...]) -> dict[str, Any]:
    (x, y, *_), *rest = points
    return {
        "x_m": x,
        "y_m": y,
        "legs": [
            dict(zip(("x_m", "y_m", "rise_m"), point, strict=False)) for point in rest
        ],
    }


def wall(**more: Any) -> dict[str, Any]:
    return {"thickness_m": 0.5} | more


ROOM = legs((0, 0), (6, 0), (6, 4), (0, 4), (0, 0))


def asked(client: Any, *walls: dict[str, Any], **more: Any) -> Any:
    body = {"walls": list(walls)} | more
    return client.post(PATH, raw(body), content_type="application/json")


def taken(client: Any, *walls: dict[str, Any], **more: Any) -> Any:
    answer = asked(client, *walls, **more)
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_a_closed_room_holds_its_centre_line_times_thickness_times_height(client):
    """By hand: 2 (6 + 4) m x 0.5 m x 2 m = 20 m3; outer less inner rectangle agrees:
    6.5 x 4.5 - 5.5 x 3.5 = 10 m2."""
    sheet = taken(client, wall(path=ROOM, height_m=2))
    assert sheet["walls"]["placed_m3"] == pytest.approx(20)
    assert sheet["takeoff"]["placed_m3"] == pytest.approx(20)


def test_four_walls_that_meet_at_corners_hold_as_much_as_one_closed_wall(client):
    """By hand, the same room."""
    corners = [(0, 0), (6, 0), (6, 4), (0, 4), (0, 0)]
    sides = [
        wall(path=legs(one, other), height_m=2) for one, other in pairwise(corners)
    ]
    assert taken(client, *sides)["walls"]["placed_m3"] == pytest.approx(20)


def test_a_gable_counts_its_triangle(client):
    """By hand: 4 m long, 2 m at the ends, 3.2 m in the middle: 4 x 2 + 4 x 1.2 / 2 =
    10.4 m2, times 0.4 m."""
    heights = [
        {"at_m": at, "height_m": high} for at, high in ((0, 2), (2, 3.2), (4, 2))
    ]
    found = taken(client, wall(length_m=4, heights=heights, thickness_m=0.4))["walls"]
    assert found["walls"][0]["gross_face_m2"] == pytest.approx(10.4)
    assert found["placed_m3"] == pytest.approx(4.16)


def test_an_arc_holds_its_section_times_the_way_of_its_middle(client):
    """Pappus's second theorem: a half circle of radius 3 m, 0.5 m x 2 m in section."""
    found = taken(client, wall(path=legs((0, 0), (6, 0, 3)), height_m=2))["walls"]
    assert found["walls"][0]["length_m"] == pytest.approx(3 * math.pi, abs=1e-4)
    assert found["placed_m3"] == pytest.approx(3 * math.pi, abs=1e-3)


def test_an_inner_wall_that_runs_into_another_is_counted_once_there(client):
    """By hand: drawn to the other's centre line, it shares 0.25 m x 0.3 m x 2 m of it."""
    inner = wall(path=legs((3, 0), (3, 4)), height_m=2, thickness_m=0.3, kind="inner")
    found = taken(client, wall(path=ROOM, height_m=2), inner)["walls"]
    assert found["overlap_m3"] == pytest.approx(2 * 0.25 * 0.3 * 2)
    assert found["placed_m3"] == pytest.approx(20 + (4 - 0.5) * 0.3 * 2)


def test_a_taper_a_plinth_and_a_lintel(client):
    """By hand: 5 m x 2 m of a mean 0.5 m, less a window 1 x 1 m between 0.5 and 1.5 m
    (mean 0.5 m there) and a lintel of 1.4 x 0.2 m above it (0.5 + 0.2 x (1 - 1.6) = 0.44 m
    mean thickness at 1.6 m up). The plinth holds no cob."""
    window = {
        "width_m": 1,
        "height_m": 1,
        "at_m": 2,
        "sill_m": 0.5,
        "lintel_depth_m": 0.2,
        "bearing_m": 0.2,
    }
    found = taken(
        client,
        wall(
            length_m=5,
            height_m=2,
            thickness_m=0.6,
            top_thickness_m=0.4,
            plinth_m=0.4,
            openings=[window],
        ),
    )["walls"]
    by_hand = 5 * 2 * 0.5 - 1 * 0.5 - 1.4 * 0.2 * (0.6 - 0.1 * 1.6)
    assert found["placed_m3"] == pytest.approx(by_hand, abs=1e-4)
    assert found["walls"][0]["face_m2"] == pytest.approx(10 - 1 - 0.28)
    assert found["walls"][0]["top_thickness_m"] == 0.4


def test_the_simple_form_answers_as_before(client):
    """Ben's wall: 6 x 2.4 x 0.5 = 7.2 m3, less a door of 0.9 x 2 m."""
    door = {"width_m": 0.9, "height_m": 2.0}
    sheet = taken(client, wall(length_m=6, height_m=2.4, openings=[door]))
    assert sheet["walls"]["placed_m3"] == pytest.approx(7.2 - 0.9)
    assert sheet["bales"] is None


def test_straw_is_counted_in_whole_bales_of_the_kind_given(client):
    """Arithmetic: kilograms over the bale's, rounded up."""
    sheet = taken(
        client, wall(length_m=6, height_m=2.4), bale={"bale_kg": 20, "bale_m3": 0.2}
    )
    for end in ("low", "likely", "high"):
        kg = sheet["takeoff"]["straw_kg"][end]
        assert sheet["bales"][end] == pytest.approx(math.ceil(kg / 20), abs=1)
        assert sheet["bales"][end] * 20 >= kg - 0.5


def test_remarks_of_the_building_code_name_the_wall(client):
    """IRC 2021, Appendix AU, as the domain quotes it: 254 mm at least."""
    thin = wall(name="Screen", length_m=3, height_m=1, thickness_m=0.2)
    found = taken(client, wall(length_m=3, height_m=2), thin)["walls"]["cautions"]
    one = next(own for own in found if own["code"] == "wall_thin")
    assert (one["wall"], one["name"], one["found"], one["limit"]) == (
        2,
        "Screen",
        0.2,
        0.254,
    )
    assert found[0]["code"] == "one_storey"


@pytest.mark.parametrize(
    ("bad", "code", "field"),
    [
        ({"length_m": 4}, "wall_not_said", "walls.0.height_m"),
        ({"height_m": 2}, "wall_not_said", "walls.0.length_m"),
        (
            {"length_m": 4, "path": ROOM, "height_m": 2},
            "wall_said_twice",
            "walls.0.path",
        ),
        (
            {
                "length_m": 4,
                "height_m": 2,
                "heights": [{"at_m": 0, "height_m": 2}],
            },
            "wall_said_twice",
            "walls.0.heights",
        ),
        ({"length_m": 4, "height_m": 2, "length": 4}, "extra_forbidden", "walls.0.length"),
        ({"length_m": 1e9, "height_m": 2}, "less_than_equal", "walls.0.length_m"),
        ({"length_m": 4, "heights": []}, "too_short", "walls.0.heights"),
        (
            {
                "length_m": 4,
                "heights": [
                    {"at_m": 3, "height_m": 2},
                    {"at_m": 1, "height_m": 2},
                ],
            },
            "height_out_of_order",
            "walls.0.heights",
        ),
        ({"path": legs((0, 0), (0, 0)), "height_m": 2}, "leg_too_short", "walls.0.path.legs.0"),
        (
            {"path": legs((0, 0), (4, 0), (4, 4), (2, -2)), "height_m": 2},
            "path_crosses_itself",
            "walls.0.path",
        ),
        (
            {"path": legs((0, 0), (0.4, 0, 0.2)), "height_m": 2},
            "arc_too_tight",
            "walls.0.thickness_m",
        ),
        (
            {"length_m": 4, "height_m": 2, "top_thickness_m": 0.6},
            "wall_widens_upwards",
            "walls.0.top_thickness_m",
        ),
        (
            {
                "length_m": 4,
                "height_m": 2,
                "openings": [{"width_m": 1, "height_m": 1, "at_m": 3.5}],
            },
            "opening_outside_wall",
            "walls.0.openings",
        ),
        (
            {"length_m": 4, "height_m": 2, "openings": [{"width_m": 4, "height_m": 2}]},
            "openings_exceed_wall",
            "walls.0.openings",
        ),
    ],
)  # fmt: skip
def test_a_wall_that_cannot_be_is_refused_by_its_field(client, bad, code, field):
    """The rules are the domain's; here it counts that field, value and remedy come out."""
    answer = asked(client, wall(**bad))
    assert answer.status_code == 400
    problem = answer.json()["problems"][0]
    assert (problem["code"], problem["field"]) == (code, field)
    assert problem["given"]
    assert problem["remedy"]


@pytest.mark.parametrize(
    "body",
    [
        b"[]",
        b"{}",
        b'{"walls": []}',
        b'{"walls": [{"length_m": NaN, "height_m": 2, "thickness_m": 0.5}]}',
        b'{"walls": [{"length_m": "4", "height_m": 2, "thickness_m": 0.5}]}',
        b'{"walls": [{"length_m": -4, "height_m": 2, "thickness_m": 0.5}]}',
        b'{"walls": [{"length_m": 1e999, "height_m": 2, "thickness_m": 0.5}]}',
    ],
)
def test_hostile_bodies_are_refused_with_reasons(client, body):
    answer = client.post(PATH, body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["problems"]


def test_more_corners_than_can_be_joined_in_a_request_are_refused(client):
    zigzag = legs(*((x, x % 2) for x in range(201)))
    walls = [wall(path=zigzag, height_m=2, thickness_m=0.2)] * 3
    problem = asked(client, *walls).json()["problems"][0]
    assert (problem["code"], problem["field"]) == ("too_many_corners", "walls")


def test_walls_that_change_at_more_heights_than_can_be_joined_are_refused(client):
    """99 walls across each other, each of its own height: thousands of looks."""
    fan = [
        wall(path=legs((-9, -9 + n / 9), (9, 9 - n / 9)), height_m=2 + n / 99)
        for n in range(99)
    ]
    problem = asked(client, *fan).json()["problems"][0]
    assert (problem["code"], problem["field"]) == ("walls_too_intricate", "walls")


@pytest.mark.django_db
def test_a_stored_build_reads_back_its_whole_walls(client):
    """Property: what is stored and read holds what was sent."""
    drawn = wall(name="Round", path=legs((0, 0), (6, 0, 3)), height_m=2, plinth_m=0.3)
    created = client.post(
        "/api/v1/builds/",
        raw(bens_build(walls=[drawn])),
        content_type="application/json",
    )
    assert created.status_code == 201
    body = client.get(created["Location"]).json()
    assert body == created.json()
    assert body["walls"]["walls"][0]["name"] == "Round"
    assert body["takeoff"]["placed_m3"] == pytest.approx(3 * math.pi, abs=1e-3)
