"""What was built so far corrects the rate, the lifts that remain and what is still needed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import (
    USUAL_DRYING,
    BuildCalendar,
    build_calendar,
)
from matching.domain.lifts.crew import Crew, day_m3, people
from matching.domain.lifts.lifting import Drying, WorkPattern
from matching.domain.lifts.pulses import Kind, Pulse, in_order
from matching.domain.verdicts import Reason
from matching.domain.walls.courses import Course

PRIOR_PERSON_DAYS = 10.0
"""What the published rates count for against the site's own: as much as so many person-days;
no source. New helpers need 3-4 days to be fully productive (coblist 1999/002452, seen), so
the first days should not outvote them."""

BEGUN_SHARE = 0.05
"""A lift with less than this share built may be a lift below that swallowed a little more:
it still has to dry. No source."""


@dataclass(frozen=True, slots=True)
class Built:
    """m3 of wall placed since the record before, up to and with a day, and the person-days
    that it took. Raises Refused below 0."""

    until: date
    placed_m3: float
    person_days: float

    def __post_init__(self) -> None:
        for field in ("placed_m3", "person_days"):
            given = getattr(self, field)
            if not (math.isfinite(given) and given >= 0):
                raise refuse(
                    "progress_below_zero",
                    field=f"built.{field}",
                    given=given,
                    message="nobody builds less than nothing",
                    remedy="Give what was added since the record before, at least 0.",
                )


@dataclass(frozen=True, slots=True)
class Remaining:
    """What is built of the lifts and what is left of them, bottom first; `wet_since` is the
    last day of work if it finished a lift, so that the next one has to wait, and
    `beyond_m3` what was placed beyond all lifts."""

    built_m3: float
    built: tuple[Course, ...]
    left: tuple[Course, ...]
    wet_since: date | None
    beyond_m3: float


@dataclass(frozen=True, slots=True)
class Replan:
    """The plan corrected: the factor on the rates, the crew with it, what remains, and the
    calendar of it (None when all is built)."""

    rate_factor: float
    crew: Crew
    remaining: Remaining
    calendar: BuildCalendar | None
    cautions: tuple[Reason, ...]


def rate_factor(
    crew: Crew, records: Sequence[Built], prior_person_days: float = PRIOR_PERSON_DAYS
) -> float:
    """What to multiply the crew's rates by after what was seen.

    (k r + placed) / (k r + expected): r is the likely m3 of a person-day of this crew, k
    the prior's person-days, expected = r times those spent. It is 1 with no records and goes
    to placed / expected with many: the mean of a Gamma prior on a Poisson rate. Raises
    Refused for a crew that builds nothing or a prior of 0.
    """
    _check_heads(crew)
    heads, output = people(crew).likely, day_m3(crew).likely
    if heads <= 0 or output <= 0 or prior_person_days <= 0:
        raise refuse(
            "nothing_to_compare_with",
            field="crew",
            given=f"{heads} people, {output} m3 a day, prior {prior_person_days}",
            message="progress is measured against a crew that builds something",
            remedy="Give a crew with people and a prior above 0 person-days.",
        )
    rate = output / heads
    prior = prior_person_days * rate
    placed = math.fsum(record.placed_m3 for record in records)
    expected = rate * math.fsum(record.person_days for record in records)
    return (prior + placed) / (prior + expected)


def _check_heads(crew: Crew) -> None:
    if people(crew).likely <= 0:
        raise refuse(
            "nobody_builds",
            field="crew",
            given="0 people",
            message="nobody builds",
            remedy="Give helpers: people who promised to come, or trained ones.",
        )


def _usual(crew: Crew, pattern: WorkPattern) -> Crew:
    """The crew whose pace is measured: the usual one, or where nobody is usual the first
    of a weekday that comes at all."""
    named = (crew, *(other for _, other in pattern.crews))
    return next((one for one in named if people(one).likely > 0), crew)


def remaining(courses: tuple[Course, ...], records: Sequence[Built]) -> Remaining:
    """Take what was placed from the lifts, bottom first. A lift that is partly built is
    parted at the height that its volume has reached."""
    placed = math.fsum(record.placed_m3 for record in records)
    left_over, built, left = placed, [], []
    finished = False
    for course in courses:
        volume = course.placed_m3
        if volume <= left_over + 1e-9 * volume:
            built.append(course)
            finished = finished or volume > 0
            left_over = max(0.0, left_over - volume)
        elif left_over > 1e-9 * volume:
            share = left_over / volume
            at = course.low_m + (course.high_m - course.low_m) * share
            built.append(replace(course, high_m=at, placed_m3=left_over))
            left.append(replace(course, low_m=at, placed_m3=volume - left_over))
            finished = finished and left_over < BEGUN_SHARE * volume
            left_over = 0.0
        else:
            left.append(course)
    worked = [record.until for record in records if record.placed_m3 > 0]
    return Remaining(
        built_m3=placed - left_over,
        built=tuple(built),
        left=tuple(left),
        wet_since=max(worked) if worked and finished else None,
        beyond_m3=left_over,
    )


def replan(
    courses: tuple[Course, ...],
    crew: Crew,
    pattern: WorkPattern,
    records: Sequence[Built],
    *,
    drying: Drying = USUAL_DRYING,
    prior_person_days: float = PRIOR_PERSON_DAYS,
) -> Replan:
    """The calendar of what remains, from the day after the last record, at corrected rates.

    Of crews by weekday each gets the same factor.
    """
    factor = rate_factor(_usual(crew, pattern), records, prior_person_days)
    corrected = _paced(crew, factor)
    rest = remaining(courses, records)
    first = pattern.first_day
    if records:
        last = max(record.until for record in records)
        first = max(first, last + timedelta(days=1))
    ahead = replace(
        pattern,
        first_day=first,
        crews=tuple((day, _paced(other, factor)) for day, other in pattern.crews),
    )
    calendar = None
    if any(course.placed_m3 > 0 for course in rest.left):
        calendar = build_calendar(
            rest.left, corrected, ahead, drying=drying, wet_since=rest.wet_since
        )
    return Replan(factor, corrected, rest, calendar, _cautions(rest, factor))


def _paced(crew: Crew, factor: float) -> Crew:
    return replace(crew, rate_factor=crew.rate_factor * factor)


def _cautions(rest: Remaining, factor: float) -> tuple[Reason, ...]:
    found = []
    if rest.beyond_m3 > 1e-6:
        found.append(
            Reason(
                "more_placed_than_drawn",
                f"{rest.beyond_m3:.2f} m3 more",
                f"{rest.built_m3:.2f} m3",
                "More was placed than the walls hold: they are thicker than drawn, or the"
                " records count something twice.",
            )
        )
    if not 0.5 <= factor <= 2:
        found.append(
            Reason(
                "rate_far_off",
                f"{factor:.2f} of the rate assumed",
                "0.5 to 2",
                "The site's rate is far from what was assumed: count the person-days and"
                " the m3 again before you trust the new dates.",
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Received:
    """Moist kg of one kind (straw as weighed) that came so far, and what of it still lies
    there if somebody looked."""

    kind: Kind
    kg: float
    on_hand_kg: float | None = None


def on_hand(received: Received, planned: Spread, built_share: float) -> float:
    """kg that still lie there: as counted, or what came less the built share of the planned
    likely need. Never less than nothing."""
    if received.on_hand_kg is not None:
        return max(0.0, received.on_hand_kg)
    return max(0.0, received.kg - planned.likely * built_share)


def still_needed(
    found: Sequence[Pulse], kind: Kind, stock_kg: float
) -> tuple[Pulse, ...]:
    """The pulses less a stock that lies on site already: the earliest of its kind shrink
    first, at each end of their spread, and those that need nothing fall away."""
    used = {"low": 0.0, "likely": 0.0, "high": 0.0}
    kept = []
    for pulse in in_order(found):
        if pulse.kind is not kind:
            kept.append(pulse)
            continue
        ends = {}
        for end, before in used.items():
            want = getattr(pulse.kg, end)
            ends[end] = max(0.0, want - max(0.0, stock_kg - before))
            used[end] = before + want
        if ends["high"] > 0:
            kept.append(_cut(pulse, Spread(**ends)))
    return in_order(kept)


def _cut(pulse: Pulse, kg: Spread) -> Pulse:
    """The pulse with less, its dry mass and volume in proportion."""
    if kg == pulse.kg:
        return pulse

    def part(whole: Spread) -> Spread:
        shares = [
            getattr(kg, end) / getattr(pulse.kg, end) if getattr(pulse.kg, end) else 0.0
            for end in ("low", "likely", "high")
        ]
        ends = (whole.low, whole.likely, whole.high)
        return Spread(*sorted(w * s for w, s in zip(ends, shares, strict=True)))

    return replace(
        pulse, kg=kg, dry_kg=part(pulse.dry_kg), loose_m3=part(pulse.loose_m3)
    )
