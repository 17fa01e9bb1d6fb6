"""The calendar of lifts: when each is built and dry, what comes when, what lies on site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from api.pictures.days import Days, axis, long_day, short_day
from api.pictures.drawing import (
    GAP,
    SMALL,
    Dot,
    Frame,
    KeyEntry,
    KeyKind,
    Label,
    Line,
    Mark,
    Shape,
    Size,
    Table,
    box,
    diamond,
    frame_key,
    legend,
    plain,
    shortened,
    text_width,
    whisker,
)
from api.pictures.stock_line import STOCK_TALL, Stock
from api.pictures.stock_line import stock as stock_line
from matching.domain.lifts.calendar import BuildCalendar, Lift
from matching.domain.lifts.pulses import Kind, Pulse
from matching.domain.lifts.storage import Storage

_EDGE, _TOP = 12.0, 26.0
_ROW, _PULSE = 46.0, 52.0
DAY = timedelta(days=1)
BAD_SHARE = 0.6
WORDS = {Kind.SOIL: "soil", Kind.SAND: "sand", Kind.STRAW: "straw", Kind.WATER: "water"}


@dataclass(frozen=True, slots=True)
class LiftRow:
    """A lift: its heading, runs of work days, drying, and when it may be dry at best and at
    worst."""

    heading: Label
    work: tuple[Shape, ...]
    drying: Shape
    doubt: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class PulseRow:
    """Deliveries of one material: a mark on each due date, with the days on which it may
    come before."""

    heading: Label
    look: str
    marks: tuple[Mark, ...]
    windows: tuple[Line, ...]
    amounts: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class LiftsCalendar:
    """Everything over one axis of days."""

    template: ClassVar[str] = "pictures/lifts.svg"

    frame: Frame
    grid: tuple[Line, ...]
    dates: tuple[Label, ...]
    lifts: tuple[LiftRow, ...]
    pulses: tuple[PulseRow, ...]
    stock: Stock | None
    key: tuple[KeyEntry, ...]


def lifts_calendar(
    calendar: BuildCalendar,
    pulses: Sequence[Pulse] = (),
    storage: Storage | None = None,
    *,
    size: Size = Size.WIDE,
    key: str = "lifts",
) -> LiftsCalendar:
    """Lifts from the first at the top; below them deliveries by material, and the stock on
    site. The drying drawn is the likely one, its whisker goes from the best case to the
    worst."""
    days = _days(calendar, pulses, storage, size)
    lifts = tuple(
        _lift_row(days, lift, _TOP + 20 + n * _ROW)
        for n, lift in enumerate(calendar.lifts)
    )
    y = _TOP + 26 + len(lifts) * _ROW
    kinds = [kind for kind in Kind if any(own.kind is kind for own in pulses)]
    rows = tuple(
        _pulse_row(days, kind, [p for p in pulses if p.kind is kind], y + n * _PULSE)
        for n, kind in enumerate(kinds)
    )
    y += len(rows) * _PULSE
    stock = None if storage is None else stock_line(days, storage, y)
    y += 0 if stock is None else STOCK_TALL + 26
    grid, dates = axis(days, _TOP, y - 8)
    entries, bottom = legend(
        _entries(kinds, storage, beyond=_beyond(days, calendar)), y + 4, size.width
    )
    return LiftsCalendar(
        _frame(calendar, pulses, storage, (frame_key(key, size), size.width, bottom)),
        grid,
        dates,
        lifts,
        rows,
        stock,
        entries,
    )


def _days(
    calendar: BuildCalendar,
    pulses: Sequence[Pulse],
    storage: Storage | None,
    size: Size,
) -> Days:
    all_ = [day for pulse in pulses for day in (pulse.not_before, pulse.due)]
    all_ += [own.day for own in (storage.days if storage else ())]
    for lift in calendar.lifts:
        all_ += [lift.first.likely, lift.dries_until.early, lift.dries_until.likely]
    first, last = min(all_), max(all_)
    # A very bad case must not squeeze the likely one: beyond this an arrow stands for it.
    most = last + (last - first) * BAD_SHARE
    worst = max(lift.dries_until.late for lift in calendar.lifts)
    return Days(first, max(last, min(worst, most)), _EDGE, size.width - _EDGE)


def _lift_row(days: Days, lift: Lift, y: float) -> LiftRow:
    work = tuple(
        box(days.x(first), y + 8, days.end(last) - days.x(first), 16)
        for first, last in _runs([own.day for own in lift.days])
    )
    begin, end = days.end(lift.last.likely), days.end(lift.dries_until.likely)
    doubt = _doubt(days, lift, y + 16)
    words = (
        f"Lift {lift.number}, {plain(lift.low_m, 2)} to {plain(lift.high_m, 2)}{GAP}m:"
        f" {_lift_dates(lift)}"
    )
    longer = f"{words} ({_doubt_words(lift)})"
    if text_width(longer, SMALL) <= (days.right - days.left) * 0.7:
        words = longer
    return LiftRow(
        _heading(days, words, lift.first.likely, y),
        work,
        box(begin, y + 10, end - begin, 12),
        doubt,
    )


def _doubt(days: Days, lift: Lift, y: float) -> tuple[Line, ...]:
    """A whisker from the best case to the worst, with an arrow if that is beyond the axis."""
    early, late = lift.dries_until.early, lift.dries_until.late
    low, high = days.end(early), days.end(min(late, days.last))
    if late <= days.last:
        return whisker(low, high, y, 4)
    line, cap, _ = whisker(low, high, y, 4)
    return line, cap, Line(((high - 6, y - 5), (high, y), (high - 6, y + 5)))


def _doubt_words(lift: Lift) -> str:
    early, late = lift.dries_until.early, lift.dries_until.late
    return f"{short_day(early)} to {short_day(late)}"


def _lift_dates(lift: Lift) -> str:
    first, dry = short_day(lift.first.likely), short_day(lift.dries_until.likely)
    return f"{first}, dry {dry}"


def _heading(days: Days, words: str, day: date, y: float) -> Label:
    """Above the row, from its first day on or as far left as the words need."""
    width = text_width(words, SMALL)
    room = days.right - days.left
    x = max(days.left, min(days.x(day), days.right - width))
    return Label(x, y + 3, shortened(words, room, SMALL), "start")


def _runs(found: list[date]) -> list[tuple[date, date]]:
    """First and last of days that follow each other without a gap."""
    runs: list[tuple[date, date]] = []
    for day in found:
        if runs and day - runs[-1][1] == DAY:
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs


def amount_words(pulse: Pulse) -> str:
    """The likely amount in the unit that people order by."""
    if pulse.kind is Kind.STRAW:
        return f"{plain(pulse.kg.likely, 0)}{GAP}kg"
    if pulse.kind is Kind.WATER:
        return f"{plain(pulse.kg.likely, 0)}{GAP}l"
    loose = pulse.loose_m3.likely
    return f"{plain(loose, 1 if loose >= 1 else 2)}{GAP}m³"


def _pulse_row(days: Days, kind: Kind, own: list[Pulse], y: float) -> PulseRow:
    marks, windows, amounts, free = [], [], [], 0.0
    for pulse in own:
        x = days.middle(pulse.due)
        if pulse.not_before < pulse.due:
            windows.append(Line(((days.middle(pulse.not_before), y + 16), (x, y + 16))))
        marks.append(_pulse_mark(kind, x, y + 16))
        text = amount_words(pulse)
        half = text_width(text, SMALL) / 2
        at = min(max(x, days.left + half), days.right - half)
        if at - half >= free:
            amounts.append(Label(at, y + 34, text))
            free = at + half + 4
    words = f"{WORDS[kind].capitalize()} comes"
    return PulseRow(
        Label(days.left, y + 3, words, "start"),
        WORDS[kind],
        tuple(marks),
        tuple(windows),
        tuple(amounts),
    )


def _pulse_mark(kind: Kind, x: float, y: float) -> Mark:
    """A shape for each material, besides its pattern."""
    if kind is Kind.SOIL:
        return Shape(((x, y - 8), (x + 9, y + 7), (x - 9, y + 7)))
    if kind is Kind.SAND:
        return Dot(x, y, 7.5)
    if kind is Kind.STRAW:
        return box(x - 9, y - 6, 18, 12)
    return diamond(x, y, 8)


def _beyond(days: Days, calendar: BuildCalendar) -> bool:
    return any(lift.dries_until.late > days.last for lift in calendar.lifts)


def _entries(
    kinds: list[Kind], storage: Storage | None, *, beyond: bool
) -> list[tuple[str, KeyKind, str]]:
    found: list[tuple[str, KeyKind, str]] = [
        ("work", "box", "work on the wall"),
        ("drying", "box", "drying"),
        ("whisker", "line", "dry: from best to worst case"),
    ]
    if beyond:
        found.append(("whisker", "arrow", "worst case is later still"))
    if kinds:
        found.append(("drop", "line", "may come from here on"))
    if storage is not None and storage.room_m3 is not None:
        found.append(("limit", "line", "room for material"))
        if not storage.fits:
            found.append(("over", "box", "more than fits"))
    return found


def _frame(
    calendar: BuildCalendar,
    pulses: Sequence[Pulse],
    storage: Storage | None,
    where: tuple[str, float, float],
) -> Frame:
    rows = [
        (
            f"Lift {lift.number}, {plain(lift.low_m, 2)} to {plain(lift.high_m, 2)} m",
            f"{plain(lift.placed_m3, 2)} m³ of wall",
            f"{long_day(lift.first.likely)} to {long_day(lift.last.likely)}",
            f"dry {long_day(lift.dries_until.likely)}, at best"
            f" {long_day(lift.dries_until.early)}, at worst"
            f" {long_day(lift.dries_until.late)}",
        )
        for lift in calendar.lifts
    ]
    rows += [
        (
            f"{WORDS[own.kind].capitalize()} for lift {', '.join(map(str, own.lifts))}",
            amount_words(own),
            f"due {long_day(own.due)}",
            f"not before {long_day(own.not_before)}",
        )
        for own in pulses
    ]
    text = (
        f"{len(calendar.lifts)} lifts, {plain(calendar.placed_m3, 1)} m³. The last work day is"
        f" {long_day(calendar.ends.likely)}, at best {long_day(calendar.ends.early)}, at"
        f" worst {long_day(calendar.ends.late)}. {calendar.why}"
    )
    if storage is not None:
        text += f" {storage.text}"
        rows += [
            (
                f"On site, {long_day(own.day)}",
                f"{plain(own.total_m3, 1)} m³",
                "after deliveries",
                f"soil {plain(own.soil_m3, 1)}, sand {plain(own.sand_m3, 1)}, bales"
                f" {plain(own.straw_m3, 1)} m³",
            )
            for own in storage.days
        ]
    names = [WORDS[kind] for kind in Kind if any(own.kind is kind for own in pulses)]
    key, width, height = where
    return Frame(
        key,
        width,
        height,
        "Calendar of the lifts",
        text,
        Table(
            "Lifts, deliveries and stock",
            ("What", "How much", "When", "Besides"),
            tuple(rows),
        ),
        ("drying", "over", *names),
    )
