"""Exports over HTTP and on the plan page."""

from __future__ import annotations

import csv
import io
import json
from uuid import uuid4

import pypdfium2
import pytest
import zxingcpp
from geojson_pydantic import FeatureCollection
from icalendar import Calendar
from pypdf import PdfReader

from api.exports.kinds import KINDS
from matching.services.plans import request_plan
from tests.api.web.reading import document_of, outline, planned
from tests.worlds import AT, stored_world

TYPES = {
    "geojson": "application/geo+json",
    "gpx": "application/gpx+xml",
    "truck-calendar": "text/calendar",
    "build-calendar": "text/calendar",
    "pickup-calendar": "text/calendar",
    "shifts-csv": "text/csv",
    "stops-csv": "text/csv",
    "loads-csv": "text/csv",
    "costs-csv": "text/csv",
    "driver-sheet": "application/pdf",
    "load-tickets": "application/pdf",
}
"""Media types: RFC 7946 section 12, RFC 5545 section 8.1, RFC 4180 section 3, RFC 8118;
that of GPX is common practice and not registered."""


@pytest.mark.django_db(transaction=True)
def test_every_link_of_the_plan_page_leads_to_a_file_of_its_type(client):
    world = stored_world()
    page, public_id = planned(client, world.build)
    document = document_of(public_id)
    here = f"/api/v1/plans/{public_id}/exports/"
    links = [
        str(own["href"])
        for own in outline(page).every("a")
        if str(own.get("href")).startswith(here)
    ]
    seen = set()
    for link in links:
        answer = client.get(link, headers={"accept": "text/html"})
        kind = link.removeprefix(here).partition("/")[0]
        seen.add(kind)
        assert answer.status_code == 200, link
        assert answer["Content-Type"].startswith(TYPES[kind])
        assert 'filename="' in answer["Content-Disposition"]
        assert answer.content
    assert seen == set(KINDS) == set(TYPES)
    drawn = client.get(f"{here}geojson/").content
    FeatureCollection.model_validate_json(drawn)
    assert len(json.loads(drawn)["features"]) > len(document["places"])
    bill = client.get(f"{here}costs-csv/").content.decode()
    assert len(list(csv.DictReader(io.StringIO(bill)))) == len(document["lines"])
    sheets = client.get(f"{here}driver-sheet/").content
    assert len(PdfReader(io.BytesIO(sheets)).pages) >= len(document["shifts"])


@pytest.mark.django_db(transaction=True)
def test_the_codes_of_the_tickets_are_the_addresses_of_receipts_at_this_host(client):
    world = stored_world()
    _, public_id = planned(client, world.build)
    tickets = [
        load["ticket"]
        for shift in document_of(public_id)["shifts"]
        for load in shift["loads"]
    ]
    body = client.get(f"/api/v1/plans/{public_id}/exports/load-tickets/").content
    document = pypdfium2.PdfDocument(body)
    read = [
        own.text
        for page in document
        for own in zxingcpp.read_barcodes(page.render(scale=2).to_pil())
    ]
    document.close()
    assert len(tickets) == len(set(tickets)) > 0
    assert sorted(read) == sorted(
        f"http://testserver/tickets/{own}/" for own in tickets
    )


@pytest.mark.django_db(transaction=True)
def test_a_feed_is_the_same_whenever_it_is_fetched(client):
    world = stored_world()
    _, public_id = planned(client, world.build)
    truck = document_of(public_id)["shifts"][0]["truck"]
    address = f"/api/v1/plans/{public_id}/exports/truck-calendar/?of={truck}"
    first, second = (client.get(address).content for _ in range(2))
    assert first == second
    assert Calendar.from_ical(first).walk("VEVENT")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("end", "status", "code"),
    [
        ("sculpture/", 404, "unknown_export"),
        ("gpx/", 400, "export_needs_choice"),
        ("build-calendar/", 400, "export_needs_choice"),
        ("gpx/?shift=99", 404, "unknown_shift"),
        ("driver-sheet/?shift=99", 404, "unknown_shift"),
        ("truck-calendar/?of=nobody", 404, "unknown_truck"),
        ("build-calendar/?of=nobody", 404, "unknown_build"),
        ("pickup-calendar/?of=nobody", 404, "unknown_place"),
        ("gpx/?shift=one", 400, None),
        ("gpx/?shift=0", 400, None),
        ("geojson/?colour=red", 400, None),
    ],
)
def test_what_cannot_be_exported_is_refused_with_a_problem(client, end, status, code):
    world = stored_world()
    _, public_id = planned(client, world.build)
    answer = client.get(f"/api/v1/plans/{public_id}/exports/{end}")
    assert answer.status_code == status
    (problem,) = answer.json()["problems"]
    assert code in (None, problem["code"])
    assert problem["remedy"]


@pytest.mark.django_db
def test_a_plan_that_is_not_there_or_not_ready_is_no_file(client):
    world = stored_world()
    nowhere = client.get(f"/api/v1/plans/{uuid4()}/exports/geojson/")
    assert nowhere.status_code == 404
    assert nowhere.json()["problems"][0]["code"] == "unknown_plan"
    _, public_id = request_plan(request=world.request, at=AT)
    waiting = client.get(f"/api/v1/plans/{public_id}/exports/geojson/")
    assert waiting.status_code == 409
    assert waiting.json()["problems"][0]["code"] == "plan_not_ready"
