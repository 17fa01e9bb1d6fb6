"""The calendar of lifts: by hand, and what must hold for any build."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import (
    MOST_DAYS,
    Bound,
    BuildCalendar,
    build_calendar,
)
from matching.domain.lifts.crew import Crew
from matching.domain.lifts.lifting import Drying, WorkPattern, dries_until
from matching.domain.walls.courses import Course
from tests.matching.domain.lifts.builds import (
    EXACT,
    MONDAY,
    courses,
    crews,
    days,
    dryings,
    every_day,
    patterns,
    room,
    spreads,
    steady,
)

ONE = (Course(0, 0.5, 3.0, 0.5),)
TWO = (*ONE, Course(0.5, 1.0, 3.0, 0.5))


def test_three_cubic_metres_at_one_a_day_take_three_days():
    """By hand: Monday to Wednesday."""
    found = build_calendar(ONE, steady(1.0), every_day(), drying=days(2))
    lift = found.lifts[0]
    assert (lift.first.likely, lift.last.likely) == (MONDAY, date(2027, 5, 5))
    assert lift.dries_until.likely == date(2027, 5, 7)
    assert [work.m3 for work in lift.days] == [1, 1, 1]
    assert lift.person_days == EXACT(3)


def test_the_next_lift_begins_on_the_day_on_which_the_one_below_is_dry():
    """By hand: done on Wednesday the 5th, 5 + 2 = 7, a Friday; in three days Saturday, or
    Monday where nobody works at weekends, and then until Wednesday."""
    always = build_calendar(TWO, steady(1.0), every_day(), drying=days(2))
    assert always.lifts[1].first.likely == date(2027, 5, 7)
    weekdays = every_day(weekdays=(0, 1, 2, 3, 4))
    found = build_calendar(TWO, steady(1.0), weekdays, drying=days(3))
    assert found.lifts[1].first.likely == date(2027, 5, 10)
    assert found.ends.likely == date(2027, 5, 12)


def test_a_week_after_a_saturday_is_the_next_saturday():
    """By hand: each lift takes Saturday's 3 m3; 8 + 7 = 15 May, and 8 days are too many."""
    saturdays = every_day(weekdays=(5,))
    week = build_calendar(TWO, steady(3.0), saturdays, drying=days(7))
    assert [lift.first.likely.day for lift in week.lifts] == [8, 15]
    assert "2 with work on the walls, 6 of drying" in week.why
    more = build_calendar(TWO, steady(3.0), saturdays, drying=days(8))
    assert [lift.first.likely.day for lift in more.lifts] == [8, 22]


def test_without_drying_a_lift_still_begins_on_a_fresh_day():
    """By hand: a day of work each, and drying of no day or of one makes no odds."""
    for drying in (days(0), days(1)):
        found = build_calendar(TWO, steady(3.0), every_day(), drying=drying)
        assert [lift.first.likely.day for lift in found.lifts] == [3, 4]


@pytest.mark.parametrize(
    ("first", "drying", "cautioned"),
    [
        (date(2027, 5, 3), days(7), False),
        (date(2027, 12, 6), days(7), True),
        # Done on 29 October, dry on 5 November.
        (date(2027, 10, 27), days(7), True),
        (date(2027, 10, 18), days(7), False),
        (date(2027, 12, 6), Drying(EXACT(7), EXACT(40), cold_months=(12, 1)), False),
    ],
)
def test_work_or_drying_in_winter_is_cautioned_if_no_cold_months_are_named(
    first, drying, cautioned
):
    """Fresh cob must not freeze: common practice, no source."""
    found = build_calendar(ONE, steady(1.0), every_day(first), drying=drying)
    told = {caution.code: caution for caution in found.cautions}
    assert ("frost_and_slow_drying" in told) is cautioned
    if cautioned:
        own = told["frost_and_slow_drying"]
        assert "cold_months" in own.text
        assert "must not freeze" in own.text


def test_a_quarter_of_rain_makes_three_days_of_four_count():
    """By hand: 3 m3 at 0.75 a day are 4 days."""
    pattern = every_day(rain_share=EXACT(0.25))
    assert build_calendar(ONE, steady(1.0), pattern).ends.likely == date(2027, 5, 6)


def test_nobody_works_on_a_listed_day_of_rain_or_rest():
    """By hand: Tuesday rains and Wednesday is off, so Monday, Thursday and Friday."""
    pattern = every_day(rain_days=(date(2027, 5, 4),), days_off=(date(2027, 5, 5),))
    found = build_calendar(ONE, steady(1.0), pattern)
    assert [work.day.day for work in found.lifts[0].days] == [3, 6, 7]


def test_the_last_day_counts_only_the_people_it_needs():
    """By hand: 3 m3 at 2 a day by one person are a day and a half."""
    found = build_calendar(ONE, steady(2.0), every_day())
    assert found.person_days == EXACT(1.5)


def test_a_weekday_may_have_its_own_crew():
    """By hand: one person places 0.5 on other days and Saturday's crew 2.5: Friday 0.5,
    Saturday 2.5."""
    pattern = every_day(MONDAY + timedelta(days=4), crews=((5, steady(2.5)),))
    found = build_calendar(ONE, steady(0.5), pattern)
    assert [work.m3 for work in found.lifts[0].days] == [0.5, 2.5]


def test_a_lift_finished_before_has_to_dry_first():
    """By hand: the lift below was finished on the Sunday before and dries three days:
    2 + 3 = 5 May."""
    found = build_calendar(
        ONE,
        steady(1.0),
        every_day(),
        drying=days(3),
        wet_since=MONDAY - timedelta(days=1),
    )
    assert found.lifts[0].first.likely == date(2027, 5, 5)


def test_what_binds_is_named_with_the_days_that_it_costs():
    """By hand. Two lifts of 3 m3 and 20 days of drying: a day of work each is left of three
    when hands do not count, so 2 + 2 days; without drying the second begins on the day
    after, not 20 days after: 19 saved. And the other way round, 29 + 29 and 2 - 1."""
    slow = build_calendar(TWO, steady(1.0), every_day(), drying=days(20))
    assert slow.bound is Bound.DRYING
    assert (slow.saved_by_hands, slow.saved_by_drying) == (4, 19)
    assert "Drying binds" in slow.why
    weak = build_calendar(TWO, steady(0.1), every_day(), drying=days(2))
    assert weak.bound is Bound.LABOUR
    assert (weak.saved_by_hands, weak.saved_by_drying) == (58, 1)
    rare = build_calendar(TWO, steady(1.0), every_day(weekdays=(5,)), drying=days(2))
    assert rare.bound is Bound.DAYS_OFF


def test_cold_months_dry_at_their_own_pace():
    """By hand: half of ten warm days until the end of October, then half of thirty cold."""
    drying = Drying(EXACT(10), EXACT(30), cold_months=(11,))
    assert dries_until(date(2027, 10, 26), drying, "likely") == date(2027, 11, 15)


@pytest.mark.parametrize(
    ("crew", "pattern", "code"),
    [
        (Crew(), every_day(), "never_finished"),
        (steady(0.001), every_day(), "never_finished"),
        (Crew(novices=Spread(0, 5, 9)), every_day(), "never_finished"),
        (Crew(novices=5.0, no_show=Spread(0, 0, 1)), every_day(), "never_finished"),
    ],
)
def test_a_crew_that_never_finishes_is_refused(crew, pattern, code):
    with pytest.raises(Refused) as refusal:
        build_calendar(ONE, crew, pattern)
    problem = refusal.value.problems[0]
    assert problem.code == code
    assert str(MOST_DAYS) in problem.message


def test_nothing_to_build_and_lifts_without_size_are_refused():
    for build, code in (
        ((), "nothing_to_build"),
        ((Course(0, 0.5, 0.0, 0.5),), "nothing_to_build"),
        ((Course(0.5, 0.5, 1.0, 0.5),), "lift_without_size"),
    ):
        with pytest.raises(Refused) as refusal:
            build_calendar(build, steady(1.0), every_day())
        assert refusal.value.problems[0].code == code


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"weekdays": ()}, "weekdays_unusable"),
        ({"weekdays": (7,)}, "weekdays_unusable"),
        ({"rain_share": Spread(0, 0.5, 1)}, "share_out_of_range"),
        ({"first_day": date(9999, 12, 30)}, "first_day_out_of_range"),
    ],
)
def test_a_pattern_that_cannot_be_is_refused(change, code):
    with pytest.raises(Refused) as refusal:
        WorkPattern(**{"first_day": MONDAY, **change})
    assert refusal.value.problems[0].code == code


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"warm_days": Spread(-1, 2, 3)}, "drying_days_out_of_range"),
        ({"warm_days": Spread(1, 2, 1e9)}, "drying_days_out_of_range"),
        ({"cold_months": (0,)}, "month_unknown"),
    ],
)
def test_drying_that_cannot_be_is_refused(given, code):
    with pytest.raises(Refused) as refusal:
        Drying(**given)
    assert refusal.value.problems[0].code == code


def test_cautions_come_once_each():
    """Every lift of the room is higher than its wall is wide."""
    found = build_calendar(room(), Crew(novices=90.0, trained=2.0), every_day())
    codes = [caution.code for caution in found.cautions]
    assert sorted(codes) == [
        "lift_higher_than_wall_is_wide",
        "too_few_leads",
        "too_many_for_the_lift",
    ]


def test_a_calendar_can_be_written_down_and_read_again():
    """Property: plain data all through."""
    found = build_calendar(room(), Crew(20.0, 4.0), WorkPattern(MONDAY))
    adapter = TypeAdapter(BuildCalendar)
    assert adapter.validate_json(adapter.dump_json(found)) == found


def plan(
    build: tuple[Course, ...], crew: Crew, pattern: WorkPattern, drying: Drying
) -> BuildCalendar | None:
    try:
        return build_calendar(build, crew, pattern, drying=drying)
    except Refused as refusal:
        if refusal.problems[0].code != "never_finished":
            raise
        return None


ANY = given(courses(), crews(), patterns(), dryings())
FEW = settings(max_examples=60)


@FEW
@ANY
def test_no_lift_begins_before_the_one_below_is_dry(build, crew, pattern, drying):
    """Property, in each of the three cases."""
    found = plan(build, crew, pattern, drying)
    if found is None:
        return
    for below, above in zip(found.lifts, found.lifts[1:], strict=False):
        for case in ("early", "likely", "late"):
            assert getattr(below.dries_until, case) <= getattr(above.first, case)
            assert getattr(below.last, case) < getattr(above.first, case)


@FEW
@ANY
def test_nobody_works_on_a_day_off(build, crew, pattern, drying):
    """Property: only on work days, and at the ends of each lift too."""
    found = plan(build, crew, pattern, drying)
    if found is None:
        return
    for lift in found.lifts:
        worked = [work.day for work in lift.days]
        ends = [
            getattr(d, c) for d in (lift.first, lift.last) for c in ("early", "late")
        ]
        for day in (*worked, *ends):
            assert day.weekday() in pattern.weekdays
            assert day not in pattern.days_off
            assert day >= pattern.first_day


@FEW
@ANY
def test_the_days_of_work_sum_to_the_walls(build, crew, pattern, drying):
    """Property: no m3 lost, no lift twice, cases in order."""
    found = plan(build, crew, pattern, drying)
    if found is None:
        return
    for lift, course in zip(found.lifts, build, strict=True):
        placed = sum(work.m3 for work in lift.days)
        assert placed == pytest.approx(course.placed_m3)
        assert lift.last.early <= lift.last.likely <= lift.last.late
    assert found.placed_m3 == pytest.approx(sum(c.placed_m3 for c in build))
    assert min(found.saved_by_hands, found.saved_by_drying) >= 0


@FEW
@given(courses(), crews(), patterns(), dryings(), st.floats(0, 20))
def test_more_helpers_never_finish_later(build, crew, pattern, drying, more):
    """Property, for helpers and trained people, in each case."""
    found = plan(build, crew, pattern, drying)
    if found is None:
        return
    for field in ("novices", "trained"):
        old = getattr(crew, field)
        stronger = Spread(old.low + more, old.likely + more, old.high + more)
        other = plan(build, replace(crew, **{field: stronger}), pattern, drying)
        assert other is not None
        assert other.ends.likely <= found.ends.likely
        assert other.ends.early <= found.ends.early
        assert other.ends.late <= found.ends.late


@FEW
@given(courses(), crews(), patterns(), dryings(), spreads(0, 0.35))
def test_more_rain_never_finishes_earlier(build, crew, pattern, drying, more):
    """Property, for the share of rain and for listed days of it."""
    found = plan(build, crew, pattern, drying)
    old = pattern.rain_share
    wetter = Spread(old.low + more.low, old.likely + more.likely, old.high + more.high)
    for other_pattern in (
        replace(pattern, rain_share=wetter),
        replace(
            pattern,
            rain_days=tuple(
                pattern.first_day + timedelta(days=n) for n in range(0, 60, 3)
            ),
        ),
    ):
        other = plan(build, crew, other_pattern, drying)
        if found is None:
            assert other is None
        elif other is not None:
            assert other.ends.likely >= found.ends.likely
            assert other.ends.late >= found.ends.late


@FEW
@given(courses(), crews(), patterns(), dryings(), st.floats(0, 30))
def test_longer_drying_never_finishes_earlier(build, crew, pattern, drying, more):
    """Property, across the turn of cold and warm months too."""

    def longer(spread: Spread) -> Spread:
        return Spread(spread.low + more, spread.likely + more, spread.high + more)

    found = plan(build, crew, pattern, drying)
    slower = replace(
        drying,
        warm_days=longer(drying.warm_days),
        cold_days=longer(drying.cold_days),
    )
    other = plan(build, crew, pattern, slower)
    if found is None:
        assert other is None
    elif other is not None:
        for case in ("early", "likely", "late"):
            assert getattr(other.ends, case) >= getattr(found.ends, case)
            assert getattr(other.dry, case) >= getattr(found.dry, case)


@FEW
@given(st.dates(date(2027, 1, 1), date(2029, 1, 1)), st.integers(0, 60), dryings())
def test_who_finishes_later_is_not_dry_earlier(last, later, drying):
    """Property: the cold does not reward the late."""
    for end in ("low", "likely", "high"):
        assert dries_until(last, drying, end) <= dries_until(
            last + timedelta(days=later), drying, end
        )
