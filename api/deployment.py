"""What this deployment is set to, in the terms that services take; shared by the doors."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

from api.documents.answers import plan_document
from api.documents.plan_models import PlanAnswer
from api.documents.replanned import replanned_document
from api.documents.share_answers import shares_document
from logistics.services.distances import Roads
from matching.domain.community import CommunityPlan
from matching.domain.cost_shares import CostShares
from matching.domain.replan_requests import ReplanRequest
from matching.domain.requests import PlanRequest
from matching.domain.scenario import Scenario
from matching.services.plans import request_plan
from matching.services.replan_requests import request_replan
from matching.services.replans import Anew
from matching.services.shares import request_shares
from matching.tasks import run_plan_task, run_shares_task


def roads() -> Roads:
    """The road network in use."""
    return Roads(settings.MARLPIT_NETWORK_ROOT, settings.MARLPIT_NETWORK)


def zone() -> ZoneInfo:
    """The local time of all opening hours and dates."""
    return ZoneInfo(settings.TIME_ZONE)


def render_plan(name: str, scenario: Scenario, plan: CommunityPlan) -> dict[str, Any]:
    """The plan document as JSON; without a name it is called after its builds."""
    builds = ", ".join(build.name for build in scenario.builds)
    answer = plan_document(
        scenario,
        plan,
        name=name or f"Plan for {builds}"[:120],
        currency=settings.MARLPIT_CURRENCY,
        zone=zone(),
    )
    return answer.model_dump(mode="json")


def render_again(old: dict[str, Any], anew: Anew) -> dict[str, Any]:
    """The document of a plan made anew as JSON, from that of the plan it replaces."""
    plan = PlanAnswer.model_validate(old)
    return replanned_document(plan, anew, zone=zone()).model_dump(mode="json")


def render_shares(shares: CostShares) -> dict[str, Any]:
    """The sharing of a plan as JSON."""
    answer = shares_document(shares, currency=settings.MARLPIT_CURRENCY)
    return answer.model_dump(mode="json")


_one_at_a_time = ThreadPoolExecutor(max_workers=1, thread_name_prefix="plan")


def ask_for_plan(request: PlanRequest, *, wait: bool = False) -> UUID:
    """Queue a plan and send it to a worker; its public id. Raises what `request_plan` does.

    Without a broker the worker is a thread of this process, or with `wait` the caller
    itself. If no broker answers, the row still waits and is sent again later.
    """
    with transaction.atomic():
        run_id, public_id = request_plan(request=request, at=timezone.now())
        transaction.on_commit(lambda: _send(run_id, wait=wait), robust=True)
    return public_id


def ask_for_replan(
    public_id: UUID, request: ReplanRequest, *, wait: bool = False
) -> UUID:
    """Queue the plan that replaces another; sent like a plan. Its public id. Raises what
    `request_replan` does."""
    with transaction.atomic():
        run_id, new_id = request_replan(
            public_id=public_id, request=request, at=timezone.now()
        )
        transaction.on_commit(lambda: _send(run_id, wait=wait), robust=True)
    return new_id


def ask_for_shares(public_id: UUID, *, wait: bool = False) -> None:
    """Queue the sharing of a plan's total, unless that is done or under way; sent like a
    plan. Raises what `request_shares` does."""
    with transaction.atomic():
        job_id = request_shares(public_id=public_id, at=timezone.now())
        if job_id is not None:
            send = partial(run_shares_task.delay, job_id=job_id)
            transaction.on_commit(lambda: _hand_over(send, wait=wait), robust=True)


def _send(run_id: int, *, wait: bool) -> None:
    _hand_over(partial(run_plan_task.delay, run_id=run_id), wait=wait)


def _hand_over(send: Callable[[], object], *, wait: bool) -> None:
    if settings.CELERY_TASK_ALWAYS_EAGER and settings.MARLPIT_JOB_THREAD and not wait:
        _one_at_a_time.submit(_run_here, send)
    else:
        send()


def _run_here(send: Callable[[], object]) -> None:
    try:
        send()
    finally:
        # The thread's own connection; the request that asked has closed its own.
        connection.close()
