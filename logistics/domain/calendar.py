"""Opening hours: local wall-clock rules turned into moments on given days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

Window = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Span:
    """Open from one local time until another on the same day."""

    opens: time
    closes: time


@dataclass(frozen=True, slots=True)
class WeeklyHours:
    """Open spans for each weekday, Monday first. Local date, time and zone stay together,
    so that a place that opens at 7 opens at 7 after the clocks change as well."""

    days: tuple[tuple[Span, ...], ...]

    @staticmethod
    def daily(*spans: Span, weekdays: Iterable[int] = range(7)) -> WeeklyHours:
        """The same spans on each of the weekdays given."""
        chosen = set(weekdays)
        return WeeklyHours(tuple(spans if day in chosen else () for day in range(7)))


ALWAYS = WeeklyHours.daily(Span(time(0, 0), time(23, 59)))


def moment(day: date, at: time, zone: ZoneInfo) -> int:
    """Seconds since 1970 UTC of a local date and time."""
    return int(datetime.combine(day, at, tzinfo=zone).timestamp())


def windows(
    hours: WeeklyHours,
    days: Sequence[date],
    zone: ZoneInfo,
    *,
    first: date | None = None,
    last: date | None = None,
) -> tuple[Window, ...]:
    """Open windows on the given days, only from `first` to `last` (both included)."""
    found: list[Window] = []
    for day in sorted(days):
        if (first and day < first) or (last and day > last):
            continue
        found += [
            (moment(day, span.opens, zone), moment(day, span.closes, zone))
            for span in hours.days[day.weekday()]
        ]
    return tuple(sorted(found))


def days_between(first: date, last: date) -> tuple[date, ...]:
    """All dates from first to last, both included."""
    return tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
