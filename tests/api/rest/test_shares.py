"""The sharing of a plan's total over HTTP, on its page, and by the worker's tasks."""

from __future__ import annotations

from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.utils import timezone

from api.documents.text import money
from matching.models import Claim, Offer, PlanRun, ShareRun
from matching.services.plans import request_plan
from matching.services.shares import LOST_AFTER, request_shares
from matching.tasks import resend_lost_shares_task, run_shares_task
from tests.api.web.reading import outline
from tests.worlds import AT, Body, bens_build, place, raw, store_build, stored_world


def planned(client: Client, **more: Any) -> Body:
    """A plan for Ben's build and another one beside it."""
    world = stored_world()
    other = store_build(
        bens_build(name="Fay's shed", place=place("Fay's plot", 46.001, 3.011))
    )
    body = {
        "builds": [world.build, other],
        "first_day": "2026-03-02",
        "last_day": "2026-03-04",
    }
    answer = client.post(
        "/api/v1/plans/", raw(body | more), content_type="application/json"
    )
    job: Body = client.get(answer["Location"]).json()
    assert job["status"] == "done"
    return job


def shares_of(job: Body) -> str:
    return f"/api/v1/plans/{job['id']}/shares/"


@pytest.mark.django_db(transaction=True)
def test_shares_are_asked_for_and_read_at_their_location(client):
    job = planned(client)
    answer = client.post(shares_of(job))
    assert answer.status_code == 202
    told = client.get(answer["Location"]).json()
    assert (told["status"], told["problems"]) == ("done", [])
    shares = told["shares"]
    assert [own["name"] for own in shares["builds"]] == [
        own["name"] for own in job["plan"]["builds"]
    ]
    assert sum(own["share_minor"] for own in shares["builds"]) == job["total_minor"]
    assert shares["total_minor"] == job["total_minor"]
    for own in shares["builds"]:
        assert own["saving_minor"] == own["alone_minor"] - own["share_minor"]
    if shares["stable"]:
        assert min(own["saving_minor"] for own in shares["builds"]) >= 0
    assert len(shares["groups"]) == 2
    assert shares["words"]


@pytest.mark.django_db(transaction=True)
def test_asked_again_the_shares_stay_as_they_were_told(client):
    job = planned(client)
    first = client.post(shares_of(job)).json()
    assert client.post(shares_of(job)).json() == first
    assert ShareRun.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_shares_of_nothing_are_refused(client):
    assert client.get(f"/api/v1/plans/{uuid4()}/shares/").status_code == 404
    assert client.post(f"/api/v1/plans/{uuid4()}/shares/").status_code == 404
    _, public_id = request_plan(request=stored_world().request, at=AT)
    answer = client.post(f"/api/v1/plans/{public_id}/shares/")
    assert answer.status_code == 409
    assert answer.json()["problems"][0]["code"] == "plan_not_done"


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_the_market_has_overtaken_is_not_shared_until_it_can_be(client):
    job = planned(client)
    taken = Claim.objects.filter(run__public_id=job["id"]).first()
    assert taken is not None
    offer = Offer.objects.filter(pk=taken.offer_id)
    offer.update(reserved_kg=offer.get().quantity_kg)
    client.post(shares_of(job))
    told = client.get(shares_of(job)).json()
    assert told["status"] == "failed"
    assert told["problems"][0]["code"] == "plan_outdated"
    assert told["shares"] is None
    page = outline(client.get(f"/plans/{job['id']}/")).text
    assert "The market has changed since this plan was made" in page
    offer.update(reserved_kg=0)
    client.post(shares_of(job))
    assert client.get(shares_of(job)).json()["status"] == "done"


@pytest.mark.django_db(transaction=True)
def test_the_plan_page_asks_for_shares_and_shows_them(client):
    job = planned(client)
    page = client.get(f"/plans/{job['id']}/")
    assert "Share the cost" in outline(page).text
    answer = client.post(f"/plans/{job['id']}/shares/")
    assert answer.status_code == 302
    assert answer["Location"].endswith("#shares")
    text = outline(client.get(f"/plans/{job['id']}/")).text
    shares = client.get(shares_of(job)).json()["shares"]
    for own in shares["builds"]:
        for kind in ("alone_minor", "share_minor", "saving_minor"):
            assert money(own[kind], "EUR") in text
    assert shares["words"] in text
    state = client.get(f"/plans/{job['id']}/shares/progress.json").json()
    assert state == {"waiting": False, "state": "Shared", "progress": 100}


@pytest.mark.django_db(transaction=True)
def test_a_page_of_shares_under_way_follows_them_by_itself(client):
    job = planned(client)
    request_shares(public_id=UUID(job["id"]), at=AT)
    page = client.get(f"/plans/{job['id']}/").content.decode()
    assert f'data-progress="/plans/{job["id"]}/shares/progress.json"' in page
    assert "marlpit/progress.js" in page
    assert client.get(f"/plans/{job['id']}/shares/progress.json").json()["waiting"]


@pytest.mark.django_db(transaction=True)
def test_a_plan_for_one_build_has_nothing_to_share(client):
    world = stored_world()
    body = {
        "builds": [world.build],
        "first_day": "2026-03-02",
        "last_day": "2026-03-04",
    }
    client.post("/api/v1/plans/", raw(body), content_type="application/json")
    run = PlanRun.objects.get()
    assert (
        "Sharing the cost" not in outline(client.get(f"/plans/{run.public_id}/")).text
    )
    assert client.post(f"/plans/{uuid4()}/shares/").status_code == 404
    assert client.get(f"/plans/{run.public_id}/shares/progress.json").status_code == 404


@pytest.mark.django_db(transaction=True)
def test_a_job_is_taken_once_and_a_lost_one_is_sent_again(client):
    job = planned(client)
    run = PlanRun.objects.get(public_id=job["id"])
    ShareRun.objects.create(run=run, created_at=timezone.now() - LOST_AFTER * 2)
    assert resend_lost_shares_task.delay().get() == 1
    own = ShareRun.objects.get()
    assert (own.status, own.attempt) == ("done", 1)
    assert run_shares_task.delay(job_id=own.pk).get() is False


@pytest.mark.django_db(transaction=True)
def test_a_job_that_loses_every_worker_is_given_up(client):
    job = planned(client)
    run = PlanRun.objects.get(public_id=job["id"])
    long_ago = timezone.now() - LOST_AFTER * 2
    own = ShareRun.objects.create(
        run=run, created_at=long_ago, started_at=long_ago, status="running", attempt=3
    )
    assert run_shares_task.delay(job_id=own.pk).get() is False
    own.refresh_from_db()
    assert own.status == "failed"
    assert own.refusal is not None
    assert own.refusal[0]["code"] == "planner_lost"
