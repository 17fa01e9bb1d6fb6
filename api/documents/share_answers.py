"""The sharing of a plan's total as a document, and what it reads of the plan's own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from pydantic import BaseModel, Field

from api.documents.jobs import ProblemAnswer
from api.documents.plan_models import PlanAnswer
from api.documents.text import money
from matching.domain.cost_shares import CostShares
from matching.domain.group_costs import Basis, Taken, Told
from matching.selectors.shares import StoredShares


class BuildShareAnswer(BaseModel):
    """A build's part of the total. Money in minor units."""

    build: str
    name: str
    alone_minor: int = Field(description="what the best plan found for it alone costs")
    share_minor: int
    saving_minor: int = Field(description="below 0: it pays more than alone")
    missing_dry_kg: float = Field(description="what the plan leaves it without")
    shapley_minor: int | None = Field(
        default=None, description="the Shapley value, to compare with"
    )


class GroupCostAnswer(BaseModel):
    """What a group of builds would pay by itself, by the best plan found; with what is
    missing at the price that the words tell of."""

    builds: list[str]
    cost_minor: int


class SharesAnswer(BaseModel):
    """A plan's total shared among its builds. The shares add up to it exactly."""

    currency: str
    total_minor: int
    saving_minor: int = Field(description="what all save together")
    builds: list[BuildShareAnswer]
    rule: str = Field(
        description="alone, nucleolus_in_core, nucleolus_capped or nucleolus_uncapped"
    )
    basis: str = Field(
        description="all_offers: alone, a group could have every offer; as_supplied: what"
        " the plan gives it or leaves over"
    )
    stable: bool = Field(description="no group looked at would pay less by itself")
    every_group_checked: bool
    scarce_offers: list[str]
    groups: list[GroupCostAnswer]
    words: str = Field(description="which rule was used, and why")


class SharesJobAnswer(BaseModel):
    """The sharing of a plan that was asked for, and where it stands."""

    status: str = Field(description="queued, running, done or failed")
    problems: list[ProblemAnswer] = Field(description="why it failed")
    shares: SharesAnswer | None
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None


def shares_document(shares: CostShares, *, currency: str) -> SharesAnswer:
    """The sharing as a document."""
    values = shares.shapley or (None,) * len(shares.builds)
    return SharesAnswer(
        currency=currency,
        total_minor=shares.total,
        saving_minor=shares.saving,
        builds=[
            BuildShareAnswer(
                build=own.build,
                name=own.name,
                alone_minor=own.alone,
                share_minor=own.share,
                saving_minor=own.saving,
                missing_dry_kg=round(own.missing_dry_kg, 1),
                shapley_minor=value,
            )
            for own, value in zip(shares.builds, values, strict=True)
        ],
        rule=shares.rule,
        basis=shares.basis,
        stable=shares.stable,
        every_group_checked=shares.checked,
        scarce_offers=list(shares.scarce),
        groups=[
            GroupCostAnswer(builds=list(builds), cost_minor=cost)
            for builds, cost in shares.groups
        ],
        words=shares.words,
    )


def shares_job(own: StoredShares) -> dict[str, Any]:
    """A job as JSON of the form of `SharesJobAnswer`; the shares as they were stored."""
    head = SharesJobAnswer(
        status=own.status,
        problems=[
            ProblemAnswer(
                code=problem.code,
                field=problem.field,
                given=problem.given,
                message=problem.message,
                remedy=problem.remedy,
            )
            for problem in own.problems
        ],
        shares=None,
        created_at=own.created_at,
        started_at=own.started_at,
        finished_at=own.finished_at,
    )
    return head.model_dump(mode="json") | {"shares": own.document}


def shares_text(answer: SharesAnswer) -> str:
    """The sharing in lines for a terminal."""
    return "\n".join(_lines(answer)) + "\n"


def _lines(answer: SharesAnswer) -> Iterator[str]:
    alone = "alone" if answer.basis == Basis.ALL_OFFERS else "as supplied, alone"
    yield from ["", "SHARING THE COST"]
    for own in answer.builds:
        yield (
            f"  {own.name}: {money(own.share_minor, answer.currency)} ({alone}"
            f" {money(own.alone_minor, answer.currency)}, saves"
            f" {money(own.saving_minor, answer.currency)})"
        )
    yield f"  Together {money(answer.total_minor, answer.currency)}. {answer.words}"


def read_told(document: dict[str, Any]) -> Told:
    """A stored plan in the terms that shares are made from."""
    plan = PlanAnswer.model_validate(document)
    left = Counter[int]()
    builds = {own.build: index for index, own in enumerate(plan.builds)}
    missing = [sum(need.short_dry_kg for need in own.needs) for own in plan.builds]
    for unplanned in plan.unplanned:
        left[unplanned.deal] += unplanned.moist_kg
        # The document does not say how much of it is water: counted whole.
        missing[builds[plan.deals[unplanned.deal].build]] += unplanned.moist_kg
    taken = tuple(
        Taken(
            own.offer,
            own.need,
            own.moist_kg - left[index],
            min(own.moist_kg - own.left_over_kg, own.moist_kg - left[index]),
        )
        for index, own in enumerate(plan.deals)
        if own.moist_kg > left[index]
    )
    return Told(plan.total_minor, taken, tuple(missing))
