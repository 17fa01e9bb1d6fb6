"""Plans over HTTP: a job that is asked for, followed, read and given up."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from kombu.exceptions import OperationalError

from api.celery_app import app
from matching.models import PlanRun
from matching.services.plans import request_plan
from tests.worlds import AT, Body, World, raw, stored_world


def ask(client: Client, body: object) -> Any:
    return client.post("/api/v1/plans/", raw(body), content_type="application/json")


def three_days(world: World, **more: Any) -> Body:
    return {
        "builds": [world.build],
        "first_day": "2026-03-02",
        "last_day": "2026-03-04",
    } | more


@pytest.mark.django_db(transaction=True)
def test_a_plan_is_asked_for_and_read_at_its_location(client):
    world = stored_world()
    answer = ask(client, three_days(world, name="Spring"))
    assert answer.status_code == 202
    job = client.get(answer["Location"]).json()
    assert (job["status"], job["progress"], job["problems"]) == ("done", 100, [])
    plan = job["plan"]
    assert plan["name"] == "Spring"
    assert plan["status"] == "planned"
    assert sum(line["amount_minor"] for line in plan["lines"]) == plan["total_minor"]
    assert job["total_minor"] == plan["total_minor"]
    assert job["lower_bound_minor"] <= job["total_minor"]
    assert {claim["status"] for claim in job["claims"]} == {"proposed"}
    assert sum(claim["moist_kg"] for claim in job["claims"]) == sum(
        deal["moist_kg"] for deal in plan["deals"]
    )
    (listed,) = client.get("/api/v1/plans/").json()["results"]
    assert listed["id"] == job["id"]
    assert "plan" not in listed


@pytest.mark.django_db(transaction=True)
def test_what_a_plan_counts_is_what_was_asked(client):
    world = stored_world()
    everyone = client.get(ask(client, three_days(world))["Location"]).json()
    builders = client.get(
        ask(client, three_days(world, objective="builders"))["Location"]
    ).json()
    kinds = {line["kind"] for line in builders["plan"]["lines"]}
    assert "tipping_avoided" not in kinds
    assert builders["total_minor"] > everyone["total_minor"]
    assert builders["objective"] == "builders"


@pytest.mark.django_db
def test_the_same_question_gets_the_same_plan(
    client, django_capture_on_commit_callbacks
):
    """Property: nothing in a plan depends on the clock or on chance, but for the codes of
    its tickets, which nobody may guess."""
    world = stored_world()
    plans = []
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            answer = ask(client, three_days(world))
        plans.append(client.get(answer["Location"]).json()["plan"])
    codes = [
        load.pop("ticket")
        for plan in plans
        for shift in plan["shifts"]
        for load in shift["loads"]
    ]
    assert len(set(codes)) == len(codes) > 0
    assert plans[0] == plans[1]


@pytest.mark.django_db
def test_a_waiting_job_says_so_and_can_be_given_up_once(client):
    _, public_id = request_plan(request=stored_world().request, at=AT)
    address = f"/api/v1/plans/{public_id}/"
    job = client.get(address).json()
    assert (job["status"], job["progress"], job["plan"]) == ("queued", 0, None)
    assert client.delete(address).status_code == 204
    assert client.get(address).json()["status"] == "cancelled"
    again = client.delete(address)
    assert again.status_code == 409
    assert again.json()["problems"][0]["code"] == "plan_ended"


@pytest.mark.django_db
def test_a_job_that_nobody_asked_for_is_not_there(client):
    for answer in (
        client.get(f"/api/v1/plans/{uuid4()}/"),
        client.delete(f"/api/v1/plans/{uuid4()}/"),
    ):
        assert answer.status_code == 404
        assert answer.json()["problems"][0]["code"] == "unknown_plan"


@pytest.mark.django_db(transaction=True)
def test_a_refused_job_says_why(client):
    """A build far from every truck's roads: here the network vanished from under it."""
    world = stored_world()
    _, public_id = request_plan(request=world.request, at=AT)
    PlanRun.objects.filter(public_id=public_id).update(
        status="failed",
        refusal=[
            {
                "code": "too_far_from_road",
                "field": "place Ada's pit (place-1)",
                "given": "46.02, 3.03",
                "message": "the nearest road is 900 m away",
                "remedy": "Move the pin.",
            }
        ],
    )
    job = client.get(f"/api/v1/plans/{public_id}/").json()
    assert job["problems"][0]["code"] == "too_far_from_road"
    assert job["problems"][0]["remedy"] == "Move the pin."


@pytest.mark.django_db(transaction=True)
def test_a_job_that_cannot_reach_a_broker_still_waits(client, monkeypatch):
    """The broker is the edge, and here it is away."""

    def away(*_args, **_kwargs):
        raise OperationalError("nothing listens there")

    world = stored_world()
    app.conf.task_always_eager = False
    monkeypatch.setattr(app.amqp, "send_task_message", away)
    answer = ask(client, three_days(world))
    assert answer.status_code == 202
    assert client.get(answer["Location"]).json()["status"] == "queued"
