"""Dated needs: what each lift swallows, and when it has to lie on site.

Soil comes before it has to soak, sand a little before the work, straw just in time.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import BuildCalendar, Lift
from matching.domain.takeoff import TakeOff
from matching.domain.verdicts import Reason

GRAIN = 2.0**-20
"""Shares are cut to this part of a kg or m3, so that sums are exact in floating point."""

LEAN_CLAY, FAT_CLAY = 0.20, 0.35
"""Below the first a soil is a ready mix and needs no soaking; above the second it is fat.
Our own bounds, no source: practitioners call 10-25 % ready-mix and cut 30-50 % with sand."""


class Kind(StrEnum):
    """What a lift wants: soil, sand and straw by truck, water by hose or bowser."""

    SOIL = "soil"
    SAND = "sand"
    STRAW = "straw"
    WATER = "water"


@dataclass(frozen=True, slots=True)
class LiftNeed:
    """What one lift swallows: dry kg of soil and sand together (`mineral_dry_kg`) and
    apart, moist kg and loose m3 as trucks see them, straw as weighed, water in l."""

    number: int
    placed_m3: float
    mineral_dry_kg: Spread
    soil_dry_kg: Spread
    soil_moist_kg: Spread
    soil_loose_m3: Spread
    sand_dry_kg: Spread
    sand_moist_kg: Spread
    sand_loose_m3: Spread
    straw_kg: Spread
    water_l: Spread


@dataclass(frozen=True, slots=True)
class Pulse:
    """A delivery wanted: `kg` moist as loaded (straw as weighed, water in l), dry kg without
    the water, loose m3 of soil and sand. It is to lie on site on `due` at the latest and not
    come before `not_before`; `used_until` is the last day of the last lift it is for."""

    kind: Kind
    lifts: tuple[int, ...]
    kg: Spread
    dry_kg: Spread
    loose_m3: Spread
    not_before: date
    due: date
    used_until: date


@dataclass(frozen=True, slots=True)
class Lead:
    """Days ahead of a lift. `soak_days` of soil (None: from its clay), `sand_days` and
    `straw_days` before the first work day, `early_days` that soil and sand may come before
    they are due. `covered_from` is the day from which straw can lie under a roof, with
    `covered_days` ahead of need; None: no roof, straw comes just in time."""

    soak_days: int | None = None
    tip_days: int = 1
    sand_days: int = 1
    straw_days: int = 1
    early_days: int = 14
    covered_from: date | None = None
    covered_days: int = 14
    delivery_weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)

    def __post_init__(self) -> None:
        days = (self.tip_days, self.sand_days, self.straw_days, self.early_days)
        if min(*days, self.covered_days, self.soak_days or 0) < 0:
            raise refuse(
                "days_below_zero",
                field="lead",
                given=min(*days, self.covered_days, self.soak_days or 0),
                message="a delivery comes before the work, not after it",
                remedy="Give 0 days or more.",
            )
        if not self.delivery_weekdays or not set(self.delivery_weekdays) <= set(
            range(7)
        ):
            raise refuse(
                "weekdays_unusable",
                field="lead.delivery_weekdays",
                given=self.delivery_weekdays,
                message="delivery days are weekdays from 0 (Monday) to 6 (Sunday)",
                remedy="Name at least one.",
            )


USUAL_LEAD = Lead()


def soak_days(clay: Spread) -> Spread:
    """Days that a soil of this clay share soaks before it is mixed.

    A lean soil needs none. Clay soaks overnight at least (weblife.org/cob/cob_046, seen; a
    couple of hours, better overnight: solarcompound 2008-12, seen); one builder prepares his
    earth at least a week ahead (terre-pierre-et-chaux.fr, seen). Three days for fat clay:
    no source.
    """

    def days(share: float, fat: float) -> float:
        if share < LEAN_CLAY:
            return 0.0
        return 1.0 if share < FAT_CLAY else fat

    return Spread(days(clay.low, 1.0), days(clay.likely, 3.0), days(clay.high, 7.0))


def split(total: float, shares: Sequence[float]) -> list[float]:
    """Cut a total in proportion to shares that sum to 1. The parts sum to it exactly: all
    but the largest are whole grains, which leaves no rounding error."""
    parts = [math.floor(total * share / GRAIN) * GRAIN for share in shares]
    largest = max(range(len(parts)), key=lambda i: shares[i])
    parts[largest] = 0.0
    parts[largest] = total - sum(parts)
    return parts


def lift_needs(calendar: BuildCalendar, takeoff: TakeOff) -> tuple[LiftNeed, ...]:
    """What each lift swallows, the take-off in proportion to volume; the lifts' needs sum to
    the take-off at each end."""
    whole = sum(lift.placed_m3 for lift in calendar.lifts)
    shares = [lift.placed_m3 / whole for lift in calendar.lifts]
    columns = {
        name: _spreads(getattr(takeoff, name), shares)
        for name in (
            "mineral_dry_kg",
            "soil_dry_kg",
            "soil_moist_kg",
            "soil_loose_m3",
            "sand_dry_kg",
            "sand_moist_kg",
            "sand_loose_m3",
            "straw_kg",
            "water_l",
        )
    }
    return tuple(
        LiftNeed(
            lift.number,
            lift.placed_m3,
            **{name: column[index] for name, column in columns.items()},
        )
        for index, lift in enumerate(calendar.lifts)
    )


def _spreads(total: Spread, shares: Sequence[float]) -> list[Spread]:
    ends = (split(end, shares) for end in (total.low, total.likely, total.high))
    # Ends nearer to each other than a grain could change places.
    return [Spread(*sorted(parts)) for parts in zip(*ends, strict=True)]


def pulses(
    calendar: BuildCalendar,
    takeoff: TakeOff,
    *,
    clay: Spread,
    lead: Lead = USUAL_LEAD,
) -> tuple[Pulse, ...]:
    """One pulse for each lift and kind, by due date. `clay` is the soil's, for the soaking.
    Kinds of which nothing is needed are left out."""
    soak = lead.soak_days
    if soak is None:
        soak = math.ceil(soak_days(clay).likely)
    found = []
    for lift, need in zip(calendar.lifts, lift_needs(calendar, takeoff), strict=True):
        found += [
            _pulse(Kind.SOIL, lift, need, lead, soak + lead.tip_days),
            _pulse(Kind.SAND, lift, need, lead, lead.sand_days),
            _pulse(Kind.STRAW, lift, need, lead, lead.straw_days),
            _pulse(Kind.WATER, lift, need, lead, soak),
        ]
    return in_order(pulse for pulse in found if pulse.kg.high > 0)


def in_order(found: Iterable[Pulse]) -> tuple[Pulse, ...]:
    """Pulses by due date, kind and lift."""
    return tuple(
        sorted(found, key=lambda p: (p.due, list(Kind).index(p.kind), p.lifts))
    )


def _pulse(kind: Kind, lift: Lift, need: LiftNeed, lead: Lead, ahead: int) -> Pulse:
    due = lift.first.likely - timedelta(days=ahead)
    if kind is not Kind.WATER:
        # A due date without deliveries moves to the delivery day before it.
        while due.weekday() not in lead.delivery_weekdays:
            due -= timedelta(days=1)
    kg, dry, loose = _amounts(kind, need)
    return Pulse(
        kind=kind,
        lifts=(lift.number,),
        kg=kg,
        dry_kg=dry,
        loose_m3=loose,
        not_before=_not_before(kind, due, lead),
        due=due,
        used_until=lift.last.likely,
    )


def _amounts(kind: Kind, need: LiftNeed) -> tuple[Spread, Spread, Spread]:
    nothing = Spread.exactly(0)
    return {
        Kind.SOIL: (need.soil_moist_kg, need.soil_dry_kg, need.soil_loose_m3),
        Kind.SAND: (need.sand_moist_kg, need.sand_dry_kg, need.sand_loose_m3),
        Kind.STRAW: (need.straw_kg, need.straw_kg, nothing),
        Kind.WATER: (need.water_l, nothing, nothing),
    }[kind]


def _not_before(kind: Kind, due: date, lead: Lead) -> date:
    if kind is Kind.WATER:
        return due
    if kind is not Kind.STRAW:
        return due - timedelta(days=lead.early_days)
    if lead.covered_from is None or lead.covered_from > due:
        return due
    return max(lead.covered_from, due - timedelta(days=lead.covered_days))


def pulse_cautions(found: Sequence[Pulse], lead: Lead) -> tuple[Reason, ...]:
    """What is doubtful about dated needs: straw that comes before there is a roof."""
    straw = [pulse for pulse in found if pulse.kind is Kind.STRAW]
    bare = [
        pulse
        for pulse in straw
        if lead.covered_from is None or lead.covered_from > pulse.due
    ]
    if not bare:
        return ()
    return (
        Reason(
            "straw_without_roof",
            f"due {bare[0].due}"
            + (
                f", roof from {lead.covered_from}" if lead.covered_from else ", no roof"
            ),
            "a roof or a dry barn before the straw comes",
            "Straw that gets wet is lost: bring it just in time, on pallets, with a tarp"
            " over it and its sides open, or store it elsewhere until the roof is up.",
        ),
    )
