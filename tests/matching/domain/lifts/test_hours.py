"""Trucks and machines come when no volunteer is on the ground."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logistics.domain.calendar import ALWAYS, Span, WeeklyHours, days_between, windows
from logistics.domain.errors import Refused
from matching.domain.lifts.hours import dated_windows, hours_apart
from tests.matching.domain.lifts.builds import MONDAY

LISBON = ZoneInfo("Europe/Lisbon")
SITE = WeeklyHours.daily(Span(time(7), time(18)))
SATURDAYS = WeeklyHours.daily(Span(time(9), time(16)), weekdays=[5])
WEEK = days_between(MONDAY, MONDAY + timedelta(days=6))


def test_trucks_come_before_and_after_with_half_an_hour_between():
    """By hand: site 7-18, volunteers 9-16 on Saturday."""
    left = hours_apart(SITE, SATURDAYS)
    assert left.days[5] == (
        Span(time(7), time(8, 30)),
        Span(time(16, 30), time(18)),
    )
    assert left.days[:5] == SITE.days[:5]
    assert left.days[6] == SITE.days[6]


def test_a_crack_too_short_for_a_truck_is_left_out():
    """By hand: volunteers from 7:45 leave 15 minutes before them."""
    early = WeeklyHours.daily(Span(time(7, 45), time(17)), weekdays=[0])
    assert hours_apart(SITE, early).days[0] == (Span(time(17, 30), time(18)),)
    assert hours_apart(SITE, early, least_minutes=31).days[0] == ()


def test_hours_at_the_ends_of_the_day_stay_inside_it():
    """By hand: the gap reaches over midnight."""
    night = WeeklyHours.daily(Span(time(0), time(23, 45)), weekdays=[0])
    assert hours_apart(ALWAYS, night).days[0] == ()


def test_when_nothing_is_left_the_remedy_is_a_day_without_volunteers():
    with pytest.raises(Refused) as refusal:
        hours_apart(SITE, SITE)
    problem = refusal.value.problems[0]
    assert problem.code == "no_hours_for_trucks"
    assert "without volunteers" in problem.remedy


@pytest.mark.parametrize(
    ("site", "volunteers", "more", "code"),
    [
        (
            WeeklyHours.daily(Span(time(9), time(8))),
            SATURDAYS,
            {},
            "closes_before_it_opens",
        ),
        (SITE, WeeklyHours.daily(Span(time(9), time(9))), {}, "closes_before_it_opens"),
        (WeeklyHours(()), SATURDAYS, {}, "week_of_other_length"),
        (SITE, SATURDAYS, {"gap_minutes": -1}, "minutes_below_zero"),
        (SITE, SATURDAYS, {"least_minutes": -1}, "minutes_below_zero"),
    ],
)
def test_hours_that_cannot_be_are_refused(site, volunteers, more, code):
    with pytest.raises(Refused) as refusal:
        hours_apart(site, volunteers, **more)
    assert refusal.value.problems[0].code == code


def test_a_saturday_on_which_nobody_comes_is_whole():
    """By hand: volunteers come on another Saturday."""
    saturday = date(2027, 5, 8)
    whole = dated_windows(SITE, SATURDAYS, (), [saturday], LISBON)
    cut = dated_windows(SITE, SATURDAYS, {saturday}, [saturday], LISBON)
    assert whole == windows(SITE, [saturday], LISBON)
    assert len(cut) == 2


def test_days_full_of_volunteers_are_refused():
    with pytest.raises(Refused) as refusal:
        dated_windows(SITE, SITE, set(WEEK), WEEK, LISBON)
    assert refusal.value.problems[0].code == "no_hours_for_trucks"


def local_day(moment: int) -> date:
    return datetime.fromtimestamp(moment, LISBON).date()


@st.composite
def weeks(draw: st.DrawFn) -> WeeklyHours:
    found = []
    for _ in range(7):
        ends = sorted(draw(st.sets(st.integers(0, 24 * 60 - 1), max_size=6)))
        pairs = zip(ends[::2], ends[1::2], strict=False)
        found.append(
            tuple(Span(time(*divmod(a, 60)), time(*divmod(b, 60))) for a, b in pairs)
        )
    return WeeklyHours(tuple(found))


@given(weeks(), weeks(), st.integers(0, 120), st.sets(st.sampled_from(WEEK)))
def test_no_truck_comes_while_volunteers_are_there(site, volunteers, gap, come):
    """Property: by moments, not by the rule that made them; and the site is open."""
    try:
        found = dated_windows(site, volunteers, come, WEEK, LISBON, gap_minutes=gap)
    except Refused:
        assume(False)
    there = windows(volunteers, sorted(come), LISBON)
    open_ = windows(site, WEEK, LISBON)
    for opens, closes in found:
        assert any(a <= opens < closes <= b for a, b in open_)
        for a, b in there:
            # Volunteers' gaps do not reach into the next day.
            same = local_day(a) == local_day(opens)
            assert closes <= a - gap * 60 * same or opens >= b + gap * 60 * same


@given(weeks(), weeks())
def test_days_without_volunteers_stay_whole(site, volunteers):
    """Property."""
    try:
        left = hours_apart(site, volunteers, least_minutes=0)
    except Refused:
        assume(False)
    for open_, busy, kept in zip(site.days, volunteers.days, left.days, strict=True):
        if not busy:
            assert kept == open_
