"""Tickets over HTTP: the code is the key, and a record is made once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.utils import timezone

from api.deployment import render_plan
from logistics.models import Ticket
from matching.services.plans import Means, request_plan, run_plan
from tests.tickets import CODES, LOOKED, three_tickets
from tests.worlds import AT, NO_ROADS, Body, raw, stored_world

pytestmark = pytest.mark.django_db
ADDRESS = f"/api/v1/tickets/{CODES[0]}/"


def record(client: Client, body: Body, address: str = ADDRESS) -> Any:
    return client.post(address, raw(body), content_type="application/json")


def test_a_ticket_says_what_should_come_and_hides_the_others(client):
    three_tickets()
    answer = client.get(ADDRESS)
    own = answer.json()
    assert (own["origin"], own["destination"]) == ("Ada's pit", "Ben's garden")
    assert (own["planned_kg"], own["planned_m3"]) == (8000, 5.6)
    # 9:40 UTC is 10:40 in Brussels on 2 March.
    assert own["tips_at"] == "2026-03-02T10:40:00+01:00"
    assert (own["state"], own["record"]) == ("open", None)
    assert own["haul"]["to_come_kg"] == 24_000
    assert CODES[1] not in answer.content.decode()
    assert answer["X-Robots-Tag"] == "noindex"
    assert client.get("/api/v1/tickets/").status_code == 404


def test_an_accepted_load_is_recorded_and_what_is_left_is_told(client):
    three_tickets()
    at = (timezone.now() - timedelta(minutes=20)).replace(microsecond=0)
    body = {
        "accepted": True,
        "moist_kg": 7810,
        "arrived_at": at.isoformat(),
        "vehicle": "AB-123",
        "check": LOOKED,
    }
    own = record(client, body).json()
    assert own["state"] == "accepted"
    assert own["record"]["counted_kg"] == 7810
    assert own["record"]["vehicle"] == "AB-123"
    assert own["record"]["check"] == LOOKED | {"asbestos_suspect": False}
    assert not own["record"]["charged_in_full"]
    assert own["haul"]["to_come_kg"] == 24_000 - 7810
    assert client.get(ADDRESS).json() == own
    assert Ticket.objects.get(code=CODES[0]).arrived_at == at


def test_a_refused_load_is_charged_and_wanted_again_unless_told_otherwise(client):
    three_tickets()
    own = record(client, {"accepted": False, "reason": "too_wet"}).json()
    assert own["record"]["charged_in_full"]
    assert own["record"]["comes_again"]
    assert own["haul"]["to_come_kg"] == 24_000
    assert own["haul"]["unplanned_kg"] == 8_000


def test_a_second_record_is_a_conflict(client):
    three_tickets()
    assert record(client, {"accepted": True, "moist_kg": 7810}).status_code == 200
    again = record(client, {"accepted": True, "moist_kg": 7810})
    assert again.status_code == 409
    assert again.json()["problems"][0]["code"] == "ticket_recorded"


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"accepted": True}, "amount_missing"),
        ({"accepted": True, "moist_kg": 0}, "greater_than"),
        ({"accepted": True, "moist_kg": 7810.5}, "int_type"),
        ({"accepted": True, "moist_kg": 78_100}, "amount_doubtful"),
        ({"accepted": False}, "reason_missing"),
        ({"accepted": False, "reason": "mood"}, "enum"),
        (
            {"accepted": True, "moist_kg": 1, "check": {"asbestos_suspect": True}},
            "suspect_asbestos",
        ),
        (
            {"accepted": True, "moist_kg": 1, "check": {"smell": "wrong"}},
            "load_in_doubt",
        ),
        (
            {"accepted": True, "moist_kg": 1, "arrived_at": "2026-03-02T09:00:00"},
            "timezone_aware",
        ),
        (
            {"accepted": True, "moist_kg": 1, "arrived_at": "2126-03-02T09:00:00Z"},
            "arrived_in_future",
        ),
        (
            {"accepted": True, "moist_kg": 1, "arrived_at": "0001-01-01T00:00:00Z"},
            "arrived_long_ago",
        ),
        ({"accepted": True, "moist_kg": 1, "vehicle": "x" * 41}, "string_too_long"),
    ],
)
def test_a_record_without_sense_is_refused_and_the_ticket_stays_open(
    client, body, code
):
    three_tickets()
    answer = record(client, body)
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["code"] == code
    assert client.get(ADDRESS).json()["state"] == "open"


def test_nobody_finds_a_ticket_by_guessing(client):
    three_tickets()
    for address in ("/api/v1/tickets/kqm2/", "/api/v1/tickets/KQM2FIRST/"):
        assert client.get(address).status_code == 404
        assert record(client, {"accepted": True}, address).status_code == 404


def test_every_load_of_a_plan_is_found_by_its_ticket(client):
    """What the tickets of a plan say is what its document says (property)."""
    run_id, public_id = request_plan(request=stored_world().request, at=AT)
    means = Means(
        zone=ZoneInfo("Europe/Brussels"),
        roads=NO_ROADS,
        clock=lambda: AT,
        render=render_plan,
    )
    assert run_plan(run_id=run_id, means=means)
    plan = client.get(f"/api/v1/plans/{public_id}/").json()["plan"]
    names = {own["key"]: own["name"] for own in plan["places"]}
    seen = 0
    for shift in plan["shifts"]:
        for number, load in enumerate(shift["loads"]):
            own = client.get(f"/api/v1/tickets/{load['ticket']}/").json()
            stops = {
                stop["kind"]: stop for stop in shift["stops"] if stop["trip"] == number
            }
            assert (own["material"], own["planned_kg"], own["truck"]) == (
                load["material"],
                load["moist_kg"],
                shift["truck_name"],
            )
            assert (own["loads_at"], own["tips_at"]) == (
                stops["load"]["begin"],
                stops["tip"]["begin"],
            )
            assert own["origin"] == names[stops["load"]["place"]]
            assert own["haul"]["agreed_kg"] == plan["deals"][load["deal"]]["moist_kg"]
            seen += 1
    assert seen == Ticket.objects.count() > 0
