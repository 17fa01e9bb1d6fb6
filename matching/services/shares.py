"""Sharing the total of a plan as a job of its own: it takes many plans.

The row is the queue, as for plans. The question is gathered anew; where the market has
changed so far that the plan could not be made any more, the job refuses.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F, Q

from logistics.domain.errors import Problem, Refused, refuse
from logistics.services.distances import Roads
from matching.domain.cost_shares import CostShares, share_plan
from matching.domain.group_costs import Told
from matching.domain.scenario import Scenario
from matching.domain.stored import load_request
from matching.models import PlanRun, ShareRun
from matching.selectors.scenarios import gather
from matching.selectors.shares import waiting_shares
from matching.services.distances import distances_of
from matching.services.plans import MOST_ATTEMPTS

LONGEST = timedelta(minutes=40)
"""What a worker may take: a plan for each of many groups."""
LOST_AFTER = timedelta(minutes=45)
"""When the worker of a job counts as dead."""

ReadPlan = Callable[[dict[str, Any]], Told]
"""Reads what was told of a plan from its document."""
RenderShares = Callable[[CostShares], dict[str, Any]]
"""Makes the document that people will read of a sharing."""


@dataclass(frozen=True, slots=True)
class ShareMeans:
    """What a worker needs beside the job: local time, roads, the clock, glasses and a pen."""

    zone: ZoneInfo
    roads: Roads
    clock: Callable[[], datetime]
    read: ReadPlan
    render: RenderShares


def request_shares(*, public_id: UUID, at: datetime) -> int | None:
    """Queue the sharing of a plan and return the job's row id; None if one is there that
    has not failed.

    Raises Refused "unknown_plan", or "plan_not_done". The caller sends the message to a
    worker once the transaction is committed.
    """
    run = PlanRun.objects.filter(public_id=public_id).first()
    if run is None or run.status != PlanRun.Status.DONE:
        raise refuse(
            "plan_not_done" if run else "unknown_plan",
            field="plan",
            given=public_id,
            message="this plan is not done" if run else "there is no such plan",
            remedy="Wait until it is done." if run else "Check the address.",
        )
    job, new = ShareRun.objects.get_or_create(run=run, defaults={"created_at": at})
    if new:
        return job.pk
    again = ShareRun.objects.filter(pk=job.pk, status=ShareRun.Status.FAILED).update(
        status=ShareRun.Status.QUEUED,
        attempt=0,
        refusal=None,
        created_at=at,
        started_at=None,
        finished_at=None,
    )
    return job.pk if again else None


def lost_shares(*, at: datetime) -> list[int]:
    """Ids of jobs whose message or worker was lost, and that should be sent again."""
    return waiting_shares(lost_before=at - LOST_AFTER)


def run_shares(*, job_id: int, means: ShareMeans) -> bool:
    """Share and store the answer, or the refusal; False if the job was not ours to take.

    Gathering and deciding hold no transaction. A fault of our own is stored as
    "planner_fault" and raised.
    """
    attempt = _take(job_id, means.clock())
    if attempt is None:
        return False
    ours = ShareRun.objects.filter(
        pk=job_id, attempt=attempt, status=ShareRun.Status.RUNNING
    )
    try:
        document = _shared(job_id, means)
    except Refused as refused:
        return bool(ours.update(**_failure(refused.problems, means.clock())))
    except Exception as error:
        ours.update(**_failure((_fault(error),), means.clock()))
        raise
    return bool(
        ours.update(
            status=ShareRun.Status.DONE,
            document=document,
            finished_at=means.clock(),
        )
    )


@transaction.atomic
def _take(job_id: int, at: datetime) -> int | None:
    """Make the job ours and return the number of the attempt, None if it is not free."""
    free = Q(status=ShareRun.Status.QUEUED) | Q(
        status=ShareRun.Status.RUNNING, started_at__lt=at - LOST_AFTER
    )
    taken = ShareRun.objects.filter(free, pk=job_id).update(
        status=ShareRun.Status.RUNNING, attempt=F("attempt") + 1, started_at=at
    )
    if not taken:
        return None
    row = ShareRun.objects.filter(pk=job_id)
    attempt = row.values_list("attempt", flat=True).get()
    if attempt > MOST_ATTEMPTS:
        row.update(**_failure((_given_up(),), at))
        return None
    return attempt


def _shared(job_id: int, means: ShareMeans) -> dict[str, Any]:
    run = PlanRun.objects.get(share_run__pk=job_id)
    request = load_request(run.request)
    told = means.read(run.document or {})
    gathered = gather(request, zone=means.zone)
    distances = distances_of(gathered.places, roads=means.roads)
    scenario = gathered.scenario(distances, request)
    _check_fresh(scenario, told)
    return means.render(share_plan(scenario, told))


def _check_fresh(scenario: Scenario, told: Told) -> None:
    """Refuse where what the plan was told of is no longer there."""
    held = {own.key: own.quantity_kg for own in scenario.offers}
    taken = Counter[str]()
    for own in told.taken:
        taken[own.offer] += own.kg
    gone = [key for key, kg in taken.items() if kg > held.get(key, 0)]
    keys = {own.key for own in scenario.demands}
    gone += [own.demand for own in told.taken if own.demand not in keys]
    if gone or len(told.missing) != len(scenario.builds):
        raise refuse(
            "plan_outdated",
            field="plan",
            given=", ".join(gone) or f"{len(told.missing)} builds",
            message="the market has changed since this plan was made",
            remedy="Ask for a plan anew, and share that one before anything is agreed.",
        )


def _failure(problems: tuple[Problem, ...], at: datetime) -> dict[str, Any]:
    return {
        "status": ShareRun.Status.FAILED,
        "refusal": [asdict(problem) for problem in problems],
        "finished_at": at,
    }


def _fault(error: Exception) -> Problem:
    return Problem(
        "planner_fault",
        "shares",
        type(error).__name__,
        "the sharing failed; this is a fault of the service, not of the request",
        "Tell the people who run this service.",
    )


def _given_up() -> Problem:
    return Problem(
        "planner_lost",
        "shares",
        f"{MOST_ATTEMPTS} attempts",
        "every worker that tried this was lost",
        "Ask for a plan of fewer builds, or tell the people who run this service.",
    )
