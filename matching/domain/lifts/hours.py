"""Hours of trucks and machines, apart from those of volunteers.

No truck arrives among volunteers, and no machine moves among people who mix barefoot. One
person stays with any moving machine (kaboom.org, seen).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, time
from zoneinfo import ZoneInfo

from logistics.domain.calendar import Span, WeeklyHours, Window, windows
from logistics.domain.errors import Refused, refuse

GAP_MINUTES = 30
"""Between the last volunteer and the first truck; common practice, no source."""

LEAST_MINUTES = 30
"""A shorter opening is no use to a truck: free tipping takes 10 to 30 min (job terms)."""

DAY_MINUTES = 24 * 60


def hours_apart(
    site: WeeklyHours,
    volunteers: WeeklyHours,
    *,
    gap_minutes: int = GAP_MINUTES,
    least_minutes: int = LEAST_MINUTES,
) -> WeeklyHours:
    """The site's hours without the volunteers' hours and a gap on both sides of them.

    Weekdays without volunteers stay whole. Raises Refused for spans that close before they
    open, and when nothing is left in the whole week.
    """
    _check(site, "site")
    _check(volunteers, "volunteers")
    left = _apart(site, volunteers, gap_minutes, least_minutes)
    if not any(left.days):
        raise _nothing_left("in the whole week")
    return left


def dated_windows(
    site: WeeklyHours,
    volunteers: WeeklyHours,
    volunteer_days: Collection[date],
    days: Sequence[date],
    zone: ZoneInfo,
    *,
    gap_minutes: int = GAP_MINUTES,
) -> tuple[Window, ...]:
    """As `openings`. Raises Refused when that leaves nothing."""
    found = openings(
        site, volunteers, volunteer_days, days, zone, gap_minutes=gap_minutes
    )
    if not found:
        raise _nothing_left("on these days")
    return found


def openings(
    site: WeeklyHours,
    volunteers: WeeklyHours,
    volunteer_days: Collection[date],
    days: Sequence[date],
    zone: ZoneInfo,
    *,
    gap_minutes: int = GAP_MINUTES,
) -> tuple[Window, ...]:
    """Moments, in seconds UTC, when trucks may come on the given days: apart from volunteers
    on the days on which they come, the site's whole hours on the others."""
    _check(site, "site")
    _check(volunteers, "volunteers")
    apart = _apart(site, volunteers, gap_minutes, LEAST_MINUTES)
    found = windows(site, [day for day in days if day not in volunteer_days], zone)
    found += windows(apart, [day for day in days if day in volunteer_days], zone)
    return tuple(sorted(found))


def _apart(
    site: WeeklyHours, volunteers: WeeklyHours, gap: int, least: int
) -> WeeklyHours:
    if gap < 0 or least < 0:
        raise refuse(
            "minutes_below_zero",
            field="gap_minutes" if gap < 0 else "least_minutes",
            given=min(gap, least),
            message="a gap is at least 0 minutes",
            remedy="Give about 30.",
        )
    return WeeklyHours(
        tuple(
            _cut(open_, busy, gap, least)
            for open_, busy in zip(site.days, volunteers.days, strict=True)
        )
    )


def _cut(
    open_: tuple[Span, ...], busy: tuple[Span, ...], gap: int, least: int
) -> tuple[Span, ...]:
    pieces = [(_begun_minutes(span.opens), _minutes(span.closes)) for span in open_]
    if not busy:
        return open_
    for span in busy:
        begin = _minutes(span.opens) - gap
        end = _begun_minutes(span.closes) + gap
        pieces = [
            piece
            for opens, closes in pieces
            for piece in ((opens, min(closes, begin)), (max(opens, end), closes))
            if piece[0] < piece[1]
        ]
    return tuple(
        Span(_time(opens), _time(closes))
        for opens, closes in sorted(pieces)
        if closes - opens >= least
    )


def _minutes(at: time) -> int:
    """Whole minutes of the day up to a time."""
    return at.hour * 60 + at.minute


def _begun_minutes(at: time) -> int:
    """The same, a begun minute counted."""
    return _minutes(at) + (at.second > 0 or at.microsecond > 0)


def _time(minutes: int) -> time:
    return time(*divmod(min(minutes, DAY_MINUTES - 1), 60))


def _check(hours: WeeklyHours, field: str) -> None:
    for weekday, spans in enumerate(hours.days):
        for span in spans:
            if span.opens >= span.closes:
                raise refuse(
                    "closes_before_it_opens",
                    field=f"{field}.{weekday}",
                    given=f"{span.opens:%H:%M}-{span.closes:%H:%M}",
                    message="hours open before they close on the same day",
                    remedy="Part hours over midnight into two days.",
                )
    if len(hours.days) != 7:
        raise refuse(
            "week_of_other_length",
            field=field,
            given=len(hours.days),
            message="a week has seven days, Monday first",
            remedy="Give spans for each of the seven, none for a closed day.",
        )


def _nothing_left(when: str) -> Refused:
    return refuse(
        "no_hours_for_trucks",
        field="volunteers",
        given=f"no opening left {when}",
        message="the volunteers' hours leave none in which a truck may come",
        remedy="Open the site earlier, let the volunteers begin later, or keep one day"
        " without volunteers for deliveries.",
    )
