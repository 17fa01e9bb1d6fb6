"""Plans without a broker run in a thread of the server."""

from __future__ import annotations

import time
from datetime import date

import pytest

from api.deployment import ask_for_plan
from matching.domain.requests import PlanRequest
from matching.models import PlanRun
from tests.worlds import stored_world


@pytest.mark.django_db(transaction=True)
def test_a_plan_is_asked_for_at_once_and_ends_by_itself(settings):
    settings.MARLPIT_JOB_THREAD = True
    world = stored_world()
    day = date(2027, 5, 10)
    public_id = ask_for_plan(PlanRequest((world.build,), day, day))
    until = time.monotonic() + 60
    run = PlanRun.objects.get(public_id=public_id)
    while run.status in {"queued", "running"} and time.monotonic() < until:
        time.sleep(0.1)
        run.refresh_from_db()
    assert run.status == "done", run.refusal
