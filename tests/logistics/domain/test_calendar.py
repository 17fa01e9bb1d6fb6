"""Opening hours across clock changes and at the edges of windows of days."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from logistics.domain.calendar import (
    ALWAYS,
    Span,
    WeeklyHours,
    days_between,
    moment,
    windows,
)

BRUSSELS = ZoneInfo("Europe/Brussels")
SATURDAY, SUNDAY, MONDAY = date(2027, 3, 27), date(2027, 3, 28), date(2027, 3, 29)
MORNING = WeeklyHours.daily(Span(time(7), time(12)))


def utc(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp())  # type: ignore[arg-type, misc]


def test_a_place_opens_at_seven_by_its_own_clock_before_and_after_the_change():
    """The clocks of the European Union go forward on the last Sunday of March, at 1:00 UTC
    (Directive 2000/84/EC, from memory): 28 March 2027."""
    assert windows(MORNING, [SATURDAY, SUNDAY, MONDAY], BRUSSELS) == (
        (utc(2027, 3, 27, 6), utc(2027, 3, 27, 11)),
        (utc(2027, 3, 28, 5), utc(2027, 3, 28, 10)),
        (utc(2027, 3, 29, 5), utc(2027, 3, 29, 10)),
    )


def test_a_span_over_the_lost_hour_is_an_hour_shorter():
    night = WeeklyHours.daily(Span(time(1), time(4)))
    lengths = [
        closes - opens for opens, closes in windows(night, [SATURDAY, SUNDAY], BRUSSELS)
    ]
    assert lengths == [3 * 3600, 2 * 3600]


def test_a_span_over_the_gained_hour_is_an_hour_longer():
    """Back on the last Sunday of October: 31 October 2027."""
    night = WeeklyHours.daily(Span(time(1), time(4)))
    ((opens, closes),) = windows(night, [date(2027, 10, 31)], BRUSSELS)
    assert closes - opens == 4 * 3600


def test_a_day_without_a_clock_change_has_its_plain_length():
    assert windows(MORNING, [SUNDAY], ZoneInfo("Asia/Kolkata")) == (
        (utc(2027, 3, 28, 1, 30), utc(2027, 3, 28, 6, 30)),
    )


def test_only_days_from_first_to_last_count_both_included():
    days = days_between(SATURDAY, MONDAY)
    found = windows(MORNING, days, BRUSSELS, first=SUNDAY, last=SUNDAY)
    assert found == ((utc(2027, 3, 28, 5), utc(2027, 3, 28, 10)),)
    assert windows(MORNING, days, BRUSSELS, last=date(2027, 3, 26)) == ()
    assert len(windows(MORNING, days, BRUSSELS, first=SUNDAY)) == 2


def test_a_week_day_that_is_closed_has_no_window():
    weekdays = WeeklyHours.daily(Span(time(7), time(12)), weekdays=range(5))
    assert len(windows(weekdays, days_between(SATURDAY, MONDAY), BRUSSELS)) == 1


def test_spans_of_a_day_come_in_order_whatever_the_order_of_days():
    hours = WeeklyHours.daily(Span(time(7), time(12)), Span(time(13), time(16)))
    found = windows(hours, [MONDAY, SATURDAY], BRUSSELS)
    assert list(found) == sorted(found)
    assert len(found) == 4


def test_always_is_open_the_whole_working_day():
    ((opens, closes),) = windows(ALWAYS, [MONDAY], BRUSSELS)
    assert opens == moment(MONDAY, time(0), BRUSSELS)
    assert closes - opens >= 23 * 3600


@pytest.mark.parametrize(("last", "count"), [(SATURDAY, 1), (MONDAY, 3)])
def test_days_between_counts_both_ends(last, count):
    assert len(days_between(SATURDAY, last)) == count
