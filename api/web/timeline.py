"""The shifts as a drawing: one row per truck and day over a common axis of hours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from api.documents.plan_models import ShiftAnswer, StopAnswer
from api.templatetags.units import clock, weekday
from logistics.domain.planning.result import StopKind

ROW, TOP, BAR, EDGE = 62, 30, 30, 12
# Shorter gaps come from rounding whole minutes, not from waiting.
LEAST_WAIT = timedelta(minutes=1)

Doing = Literal["loaded", "empty", "load", "tip", "wait", "rest", "clean"]
SAYING: dict[Doing, str] = {
    "loaded": "drives loaded",
    "empty": "drives empty",
    "load": "loads",
    "tip": "tips",
    "wait": "waits",
    "rest": "rests",
    "clean": "cleans the body",
}
HANDLING: dict[StopKind, Doing] = {
    StopKind.LOAD: "load",
    StopKind.TIP: "tip",
    StopKind.REST: "rest",
    StopKind.CLEAN: "clean",
}


@dataclass(frozen=True, slots=True)
class Span:
    """What a truck does from one moment to another."""

    doing: Doing
    begin: datetime
    end: datetime
    where: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A span as drawn; lengths in drawing units."""

    doing: Doing
    x: float
    width: float
    middle: float
    title: str


@dataclass(frozen=True, slots=True)
class Row:
    """One shift as drawn."""

    label: str
    y: float
    bar: float
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """All shifts as drawn."""

    width: float
    height: float
    bottom: float
    hours: tuple[tuple[float, str], ...]
    rows: tuple[Row, ...]


def spans(shift: ShiftAnswer) -> Iterator[Span]:
    """All that happens in a shift, in order, without gaps of a minute or more."""
    last: StopAnswer | None = None
    for stop, loaded in zip(shift.stops, arrives_loaded(shift.stops), strict=True):
        if last is not None:
            yield from _way(last, stop, loaded=loaded)
        if stop.begin - stop.arrive >= LEAST_WAIT:
            yield Span("wait", stop.arrive, stop.begin, stop.place_name)
        if stop.kind in HANDLING:
            doing = HANDLING[stop.kind]
            yield Span(doing, stop.begin, stop.end, stop.place_name)
        last = stop


def arrives_loaded(stops: Sequence[StopAnswer]) -> Iterator[bool]:
    """Of each stop, whether something is aboard on the way to it."""
    aboard = 0
    for stop in stops:
        # A shift that goes on after a change of plan may begin loaded.
        yield aboard > 0 or stop.kind == StopKind.TIP
        if stop.kind == StopKind.LOAD:
            aboard += 1
        elif stop.kind == StopKind.TIP:
            aboard = max(aboard - 1, 0)


def _way(last: StopAnswer, stop: StopAnswer, *, loaded: bool) -> Iterator[Span]:
    start = max(last.end, stop.arrive - timedelta(minutes=stop.leg_minutes))
    if start - last.end >= LEAST_WAIT:
        yield Span("wait", last.end, start, last.place_name)
    else:
        start = last.end
    if stop.arrive > start:
        doing: Doing = "loaded" if loaded else "empty"
        yield Span(doing, start, stop.arrive, f"to {stop.place_name}")


def chart(shifts: Sequence[ShiftAnswer], width: float) -> Chart:
    """The drawing of the shifts, `width` units wide."""
    begins = [_hour(shift, shift.leave) for shift in shifts]
    ends = [_hour(shift, shift.back) for shift in shifts]
    first = int(min(begins, default=7))
    last = max(int(max(ends, default=17)) + 1, first + 1)
    scale = (width - 2 * EDGE) / (last - first)

    def at(shift: ShiftAnswer, moment: datetime) -> float:
        return round(EDGE + (_hour(shift, moment) - first) * scale, 1)

    rows = []
    for number, shift in enumerate(shifts):
        pieces = []
        for span in spans(shift):
            left, right = at(shift, span.begin), at(shift, span.end)
            pieces.append(
                Piece(
                    span.doing,
                    left,
                    round(max(right - left, 1.0), 1),
                    round((left + right) / 2, 1),
                    f"{clock(span.begin)} to {clock(span.end)} {SAYING[span.doing]}"
                    f"{' ' if span.where.startswith('to ') else ' at '}{span.where}",
                )
            )
        y = TOP + number * ROW
        label = f"{weekday(shift.day)[:-5]}, {shift.truck_name}"
        rows.append(Row(label, y + 14, y + 22, tuple(pieces)))
    height = TOP + len(rows) * ROW
    # Hour labels nearer than 28 units run into each other.
    every = 1 if scale >= 28 else 2
    hours = tuple(
        (round(EDGE + (hour - first) * scale, 1), f"{hour % 24}")
        for hour in range(first, last + 1, every)
    )
    return Chart(width, height + 4, height, hours, tuple(rows))


def _hour(shift: ShiftAnswer, moment: datetime) -> float:
    """Hours since midnight of the shift's day, by the clock on the wall."""
    midnight = datetime.fromisoformat(shift.day)
    return (moment.replace(tzinfo=None) - midnight).total_seconds() / 3600
