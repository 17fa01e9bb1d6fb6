"""Whatever is sent, the answer is a 4xx with problems in one shape, and nothing is stored."""

from __future__ import annotations

import json
from typing import Any

import pytest

from matching.models import Build
from tests.worlds import (
    Body,
    adas_soil,
    bens_build,
    place,
    raw,
    row_counts,
    stored_world,
    tipper,
)

pytestmark = pytest.mark.django_db

NEED = {
    "key": "sand",
    "material": "sand",
    "quantity": {"amount": 1, "unit": "t", "basis": "dry"},
}


def soil(**more: Any) -> Body:
    return adas_soil(material=adas_soil()["material"] | more)


def quantity(**more: Any) -> Body:
    return adas_soil(quantity=more)


def plan(**more: Any) -> Body:
    return {"builds": [1], "first_day": "2026-03-02", "last_day": "2026-03-03"} | more


def with_text(body: object, old: str, new: str) -> bytes:
    text = json.dumps(body)
    assert old in text
    return text.replace(old, new, 1).encode()


# path, body (bytes are sent as they are), status, code, field
BAD = [
    ("offers", b" ", 400, "json_invalid", "document"),
    ("offers", b"{", 400, "json_invalid", "document"),
    ("offers", b"\xff\xfe\x00", 400, "not_plain_utf8", "document"),
    ("offers", b"[" * 100_000, 400, "json_invalid", "document"),
    ("offers", b"[]", 400, "model_type", "document"),
    ("offers", b"null", 400, "model_type", "document"),
    ("offers", b"{}", 400, "missing", "name"),
    ("offers", with_text(adas_soil(), '"amount": 40', '"amount": NaN'), 400, "finite_number", "quantity.amount"),
    ("offers", with_text(adas_soil(), '"amount": 40', '"amount": 1e999'), 400, "finite_number", "quantity.amount"),
    ("offers", with_text(adas_soil(), '"amount": 40', '"amount": "40"'), 400, "float_type", "quantity.amount"),
    ("offers", with_text(adas_soil(), "Ada's heap", "\\ud800"), 400, "json_invalid", "document"),
    ("offers", adas_soil(name="a\u0000b"), 400, "control_character", "name"),
    ("offers", adas_soil(name="x" * 121), 400, "string_too_long", "name"),
    ("offers", adas_soil(name=["x"]), 400, "string_type", "name"),
    ("offers", adas_soil(colour="red"), 400, "extra_forbidden", "colour"),
    ("offers", quantity(amount=5, unit="m3"), 400, "volume_without_state", "quantity.state"),
    ("offers", quantity(amount=5, unit="t"), 400, "mass_without_basis", "quantity.basis"),
    ("offers", quantity(amount=-5, unit="t", basis="dry"), 400, "greater_than", "quantity.amount"),
    ("offers", quantity(amount=5, unit="m3", state="placed"), 400, "placed_volume_of_supply", "quantity.state"),
    ("offers", quantity(amount=5, unit="bale"), 400, "bales_of_earth", "quantity"),
    ("offers", quantity(amount=0.4, unit="kg", basis="moist"), 400, "nothing_offered", "quantity"),
    ("offers", soil(clay_percent={"likely": 20, "low": 30}), 400, "range_out_of_order", "material.subsoil.clay_percent"),
    ("offers", soil(kind="gold"), 400, "union_tag_invalid", "material"),
    ("offers", adas_soil(place=place("x", lat=91.0)), 400, "less_than_equal", "place.lat"),
    ("offers", adas_soil(place=place("x") | {"hours": [{"opens": "17:00", "closes": "07:00"}]}), 400, "closes_before_it_opens", "place.hours.0"),
    ("offers", adas_soil(available_from="2026-03-02", available_until="2026-03-01"), 400, "window_ends_before_it_begins", "document"),
    ("offers", adas_soil(available_from="2026-02-30"), 400, "date_from_datetime_parsing", "available_from"),
    ("offers", adas_soil(min_lot={"amount": 41, "unit": "t", "basis": "moist"}), 400, "lot_exceeds_offer", "min_lot"),
    ("offers", adas_soil(price={"minor": 100, "per": "bale"}), 400, "price_unit_mismatch", "price.per"),
    ("offers", adas_soil(price={"minor": 10**30, "per": "t"}), 400, "less_than_equal", "price.minor"),
    ("builds", bens_build(walls=[]), 400, "build_without_needs", "document"),
    ("builds", bens_build(walls=[{"length_m": 1, "height_m": 2, "thickness_m": 0.5, "openings": [{"width_m": 1, "height_m": 2}]}]), 400, "openings_exceed_wall", "walls.0.openings"),
    ("builds", bens_build(mix={"clay_low_percent": 30}), 400, "clay_window_out_of_order", "mix"),
    ("builds", bens_build(needs=[NEED, NEED]), 400, "key_used_twice", "needs.1.key"),
    ("builds", bens_build(needs=[NEED | {"quantity": {"amount": 0.1, "unit": "kg", "basis": "dry"}}]), 400, "need_too_small", "needs.0.quantity"),
    ("trucks", tipper(payload_kg=0), 400, "greater_than", "payload_kg"),
    ("trucks", tipper(payload_kg=8000.5), 400, "int_type", "payload_kg"),
    ("trucks", tipper(body="bicycle"), 400, "enum", "body"),
    ("trucks", tipper(opens="18:00", closes="06:00"), 400, "closes_before_it_opens", "document"),
    ("plans", plan(builds=[]), 400, "too_short", "builds"),
    ("plans", plan(builds=[987]), 422, "unknown_build", "builds"),
    ("plans", plan(builds=[2**70]), 400, "less_than", "builds.0"),
    ("plans", plan(builds=[True]), 400, "int_type", "builds.0"),
    ("plans", plan(last_day="2026-03-01"), 400, "window_ends_before_it_begins", "last_day"),
    ("plans", plan(last_day="2027-03-01"), 400, "window_ends_before_it_begins", "last_day"),
    ("plans", plan(builds=[1, 1]), 400, "named_twice", "builds"),
    ("plans", plan(last_day="9999-12-31"), 400, "less_than_equal", "last_day"),
    ("plans", plan(first_day="0001-01-01"), 400, "greater_than_equal", "first_day"),
    ("plans", plan(reach_km=-1), 400, "greater_than", "reach_km"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "body", "status", "code", "field"), BAD)
def test_a_bad_body_is_refused_with_its_field_and_a_remedy(
    client, path, body, status, code, field
):
    sent = body if isinstance(body, bytes) else raw(body)
    answer = client.post(f"/api/v1/{path}/", sent, content_type="application/json")
    assert answer.status_code == status, answer.content[:500]
    assert answer["Content-Type"] == "application/json"
    problem = answer.json()["problems"][0]
    assert (problem["code"], problem["field"]) == (code, field)
    assert problem["message"]
    assert problem["remedy"]
    assert not any(row_counts().values())


def test_an_unknown_truck_is_refused(client):
    world = stored_world()
    before = row_counts()
    answer = client.post(
        "/api/v1/plans/",
        raw(plan(builds=[world.build], trucks=[world.tipper, 987])),
        content_type="application/json",
    )
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["code"] == "unknown_truck"
    assert row_counts() == before


def test_every_problem_of_a_body_is_listed(client):
    body = tipper(payload_kg=0, body="bicycle")
    del body["per_km_minor"]
    answer = client.post(
        "/api/v1/trucks/", raw(body), content_type="application/json"
    ).json()
    assert {own["field"] for own in answer["problems"]} == {
        "payload_kg",
        "body",
        "per_km_minor",
    }


@pytest.mark.parametrize(
    ("address", "code"),
    [
        ("offers/?kind=gold", "enum"),
        ("offers/?near=here", "not_a_position"),
        ("offers/?near=46", "not_a_position"),
        ("offers/?near=46,3,9", "not_a_position"),
        ("offers/?near=91,3", "not_a_position"),
        ("offers/?near=nan,nan", "not_a_position"),
        ("offers/?within_km=5", "within_of_nothing"),
        ("offers/?near=46,3&within_km=inf", "finite_number"),
        ("offers/?page=0", "greater_than_equal"),
        ("offers/?page=x", "int_parsing"),
        ("offers/?page=99999999999999999999999", "less_than_equal"),
        ("offers/?page_size=1000", "less_than_equal"),
        ("offers/?sort=price", "extra_forbidden"),
        ("offers/?format=html", "extra_forbidden"),
        ("offers/?kind=%00", "enum"),
        ("plans/?page=-1", "greater_than_equal"),
        ("needs/1/matches/?first_day=9999-12-31", "less_than_equal"),
        ("needs/1/matches/?first_day=soon", "date_from_datetime_parsing"),
    ],
)
def test_a_bad_query_is_refused(client, address, code):
    answer = client.get(f"/api/v1/{address}")
    assert answer.status_code == 400
    problem = answer.json()["problems"][0]
    assert problem["code"] == code
    assert problem["remedy"]


def test_days_out_of_order_for_matches_are_refused(client):
    stored_world()
    need = Build.objects.get().needs.order_by("pk")[0]
    answer = client.get(
        f"/api/v1/needs/{need.pk}/matches/?first_day=2026-03-02&last_day=2026-03-01"
    )
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["field"] == "last_day"


@pytest.mark.parametrize(
    "address",
    [
        "",
        "nothing/",
        "offers",
        "offers/0/",
        "builds/9223372036854775808/",
        "needs/9223372036854775808/matches/",
        "offers/99999999999999999999999999/",
        "offers/-1/",
        "offers/one/",
        "builds/4/",
        "needs/4/matches/",
        "plans/not-a-uuid/",
        "trucks/1/",
        "offers/%00/",
    ],
)
@pytest.mark.parametrize("method", ["get", "post", "delete"])
def test_an_address_with_nothing_behind_it_is_answered_in_json(client, address, method):
    if address in {"", "nothing/"} or method == "get":
        answer = getattr(client, method)(f"/api/v1/{address}")
        assert answer.status_code == 404
    else:
        answer = getattr(client, method)(f"/api/v1/{address}")
        assert answer.status_code in {404, 405}
    problem = answer.json()["problems"][0]
    assert problem["code"] in {
        "not_found",
        "method_not_allowed",
        "unknown_offer",
        "unknown_build",
        "unknown_need",
    }
    assert problem["remedy"]


def test_a_method_that_is_not_there_is_answered_in_json(client):
    answer = client.put("/api/v1/offers/", raw({}), content_type="application/json")
    assert answer.status_code == 405
    assert answer["Allow"] == "GET, POST, HEAD, OPTIONS"
    assert answer.json()["problems"][0]["code"] == "method_not_allowed"


@pytest.mark.parametrize(
    "kind", ["application/x-www-form-urlencoded", "text/plain", ""]
)
def test_what_is_not_json_is_refused_by_its_type(client, kind):
    answer = client.generic(
        "POST", "/api/v1/offers/", raw(adas_soil()), content_type=kind
    )
    assert answer.status_code == 415
    problem = answer.json()["problems"][0]
    assert problem["code"] == "unsupported_media_type"
    assert "application/json" in problem["remedy"]
    assert not any(row_counts().values())


def test_a_form_with_files_is_refused_by_its_type(client):
    assert client.post("/api/v1/offers/", {"name": "x"}).status_code == 415


def test_a_body_of_many_megabytes_is_refused(client):
    big = b" " * (8 * 1024 * 1024 + 1)
    answer = client.post("/api/v1/offers/", big, content_type="application/json")
    assert answer.status_code == 413
    assert answer.json()["problems"][0]["code"] == "too_large"


def test_who_wants_html_gets_a_refusal_in_json(client):
    answer = client.get("/api/v1/offers/", HTTP_ACCEPT="text/html")
    assert answer.status_code == 406
    assert answer.json()["problems"][0]["code"] == "not_acceptable"


def test_posting_needs_no_token(client):
    """No accounts yet, no session to abuse: a plain command-line client can post."""
    client.handler.enforce_csrf_checks = True
    answer = client.post(
        "/api/v1/offers/", raw(adas_soil()), content_type="application/json"
    )
    assert answer.status_code == 201
