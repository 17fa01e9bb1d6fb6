"""The form of what a plan made anew says of the plan that it replaces."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from pydantic import BaseModel, Field

from logistics.domain.living.changes import ChangeKind


class PlacedAnswer(BaseModel):
    """Where a load stands in a plan. Times are local."""

    truck: str
    truck_name: str
    day: str
    loads_at: datetime
    tips_at: datetime
    moist_kg: int


class ChangeAnswer(BaseModel):
    """What became of one load."""

    kind: ChangeKind
    deal: int
    text: str
    was: PlacedAnswer | None = Field(description="null of a load that was added")
    now: PlacedAnswer | None = Field(description="null of a load that was dropped")


class BalanceAnswer(BaseModel):
    """Planned against arrived by the tickets of one deal, moist kg, when it was made."""

    deal: int
    agreed_kg: int
    arrived_kg: int
    estimated_kg: int = Field(description="what the accepted loads were planned to be")
    refused_kg: int
    given_up_kg: int = Field(description="refused, and not wanted again")
    to_come_kg: int


class ReplanAnswer(BaseModel):
    """The difference to the plan that was replaced. Money of haulage, minor units."""

    replaces: UUID | None = Field(description="null: a plan that was not stored")
    as_of: datetime = Field(description="what lay before this moment is a fact")
    what: list[str] = Field(description="what happened, in words")
    kept: int
    moved: int
    added: int
    dropped: int
    changes: list[ChangeAnswer]
    haul_before_minor: int
    haul_after_minor: int
    extra_minor: int = Field(description="what the disruption costs in haulage")
    left_before_kg: int
    left_after_kg: int
    balances: list[BalanceAnswer]
