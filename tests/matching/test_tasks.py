"""Jobs, in this process and on a real worker."""

from __future__ import annotations

import os
import subprocess
import sys
import time

import pytest
from django.conf import settings
from django.db import connection
from django.utils import timezone

from matching.models import PlanRun
from matching.services.plans import LOST_AFTER, request_plan
from matching.tasks import resend_lost_runs_task, run_plan_task
from tests.worlds import AT, stored_world


@pytest.mark.django_db
def test_a_task_plans_and_its_double_does_nothing():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    assert run_plan_task.delay(run_id=run_id).get() is True
    assert PlanRun.objects.get(pk=run_id).status == "done"
    assert run_plan_task.delay(run_id=run_id).get() is False


@pytest.mark.django_db
def test_a_task_ignores_arguments_of_later_versions():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    assert run_plan_task.delay(run_id=run_id, priority=9).get() is True


@pytest.mark.django_db
def test_a_task_for_a_run_that_is_gone_does_nothing():
    assert run_plan_task.delay(run_id=12345).get() is False


@pytest.mark.django_db
def test_lost_runs_are_sent_again():
    lost, _ = request_plan(
        request=stored_world().request, at=timezone.now() - LOST_AFTER * 2
    )
    fresh, _ = request_plan(request=stored_world().request, at=timezone.now())
    assert resend_lost_runs_task.delay().get() == 1
    assert PlanRun.objects.get(pk=lost).status == "done"
    assert PlanRun.objects.get(pk=fresh).status == "queued"


def database_url() -> str:
    own = settings.DATABASES["default"]
    if connection.vendor == "sqlite":
        return f"sqlite:///{connection.settings_dict['NAME']}"
    name = connection.settings_dict["NAME"]
    login = (
        f"{own['USER']}:{own['PASSWORD']}@" if own["PASSWORD"] else f"{own['USER']}@"
    )
    return f"postgres://{login}{own['HOST']}:{own['PORT']}/{name}"


@pytest.fixture
def worker():
    """A worker in a process of its own, on the test's database and the given broker."""
    environment = os.environ | {"DATABASE_URL": database_url()}
    command = [sys.executable, "-m", "celery", "-A", "api", "worker", "--pool=solo"]
    process = subprocess.Popen(
        [*command, "--loglevel=warning", "--without-gossip", "--without-mingle"],
        env=environment,
        cwd=settings.BASE_DIR,
    )
    yield process
    process.terminate()
    process.wait(timeout=30)


def ended(run_id: int, *, within_s: float = 60.0) -> PlanRun:
    """The run, once its job has ended."""
    give_up = time.monotonic() + within_s
    run = PlanRun.objects.get(pk=run_id)
    while time.monotonic() < give_up:
        run.refresh_from_db()
        if run.status not in ("queued", "running"):
            return run
        time.sleep(0.2)
    raise AssertionError(f"the job did not end within {within_s} s: {run.status}")


@pytest.mark.redis
@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_a_real_worker_takes_a_plan_from_the_broker(client, worker):
    world = stored_world()
    answer = client.post(
        "/api/v1/plans/",
        data={
            "builds": [world.build],
            "first_day": "2026-03-02",
            "last_day": "2026-03-04",
        },
        content_type="application/json",
    )
    assert answer.status_code == 202
    run = ended(PlanRun.objects.get().pk)
    assert run.status == "done"
    assert worker.poll() is None
    document = client.get(answer["Location"]).json()
    assert document["plan"]["total_minor"] == run.total
