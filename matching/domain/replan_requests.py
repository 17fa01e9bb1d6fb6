"""What somebody says has happened to a plan, and its stored form."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from pydantic import TypeAdapter

from logistics.domain.living.disruptions import (
    DigStopped,
    PlaceClosed,
    RunsLate,
    TruckOut,
)

Stored = dict[str, Any]


@dataclass(frozen=True, slots=True)
class LoadRefused:
    """The load with this ticket was turned away; `comes_again`: its mass is wanted."""

    ticket: str
    comes_again: bool = True


@dataclass(frozen=True, slots=True)
class DealChanged:
    """Of the deal with this number, from 0, so many percent more comes than was agreed."""

    deal: int
    percent: float


@dataclass(frozen=True, slots=True)
class TruckJoins:
    """A truck of the fleet may drive on the days of the plan as well."""

    truck_id: int


Event = (
    TruckOut
    | PlaceClosed
    | DigStopped
    | LoadRefused
    | DealChanged
    | RunsLate
    | TruckJoins
)

_KINDS: dict[str, type[Event]] = {
    own.__name__: own
    for own in (
        TruckOut,
        PlaceClosed,
        DigStopped,
        LoadRefused,
        DealChanged,
        RunsLate,
        TruckJoins,
    )
}


@dataclass(frozen=True, slots=True)
class ReplanRequest:
    """What has happened, by `now` (seconds UTC). `pinned` are numbers of shifts, as the
    plan's document counts them from 0, that must stay as they are."""

    now: int
    events: tuple[Event, ...] = ()
    pinned: tuple[int, ...] = ()


def dump_replan(request: ReplanRequest) -> Stored:
    """A request."""
    events = [{"kind": type(own).__name__, **asdict(own)} for own in request.events]
    return {"now": request.now, "events": events, "pinned": list(request.pinned)}


def load_replan(stored: Stored) -> ReplanRequest:
    """A request."""
    events = []
    for own in stored["events"]:
        fields = {name: value for name, value in own.items() if name != "kind"}
        kind = _KINDS[own["kind"]]
        events.append(TypeAdapter(kind).validate_python(fields))
    return ReplanRequest(stored["now"], tuple(events), tuple(stored["pinned"]))
