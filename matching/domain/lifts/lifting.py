"""How high a lift may be, how long it dries, and on which days anybody works."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import Crew
from matching.domain.verdicts import Reason

FINE_SOIL_M = 0.6
"""About 0.6 m: Devon Earth Building Association and French bauge (both seen); about 2 ft:
Williams-Ellis, Cottage Building in Cob (seen quoted); 0.5 m: ecologycenter.us (seen)."""

COARSE_SOIL_M = 1.0
"""Up to 1 m in coarse, sandy soils: Keefe, Earth Construction 2 (seen)."""

LOW_LIFT_M = 0.5


def lift_height(thickness_m: float, *, coarse: bool = False) -> Spread:
    """Height of a lift in m: cautious, likely and the most. The likely one is the width of
    the wall (Keefe, seen), at most 0.6 m. Raises Refused for no thickness."""
    if not (math.isfinite(thickness_m) and thickness_m > 0):
        raise refuse(
            "length_not_positive",
            field="thickness_m",
            given=thickness_m,
            message="a wall has a thickness",
            remedy="Give metres above 0, such as 0.45.",
        )
    most = COARSE_SOIL_M if coarse else FINE_SOIL_M
    likely = min(thickness_m, most)
    return Spread(min(likely, LOW_LIFT_M), likely, most)


def lift_cautions(
    lift_m: float, thickness_m: float, *, coarse: bool = False
) -> tuple[Reason, ...]:
    """Whether a lift is higher than the guide. The code asks only that it supports itself
    with minimal slumping (IRC 2021 appendix AU, AU103.6, seen)."""
    guide = lift_height(thickness_m, coarse=coarse)
    if lift_m <= guide.likely + 1e-9:
        return ()
    beyond = lift_m > guide.high + 1e-9
    return (
        Reason(
            "lift_too_high" if beyond else "lift_higher_than_wall_is_wide",
            f"{lift_m:.2f} m",
            f"at most {guide.high if beyond else guide.likely:.2f} m",
            "Soft cob this high bulges under its own weight: build lower lifts, or try"
            " one and look.",
        ),
    )


WARM_DAYS = Spread(2, 7, 21)
"""2 days between courses of 50 cm (ecologycenter.us, seen), 1-3 weeks for bauge (futura-
sciences, seen), 2-3 weeks (Williams-Ellis, seen quoted). The likely week: no source."""

COLD_DAYS = Spread(14, 42, 60)
"""Over 2 weeks for the first course in the cold and wet (coblist 2004/007501, seen); a month
or two in winter, a day or two in summer (diyhousebuilding.com, seen)."""

MOST_DRYING_DAYS = 366


@dataclass(frozen=True, slots=True)
class Drying:
    """Days that a lift needs until it bears the next one: well, likely and badly.

    `cold_months` (1-12) dry at the pace of `cold_days`. Cob is built from March to September
    (Williams-Ellis, seen quoted, for Devon). Raises Refused for months that do not exist.
    """

    warm_days: Spread = WARM_DAYS
    cold_days: Spread = COLD_DAYS
    cold_months: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        ends = (self.warm_days, self.cold_days)
        if any(days.low < 0 or days.high > MOST_DRYING_DAYS for days in ends):
            raise refuse(
                "drying_days_out_of_range",
                field="drying",
                given=f"{self.warm_days.low} to {self.warm_days.high} warm,"
                f" {self.cold_days.low} to {self.cold_days.high} cold",
                message=f"a lift dries in 0 to {MOST_DRYING_DAYS} days",
                remedy="Give days, such as 2, 7 and 21.",
            )
        if any(not 1 <= month <= 12 for month in self.cold_months):
            raise refuse(
                "month_unknown",
                field="drying.cold_months",
                given=self.cold_months,
                message="months run from 1 to 12",
                remedy="Give months such as 11, 12, 1 and 2.",
            )


def dries_until(last: date, drying: Drying, end: str) -> date:
    """The day on which a lift is dry after the last day of work, for `end` low, likely or
    high: seven days after a Saturday it is a Saturday, and bears work on that day.

    Each day brings its month's share of the drying, so that a later start is never dry
    earlier. Needs no day at all for 0 days.
    """
    warm, cold = getattr(drying.warm_days, end), getattr(drying.cold_days, end)
    day, dried = last, 0.0
    while dried < 1 - 1e-9:
        following = day + timedelta(days=1)
        needed = cold if following.month in drying.cold_months else warm
        if needed <= 0:
            return day
        day, dried = following, dried + 1 / needed
    return day


WINTER_MONTHS = (11, 12, 1, 2, 3)
"""Half of the year in which frost is to be feared north of the tropics; common practice, no
source. Who names cold months knows the place better."""


def winter_caution(
    stretches: Sequence[tuple[date, date]], drying: Drying
) -> tuple[Reason, ...]:
    """A caution if work or drying, from a day to a day each, falls in cold months and none
    are named. Where the site lies is not known here, so the words leave it open."""
    if drying.cold_months:
        return ()
    cold = next(
        (
            first + timedelta(days=after)
            for first, last in stretches
            for after in range((last - first).days + 1)
            if (first + timedelta(days=after)).month in WINTER_MONTHS
        ),
        None,
    )
    if cold is None:
        return ()
    return (
        Reason(
            "frost_and_slow_drying",
            f"work or drying on {cold}, no cold_months named",
            "cold_months of the place, or work outside them",
            "In cold months, November to March north of the tropics, lifts dry in weeks"
            " rather than days, and fresh cob must not freeze. Name them as cold_months,"
            " build in the warm ones, or cover and keep the walls from frost.",
        ),
    )


MIN_YEAR, MAX_YEAR = 1900, 2900


@dataclass(frozen=True, slots=True)
class WorkPattern:
    """The days on which the crew builds.

    `weekdays` (Monday 0) without `days_off` and listed `rain_days`. `rain_share` is the share
    of the work that rain takes besides: well, likely and badly; 0 under a roof. `crews` names
    another crew for a weekday. Raises Refused for days that do not exist or rain always.
    """

    first_day: date
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    days_off: tuple[date, ...] = ()
    rain_days: tuple[date, ...] = ()
    rain_share: Spread = Spread(0.0, 0.1, 0.3)
    crews: tuple[tuple[int, Crew], ...] = ()

    def __post_init__(self) -> None:
        named = (*self.weekdays, *(day for day, _ in self.crews))
        if not self.weekdays or any(not 0 <= day <= 6 for day in named):
            raise refuse(
                "weekdays_unusable",
                field="pattern.weekdays",
                given=self.weekdays,
                message="work days are weekdays from 0 (Monday) to 6 (Sunday)",
                remedy="Name at least one, such as 5 for Saturdays.",
            )
        if not MIN_YEAR <= self.first_day.year <= MAX_YEAR:
            raise refuse(
                "first_day_out_of_range",
                field="pattern.first_day",
                given=self.first_day,
                message=f"the first day lies between {MIN_YEAR} and {MAX_YEAR}",
                remedy="Check the year.",
            )
        if self.rain_share.low < 0 or self.rain_share.high >= 1:
            raise refuse(
                "share_out_of_range",
                field="pattern.rain_share",
                given=f"{self.rain_share.low}, {self.rain_share.high}",
                message="the share lost to rain is at least 0 and below 1",
                remedy="Give shares such as 0, 0.1 and 0.3, or build under a roof.",
            )

    def works_on(self, day: date) -> bool:
        """Whether anybody builds on a day."""
        return (
            day >= self.first_day
            and day.weekday() in self.weekdays
            and day not in self.days_off
            and day not in self.rain_days
        )

    def crew_on(self, day: date, usual: Crew) -> Crew:
        """Who builds on a day: the crew of the weekday, or the usual one."""
        return dict(self.crews).get(day.weekday(), usual)
