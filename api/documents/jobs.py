"""Plan jobs as documents."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import UUID

from pydantic import BaseModel, Field

from api.documents.plan_models import PlanAnswer
from matching.selectors.runs import StoredRun


class ProblemAnswer(BaseModel):
    """One thing that is wrong, and what would be right."""

    code: str
    field: str
    given: str
    message: str
    remedy: str


class ProblemsAnswer(BaseModel):
    """Why something was refused."""

    problems: list[ProblemAnswer]


class ClaimAnswer(BaseModel):
    """Part of an offer for a need; a proposal promises nothing."""

    id: int
    offer: int
    need: int
    moist_kg: int
    status: str


class JobAnswer(BaseModel):
    """A plan that was asked for, and where it stands. Money is minor units."""

    id: UUID
    name: str
    status: str = Field(description="queued, running, done, failed or cancelled")
    progress: int = Field(description="percent")
    builds: list[int]
    trucks: list[int] | None = Field(description="null: every truck")
    first_day: date
    last_day: date
    reach_km: float
    objective: str
    certainty: str
    problems: list[ProblemAnswer] = Field(description="why it failed")
    total_minor: int | None
    lower_bound_minor: int | None
    bound_method: str
    proven_optimal: bool | None
    offers_left_out: int = Field(
        description="offers in reach that are farther than those looked at"
    )
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None


class PlanJobAnswer(JobAnswer):
    """A job with its claims and, once it is done, the plan."""

    claims: list[ClaimAnswer]
    plan: PlanAnswer | None


def job_answer(run: StoredRun) -> JobAnswer:
    """A job as a document, without the plan."""
    asked = run.request
    return JobAnswer(
        id=run.public_id,
        name=asked.name,
        status=run.status,
        progress=run.progress,
        builds=list(asked.build_ids),
        trucks=None if asked.truck_ids is None else list(asked.truck_ids),
        first_day=asked.first_day,
        last_day=asked.last_day,
        reach_km=asked.reach_m / 1000,
        objective="everyone" if asked.count_disposal else "builders",
        certainty="safe" if asked.safe else "likely",
        problems=[
            ProblemAnswer(
                code=own.code,
                field=own.field,
                given=own.given,
                message=own.message,
                remedy=own.remedy,
            )
            for own in run.problems
        ],
        total_minor=run.total,
        lower_bound_minor=run.total_bound,
        bound_method=run.bound_method,
        proven_optimal=run.proven_optimal,
        offers_left_out=run.offers_left_out,
        created_at=run.created_at,
        started_at=run.started_at,
        finished_at=run.finished_at,
    )


def plan_job(run: StoredRun) -> dict[str, Any]:
    """A job as JSON of the form of `PlanJobAnswer`.

    The plan is given out as it was stored, whatever the form of plans is by now.
    """
    claims = [
        ClaimAnswer(
            id=own.id,
            offer=own.offer_id,
            need=own.need_id,
            moist_kg=own.kg,
            status=own.status,
        ).model_dump(mode="json")
        for own in run.claims
    ]
    head = job_answer(run).model_dump(mode="json")
    return {**head, "claims": claims, "plan": run.document}
