"""What is sent to have a plan made anew: what happened, in the plan's own words."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, Field

from api.documents.jobs import JobAnswer
from api.documents.quantity import Document
from api.documents.rest import Id
from logistics.domain.errors import refuse
from logistics.domain.living.disruptions import (
    DigStopped,
    PlaceClosed,
    RunsLate,
    TruckOut,
)
from matching.domain.replan_requests import (
    DealChanged,
    Event,
    LoadRefused,
    ReplanRequest,
    TruckJoins,
)

Key = Annotated[str, Field(min_length=1, max_length=120)]


class _While(Document):
    starts: AwareDatetime | None = Field(
        default=None, description="with its offset from UTC; now by default"
    )
    ends: AwareDatetime | None = Field(
        default=None, description="null: it is not known, or for good"
    )


class TruckOutIn(_While):
    """A truck breaks down, or nobody can drive it."""

    kind: Literal["truck_out"]
    truck: Key = Field(description='as in the plan\'s shifts, such as "truck-3"')


class PlaceClosedIn(_While):
    """Nothing is loaded or tipped at a place."""

    kind: Literal["place_closed"]
    place: Key = Field(description='as in the plan\'s places, such as "place-7"')


class DigStoppedIn(_While):
    """Rain, or anything else, stops the loading at a place; tipping goes on."""

    kind: Literal["dig_stopped"]
    place: Key = Field(description='as in the plan\'s places, such as "place-7"')


class LoadRefusedIn(Document):
    """A load is turned away at the gate, and its ticket does not say so yet."""

    kind: Literal["load_refused"]
    ticket: Key
    comes_again: bool = Field(default=True, description="is as much still wanted?")


class MassChangedIn(Document):
    """More of a deal comes than was agreed, or less."""

    kind: Literal["mass_changed"]
    deal: int = Field(ge=0, description="counts the plan's deals from 0")
    percent: float = Field(
        ge=-100, le=1000, description="20: a fifth more than was agreed"
    )


class RunsLateIn(Document):
    """A truck runs late on one day, from now on."""

    kind: Literal["runs_late"]
    truck: Key = Field(description='as in the plan\'s shifts, such as "truck-3"')
    day: Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\d$")]
    minutes: int = Field(gt=0, le=24 * 60)


class TruckJoinsIn(Document):
    """A truck of the fleet may drive on the days of the plan as well."""

    kind: Literal["truck_joins"]
    truck: Id = Field(description="id of a truck that the plan was made without")


DisruptionIn = Annotated[
    TruckOutIn
    | PlaceClosedIn
    | DigStoppedIn
    | LoadRefusedIn
    | MassChangedIn
    | RunsLateIn
    | TruckJoinsIn,
    Field(discriminator="kind"),
]


class ReplanIn(Document):
    """What happened. Refusals that tickets tell are known; an empty list takes up these."""

    disruptions: list[DisruptionIn] = Field(default=[], max_length=50)
    pinned: list[Annotated[int, Field(ge=0)]] = Field(
        default=[],
        max_length=500,
        description="shifts that must stay as they are; counts the plan's from 0",
    )
    as_of: AwareDatetime | None = Field(
        default=None, description="what lies before it is a fact; now by default"
    )


class ReplansAnswer(BaseModel):
    """The plans that were to replace one."""

    replaced_by: UUID | None = Field(description="null: the plan still holds")
    replans: list[JobAnswer] = Field(description="the newest first; one at most holds")


def replan_request(doc: ReplanIn, *, now: datetime) -> ReplanRequest:
    """What was sent as a request. Raises Refused "window_ends_before_it_begins"."""
    at = doc.as_of or now
    _check_spans(doc, at)
    return ReplanRequest(
        now=int(at.timestamp()),
        events=tuple(_event(own, at) for own in doc.disruptions),
        pinned=tuple(dict.fromkeys(doc.pinned)),
    )


def _check_spans(doc: ReplanIn, now: datetime) -> None:
    for number, own in enumerate(doc.disruptions):
        if isinstance(own, _While) and own.ends and own.ends <= (own.starts or now):
            raise refuse(
                "window_ends_before_it_begins",
                field=f"disruptions[{number}].ends",
                given=own.ends.isoformat(),
                message="it ends before it begins",
                remedy="Correct starts and ends, or leave out ends.",
            )


def _event(own: DisruptionIn, now: datetime) -> Event:
    if isinstance(own, TruckOutIn):
        return TruckOut(own.truck, *_span(own, now))
    if isinstance(own, PlaceClosedIn):
        return PlaceClosed(own.place, *_span(own, now))
    if isinstance(own, DigStoppedIn):
        return DigStopped(own.place, *_span(own, now))
    return _other(own)


def _other(
    own: LoadRefusedIn | MassChangedIn | RunsLateIn | TruckJoinsIn,
) -> Event:
    if isinstance(own, LoadRefusedIn):
        return LoadRefused(own.ticket, own.comes_again)
    if isinstance(own, MassChangedIn):
        return DealChanged(own.deal, own.percent)
    if isinstance(own, RunsLateIn):
        return RunsLate(own.truck, own.day, own.minutes)
    return TruckJoins(own.truck)


def _span(own: _While, now: datetime) -> tuple[int, int | None]:
    starts, ends = own.starts or now, own.ends
    return int(starts.timestamp()), None if ends is None else int(ends.timestamp())
