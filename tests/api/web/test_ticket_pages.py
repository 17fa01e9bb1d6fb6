"""The page behind a ticket's code, as a browser without scripts gets it.

Its cautions and the rule on asbestos follow the domain's sources; the rest is common
practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from logistics.models import Ticket
from tests.api.web.reading import outline
from tests.tickets import CODES, LOOKED, three_tickets

pytestmark = pytest.mark.django_db
ADDRESS = f"/tickets/{CODES[0]}/"
FINE = {f"check.{name}": found for name, found in LOOKED.items()}


def press(client: Client, outcome: str, **given: str) -> Any:
    return client.post(ADDRESS, {"outcome": outcome} | given)


def accepted(client: Client, **given: str) -> Any:
    return press(client, "accepted", **FINE | given)


def test_the_page_says_what_should_come_and_what_to_mind(client):
    three_tickets()
    answer = client.get(ADDRESS)
    text = outline(answer).text
    for words in (
        "8.00 t of subsoil",
        "5.6 m³",
        "Ada's pit",
        "Ben's garden",
        "10:40",
        "Nobody behind a tipping truck. Firm, level ground. Nothing overhead.",
        "Could be asbestos: stop, do not tip",
        "charged in full",
    ):
        assert words in text
    assert not any(code in answer.content.decode() for code in CODES[1:])


def test_the_page_is_kept_out_of_indexes_and_caches(client):
    three_tickets()
    answer = client.get(ADDRESS)
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer["Referrer-Policy"] == "same-origin"
    assert "no-store" in answer["Cache-Control"]
    robots = [
        own for own in outline(answer).every("meta") if own.get("name") == "robots"
    ]
    assert robots[0]["content"] == "noindex, nofollow"
    assert client.get("/tickets/").status_code == 404
    assert client.get("/tickets/kqm2/").status_code == 404


def test_an_accepted_load_shows_its_receipt_and_what_is_still_to_come(client):
    three_tickets()
    answer = accepted(client, moist_kg="7810", vehicle="AB-123")
    assert (answer.status_code, answer["Location"]) == (302, ADDRESS)
    page = outline(client.get(ADDRESS))
    for words in (
        "Accepted",
        "7.81 t",
        "190 kg less than planned",
        "AB-123",
        "16.19 t",
    ):
        assert words in page.text
    assert "2 of 3 loads are" in page.text
    assert not page.every("form")


def test_a_load_turned_away_says_that_its_trip_is_paid(client):
    three_tickets()
    press(client, "refused", reason="too_wet", given_up="on")
    text = outline(client.get(ADDRESS)).text
    assert "Turned away: too wet" in text
    assert "The trip is charged in full" in text
    assert "None is wanted instead" in text
    assert "16.00 t" in text


def test_suspect_asbestos_is_never_accepted_and_is_reason_enough(client):
    three_tickets()
    suspect = {"check.asbestos_suspect": "on"}
    answer = accepted(client, moist_kg="7810", **suspect)
    assert answer.status_code == 400
    assert "Do not touch or tip it" in outline(answer).text
    assert press(client, "refused", **suspect).status_code == 302
    assert Ticket.objects.get(code=CODES[0]).reason == "suspect_asbestos"
    assert "Do not touch or tip it." in outline(client.get(ADDRESS)).text


def test_a_load_that_nobody_looked_at_is_not_accepted(client):
    three_tickets()
    answer = press(client, "accepted", moist_kg="7810")
    assert answer.status_code == 400
    assert "3 things to mend" in outline(answer).text


@pytest.mark.parametrize(
    ("outcome", "given", "target", "words"),
    [
        ("accepted", {}, "q-moist-kg", "needs its mass or its volume"),
        ("accepted", {"moist_kg": "7,810"}, "q-moist-kg", "two ways"),
        ("accepted", {"moist_kg": "78100"}, "q-moist-kg", "9,000 kg at most"),
        ("accepted", {"moist_kg": "0"}, "q-moist-kg", "must be greater than 0"),
        (
            "accepted",
            {"check.smell": "wrong", "moist_kg": "9"},
            "q-check-look-1",
            "fails",
        ),
        ("accepted", {"moist_kg": "9", "time": "25:00"}, "q-time", "not understood"),
        ("accepted", {"moist_kg": "9", "day": "2126-01-01"}, "q-time", "yet to come"),
        ("refused", {}, "q-reason", "say why"),
        ("refused", {"reason": "mood"}, "q-reason", "not one of the choices"),
        ("", {"moist_kg": "9"}, "q-reason", "say why"),
    ],
)
def test_a_mistake_is_said_at_its_field_and_what_was_typed_stays(
    client, outcome, given, target, words
):
    three_tickets()
    answer = client.post(ADDRESS, FINE | {"outcome": outcome} | given)
    assert answer.status_code == 400
    page = outline(answer)
    assert words in page.text
    assert any(own.get("href") == f"#{target}" for own in page.every("a"))
    assert Ticket.objects.get(code=CODES[0]).state == "open"
    if "moist_kg" in given:
        (kg,) = (own for own in page.every("input") if own.get("name") == "moist_kg")
        assert kg["value"] == given["moist_kg"]


def test_another_day_and_time_are_local(client):
    three_tickets()
    yesterday = timezone.localtime() - timedelta(days=1)
    day = yesterday.date().isoformat()
    accepted(client, moist_kg="8000", day=day, time="10:30")
    at = Ticket.objects.get(code=CODES[0]).arrived_at
    assert at is not None
    assert f"{timezone.localtime(at):%Y-%m-%d %H:%M}" == f"{day} 10:30"


def test_pressed_twice_the_first_record_stands(client):
    three_tickets()
    accepted(client, moist_kg="7810")
    answer = accepted(client, moist_kg="9000")
    assert (answer.status_code, answer["Location"]) == (302, ADDRESS)
    assert Ticket.objects.get(code=CODES[0]).moist_kg == 7810


def test_a_load_taken_out_of_the_plan_is_not_to_be_tipped(client):
    three_tickets()
    Ticket.objects.filter(code=CODES[0]).update(state="withdrawn")
    page = outline(client.get(ADDRESS))
    assert "not planned any more" in page.text
    assert not page.every("form")
    assert accepted(client, moist_kg="7810").status_code == 302
    assert Ticket.objects.get(code=CODES[0]).state == "withdrawn"


def test_the_form_is_guarded_against_foreign_pages():
    three_tickets()
    client = Client(enforce_csrf_checks=True)
    assert accepted(client, moist_kg="7810").status_code == 403
