"""What every export is made from: a stored plan, its ways, and when it was stored."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from api.documents.plan_models import (
    DealAnswer,
    LoadAnswer,
    PlaceAnswer,
    PlanAnswer,
    ShiftAnswer,
    StopAnswer,
)
from logistics.domain.errors import refuse
from logistics.domain.planning.result import StopKind

Line = tuple[tuple[float, float], ...]
"""Points as (longitude, latitude) in degrees, as GeoJSON writes them."""

Ways = Mapping[tuple[str, str], Line]
"""The line from one place to another, by their keys."""


@dataclass(frozen=True, slots=True)
class Book:
    """A plan and what its document does not say.

    A pair of places that is missing from `ways` is drawn straight; `credit` names whose
    roads the ways are, and is empty without a network. `stored_at` has a zone.
    `receipts` is the address before a ticket's code; empty: there are no receipt pages.
    """

    plan: PlanAnswer
    stored_at: datetime
    ways: Ways = field(default_factory=dict)
    credit: str = ""
    receipts: str = ""

    def places(self) -> dict[str, PlaceAnswer]:
        """The places by key."""
        return {own.key: own for own in self.plan.places}

    def shift(self, number: int) -> ShiftAnswer:
        """A shift by its number, from 1. Raises Refused "unknown_shift"."""
        if 1 <= number <= len(self.plan.shifts):
            return self.plan.shifts[number - 1]
        raise refuse(
            "unknown_shift",
            field="shift",
            given=number,
            message=f"this plan has {len(self.plan.shifts)} shifts, counted from 1",
            remedy="Give the number of a shift as it stands in the plan.",
        )


@dataclass(frozen=True, slots=True)
class Halt:
    """A stop with what is loaded or tipped there and the leg that leads to it.

    `load_number` counts the shift's loads from 0; `aboard` is what the body carries on
    the leg, and `depart` when it begins. `way` is empty where the truck does not move.
    """

    number: int
    stop: StopAnswer
    load_number: int | None
    load: LoadAnswer | None
    aboard: tuple[LoadAnswer, ...]
    depart: datetime
    start: PlaceAnswer
    place: PlaceAnswer
    way: Line
    by_road: bool


def halts(book: Book, shift: ShiftAnswer) -> tuple[Halt, ...]:
    """The stops of a shift in order, with their loads and legs."""
    at = book.places()
    aboard: list[int] = []
    found = []
    before = shift.stops[0] if shift.stops else None
    for number, (stop, load) in enumerate(
        zip(shift.stops, _load_numbers(shift), strict=True)
    ):
        last = before or stop
        way = _way(book, at, last.place, stop.place)
        found.append(
            Halt(
                number=number,
                stop=stop,
                load_number=load,
                load=None if load is None else shift.loads[load],
                aboard=tuple(shift.loads[own] for own in aboard),
                depart=last.end,
                start=at[last.place],
                place=at[stop.place],
                way=way,
                by_road=(last.place, stop.place) in book.ways,
            )
        )
        _handle(stop.kind, load, aboard)
        before = stop
    return tuple(found)


def _handle(kind: StopKind, load: int | None, aboard: list[int]) -> None:
    if load is None:
        return
    if kind is StopKind.LOAD:
        aboard.append(load)
    elif load in aboard:
        aboard.remove(load)


def _load_numbers(shift: ShiftAnswer) -> Iterator[int | None]:
    """Which load each stop handles. Plans stored before stops said so are read in order:
    loads as they are listed, tipped in the order in which they were loaded."""
    loaded = tipped = 0
    for stop in shift.stops:
        if stop.kind is StopKind.LOAD:
            # A load that is still aboard when a shift breaks off is none of its loads.
            known = loaded < len(shift.loads)
            yield (loaded if known else None) if stop.trip is None else stop.trip
            loaded += 1
        elif stop.kind is StopKind.TIP:
            yield tipped if stop.trip is None else stop.trip
            tipped += 1
        else:
            yield None


def _way(book: Book, at: Mapping[str, PlaceAnswer], start: str, end: str) -> Line:
    if start == end:
        return ()
    straight = tuple((at[own].lon, at[own].lat) for own in (start, end))
    return book.ways.get((start, end), straight)


@dataclass(frozen=True, slots=True)
class Carried:
    """One load of the plan with where it comes from and goes to. `nth` counts the loads
    of its deal over the plan in order of time, from 1."""

    shift_number: int
    shift: ShiftAnswer
    load_number: int
    load: LoadAnswer
    deal: DealAnswer
    nth: int
    pickup: Halt
    drop: Halt


def carried(book: Book) -> tuple[Carried, ...]:
    """Every load of the plan, in order of the moment at which it is loaded."""
    pairs = []
    for number, shift in enumerate(book.plan.shifts, start=1):
        ends: dict[int, dict[StopKind, Halt]] = {}
        for halt in halts(book, shift):
            if halt.load_number is not None:
                ends.setdefault(halt.load_number, {})[halt.stop.kind] = halt
        pairs += [(number, shift, load, own) for load, own in ends.items()]
    pairs.sort(key=lambda own: (own[3][StopKind.LOAD].stop.begin, own[0], own[2]))
    count: dict[int, int] = {}
    found = []
    for number, shift, index, own in pairs:
        load = shift.loads[index]
        count[load.deal] = count.get(load.deal, 0) + 1
        found.append(
            Carried(
                shift_number=number,
                shift=shift,
                load_number=index,
                load=load,
                deal=book.plan.deals[load.deal],
                nth=count[load.deal],
                pickup=own[StopKind.LOAD],
                drop=own[StopKind.TIP],
            )
        )
    return tuple(found)


def utc(moment: datetime) -> datetime:
    """The same moment in UTC."""
    return moment.astimezone(UTC)
