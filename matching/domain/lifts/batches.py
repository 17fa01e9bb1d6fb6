"""Dated needs as the market meets them: soil and sand of one pulse together, and straw."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from zoneinfo import ZoneInfo

from logistics.domain.calendar import WeeklyHours, Window
from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from matching.domain.lifts.hours import openings
from matching.domain.lifts.pulses import Kind, Pulse
from matching.domain.lifts.schedule import Schedule, ScheduledBuild

MINERAL, STRAW = "mineral", "straw"

OVERDUE_DAYS = 3
"""A load that should lie there already comes within so many open days; no source."""

EARLIER_DAYS = 14
"""How far a delivery may move ahead where the site is shut in its own days; no source."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What one or several lifts want in one piece, in dry kg (straw as weighed).

    `need` is the need of the build that it is part of, `key` its own name within the
    build. `windows`, in seconds UTC: when it may be tipped; None if these days are not
    known or end before anybody wants it.
    """

    key: str
    need: str
    cargoes: frozenset[Cargo]
    dry_kg: Spread
    placed_m3: float
    lifts: tuple[int, ...]
    not_before: date
    due: date
    windows: tuple[Window, ...] | None = None


@dataclass(frozen=True, slots=True)
class Gate:
    """When trucks may come to a site at all: local hours, and the first and last day."""

    hours: WeeklyHours
    zone: ZoneInfo
    first: date | None = None
    last: date | None = None

    def open_days(self, days: Sequence[date]) -> tuple[date, ...]:
        """Those of the days on which deliveries are wanted."""
        return tuple(
            day
            for day in days
            if (self.first is None or day >= self.first)
            and (self.last is None or day <= self.last)
        )


def batches(own: ScheduledBuild) -> tuple[Batch, ...]:
    """The dated needs of a build in order of their due dates, without windows.

    Soil and sand go together as the soil's pulses do, for they are blended; sand alone
    where the soil for a lift lies there already. Sums are those of `own.single`.
    """
    groups = [p for p in own.pulses if p.kind is Kind.SOIL]
    covered = {number for pulse in groups for number in pulse.lifts}
    for pulse in own.pulses:
        rest = tuple(number for number in pulse.lifts if number not in covered)
        if pulse.kind is Kind.SAND and rest:
            groups.append(replace(pulse, lifts=rest))
    minerals = [_mineral(own, pulse) for pulse in groups]
    straws = [
        _batch(own, pulse, STRAW, frozenset({Cargo.STRAW}), (Kind.STRAW,))
        for pulse in own.pulses
        if pulse.kind is Kind.STRAW
    ]
    return (*_numbered(minerals), *_numbered(straws))


def _mineral(own: ScheduledBuild, pulse: Pulse) -> Batch:
    if pulse.kind is Kind.SAND:
        return _batch(own, pulse, MINERAL, frozenset({Cargo.SAND}), (Kind.SAND,))
    both = frozenset({Cargo.SUBSOIL, Cargo.SAND})
    return _batch(own, pulse, MINERAL, both, (Kind.SOIL, Kind.SAND))


def _batch(
    own: ScheduledBuild,
    pulse: Pulse,
    need: str,
    cargoes: frozenset[Cargo],
    kinds: tuple[Kind, ...],
) -> Batch:
    lifts = own.calendar.lifts if own.calendar else ()
    parts = [
        single.dry_kg
        for single in own.single
        if single.kind in kinds and single.lifts[0] in pulse.lifts
    ]
    return Batch(
        key=need,
        need=need,
        cargoes=cargoes,
        dry_kg=Spread(
            sum(part.low for part in parts),
            sum(part.likely for part in parts),
            sum(part.high for part in parts),
        ),
        placed_m3=sum(lift.placed_m3 for lift in lifts if lift.number in pulse.lifts),
        lifts=pulse.lifts,
        not_before=pulse.not_before,
        due=pulse.due,
    )


def _numbered(found: Iterable[Batch]) -> list[Batch]:
    ordered = sorted(found, key=lambda batch: (batch.due, batch.lifts))
    return [
        replace(batch, key=f"{batch.need}-{number}")
        for number, batch in enumerate(ordered, start=1)
    ]


def apart(
    own: ScheduledBuild, schedule: Schedule, gate: Gate, days: Sequence[date]
) -> tuple[Window, ...]:
    """When trucks may come on these days: never among volunteers on a work day. Any day
    counts on which the crew may still be at work if things go badly."""
    wanted = gate.open_days(days)
    until = own.calendar.ends.late if own.calendar else None
    busy = {
        day
        for day in wanted
        if until and day <= until and schedule.pattern.works_on(day)
    }
    return openings(gate.hours, schedule.volunteers, busy, wanted, gate.zone)


def with_windows(
    batch: Batch,
    own: ScheduledBuild,
    schedule: Schedule,
    gate: Gate,
    days: Sequence[date],
) -> Batch:
    """The batch with the moments when it may be tipped on the days of a plan.

    What is overdue comes on the first open days; what is not wanted yet when the plan ends
    keeps None. Where the site is shut from `not_before` to `due`, the nearest open day
    before counts; with none there are no moments at all.
    """
    if batch.not_before > days[-1]:
        return batch
    if batch.due < days[0]:
        found = _first_days(own, schedule, gate, days)
    else:
        in_time = [day for day in days if batch.not_before <= day <= batch.due]
        found = apart(own, schedule, gate, in_time)
        earlier = [day for day in days if day < batch.not_before][-EARLIER_DAYS:]
        while not found and earlier:
            found = apart(own, schedule, gate, [earlier.pop()])
    return replace(batch, windows=found)


def _first_days(
    own: ScheduledBuild, schedule: Schedule, gate: Gate, days: Sequence[date]
) -> tuple[Window, ...]:
    found: list[Window] = []
    open_days = 0
    for day in days:
        windows = apart(own, schedule, gate, [day])
        found += windows
        open_days += bool(windows)
        if open_days == OVERDUE_DAYS:
            break
    return tuple(found)
