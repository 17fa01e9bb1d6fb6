"""Plan runs: jobs with their progress and their answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from logistics.domain.errors import Problem, refuse
from matching.domain.requests import PlanRequest
from matching.domain.stored import load_request
from matching.models import Claim, PlanRun, Replan


@dataclass(frozen=True, slots=True)
class StoredClaim:
    """A claim with its row id; moist kg."""

    id: int
    offer_id: int
    need_id: int
    kg: int
    status: str


@dataclass(frozen=True, slots=True)
class StoredRun:
    """A job. Money in minor units; figures and `document` are None until it is done, and
    `problems` are empty unless it failed."""

    id: int
    public_id: UUID
    status: str
    progress: int
    request: PlanRequest
    problems: tuple[Problem, ...]
    total: int | None
    total_bound: int | None
    bound_method: str
    proven_optimal: bool | None
    offers_left_out: int
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None
    document: dict[str, Any] | None = None
    claims: tuple[StoredClaim, ...] = ()


def _run_of(row: PlanRun) -> StoredRun:
    return StoredRun(
        id=row.pk,
        public_id=row.public_id,
        status=row.status,
        progress=row.progress,
        request=load_request(row.request),
        problems=tuple(Problem(**own) for own in row.refusal or ()),
        total=row.total,
        total_bound=row.total_bound,
        bound_method=row.bound_method,
        proven_optimal=row.proven_optimal,
        offers_left_out=row.offers_left_out,
        created_at=row.created_at,
        started_at=row.started_at,
        finished_at=row.finished_at,
    )


def get_run(public_id: UUID) -> StoredRun:
    """One run with its document and claims. Raises Refused "unknown_plan"."""
    row = PlanRun.objects.filter(public_id=public_id).first()
    if row is None:
        raise refuse(
            "unknown_plan",
            field="plan",
            given=public_id,
            message="there is no such plan",
            remedy="Use the address that was given when the plan was asked for.",
        )
    claims = tuple(
        StoredClaim(own.pk, own.offer_id, own.need_id, own.kg, own.status)
        for own in Claim.objects.filter(run=row).order_by("pk")
    )
    return replace(_run_of(row), document=row.document, claims=claims)


def list_runs(*, offset: int, limit: int) -> tuple[list[StoredRun], int]:
    """A page of runs without documents, the newest first, and how many there are."""
    rows = PlanRun.objects.defer("document").order_by("-pk")
    return [_run_of(row) for row in rows[offset : offset + limit]], rows.count()


def replans_of(public_id: UUID) -> tuple[list[StoredRun], UUID | None]:
    """Runs that were to replace one, without documents, the newest first, and which did.
    Raises Refused "unknown_plan"."""
    own = Replan.objects.filter(replaces__public_id=get_run(public_id).public_id)
    rows = PlanRun.objects.defer("document").filter(replan__in=own).order_by("-pk")
    current = own.filter(current=True).values_list("run__public_id", flat=True).first()
    return [_run_of(row) for row in rows], current


def waiting_runs(*, lost_before: datetime) -> list[int]:
    """Ids of runs that nobody works on: queued or started before a moment, and not ended."""
    lost = Q(status=PlanRun.Status.RUNNING, started_at__lt=lost_before)
    queued = Q(status=PlanRun.Status.QUEUED, created_at__lt=lost_before)
    rows = PlanRun.objects.filter(lost | queued).order_by("pk")
    return list(rows.values_list("pk", flat=True))
