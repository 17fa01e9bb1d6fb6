"""The parts of a plan for which an export can be asked, with their names."""

from __future__ import annotations

from dataclasses import dataclass

from api.documents.plan_models import PlanAnswer
from logistics.domain.planning.result import StopKind


@dataclass(frozen=True, slots=True)
class Choice:
    """A value for what a kind takes, and what it stands for."""

    value: str
    name: str


def choices(plan: PlanAnswer, kind: str, takes: str) -> tuple[Choice, ...]:
    """What `takes` of that kind may be in this plan; empty for what takes nothing.

    Shifts and trucks stand in the plan's order, places in the order in which they are
    first loaded at. A build to which nothing comes has a calendar too, which says so.
    """
    if takes == "shift":
        return tuple(
            Choice(str(number), f"{own.truck_name}, {own.day}")
            for number, own in enumerate(plan.shifts, start=1)
        )
    if kind == "truck-calendar":
        named = {own.truck: own.truck_name for own in plan.shifts}
    elif kind == "build-calendar":
        named = {own.build: own.name for own in plan.builds}
    elif kind == "pickup-calendar":
        named = _loaded_at(plan)
    else:
        named = {}
    return tuple(Choice(key, name) for key, name in named.items())


def _loaded_at(plan: PlanAnswer) -> dict[str, str]:
    names = {own.key: own.name for own in plan.places}
    return {
        stop.place: names[stop.place]
        for shift in plan.shifts
        for stop in shift.stops
        if stop.kind is StopKind.LOAD
    }
