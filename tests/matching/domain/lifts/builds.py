"""Small builds and strategies of them for the tests of lifts."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import DIGGER, Crew
from matching.domain.lifts.lifting import Drying, WorkPattern
from matching.domain.walls.courses import Course

MONDAY = date(2027, 5, 3)
EXACT = Spread.exactly
NO_RAIN = EXACT(0.0)


def room(lift_m: float = 0.5) -> tuple[Course, ...]:
    """A room of 25 m2: 20 m of wall 2.0 m high and 0.45 m thick (job.md 1.0, no holes)."""
    count = round(2.0 / lift_m)
    return tuple(
        Course(i * lift_m, (i + 1) * lift_m, 20 * lift_m * 0.45, 0.45)
        for i in range(count)
    )


def steady(m3: float, **more: Any) -> Crew:
    """One sure person who places so much a day."""
    return Crew(trained=1.0, trained_m3=EXACT(m3), **more)


def every_day(first: date = MONDAY, **more: Any) -> WorkPattern:
    return WorkPattern(
        first, **{"weekdays": tuple(range(7)), "rain_share": NO_RAIN, **more}
    )


def days(count: float) -> Drying:
    return Drying(EXACT(count), EXACT(count))


@st.composite
def spreads(draw: st.DrawFn, low: float, high: float) -> Spread:
    ends = st.floats(low, high, allow_nan=False)
    return Spread(*sorted(draw(st.tuples(ends, ends, ends))))


@st.composite
def courses(draw: st.DrawFn) -> tuple[Course, ...]:
    heights = draw(st.lists(st.floats(0.2, 1.0), min_size=1, max_size=5))
    found, low = [], 0.0
    for height in heights:
        volume = draw(st.floats(0.1, 8.0))
        found.append(Course(low, low + height, volume, draw(st.floats(0.3, 0.7))))
        low += height
    return tuple(found)


@st.composite
def crews(draw: st.DrawFn) -> Crew:
    return Crew(
        novices=draw(spreads(0, 25)),
        trained=draw(spreads(1, 5)),
        machine=draw(st.sampled_from([None, DIGGER])),
        hours_per_day=draw(st.floats(3, 10)),
        no_show=draw(spreads(0, 1)),
    )


@st.composite
def patterns(draw: st.DrawFn) -> WorkPattern:
    first = MONDAY + timedelta(days=draw(st.integers(0, 365)))
    off = draw(st.lists(st.integers(0, 90), max_size=15))
    return WorkPattern(
        first,
        weekdays=tuple(draw(st.sets(st.integers(0, 6), min_size=1))),
        days_off=tuple(first + timedelta(days=n) for n in off),
        rain_share=draw(spreads(0, 0.6)),
    )


@st.composite
def dryings(draw: st.DrawFn) -> Drying:
    return Drying(
        draw(spreads(0, 25)),
        draw(spreads(5, 70)),
        tuple(draw(st.sampled_from([(), (11, 12, 1, 2), (6, 7)]))),
    )
