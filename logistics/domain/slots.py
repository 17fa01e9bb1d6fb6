"""The days of a truck as slots, with the nights that it may spend away from its base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.planning.problem import Slot


@dataclass(frozen=True, slots=True)
class WorkDay:
    """A day on which a truck can be had: earliest leaving and latest return, seconds UTC.

    `truck` is the number of the truck as it is on this day: on weak roads it may carry
    less, and counts as another.
    """

    truck: int
    day: str
    earliest: int
    latest: int


def slots_for(days: Sequence[WorkDay], overnight: int | None = None) -> list[Slot]:
    """The slots of one truck, whose days are in order.

    One a day from base to base; with a place where it may stand `overnight` also those that
    begin or end there. The first day begins and the last day ends at the base.
    """
    slots = []
    for number, own in enumerate(days):
        starts = (None,) if overnight is None or not number else (None, overnight)
        last = number == len(days) - 1
        ends = (None,) if overnight is None or last else (None, overnight)
        slots += [
            Slot(own.truck, own.day, own.earliest, own.latest, start, end)
            for start in starts
            for end in ends
        ]
    return slots
