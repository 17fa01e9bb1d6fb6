"""The list of a plan's exports, and each of its addresses."""

from __future__ import annotations

from uuid import uuid4

import pytest

from api.exports.choices import choices
from api.exports.kinds import KINDS
from matching.services.plans import request_plan
from tests.api.exports.plans import MORNING, book, milk_run, two_loads
from tests.api.web.reading import planned
from tests.worlds import AT, stored_world


@pytest.mark.django_db(transaction=True)
def test_every_address_of_the_list_gives_what_it_says(client):
    """Property: what is listed is there, and what needs a choice is refused without."""
    _, public_id = planned(client, stored_world().build)
    answer = client.get(f"/api/v1/plans/{public_id}/exports/")
    assert answer.status_code == 200
    listed = answer.json()["exports"]
    assert [own["kind"] for own in listed] == list(KINDS)
    for own in listed:
        alone = client.get(own["address"])
        assert alone.status_code == (400 if own["needed"] else 200)
        addresses = [one["address"] for one in own["choices"]]
        assert bool(addresses) == bool(own["takes"])
        for address in addresses:
            assert client.get(address)["Content-Type"] == own["media_type"]


@pytest.mark.django_db
def test_a_plan_that_is_not_there_or_not_ready_has_no_list(client):
    nowhere = client.get(f"/api/v1/plans/{uuid4()}/exports/")
    assert nowhere.status_code == 404
    assert nowhere.json()["problems"][0]["code"] == "unknown_plan"
    _, public_id = request_plan(request=stored_world().request, at=AT)
    waiting = client.get(f"/api/v1/plans/{public_id}/exports/")
    assert waiting.status_code == 409
    assert waiting.json()["problems"][0]["code"] == "plan_not_ready"


@pytest.mark.parametrize(
    ("kind", "found"),
    [
        ("gpx", [("1", "Tipper, 2026-05-04"), ("2", "Flat bed, 2026-05-04")]),
        ("truck-calendar", [("tipper", "Tipper"), ("flat", "Flat bed")]),
        ("build-calendar", [("wall", "Ben's wall"), ("idle", "Cy's oven")]),
        ("pickup-calendar", [("pit", "Ada's pit"), ("farm", "Eve's farm")]),
        ("geojson", []),
    ],
)
def test_choices_are_the_parts_of_the_plan(kind, found):
    """Hand count: the tipper loads at the pit, the flat bed at the farm and the pit."""
    plan = book(two_loads(MORNING), milk_run(MORNING)).plan
    told = choices(plan, kind, KINDS[kind].takes)
    assert [(own.value, own.name) for own in told] == found
