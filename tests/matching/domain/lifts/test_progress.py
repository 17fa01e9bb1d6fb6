"""What was built so far: the rate, the lifts and the needs that remain."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import BuildCalendar, build_calendar
from matching.domain.lifts.crew import Crew
from matching.domain.lifts.progress import (
    Built,
    Received,
    Replan,
    on_hand,
    rate_factor,
    remaining,
    replan,
    still_needed,
)
from matching.domain.lifts.pulses import Kind, Pulse, pulses
from matching.domain.takeoff import MixTarget, take_off
from matching.domain.walls.courses import Course
from matching.domain.walls.wall import Wall
from tests.matching.domain.lifts.builds import (
    EXACT,
    MONDAY,
    courses,
    days,
    dryings,
    every_day,
    room,
    steady,
)

SUNDAY = MONDAY - timedelta(days=1)
TWO = (Course(0, 0.5, 4.0, 0.5), Course(0.5, 1.0, 4.0, 0.5))


def calendar_of(found: Replan) -> BuildCalendar:
    assert found.calendar is not None
    return found.calendar


def test_nothing_seen_leaves_the_rate():
    assert rate_factor(steady(0.3), ()) == 1


def test_the_rate_moves_half_way_when_site_and_prior_weigh_the_same():
    """By hand: ten person-days placed 1.5 m3 where 3 were expected, and the prior counts ten
    as well: (3 + 1.5) / (3 + 3)."""
    seen = (Built(SUNDAY, 1.0, 6.0), Built(SUNDAY, 0.5, 4.0))
    assert rate_factor(steady(0.3), seen) == pytest.approx(0.75)


def test_many_days_outvote_the_prior():
    """Property: with a thousand person-days the factor is what was seen, to 1 %."""
    seen = (Built(SUNDAY, 150.0, 1000.0),)
    assert rate_factor(steady(0.3), seen) == pytest.approx(0.5, rel=0.02)


def test_a_lift_is_parted_where_its_volume_ends():
    """By hand: 5 m3 are the first lift and a quarter of the second."""
    found = remaining(TWO, (Built(SUNDAY, 5.0, 20.0),))
    assert found.built == (TWO[0], Course(0.5, 0.625, 1.0, 0.5))
    assert found.left == (Course(0.625, 1.0, 3.0, 0.5),)
    assert found.wet_since is None


def test_a_finished_lift_has_to_dry_before_the_next():
    """By hand: the first was finished on Sunday and dries three days, until
    2 + 3 = 5 May; a second that was just begun (under 5 %) counts as not begun."""
    for placed in (4.0, 4.1):
        found = replan(
            TWO, steady(1.0), every_day(), (Built(SUNDAY, placed, 4.0),), drying=days(3)
        )
        assert found.remaining.wet_since == SUNDAY
        assert calendar_of(found).lifts[0].first.likely == date(2027, 5, 5)
    begun = replan(
        TWO, steady(1.0), every_day(), (Built(SUNDAY, 4.5, 4.0),), drying=days(3)
    )
    assert calendar_of(begun).lifts[0].first.likely == MONDAY


def test_before_anything_is_built_all_remains():
    """By hand: without a record the plan begins on its first day."""
    found = replan(TWO, steady(1.0), every_day(), ())
    assert found.remaining.left == TWO
    assert calendar_of(found).lifts[0].first.likely == MONDAY


def test_when_all_is_built_there_is_no_calendar():
    found = replan(TWO, steady(1.0), every_day(), (Built(SUNDAY, 8.0, 8.0),))
    assert found.calendar is None
    assert not found.remaining.left
    assert not found.cautions


def test_more_than_was_drawn_and_strange_rates_are_cautioned():
    found = replan(TWO, steady(1.0), every_day(), (Built(SUNDAY, 90.0, 8.0),))
    codes = {caution.code for caution in found.cautions}
    assert codes == {"more_placed_than_drawn", "rate_far_off"}
    assert found.remaining.beyond_m3 == pytest.approx(82)


def test_work_goes_on_after_the_last_record():
    """By hand: the record reaches Wednesday, so Thursday."""
    seen = (Built(date(2027, 5, 5), 0.5, 1.0),)
    found = replan(TWO, steady(1.0), every_day(), seen)
    assert calendar_of(found).lifts[0].first.likely == date(2027, 5, 6)


def test_each_weekdays_crew_gets_the_same_factor():
    pattern = every_day(crews=((5, Crew(trained=9.0)),))
    seen = (Built(SUNDAY, 1.0, 10.0),)
    found = replan(TWO, steady(0.3), pattern, seen, drying=days(1))
    assert found.crew.rate_factor == found.rate_factor == pytest.approx(4 / 6)


RECORDS = st.lists(
    st.builds(Built, st.just(SUNDAY), st.floats(0, 12), st.floats(0, 60)),
    max_size=4,
)


@settings(max_examples=80)
@given(courses(), RECORDS)
def test_built_and_remaining_are_the_whole(build, records):
    """Property: m3 and heights."""
    found = remaining(build, records)
    total = sum(course.placed_m3 for course in build)
    parts = sum(course.placed_m3 for course in (*found.built, *found.left))
    assert parts == pytest.approx(total)
    assert found.built_m3 == pytest.approx(sum(c.placed_m3 for c in found.built))
    seen = sum(record.placed_m3 for record in records)
    assert found.built_m3 + found.beyond_m3 == pytest.approx(seen)
    if found.built and found.left:
        assert found.built[-1].high_m == found.left[0].low_m


@settings(max_examples=60)
@given(courses(), st.floats(0, 12), st.floats(0, 12), st.floats(1, 60), dryings())
def test_faster_progress_never_lengthens_the_calendar(build, one, two, spent, drying):
    """Property: more placed by the same day with the same people."""
    slow, fast = sorted((one, two))
    ends = []
    for placed in (slow, fast):
        found = replan(
            build,
            steady(0.8),
            every_day(),
            (Built(SUNDAY, placed, spent),),
            drying=drying,
        )
        ends.append(found.calendar.ends.likely if found.calendar else SUNDAY)
    assert ends[1] <= ends[0]


def test_what_lies_there_is_counted_or_reckoned():
    """By hand: 20 t came, half of the planned 30 t is built in."""
    came = Received(Kind.SOIL, 20_000)
    assert on_hand(came, EXACT(30_000), 0.5) == 5000
    assert on_hand(came, EXACT(30_000), 0.9) == 0
    assert on_hand(replace(came, on_hand_kg=7000), EXACT(30_000), 0.5) == 7000


@settings(max_examples=60)
@given(courses(), st.floats(0, 60_000), st.floats(0, 10_000))
def test_a_stock_lowers_what_is_needed_by_itself(build, stock, more):
    """Property: total less stock at each end, never below nothing, other kinds untouched,
    and a larger stock never asks for more."""
    calendar = build_calendar(build, steady(2.0), every_day(), drying=days(1))
    volume = sum(course.placed_m3 for course in build)
    whole = take_off((Wall(volume, 1.0, 1.0),), MixTarget())
    found = pulses(calendar, whole, clay=EXACT(0.3))
    left = still_needed(found, Kind.SOIL, stock)

    def total(some: Iterable[Pulse], kind: Kind, end: str) -> float:
        return math.fsum(getattr(p.kg, end) for p in some if p.kind is kind)

    for end in ("low", "likely", "high"):
        wanted = max(0.0, getattr(whole.soil_moist_kg, end) - stock)
        assert total(left, Kind.SOIL, end) == pytest.approx(wanted, abs=1e-6)
        assert total(left, Kind.SAND, end) == total(found, Kind.SAND, end)
        less = total(still_needed(found, Kind.SOIL, stock + more), Kind.SOIL, end)
        assert less <= total(left, Kind.SOIL, end) + 1e-6


@pytest.mark.parametrize("record", [(-1.0, 1.0), (1.0, -1.0), (float("nan"), 1.0)])
def test_progress_below_nothing_is_refused(record):
    with pytest.raises(Refused):
        Built(SUNDAY, *record)


@pytest.mark.parametrize(
    ("crew", "prior"), [(steady(1.0, rate_factor=0.0), 10.0), (steady(0.3), 0.0)]
)
def test_progress_needs_something_to_compare_with(crew, prior):
    with pytest.raises(Refused) as refusal:
        rate_factor(crew, (), prior)
    assert refusal.value.problems[0].code == "nothing_to_compare_with"


def test_a_crew_of_nobody_is_told_to_find_helpers():
    """Property: the refusal speaks of people, not of how progress is measured."""
    with pytest.raises(Refused) as refusal:
        replan(TWO, Crew(), every_day(), ())
    (problem,) = refusal.value.problems
    assert (problem.code, problem.field) == ("nobody_builds", "crew")
    assert problem.message == "nobody builds"
    assert "helpers" in problem.remedy


def test_a_crew_that_only_comes_on_saturdays_builds_on_saturdays():
    """By hand: nobody on other days; 4 m3 each on Saturday the 8th and the 15th."""
    pattern = every_day(crews=((5, steady(4.0)),))
    found = replan(TWO, Crew(), pattern, (), drying=days(3))
    assert [lift.first.likely.day for lift in calendar_of(found).lifts] == [8, 15]


def test_a_new_plan_can_be_written_down_and_read_again():
    """Property: plain data all through."""
    crew = Crew(Spread(5, 6, 8), 2.0)
    found = replan(room(), crew, every_day(), (Built(SUNDAY, 5.0, 30.0),))
    adapter = TypeAdapter(Replan)
    assert adapter.validate_json(adapter.dump_json(found)) == found
