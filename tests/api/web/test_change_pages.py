"""Something changed: the forms, the difference on the new plan, the note on the old one
(property)."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone

from api import deployment
from api.documents.plan_models import PlanAnswer
from api.web.change_form import FORMS
from logistics.domain.living.arrivals import Arrival
from logistics.services.tickets import record_ticket
from matching.domain.requests import PlanRequest
from matching.models import PlanRun, Replan
from matching.services.plans import request_plan, run_plan
from matching.tasks import run_plan_task
from tests.api.rest.test_replans import MEANS
from tests.worlds import AT, World, store_truck, stored_world, tipper

pytestmark = pytest.mark.django_db


def next_monday() -> date:
    today = timezone.localdate()
    return today + timedelta(days=7 - today.weekday())


def future_plan(world: World) -> UUID:
    """Ben's build in the week that comes: nothing of it is done."""
    monday = next_monday()
    request = PlanRequest((world.build,), monday, monday + timedelta(days=2))
    run_id, public_id = request_plan(request=request, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    return public_id


@pytest.fixture
def world() -> World:
    return stored_world()


@pytest.fixture
def send(client, django_capture_on_commit_callbacks):
    def post(public_id: UUID, **fields: Any) -> Any:
        with django_capture_on_commit_callbacks(execute=True):
            return client.post(f"/plans/{public_id}/change/", fields)

    return post


def plan_of(public_id: UUID) -> PlanAnswer:
    return PlanAnswer.model_validate(PlanRun.objects.get(public_id=public_id).document)


def answers(kind: str, plan: PlanAnswer, truck: int) -> dict[str, Any]:
    shift = plan.shifts[0]
    pickup = next(own for own in shift.stops if own.kind == "load")
    every: dict[str, dict[str, Any]] = {
        "truck_out": {"truck": shift.truck},
        "dig_stopped": {"place": pickup.place, "ends_day": shift.day},
        "place_closed": {"place": pickup.place},
        "load_refused": {"ticket": shift.loads[0].ticket, "comes_again": "no"},
        "mass_changed": {"deal": "0", "direction": "less", "percent": "20"},
        "runs_late": {"shift": "0", "minutes": "20"},
        "truck_joins": {"truck": str(truck)},
    }
    return every[kind]


@pytest.mark.parametrize("kind", FORMS)
def test_every_change_leads_to_a_new_plan_that_shows_the_difference(
    client, send, world, kind
):
    public_id = future_plan(world)
    other = store_truck(tipper(name="Second tipper"))
    page = client.get(f"/plans/{public_id}/change/?kind={kind}")
    assert page.status_code == 200
    answer = send(public_id, kind=kind, **answers(kind, plan_of(public_id), other))
    assert answer.status_code == 302, answer.content.decode()
    new = client.get(answer["Location"]).content.decode()
    assert "What is different" in new
    assert Replan.objects.get(current=True).replaces.public_id == public_id
    old = client.get(f"/plans/{public_id}/").content.decode()
    assert "This plan no longer holds" in old
    assert answer["Location"] in old
    assert client.get(f"/plans/{public_id}/change/").status_code == 302


@pytest.mark.parametrize(
    ("kind", "fields", "field"),
    [
        ("truck_out", {}, "q-truck"),
        ("truck_out", {"truck": "truck-0"}, "q-truck"),
        ("mass_changed", {"deal": "0", "percent": "many"}, "q-percent"),
        ("mass_changed", {"percent": "5"}, "q-deal"),
        (
            "mass_changed",
            {"deal": "0", "direction": "less", "percent": "200"},
            "q-percent",
        ),
        ("runs_late", {"shift": "0", "minutes": "0"}, "q-minutes"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(send, world, kind, fields, field):
    public_id = future_plan(world)
    answer = send(public_id, kind=kind, **fields)
    assert answer.status_code == 400
    text = answer.content.decode()
    assert f'href="#{field}"' in text
    assert not Replan.objects.exists()


def test_an_end_before_the_beginning_is_said_at_its_field(send, world):
    public_id = future_plan(world)
    truck = plan_of(public_id).shifts[0].truck
    answer = send(
        public_id,
        kind="truck_out",
        truck=truck,
        starts_day="2026-05-02",
        starts_time="08:00",
        ends_day="2026-05-01",
    )
    assert answer.status_code == 400
    assert 'href="#q-ends-day"' in answer.content.decode()


def test_a_pinned_shift_stays_though_it_runs_in_the_way(send, client, world):
    public_id = future_plan(world)
    plan = plan_of(public_id)
    send(public_id, kind="mass_changed", deal="0", percent="5", pin_0="on")
    new = Replan.objects.get(current=True)
    assert new.asked["pinned"] == [0]
    after = plan_of(new.run.public_id)
    stops = [(own.kind, own.begin) for own in plan.shifts[0].stops]
    assert any(
        [(own.kind, own.begin) for own in shift.stops] == stops
        for shift in after.shifts
    )


def test_what_arrived_is_on_the_page_of_the_plan(client, world):
    public_id = future_plan(world)
    load = plan_of(public_id).shifts[0].loads[0]
    came = Arrival(accepted=True, at=0, moist_kg=load.moist_kg - 100)
    record_ticket(code=str(load.ticket), arrival=came, at=AT)
    page = client.get(f"/plans/{public_id}/").content.decode()
    assert "What has arrived" in page
    assert "1 load recorded" in page
    assert f"/tickets/{load.ticket}/" in page


def test_a_broken_off_shift_is_shown_with_its_load_aboard(client, world):
    """At the moment of the first tipping it stands with a load aboard."""
    run_id, public_id = request_plan(request=world.request, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    plan = plan_of(public_id)
    shift = plan.shifts[0]
    pickup = next(own for own in shift.stops if own.kind == "load")
    answer = client.post(
        f"/api/v1/plans/{public_id}/replans/",
        {
            "as_of": pickup.end.isoformat(),
            "disruptions": [{"kind": "truck_out", "truck": shift.truck}],
        },
        content_type="application/json",
    )
    run_plan_task(run_id=PlanRun.objects.get(public_id=answer.json()["id"]).pk)
    new = answer.json()["id"]
    after = plan_of(new)
    assert after.shifts[0].broke_off
    assert not after.shifts[0].loads
    page = client.get(f"/plans/{new}/").content.decode()
    assert "still aboard where the shift broke off" in page
    assert deployment.zone().key in page
    for kind in (
        "geojson",
        "gpx/?shift=1",
        "shifts-csv",
        "stops-csv",
        "loads-csv",
        "costs-csv",
        "driver-sheet",
        "load-tickets",
    ):
        own = kind if "?" in kind else f"{kind}/"
        found = client.get(f"/api/v1/plans/{new}/exports/{own}")
        assert found.status_code == 200, kind
