"""The calendar of lifts as drawn: days to scale, doubt, deliveries, stock."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.pictures.days import Days, axis
from api.pictures.drawing import Shape, Size
from api.pictures.lifts_calendar import lifts_calendar
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import build_calendar
from matching.domain.lifts.pulses import Kind, pulses
from matching.domain.lifts.storage import storage
from matching.domain.takeoff import take_off
from matching.domain.walls.wall import Wall
from tests.api.pictures.drawn import CALENDAR, MIX, PULSES, outside, told
from tests.matching.domain.lifts.builds import (
    MONDAY,
    courses,
    days,
    every_day,
    room,
    spreads,
    steady,
)

# Four lifts of 4.5 m3 at 1.5 m3 a day: three days each, then a week of drying.
PLAIN = build_calendar(room(), steady(1.5), every_day(), drying=days(7))


def wide(shape: Shape) -> float:
    xs = [x for x, _ in shape.points]
    return max(xs) - min(xs)


def test_three_days_of_work_are_as_long_as_three_sevenths_of_the_drying():
    """Hand-worked from the case above."""
    for row in lifts_calendar(PLAIN).lifts:
        (work,) = row.work
        assert wide(work) == pytest.approx(3 / 7 * wide(row.drying))
        assert work.points[1][0] == pytest.approx(row.drying.points[0][0])


def test_days_without_work_leave_gaps():
    """Hand-worked: work on Friday to Sunday alone; the first lift takes two week-ends."""
    first = lifts_calendar(CALENDAR).lifts[0]
    assert len(first.work) > 1


def test_the_doubt_spans_from_the_best_case_to_the_worst():
    """By definition: ends of the day of `dries_until`, where the axis holds it."""
    drawn = lifts_calendar(CALENDAR)
    lift = CALENDAR.lifts[0]
    line = drawn.lifts[0].doubt[0]
    length = line.points[1][0] - line.points[0][0]
    per_day = wide(drawn.lifts[0].work[0]) / 3
    doubt = (lift.dries_until.late - lift.dries_until.early).days
    assert length == pytest.approx(doubt * per_day)


def test_a_worst_case_far_away_is_an_arrow_and_is_told_in_the_table():
    drawn = lifts_calendar(CALENDAR)
    last = CALENDAR.lifts[-1].dries_until.late
    assert len(drawn.lifts[-1].doubt[2].points) == 3
    assert any("later still" in own.words[0].text for own in drawn.key)
    assert f"{last.day}\N{NO-BREAK SPACE}{last:%b} {last.year}" in told(drawn)


def test_each_material_has_its_row_and_its_own_kind_of_mark():
    """Nothing is told apart by colour alone (WCAG 2.2, 1.4.1)."""
    drawn = lifts_calendar(CALENDAR, PULSES)
    assert len(drawn.pulses) == len(Kind)
    kinds = {
        (type(row.marks[0]), len(getattr(row.marks[0], "points", ())))
        for row in drawn.pulses
    }
    # Straw and water are both four-cornered: one lies flat, one stands on its tip.
    assert len(kinds) == 3
    assert {row.look for row in drawn.pulses} == {"soil", "sand", "straw", "water"}


def test_the_stock_steps_and_shows_where_it_exceeds_the_room():
    """By definition: a step line is level or upright everywhere; above the room hatched."""
    stored = storage(CALENDAR, PULSES, room_m3=3.0)
    drawn = lifts_calendar(CALENDAR, PULSES, stored).stock
    assert drawn is not None
    assert stored is not None
    for (x0, y0), (x1, y1) in zip(
        drawn.step.points, drawn.step.points[1:], strict=False
    ):
        assert x0 == pytest.approx(x1) or y0 == pytest.approx(y1)
    above = sum(own.total_m3 > 3 for own in stored.days)
    assert len(drawn.over) == above > 0


def test_a_day_is_where_the_calendar_has_it():
    """Hand-worked: ten days over 100 units."""
    own = Days(date(2027, 5, 3), date(2027, 5, 12), 0, 100)
    assert own.x(date(2027, 5, 5)) == pytest.approx(20)
    assert own.end(date(2027, 5, 12)) == pytest.approx(100)
    _, labels = axis(own, 20, 100)
    assert [text.text.replace("\N{NO-BREAK SPACE}", " ") for text in labels] == [
        "3 May",
        "10 May",
    ]


@given(st.integers(1, 2000), st.integers(0, 3000), st.sampled_from(Size))
def test_dates_below_an_axis_never_touch(length, offset, size):
    """Property: by the same estimate of widths that lays them out."""
    first = MONDAY + timedelta(days=offset)
    own = Days(first, first + timedelta(days=length), 12, size.width - 12)
    _, labels = axis(own, 20, 100)
    xs = [text.x for text in labels]
    assert all(after - before > 30 for before, after in pairwise(xs))


@settings(max_examples=40)
@given(courses(), spreads(1, 8), spreads(0, 0.6), st.sampled_from(Size))
def test_any_calendar_stays_within_its_drawing(build, hands, rain, size):
    """Property."""
    crew = steady(1.0, novices=hands)
    calendar = build_calendar(build, crew, every_day(rain_share=rain))
    walls = (Wall(calendar.placed_m3, 1.0, 1.0),)
    found = pulses(calendar, take_off(walls, MIX), clay=Spread.exactly(0.4))
    stored = storage(calendar, found, room_m3=5.0)
    assert outside(lifts_calendar(calendar, found, stored, size=size)) == []
