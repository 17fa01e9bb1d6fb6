"""What can happen to a plan. Moments are seconds UTC; `until` None means for good."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.planning.problem import PlanProblem, Slot
from logistics.domain.trucks import Truck


@dataclass(frozen=True, slots=True)
class TruckOut:
    """A truck breaks down, or its driver is ill."""

    truck: str
    start: int
    until: int | None = None


@dataclass(frozen=True, slots=True)
class PlaceClosed:
    """Nothing is loaded or tipped at a place."""

    place: str
    start: int
    until: int | None = None


@dataclass(frozen=True, slots=True)
class DigStopped:
    """Nothing is loaded at a place, because of rain for instance; tipping goes on."""

    place: str
    start: int
    until: int | None = None


@dataclass(frozen=True, slots=True)
class TurnedAway:
    """A load is refused at the gate. Its trip is charged in full; `comes_again` says
    whether its mass is still to come."""

    shift: int
    trip: int
    comes_again: bool = True


@dataclass(frozen=True, slots=True)
class MassChanged:
    """More of a haul comes than was agreed, or less: `percent` of `of_kg`, which is what
    the problem asks unless told."""

    haul: str
    percent: float
    of_kg: int | None = None


@dataclass(frozen=True, slots=True)
class TruckAdded:
    """One truck more; its slots count it as truck 0."""

    truck: Truck
    slots: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class RunsLate:
    """A truck's shift of one day runs late from now on."""

    truck: str
    day: str
    minutes: int


Disruption = (
    TruckOut
    | PlaceClosed
    | DigStopped
    | TurnedAway
    | MassChanged
    | TruckAdded
    | RunsLate
)


def check_disruptions(
    problem: PlanProblem, disruptions: tuple[Disruption, ...]
) -> None:
    """Raises Refused for what names nothing in this plan or cannot be meant."""
    known = {
        "truck": {own.key for own in problem.trucks},
        "place": {own.key for own in problem.places},
        "haul": {own.key for own in problem.hauls},
    }
    for number, own in enumerate(disruptions):
        field = f"disruptions[{number}]"
        for name, keys in known.items():
            given = getattr(own, name, None)
            if isinstance(given, str) and given not in keys:
                raise refuse(
                    f"unknown_{name}",
                    field=f"{field}.{name}",
                    given=given,
                    message=f"this plan has no such {name}",
                    remedy=f"Give one of: {', '.join(sorted(keys)[:8])}.",
                )
        _check_sense(own, field)


def _check_sense(own: Disruption, field: str) -> None:
    if isinstance(own, TruckOut | PlaceClosed | DigStopped):
        if own.until is not None and own.until <= own.start:
            raise refuse(
                "window_ends_before_it_begins",
                field=f"{field}.until",
                given=own.until,
                message="it ends before it begins",
                remedy="Correct the moments, or leave out until.",
            )
    elif isinstance(own, MassChanged) and not -100 <= own.percent <= 1000:
        raise refuse(
            "percent_out_of_range",
            field=f"{field}.percent",
            given=own.percent,
            message="nobody means this share",
            remedy="Give percent between -100 and 1000; 20 is a fifth more.",
        )
    elif isinstance(own, RunsLate) and not 0 < own.minutes <= 24 * 60:
        raise refuse(
            "minutes_out_of_range",
            field=f"{field}.minutes",
            given=own.minutes,
            message="a shift is late by minutes of one day",
            remedy="Give 1 to 1440 minutes.",
        )
