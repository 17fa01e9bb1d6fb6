"""The calendar of lifts: when each is built and dry, if things go well, likely or badly.

Expected-value arithmetic, no dice: a day yields the crew's output less the share that rain
takes, and no lift begins before the one below has dried: on its last day of drying a lift
bears work again, so seven days after a Saturday is a Saturday.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from logistics.domain.errors import Refused, refuse
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import Crew, crew_cautions, crowding, day_m3, people
from matching.domain.lifts.lifting import (
    Drying,
    WorkPattern,
    dries_until,
    lift_cautions,
    winter_caution,
)
from matching.domain.verdicts import Reason
from matching.domain.walls.courses import Course

MOST_DAYS = 5 * 366
"""A calendar longer than this helps nobody."""

USUAL_DRYING = Drying()
AT_ONCE = Drying(Spread.exactly(0), Spread.exactly(0))
DAY = timedelta(days=1)


class Case(StrEnum):
    """How things go."""

    WELL = "well"
    LIKELY = "likely"
    BADLY = "badly"


# For each case the end of the crew's output, of the rain and of the drying.
ENDS: dict[Case, tuple[str, str, str]] = {
    Case.WELL: ("high", "low", "low"),
    Case.LIKELY: ("likely", "likely", "likely"),
    Case.BADLY: ("low", "high", "high"),
}


class Bound(StrEnum):
    """What makes the build take so long: what would save the most days if it were none."""

    LABOUR = "labour"
    DRYING = "drying"
    DAYS_OFF = "days_off"


@dataclass(frozen=True, slots=True)
class Dates:
    """A date if things go well, the likely one, and one if they go badly."""

    early: date
    likely: date
    late: date


@dataclass(frozen=True, slots=True)
class DayWork:
    """Expected m3 placed on a day and heads at work."""

    day: date
    m3: float
    heads: float


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift: heights in m, m3 of wall, m of wall run, first and last work day, the day
    from which it is dry and bears work, and the likely work day by day. `number` counts
    from 1."""

    number: int
    low_m: float
    high_m: float
    placed_m3: float
    run_m: float
    first: Dates
    last: Dates
    dries_until: Dates
    person_days: Spread
    days: tuple[DayWork, ...]


@dataclass(frozen=True, slots=True)
class BuildCalendar:
    """All lifts, bottom first, and why they take so long. `ends` is the last work day,
    `saved_by_...` days that would be saved without limit of hands, without drying, and by
    work on every day of the week."""

    lifts: tuple[Lift, ...]
    placed_m3: float
    ends: Dates
    dry: Dates
    person_days: Spread
    bound: Bound
    why: str
    saved_by_hands: int
    saved_by_drying: int
    saved_by_every_day: int
    cautions: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class _Plan:
    courses: tuple[Course, ...]
    crew: Crew
    pattern: WorkPattern
    drying: Drying
    wet_since: date | None = None
    endless_hands: bool = False


@dataclass(frozen=True, slots=True)
class _Span:
    days: tuple[DayWork, ...]
    dry: date

    @property
    def first(self) -> date:
        return self.days[0].day

    @property
    def last(self) -> date:
        return self.days[-1].day

    @property
    def person_days(self) -> float:
        return sum(work.heads for work in self.days)


def run_m(course: Course) -> float:
    """Length of wall in a lift, in m; rather short where walls differ in thickness, because
    a course names the thickest."""
    return course.placed_m3 / ((course.high_m - course.low_m) * course.thickness_m)


def build_calendar(
    courses: tuple[Course, ...],
    crew: Crew,
    pattern: WorkPattern,
    *,
    drying: Drying = USUAL_DRYING,
    wet_since: date | None = None,
    coarse: bool = False,
) -> BuildCalendar:
    """When each lift is built and dry. Lifts without volume are left out.

    `wet_since` is the last work day on a finished lift below the first one given. `coarse`
    soil stands in higher lifts. Raises Refused for nothing to build, and for a crew that
    does not finish within MOST_DAYS, even if only when things go badly.
    """
    kept = tuple(course for course in courses if course.placed_m3 > 0)
    _check(kept)
    plan = _Plan(kept, crew, pattern, drying, wet_since)
    spans = {case: _simulate(plan, case) for case in Case}
    lifts = tuple(_lift(i, course, spans) for i, course in enumerate(kept))
    bound, saved = _bound(plan, spans[Case.LIKELY])
    return BuildCalendar(
        lifts=lifts,
        placed_m3=sum(course.placed_m3 for course in kept),
        ends=lifts[-1].last,
        dry=lifts[-1].dries_until,
        person_days=Spread(
            sum(lift.person_days.low for lift in lifts),
            sum(lift.person_days.likely for lift in lifts),
            sum(lift.person_days.high for lift in lifts),
        ),
        bound=bound,
        why=_why(spans[Case.LIKELY], bound, saved),
        saved_by_hands=saved[Bound.LABOUR],
        saved_by_drying=saved[Bound.DRYING],
        saved_by_every_day=saved[Bound.DAYS_OFF],
        cautions=_cautions(plan, spans[Case.LIKELY], coarse=coarse),
    )


def _check(courses: tuple[Course, ...]) -> None:
    if not courses:
        raise refuse(
            "nothing_to_build",
            field="courses",
            given="no volume",
            message="there is no lift left to build",
            remedy="Draw walls, or take the build as finished.",
        )
    for index, course in enumerate(courses):
        if course.high_m <= course.low_m or course.thickness_m <= 0:
            raise refuse(
                "lift_without_size",
                field=f"courses.{index}",
                given=f"{course.low_m} to {course.high_m} m, {course.thickness_m} m",
                message="a lift has a height and a thickness",
                remedy="Give heights that rise and a thickness above 0.",
            )


def _simulate(plan: _Plan, case: Case) -> list[_Span]:
    """All lifts one after the other, day by day."""
    end = ENDS[case][2]
    begin = plan.pattern.first_day
    if plan.wet_since:
        dry = dries_until(plan.wet_since, plan.drying, end)
        begin = max(begin, _bears_work(plan.wet_since, dry))
    spans = []
    for course in plan.courses:
        days = _raise_lift(course, begin, plan, case)
        dry = dries_until(days[-1].day, plan.drying, end)
        spans.append(_Span(days, dry))
        begin = _bears_work(days[-1].day, dry)
    return spans


def _bears_work(last: date, dry: date) -> date:
    # Even without drying a lift begins on a fresh day.
    return max(dry, last + DAY)


def _raise_lift(
    course: Course, begin: date, plan: _Plan, case: Case
) -> tuple[DayWork, ...]:
    output = _outputs(course, plan, case)
    left, day, days = course.placed_m3, begin, []
    while left > 1e-9 * course.placed_m3:
        if (day - plan.pattern.first_day).days > MOST_DAYS:
            raise _endless(case, plan.pattern.first_day)
        made, heads = output(day)
        if made > 0:
            part = min(1.0, left / made)
            days.append(DayWork(day, min(left, made), heads * part))
            left -= made
        day += DAY
    return tuple(days)


def _outputs(
    course: Course, plan: _Plan, case: Case
) -> Callable[[date], tuple[float, float]]:
    """Expected m3 and heads of a day on this lift."""
    made, rain, _ = ENDS[case]
    dry_share = 1 - getattr(plan.pattern.rain_share, rain)
    known: dict[int, tuple[float, float]] = {}

    def output(day: date) -> tuple[float, float]:
        if not plan.pattern.works_on(day):
            return 0.0, 0.0
        weekday = day.weekday()
        if weekday not in known:
            crew = plan.pattern.crew_on(day, plan.crew)
            m3 = getattr(day_m3(crew, run_m(course)), made) * dry_share
            if plan.endless_hands and m3 > 0:
                m3 = course.placed_m3
            known[weekday] = m3, getattr(people(crew), made) * dry_share
        return known[weekday]

    return output


def _endless(case: Case, first: date) -> Refused:
    return refuse(
        "never_finished",
        field="crew",
        given=f"if things go {case}" if case is not Case.LIKELY else "the likely case",
        message=f"the crew does not finish within {MOST_DAYS} days of {first}",
        remedy="Count more people, more work days, less rain, or at the low end at least"
        " somebody who comes.",
    )


def _lift(index: int, course: Course, spans: dict[Case, list[_Span]]) -> Lift:
    well, likely, badly = (spans[case][index] for case in Case)
    spent = (well.person_days, likely.person_days, badly.person_days)
    return Lift(
        number=index + 1,
        low_m=course.low_m,
        high_m=course.high_m,
        placed_m3=course.placed_m3,
        run_m=run_m(course),
        first=Dates(well.first, likely.first, badly.first),
        last=Dates(well.last, likely.last, badly.last),
        dries_until=Dates(well.dry, likely.dry, badly.dry),
        # More people who each do more: either case may take the more person-days.
        person_days=Spread(min(spent), likely.person_days, max(spent)),
        days=likely.days,
    )


def _bound(plan: _Plan, spans: list[_Span]) -> tuple[Bound, dict[Bound, int]]:
    """What binds, and the days saved without each of the three."""
    every_day = replace(plan.pattern, weekdays=tuple(range(7)), days_off=())
    without = {
        Bound.LABOUR: replace(plan, endless_hands=True),
        Bound.DRYING: replace(plan, drying=AT_ONCE),
        Bound.DAYS_OFF: replace(plan, pattern=every_day),
    }
    saved = {
        bound: (spans[-1].last - _simulate(other, Case.LIKELY)[-1].last).days
        for bound, other in without.items()
    }
    return max(saved, key=lambda bound: saved[bound]), saved


def _why(spans: list[_Span], bound: Bound, saved: dict[Bound, int]) -> str:
    total = (spans[-1].last - spans[0].first).days + 1
    worked = sum(len(span.days) for span in spans)
    # The day on which a lift is dry is one of work or of waiting.
    drying = sum(max(0, (span.dry - span.last).days - 1) for span in spans[:-1])
    texts = {
        Bound.LABOUR: "Labour binds",
        Bound.DRYING: "Drying binds, not labour",
        Bound.DAYS_OFF: "The days without work bind",
    }
    return (
        f"From the first to the last work day {total} days: {worked} with work on the"
        f" walls, {drying} of drying between lifts, {total - worked - drying} waiting for"
        f" a work day. {texts[bound]}: with any number of hands {saved[Bound.LABOUR]} days"
        f" less, if lifts dried at once {saved[Bound.DRYING]}, with work on every day of"
        f" the week {saved[Bound.DAYS_OFF]}."
    )


def _cautions(plan: _Plan, spans: list[_Span], *, coarse: bool) -> tuple[Reason, ...]:
    """Each kind of caution once, for the crew or lift where it is met first."""
    crews = [plan.crew, *(crew for _, crew in plan.pattern.crews)]
    shortest = min(run_m(course) for course in plan.courses)
    found: dict[str, Reason] = {}
    for crew in crews:
        for caution in (*crew_cautions(crew), *crowding(crew, shortest)):
            found.setdefault(caution.code, caution)
    for course in plan.courses:
        height = course.high_m - course.low_m
        for caution in lift_cautions(height, course.thickness_m, coarse=coarse):
            found.setdefault(caution.code, caution)
    frost = winter_caution(
        [(span.first, max(span.last, span.dry)) for span in spans], plan.drying
    )
    return (*found.values(), *frost)
