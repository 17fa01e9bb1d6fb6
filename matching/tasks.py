"""Work that a worker does: each task is one call of a service."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from celery import shared_task
from django.conf import settings
from django.utils import timezone
from django.utils.module_loading import import_string

from logistics.services.distances import Roads
from matching.services.plans import Means, lost_runs, run_plan
from matching.services.shares import LONGEST, ShareMeans, lost_shares, run_shares


@shared_task
def run_plan_task(*, run_id: int, **_: object) -> bool:
    """Plan, if nobody else took the run; a second message does nothing."""
    means = Means(
        zone=ZoneInfo(settings.TIME_ZONE),
        roads=Roads(settings.MARLPIT_NETWORK_ROOT, settings.MARLPIT_NETWORK),
        clock=timezone.now,
        # The document is the doors' language, which this package does not know.
        render=import_string(settings.MARLPIT_PLAN_RENDERER),
        render_again=import_string(settings.MARLPIT_REPLAN_RENDERER),
    )
    return run_plan(run_id=run_id, means=means)


@shared_task
def resend_lost_runs_task(**_: object) -> int:
    """Send runs again whose message or worker was lost; says how many."""
    lost = lost_runs(at=timezone.now())
    for run_id in lost:
        run_plan_task.delay(run_id=run_id)
    return len(lost)


@shared_task(time_limit=int(LONGEST.total_seconds()))
def run_shares_task(*, job_id: int, **_: object) -> bool:
    """Share the total of a plan, if nobody else took the job."""
    means = ShareMeans(
        zone=ZoneInfo(settings.TIME_ZONE),
        roads=Roads(settings.MARLPIT_NETWORK_ROOT, settings.MARLPIT_NETWORK),
        clock=timezone.now,
        read=import_string(settings.MARLPIT_PLAN_READER),
        render=import_string(settings.MARLPIT_SHARES_RENDERER),
    )
    return run_shares(job_id=job_id, means=means)


@shared_task
def resend_lost_shares_task(**_: object) -> int:
    """Send jobs again whose message or worker was lost; says how many."""
    lost = lost_shares(at=timezone.now())
    for job_id in lost:
        run_shares_task.delay(job_id=job_id)
    return len(lost)
