"""The administrators' pages open, and records cannot be edited there."""

from __future__ import annotations

import pytest

from matching.models import Offer, PlanRun
from matching.services.plans import request_plan
from matching.tasks import run_plan_task
from tests.worlds import AT, stored_world

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "page",
    [
        "logistics/place/",
        "logistics/truck/",
        "logistics/plan/",
        "matching/account/",
        "matching/offer/",
        "matching/build/",
        "matching/planrun/",
    ],
)
def test_lists_open(admin_client, page):
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    run_plan_task.delay(run_id=run_id)
    assert admin_client.get(f"/admin/{page}").status_code == 200


@pytest.mark.parametrize(
    "page", ["logistics/place", "logistics/plan", "matching/planrun"]
)
def test_records_are_not_added_by_hand(admin_client, page):
    assert admin_client.get(f"/admin/{page}/add/").status_code == 403


def test_a_plan_and_its_run_are_read_but_not_changed(admin_client):
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    run_plan_task.delay(run_id=run_id)
    run = PlanRun.objects.get(pk=run_id)
    for page in (f"logistics/plan/{run.plan_id}", f"matching/planrun/{run_id}"):
        assert admin_client.get(f"/admin/{page}/change/").status_code == 200
        assert admin_client.post(f"/admin/{page}/change/", {}).status_code == 403


def test_what_is_promised_of_an_offer_is_not_edited_by_hand(admin_client):
    offer = stored_world().soil
    page = admin_client.get(f"/admin/matching/offer/{offer}/change/")
    assert page.status_code == 200
    assert b'name="quantity_kg"' in page.content
    assert b'name="reserved_kg"' not in page.content
    assert Offer.objects.get(pk=offer).reserved_kg == 0


def test_visitors_are_sent_to_sign_in(client):
    """Cy has no account."""
    answer = client.get("/admin/matching/offer/")
    assert answer.status_code == 302
    assert "/admin/login/" in answer["Location"]
