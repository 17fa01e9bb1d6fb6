"""The page "What do my walls swallow?", and walls, calendars and mixes on pages of builds
and plans, as a browser without scripts gets them.

Volumes are worked by hand where a comment says how; other figures are compared with the
REST interface. The rest is common practice, no source.
"""

from __future__ import annotations

import re
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from tests.api.web.reading import Outline, outline, planned
from tests.worlds import Body, bens_build, raw, row_counts, store_build, stored_world

WALL = {"n1": "North", "l1": "6", "h1": "2.4", "t1": "0.5"}
CREW = {"first": "2026-03-02", "novices": "6", "trained": "2"}
NASTY = '<script>alert(1)</script> & "Sons"'


def page(client: Any, query: dict[str, str], status: int = 200) -> Outline:
    answer = client.get("/walls/", query, follow=True)
    assert answer.status_code == status
    return outline(answer)


def test_a_plain_wall_is_its_length_by_height_by_thickness(client):
    """6 x 2.4 x 0.5 = 7.2 m3."""
    assert "7.20 m³ of wall" in page(client, WALL).text


def test_a_gable_is_taken_at_its_mean_height(client):
    """4 m long, 2.2 m at both ends and 3.4 m in the middle: mean 2.8; 4 x 2.8 x 0.45."""
    gable = {"l1": "4", "h1": "2.2", "m1": "3.4", "t1": "0.45"}
    assert "5.04 m³ of wall" in page(client, gable).text


def test_a_slope_is_taken_at_its_mean_height(client):
    """5 m long from 2 to 3 m: 5 x 2.5 x 0.4 = 5 m3."""
    slope = {"l1": "5", "h1": "2", "e1": "3", "t1": "0.4"}
    assert "5.00 m³ of wall" in page(client, slope).text


def test_openings_are_taken_off_with_their_lintels(client):
    """7.2 less 0.9 x 2.0 x 0.5 = 0.9 and a lintel 1.3 x 0.1 x 0.5 = 0.065."""
    door = {"ow1_2": "0.9", "oh1_2": "2", "oa1_2": "1", "ol1_2": "0.1", "ob1_2": "0.2"}
    text = page(client, WALL | door).text
    assert re.search(r"6\.2[34] m³ of wall", text)


def test_totals_are_those_of_the_rest_interface(client):
    body = {
        "walls": [{"length_m": 6, "height_m": 2.4, "thickness_m": 0.5}],
        "bale": {"bale_kg": 16},
    }
    sheet = client.post(
        "/api/v1/take-offs/", raw(body), content_type="application/json"
    ).json()
    text = page(client, WALL).text
    for edge in ("low", "likely", "high"):
        for name in ("soil_moist_kg", "sand_moist_kg"):
            assert f"{sheet['takeoff'][name][edge] / 1000:.1f} t" in text
    cells = "".join(f"{sheet['bales'][edge]:.0f}" for edge in ("low", "likely", "high"))
    assert f"in bales{cells}" in text


def test_every_wall_is_drawn_and_the_code_is_named(client):
    found = page(client, WALL | {"l2": "3", "h2": "2", "t2": "0.2"})
    drawn = [
        own for own in found.every("svg") if "pic-elevation" in (own["class"] or "")
    ]
    # Two walls, each for a phone and for a desk.
    assert len(drawn) == 4
    assert all(own["role"] == "img" and own["aria-labelledby"] for own in drawn)
    # 0.2 m is thinner than the 10 in (254 mm) of the appendix.
    assert "IRC 2021, Appendix AU" in found.text
    assert "Wall (2):" in found.text


def test_a_first_day_gives_lifts_dated_needs_and_room(client):
    text = page(client, WALL | CREW | {"room": "2"}).text
    assert "The last work day is likely" in text
    assert "deliveries, by date" in text
    assert "No truck comes while people work on site." in text
    # The first soil has to lie there before the Monday on which the work begins.
    assert "Fri 27 Feb" in text
    # 2 m3 is less than the first lift's heaps: by hand a lift of 1.5 m3 swells beyond it.
    assert "more than the room of 2.0 m³" in text


def test_without_a_first_day_there_is_no_calendar(client):
    assert "The calendar, if you like" in page(client, WALL).text
    assert "last work day" not in page(client, WALL).text


def test_walls_lead_to_what_to_order_for_them(client):
    links = [own["href"] for own in page(client, WALL).every("a")]
    assert "/mix/?wall=7.20" in links


def test_the_address_holds_only_what_was_typed(client):
    answer = client.get("/walls/", WALL | {"k1": "outer", "p1": "", "bale": "16"})
    kept = {k: v[0] for k, v in parse_qs(urlsplit(answer["Location"]).query).items()}
    assert kept == WALL


def test_a_wall_is_added_without_losing_what_was_typed(client):
    answer = client.get("/walls/", WALL | {"add": "1"})
    found = outline(client.get(answer["Location"]))
    values = {own.get("name"): own.get("value") for own in found.every("input")}
    assert values["n1"] == "North"
    assert "l3" in values


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ({"l1": "x"}, "l1", "not a number"),
        ({"l1": "-3"}, "l1", "greater than 0"),
        ({"l1": "9999"}, "l1", "less than or equal to 500"),
        ({"t1": "40"}, "t1", "less than or equal to 3"),
        ({"h1": ""}, "h1", "fill this in"),
        ({"t1": ""}, "t1", "fill this in"),
        ({"ow1_1": "9", "oh1_1": "2"}, "ow1_1", ""),
        ({"ow1_3": "1"}, "oh1_3", "fill this in"),
        ({"tt1": "0.9"}, "tt1", ""),
        ({"k1": "roof"}, "k1", "one of the choices"),
        ({"straw": "140"}, "straw", "less than or equal to 100"),
        ({"first": "soon"}, "first", "not a date"),
        ({"first": "1700-01-01"}, "first", "no plan"),
        ({"first": "2026-03-02"}, "novices", ""),
        (CREW | {"lift": "0.0001"}, "lift", ""),
        (CREW | {"dry": "5", "dl": "9"}, "dry", "in this order"),
        (CREW | {"from": "18:00", "to": "08:00"}, "from", "ends before it begins"),
        (CREW | {"from": "08:00"}, "to", "fill this in"),
        (CREW | {"room": "-1"}, "room", "greater than 0"),
        (CREW | {"novices": "1e5"}, "novices", "not a number"),
    ],
)
def test_what_makes_no_sense_is_said_at_its_field(client, query, field, words):
    found = page(client, WALL | query, 400)
    target = "#q-" + field.replace("_", "-")
    assert target in [own["href"] for own in found.every("a")], found.text[:700]
    assert words in found.text


def test_names_cannot_write_into_the_page(client):
    for query in (WALL | {"n1": NASTY}, WALL | {"l1": NASTY}, WALL | {"first": NASTY}):
        body = client.get("/walls/", query, follow=True).content.decode()
        assert "<script>alert" not in body
        assert "&lt;script&gt;" in body


@pytest.mark.django_db
def test_nothing_is_stored(client):
    before = row_counts()
    page(client, WALL | CREW)
    assert row_counts() == before


@pytest.mark.parametrize("query", [{}, WALL | CREW])
def test_every_control_has_a_label_and_every_id_is_one(client, query):
    """WCAG 2.2, 1.3.1 and 4.1.2."""
    answer = client.get("/walls/", query)
    found = outline(answer)
    labels = {own["for"] for own in found.every("label")}
    assert {
        own["id"] for tag in ("input", "select") for own in found.every(tag)
    } <= labels
    every = [own["id"] for _, own in found.tags if own.get("id")]
    assert len(every) == len(set(every))
    body = answer.content.decode()
    assert not re.search(r"\son\w+=|\sstyle=|<style", body)
    assert all(
        after - own <= 1
        for own, after in zip(found.headings, found.headings[1:], strict=False)
    )


ROUND: Body = {
    "name": "Ring",
    "path": {
        "x_m": -3,
        "y_m": 0,
        "legs": [{"x_m": 3, "y_m": 0, "rise_m": 3}, {"x_m": -3, "y_m": 0, "rise_m": 3}],
    },
    "height_m": 2.2,
    "thickness_m": 0.5,
}
CALENDAR: Body = {
    "first_day": "2026-03-02",
    "crew": {"novices": 6, "trained": 2},
    "deliver": "by_lift",
    "built": [{"until": "2026-03-03", "placed_m3": 1.5, "person_days": 11}],
}


@pytest.mark.django_db
def test_a_build_shows_its_walls_its_calendar_and_its_mix(client):
    stored_world()
    own = bens_build(name="Ring", walls=[ROUND], calendar=CALENDAR, storage_m3=20)
    found = outline(client.get(f"/builds/{store_build(own)}/"))
    classes = " ".join(own["class"] or "" for own in found.every("svg"))
    for picture in ("pic-plan", "pic-elevation", "pic-lifts", "pic-buckets"):
        assert picture in classes
    assert "Built so far: 1.5 m³" in found.text
    assert "IRC 2021, Appendix AU" in found.text
    assert "No truck comes while people work on site." in found.text
    assert re.search(r"Order [\d.]+ t \([^)]*\) of Ada's heap", found.text)
    every = [own["id"] for _, own in found.tags if own.get("id")]
    assert len(every) == len(set(every))


@pytest.mark.django_db
def test_a_build_mixes_as_the_rest_interface_does(client):
    world = stored_world()
    needs = client.get(f"/api/v1/builds/{world.build}/").json()["needs"]
    mineral = next(own for own in needs if own["cargo"] == "mineral")
    mix = client.get(f"/api/v1/needs/{mineral['id']}/mix/").json()["mix"]
    text = outline(client.get(f"/builds/{world.build}/")).text
    assert mix["buckets"]["text"] in text
    for own in mix["orders"]:
        assert own["text"].replace(" m3", " m³") in text


@pytest.mark.django_db
def test_a_build_without_offers_shows_no_mix(client):
    text = outline(client.get(f"/builds/{store_build(bens_build())}/")).text
    assert "Nothing on offer will do" in text
    assert "What to order" not in text


@pytest.mark.django_db(transaction=True)
def test_a_plan_says_how_its_blend_is_mixed(client):
    world = stored_world()
    text = outline(planned(client, world.build)[0]).text
    assert re.search(r"Ben's wall: Buckets: [\d.]+ of Ada's heap", text)
    assert "By dry mass:" in text
    assert "Test bricks first," in text


@pytest.mark.django_db(transaction=True)
def test_a_plan_by_lift_says_what_is_due_and_what_is_left_for_later(client):
    stored_world()
    calendar = {k: v for k, v in CALENDAR.items() if k != "built"}
    calendar["first_day"] = "2026-03-09"
    build = store_build(bens_build(name="Ring", walls=[ROUND], calendar=calendar))
    text = outline(planned(client, build)[0]).text
    assert "Left for later:" in text
    assert "of soil and sand by" in text
    later = client.get(f"/api/v1/builds/{build}/calendar/").json()["pulses"]
    assert any(own["material"] == "soil" for own in later)
