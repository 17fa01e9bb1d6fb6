"""An axis of days: where a date lies, and which dates are written below it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from api.pictures.drawing import GAP, SMALL, Label, Line, text_width


@dataclass(frozen=True, slots=True)
class Days:
    """From the first day to the last, both whole, between two x."""

    first: date
    last: date
    left: float
    right: float

    @property
    def per_day(self) -> float:
        """Width of a day."""
        return (self.right - self.left) / ((self.last - self.first).days + 1)

    def x(self, day: date) -> float:
        """Where a day begins."""
        return self.left + (day - self.first).days * self.per_day

    def end(self, day: date) -> float:
        """Where a day ends."""
        return self.x(day) + self.per_day

    def middle(self, day: date) -> float:
        """The middle of a day."""
        return self.x(day) + self.per_day / 2


def short_day(day: date) -> str:
    """A day without its year, such as 3 May."""
    return f"{day.day}{GAP}{day:%b}"


def long_day(day: date) -> str:
    """A day with its weekday and year."""
    return f"{day:%a} {day.day}{GAP}{day:%b} {day.year}"


def axis(
    days: Days, top: float, bottom: float
) -> tuple[tuple[Line, ...], tuple[Label, ...]]:
    """Lines and labels at Mondays, or at firsts of months where weeks are too narrow."""
    lines, labels, free = [], [], 0.0
    for day in _ticks(days):
        x = days.x(day)
        lines.append(Line(((x, top), (x, bottom))))
        text = short_day(day)
        half = text_width(text, SMALL) / 2
        at = min(max(x, half + 2), days.right + 10 - half)
        if at - half < free:
            continue
        labels.append(Label(at, top - 5, text))
        free = at + half + 6
    return tuple(lines), tuple(labels)


def _ticks(days: Days) -> list[date]:
    room = text_width("28 May", SMALL) + 8
    if 7 * days.per_day >= room / 2:
        first = days.first + timedelta(days=-days.first.weekday() % 7)
        step = 7 if 7 * days.per_day >= room else 14
        count = (days.last - first).days // step + 1
        return [first + timedelta(days=step * n) for n in range(count)]
    found, day = [], days.first.replace(day=1)
    while day <= days.last:
        if day >= days.first:
            found.append(day)
        day = (day + timedelta(days=32)).replace(day=1)
    return found
