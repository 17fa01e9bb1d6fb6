"""The people and machines of a work day, and how much wall they raise.

Rates are m3 of finished wall for one person and 8 hours, all tasks counted. Different
people differ 5 to 1 (coblist 1999/002461, seen), hence the spreads.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logistics.domain.errors import Refused, refuse
from logistics.domain.quantities import Spread
from matching.domain.verdicts import Reason

RATED_HOURS = 8.0
"""Hours of the day that the rates are for."""

NOVICE_M3 = Spread(0.12, 0.14, 0.15)
"""A new helper, mixing by foot. 20 people on tarps raised a 15 x 20 ft house to 5-6 ft in a
week (coblist 1999/002082, seen): 0.14-0.16, computed."""

TRAINED_M3 = Spread(0.25, 0.275, 0.30)
"""Somebody who has built before. 14 yd3 in 300 h (bartswindow.com, seen) is 0.29 in 8 h;
four batches a day (theyearofmud 2008-05-21, seen) are 0.2-0.3, computed."""

TRAINED_MACHINE_M3 = Spread(0.6, 0.75, 0.9)
"""The same person placing what a machine has mixed: from memory. 50 yd3 mixed and placed by
3 people in less than 25 days (coblist 1999/002447, seen) are 0.51 and more, computed."""

NO_SHOW = Spread(0.1, 0.2, 0.5)
"""Share of the helpers who promised and do not come. "Less than 50 %" of the registered came
to an event (event360.com, seen); the likely figure is common practice, no source."""

MOST_HELPERS_PER_LEAD = 6
"""4-6 reliable helpers to a lead (ernieanderica.info, seen)."""

PLACING_SHARE = 1 / 3
"""Of a crew that mixes by foot, the share that stands at the wall; no source."""

PLACER_M = 1.0
"""Run of wall that somebody needs to place cob; common practice, no source."""


@dataclass(frozen=True, slots=True)
class MixingMachine:
    """A machine that mixes, with its driver: placed m3 an hour and hours a day. Raises
    Refused for a machine that mixes nothing."""

    m3_per_hour: Spread
    hours_per_day: float

    def __post_init__(self) -> None:
        if self.m3_per_hour.low < 0 or self.m3_per_hour.high <= 0:
            raise _unusable("machine.m3_per_hour", self.m3_per_hour.high)
        if not 0 < self.hours_per_day <= 24:
            raise _unusable("machine.hours_per_day", self.hours_per_day)


DIGGER = MixingMachine(Spread(0.5, 2.0, 3.8), hours_per_day=3.0)
"""A digger's bucket. 1 m3 in a couple of hours at first (sacredgroves.in, seen); a pile of
10-15 yd3 in "a few hours" (permies 22593, seen): 7.6-11.5 m3 in three, computed."""


@dataclass(frozen=True, slots=True)
class Crew:
    """Who is expected on one work day. Raises Refused for less than nobody.

    `novices` are heads that promised to come, `trained` heads that are sure to come and can
    lead; `no_show` is a share of the novices. `hours_per_day` scales the rates of 8 h.
    `rate_factor` is what progress so far says of the rates, 1 for nothing.
    """

    novices: Spread | float = 0.0
    trained: Spread | float = 0.0
    machine: MixingMachine | None = None
    hours_per_day: float = RATED_HOURS
    no_show: Spread = NO_SHOW
    novice_m3: Spread = NOVICE_M3
    trained_m3: Spread = TRAINED_M3
    trained_machine_m3: Spread = TRAINED_MACHINE_M3
    rate_factor: float = 1.0

    def __post_init__(self) -> None:
        for field in ("novices", "trained", "novice_m3", "trained_m3"):
            given = as_spread(getattr(self, field))
            if given.low < 0:
                raise _unusable(f"crew.{field}", given.low)
        if not 0 < self.hours_per_day <= 24:
            raise _unusable("crew.hours_per_day", self.hours_per_day)
        if not (math.isfinite(self.rate_factor) and self.rate_factor >= 0):
            raise _unusable("crew.rate_factor", self.rate_factor)
        if self.no_show.low < 0 or self.no_show.high > 1:
            raise refuse(
                "share_out_of_range",
                field="crew.no_show",
                given=f"{self.no_show.low}, {self.no_show.high}",
                message="the share of helpers that stay away lies between 0 and 1",
                remedy="Give shares such as 0.1, 0.2 and 0.5.",
            )
        if self.trained_machine_m3.low < 0 or self.trained_m3.likely <= 0:
            raise _unusable("crew.trained_machine_m3", self.trained_machine_m3.low)


def as_spread(value: Spread | float) -> Spread:
    """A plain figure as one without doubt."""
    return value if isinstance(value, Spread) else Spread.exactly(value)


def people(crew: Crew) -> Spread:
    """Heads that are there, after those who stay away."""
    novices, trained = as_spread(crew.novices), as_spread(crew.trained)
    away = crew.no_show
    return Spread(
        trained.low + novices.low * (1 - away.high),
        trained.likely + novices.likely * (1 - away.likely),
        trained.high + novices.high * (1 - away.low),
    )


def places(run_m: float) -> int:
    """Placers that a run of wall has room for, at least one."""
    return max(1, math.floor(run_m / PLACER_M + 1e-6))


def day_m3(crew: Crew, run_m: float | None = None) -> Spread:
    """m3 of wall in one dry work day: badly, likely and well.

    A run of wall in m caps it: the fastest get the places, and who finds none adds nothing.
    A machine caps it at what it mixes. With a machine a novice gains by the same factor as a trained person
    (no source).
    """
    novices, trained = as_spread(crew.novices), as_spread(crew.trained)
    ends = []
    for end, away in (("low", "high"), ("likely", "likely"), ("high", "low")):
        came = getattr(novices, end) * (1 - getattr(crew.no_show, away))
        sure = getattr(trained, end)
        made = _made(crew, end, came, sure, run_m) * _scale(crew)
        if crew.machine:
            mixed = getattr(crew.machine.m3_per_hour, end) * crew.machine.hours_per_day
            made = min(made, mixed)
        ends.append(made)
    # Caps may bend the order of equal figures by a rounding error.
    return Spread(ends[0], max(ends[0], ends[1]), max(ends))


def _rates(crew: Crew, end: str) -> tuple[float, float]:
    """m3 a day of a novice and of a trained person."""
    novice, trained = getattr(crew.novice_m3, end), getattr(crew.trained_m3, end)
    if crew.machine is None:
        return novice, trained
    gain = crew.trained_machine_m3.likely / crew.trained_m3.likely
    return novice * gain, getattr(crew.trained_machine_m3, end)


def _scale(crew: Crew) -> float:
    return crew.hours_per_day / RATED_HOURS * crew.rate_factor


def _made(crew: Crew, end: str, came: float, sure: float, run_m: float | None) -> float:
    """m3 in the rated hours by those who find room, the fastest first."""
    rates = _rates(crew, end)
    room = _room(crew, run_m)
    made = 0.0
    for rate, heads in sorted(zip(rates, (came, sure), strict=True), reverse=True):
        busy = min(heads, room)
        made += busy * rate
        room -= busy
    return made


def _room(crew: Crew, run_m: float | None) -> float:
    """Heads that find work at a run of wall."""
    if run_m is None:
        return math.inf
    return places(run_m) / (1.0 if crew.machine else PLACING_SHARE)


def crew_cautions(crew: Crew) -> tuple[Reason, ...]:
    """Whether the helpers have leads enough."""
    trained = as_spread(crew.trained).likely
    helpers = people(crew).high - as_spread(crew.trained).high
    if helpers > 0 and trained <= 0:
        return (
            Reason(
                "nobody_leads",
                "no trained person",
                f"one for every {MOST_HELPERS_PER_LEAD} helpers",
                "Helpers without a lead build what has to come down again: find somebody"
                " who has built before.",
            ),
        )
    if trained > 0 and helpers / trained > MOST_HELPERS_PER_LEAD + 1e-9:
        return (
            Reason(
                "too_few_leads",
                f"{helpers / trained:.1f} helpers to a lead",
                f"4 to {MOST_HELPERS_PER_LEAD}",
                "Find more leads or spread the helpers over more days.",
            ),
        )
    return ()


def crowding(crew: Crew, run_m: float) -> tuple[Reason, ...]:
    """Whether more people come than find a place at a run of wall in m."""
    heads = people(crew).likely
    if heads <= _room(crew, run_m):
        return ()
    return (
        Reason(
            "too_many_for_the_lift",
            f"{heads:.0f} people",
            f"{places(run_m)} places at {run_m:.1f} m of wall",
            "Too many people for one lift: those without a place at the wall are not"
            " counted. Spread them over more days.",
        ),
    )


def _unusable(field: str, given: object) -> Refused:
    return refuse(
        "crew_figure_unusable",
        field=field,
        given=given,
        message="this figure of the crew cannot be",
        remedy="Heads and rates are at least 0; hours and a machine's output above 0,"
        " hours at most 24.",
    )
