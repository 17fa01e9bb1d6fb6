"""The problem as it is after what happened: hours cut, trucks added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.living.disruptions import (
    DigStopped,
    Disruption,
    PlaceClosed,
    TruckAdded,
    TruckOut,
)
from logistics.domain.planning.problem import PlanProblem, Slot, Window

NEVER = 2**62
"""Later than any moment of a plan."""


def cut(windows: Sequence[Window], start: int, until: int) -> tuple[Window, ...]:
    """The windows without what lies from `start` to `until`."""
    found: list[Window] = []
    for opens, closes in windows:
        if until <= opens or closes <= start:
            found.append((opens, closes))
            continue
        found += [(opens, start)] if opens < start else []
        found += [(until, closes)] if until < closes else []
    return tuple(found)


def reshaped(
    problem: PlanProblem, disruptions: Sequence[Disruption], now: int
) -> PlanProblem:
    """The problem with the hours and trucks that are left from `now` on.

    Hours before `now` stay as they were: what was driven then is a fact. Numbers of
    places, hauls, trucks and slots stay; new trucks and their slots come last.
    """
    for own in disruptions:
        if isinstance(own, PlaceClosed | DigStopped):
            problem = _closed(problem, own, now)
        elif isinstance(own, TruckOut):
            problem = _out(problem, own, now)
        elif isinstance(own, TruckAdded):
            problem = _added(problem, own)
    return problem


def _closed(
    problem: PlanProblem, own: PlaceClosed | DigStopped, now: int
) -> PlanProblem:
    start = max(own.start, now)
    until = NEVER if own.until is None else own.until
    if until <= start:
        return problem
    hauls = []
    for haul in problem.hauls:
        pickup, drop = haul.pickup_windows, haul.drop_windows
        if problem.places[haul.origin].key == own.place:
            pickup = cut(pickup, start, until)
        tipped = problem.places[haul.destination].key == own.place
        if tipped and isinstance(own, PlaceClosed):
            drop = cut(drop, start, until)
        hauls.append(replace(haul, pickup_windows=pickup, drop_windows=drop))
    return replace(problem, hauls=tuple(hauls))


def _out(problem: PlanProblem, own: TruckOut, now: int) -> PlanProblem:
    start = max(own.start, now)
    until = NEVER if own.until is None else own.until
    slots = tuple(
        _shorter(slot, start, until)
        if problem.trucks[slot.truck].key == own.truck
        else slot
        for slot in problem.slots
    )
    return replace(problem, slots=slots)


def _shorter(slot: Slot, start: int, until: int) -> Slot:
    """The longer of the pieces that are left of the hours; none: no time at all."""
    pieces = cut([(slot.earliest, slot.latest)], start, until)
    opens, closes = max(
        pieces, key=lambda own: own[1] - own[0], default=(slot.earliest, slot.earliest)
    )
    return replace(slot, earliest=opens, latest=closes)


def _added(problem: PlanProblem, own: TruckAdded) -> PlanProblem:
    number = len(problem.trucks)
    slots = tuple(replace(slot, truck=number) for slot in own.slots)
    return replace(
        problem,
        trucks=(*problem.trucks, own.truck),
        slots=(*problem.slots, *slots),
    )
