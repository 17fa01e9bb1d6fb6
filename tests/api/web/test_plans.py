"""Asking for plans on the pages, following them and reading them.

Figures are compared with the stored plan document.
"""

from __future__ import annotations

import re

import pytest
from django.test import Client

from api.documents.text import money
from logistics.models import Truck
from matching.models import PlanRun
from matching.services.plans import request_plan
from tests.api.web.reading import DAYS, document_of, outline, planned
from tests.worlds import (
    AT,
    adas_soil,
    store_offer,
    stored_world,
)


@pytest.mark.django_db(transaction=True)
def test_asking_for_a_plan_leads_to_its_page_with_the_figures_of_the_document(client):
    world = stored_world()
    answer, public_id = planned(client, world.build)
    plan = document_of(public_id)
    text = outline(answer).text
    assert plan["shifts"]
    assert plan["deals"]
    for amount in (
        plan["total_minor"],
        *plan["subtotals_minor"].values(),
        *(line["amount_minor"] for line in plan["lines"]),
        *(shift["cost_minor"] for shift in plan["shifts"]),
        *(deal["haul_minor"] for deal in plan["deals"]),
    ):
        assert money(amount, "EUR") in text
    for shift in plan["shifts"]:
        for stop in shift["stops"]:
            assert stop["begin"][11:16] in text
            assert stop["place_name"] in text
    for caution in plan["cautions"]:
        assert caution in text


@pytest.mark.django_db(transaction=True)
def test_the_bill_adds_up_line_by_line(client):
    """Property: lines make subtotals, and subtotals the total, to the cent."""
    world = stored_world()
    answer, _ = planned(client, world.build)
    table = (
        answer.content.decode()
        .split('<table class="boxed bill">')[1]
        .split("</table>")[0]
    )
    cells = re.findall(r'<td class="n">([^<]*)\xa0EUR</td>', table)
    kinds = re.findall(r'<tr class="(subtotal)">|<tr>(?=<td>)|(<tfoot>)', table)
    amounts = [
        round(float(own.replace("\u2212", "-").replace(",", "")) * 100) for own in cells
    ]
    assert len(amounts) == len(kinds)
    run, subtotals = 0, 0
    for amount, (subtotal, total) in zip(amounts, kinds, strict=True):
        if total:
            assert amount == subtotals
        elif subtotal:
            assert amount == run
            subtotals, run = subtotals + amount, 0
        else:
            run += amount


@pytest.mark.django_db(transaction=True)
def test_what_no_truck_carries_is_named_with_reasons_and_a_remedy(client):
    """A tipper cannot carry bales: `logistics.domain.trucks`."""
    store_offer(adas_soil())
    world = stored_world()
    Truck.objects.filter(pk=world.flat_bed).delete()
    answer, public_id = planned(client, world.build)
    text = outline(answer).text
    plan = document_of(public_id)
    assert plan["status"] == "partly_planned"
    assert "Only a part could be planned" in text
    left = [own["reasons"][0] for own in plan["unplanned"]] + [
        need["short_reason"]
        for build in plan["builds"]
        for need in build["needs"]
        if need["short_reason"]
    ]
    assert left
    for reason in left:
        assert " ".join(reason.split()) in text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("days", "message"),
    [
        ({"first_day": "soon", "last_day": "2026-03-04"}, "first day is not a date"),
        ({"first_day": "2026-03-04", "last_day": "2026-03-02"}, "within 31 days"),
        ({"first_day": "2026-03-04", "last_day": "2027-03-02"}, "within 31 days"),
        ({}, "first day is not a date"),
    ],
)
def test_senseless_dates_are_refused_with_words_and_kept_in_the_form(
    client, days, message
):
    world = stored_world()
    answer = client.post(f"/builds/{world.build}/plan/", days)
    assert answer.status_code == 400
    page = outline(answer)
    assert message in page.text
    if days:
        typed = [own for own in page.every("input") if own.get("name") == "first_day"]
        assert typed[0]["value"] == days["first_day"]
    assert not PlanRun.objects.exists()


@pytest.mark.django_db
def test_a_plan_is_not_asked_for_by_a_foreign_page():
    world = stored_world()
    client = Client(enforce_csrf_checks=True)
    assert client.post(f"/builds/{world.build}/plan/", DAYS).status_code == 403
    assert not PlanRun.objects.exists()


@pytest.mark.django_db
def test_a_plan_under_way_shows_its_progress_and_can_be_stopped(client):
    world = stored_world()
    _, public_id = request_plan(request=world.request, at=AT)
    PlanRun.objects.update(status="running", progress=30)
    page = outline(client.get(f"/plans/{public_id}/"))
    assert "Being planned, 30 %" in page.text
    assert "Look again" in page.text
    assert [own["value"] for own in page.every("progress")] == ["30"]
    assert client.get(f"/plans/{public_id}/progress.json").json() == {
        "waiting": True,
        "state": "Being planned",
        "progress": 30,
    }
    assert client.get(f"/plans/{public_id}/routes.geojson").status_code == 404
    stopped = client.post(f"/plans/{public_id}/cancel/", follow=True)
    assert "stopped before it was done" in outline(stopped).text
    again = client.post(f"/plans/{public_id}/cancel/", follow=True)
    assert again.status_code == 200
    assert "Ben's wall: Stopped" in outline(client.get("/plans/")).text.replace(
        " Mon 2 Mar to Wed 4 Mar 2026 ", ": "
    )


@pytest.mark.django_db
def test_a_failed_plan_says_why(client):
    world = stored_world()
    _, public_id = request_plan(request=world.request, at=AT)
    PlanRun.objects.update(
        status="failed",
        refusal=[
            {
                "code": "too_far_from_road",
                "field": "place Ada's pit",
                "given": "46.02, 3.03",
                "message": "no road is near",
                "remedy": "Move the pin.",
            }
        ],
    )
    text = outline(client.get(f"/plans/{public_id}/")).text
    assert "No road is near" in text
    assert "Move the pin." in text
