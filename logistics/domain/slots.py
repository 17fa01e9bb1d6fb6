"""The days of a fleet as slots: nights away from the base, and days on weak roads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from logistics.domain.errors import Refused
from logistics.domain.fleet import Chassis, on_weak_roads
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.planning.problem import Slot
from logistics.domain.trucks import Truck


@dataclass(frozen=True, slots=True)
class WorkDay:
    """A day on which a truck can be had: earliest leaving and latest return, seconds UTC."""

    day: date
    earliest: int
    latest: int


@dataclass(frozen=True, slots=True)
class OwnedTruck:
    """A truck with its days in order and the place where it may stand `overnight`, by its
    number, if that is not the base. `field` names it in refusals."""

    truck: Truck
    chassis: Chassis
    days: tuple[WorkDay, ...]
    overnight: int | None = None
    field: str = "truck"


@dataclass(frozen=True, slots=True)
class Fleet:
    """Trucks as a plan reckons with them: those given, in their order, then what they are
    on weak roads, under the same keys. `owners` has the number of the given one for each."""

    trucks: tuple[Truck, ...]
    slots: tuple[Slot, ...]
    owners: tuple[int, ...]


def slots_for(
    days: Sequence[WorkDay], trucks: Sequence[int | None], overnight: int | None = None
) -> list[Slot]:
    """The slots of one truck, whose days are in order; `trucks` has its number on each.

    One a day from base to base; with a place where it may stand `overnight` also those that
    begin or end there. The first day begins and the last day ends at the base. A day on
    which it has no number is none of its days.
    """
    own = [
        (day, truck)
        for day, truck in zip(days, trucks, strict=True)
        if truck is not None
    ]
    away = (None,) if overnight is None else (None, overnight)
    slots = []
    for number, (day, truck) in enumerate(own):
        starts = away if number else (None,)
        ends = away if number < len(own) - 1 else (None,)
        slots += [
            Slot(truck, day.day.isoformat(), day.earliest, day.latest, start, end)
            for start in starts
            for end in ends
        ]
    return slots


def fleet(owned: Sequence[OwnedTruck], roads: WeakRoads | None = None) -> Fleet:
    """The fleet on all its days. A truck that may carry nothing on weak roads has no slots
    on these days. Raises Refused where what a truck may carry then is not known."""
    trucks, owners = [own.truck for own in owned], list(range(len(owned)))
    slots: list[Slot] = []
    for index, own in enumerate(owned):
        weak: int | None = index
        if roads and any(roads.on(day.day) for day in own.days):
            lighter = _weakened(own, roads)
            weak = None
            if lighter is not None:
                weak = len(trucks)
                trucks.append(lighter)
                owners.append(index)
        numbers = [weak if roads and roads.on(day.day) else index for day in own.days]
        slots += slots_for(own.days, numbers, own.overnight)
    slots.sort(key=lambda slot: (slot.day, slot.truck))
    return Fleet(tuple(trucks), tuple(slots), tuple(owners))


def _weakened(own: OwnedTruck, roads: WeakRoads) -> Truck | None:
    try:
        return on_weak_roads(own.truck, own.chassis, roads)
    except Refused as refused:
        raise Refused(
            *(
                replace(problem, field=f"{own.field}.{problem.field}")
                for problem in refused.problems
            )
        ) from None
