"""What lies on site from day to day, given deliveries and use, and whether it fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from logistics.domain.materials import SMALL_BALE, Bale
from matching.domain.lifts.calendar import BuildCalendar, Lift
from matching.domain.lifts.pulses import Kind, Pulse

Changes = dict[date, tuple[list[tuple[Kind, float]], list[tuple[Kind, float]]]]

STORED = (Kind.SOIL, Kind.SAND, Kind.STRAW)


@dataclass(frozen=True, slots=True)
class DayStock:
    """Loose m3 of soil and sand and m3 of bales on a day, after its deliveries and before
    its work."""

    day: date
    soil_m3: float
    sand_m3: float
    straw_m3: float

    @property
    def total_m3(self) -> float:
        """All of it."""
        return self.soil_m3 + self.sand_m3 + self.straw_m3


@dataclass(frozen=True, slots=True)
class Lying:
    """What lies on site already: loose m3 of a kind (of straw m3 of bales), and for lifts
    by number what each will use of it. What no lift uses stays."""

    kind: Kind
    m3: float
    uses: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Storage:
    """The stock on each day on which it changes, the fullest day, and whether it fits the
    room given (True where none is given)."""

    days: tuple[DayStock, ...]
    fullest: DayStock
    room_m3: float | None
    fits: bool
    text: str


def stored_m3(pulse: Pulse, bale: Bale = SMALL_BALE) -> float:
    """Likely room that a delivery takes; water takes none."""
    if pulse.kind is Kind.STRAW:
        return pulse.kg.likely / bale.kg_per_m3
    return pulse.loose_m3.likely


def storage(
    calendar: BuildCalendar,
    found: Sequence[Pulse],
    *,
    room_m3: float | None = None,
    bale: Bale = SMALL_BALE,
    lying: Sequence[Lying] = (),
) -> Storage | None:
    """The stock over time, None where nothing comes or lies. What lies there takes room
    from the first day on; deliveries come on their due dates, and each lift uses its
    materials as its volume grows."""
    changes = _changes(calendar, found, bale)
    _use_up(changes, calendar, lying)
    if not changes:
        return None
    stock = dict.fromkeys(STORED, 0.0)
    for own in lying:
        stock[own.kind] += own.m3
    days = []
    for day in sorted(changes):
        for kind, m3 in changes[day][0]:
            stock[kind] += m3
        days.append(DayStock(day, *(max(0.0, stock[kind]) for kind in STORED)))
        for kind, m3 in changes[day][1]:
            stock[kind] -= m3
    fullest = max(days, key=lambda stock: stock.total_m3)
    fits = room_m3 is None or fullest.total_m3 <= room_m3 + 1e-6
    return Storage(
        tuple(days), fullest, room_m3, fits, _text(fullest, room_m3, fits=fits)
    )


def _changes(calendar: BuildCalendar, found: Sequence[Pulse], bale: Bale) -> Changes:
    """For each day what comes and what is used."""
    lifts = {lift.number: lift for lift in calendar.lifts}
    changes: Changes = {}
    for pulse in found:
        if pulse.kind is Kind.WATER:
            continue
        room = stored_m3(pulse, bale)
        changes.setdefault(pulse.due, ([], []))[0].append((pulse.kind, room))
        whole = sum(lifts[number].placed_m3 for number in pulse.lifts)
        for number in pulse.lifts:
            _used_by(changes, lifts[number], pulse.kind, room / whole)
    return changes


def _use_up(changes: Changes, calendar: BuildCalendar, lying: Sequence[Lying]) -> None:
    """Add what lifts use of what lies there, and a look at it on the first day of work."""
    lifts = {lift.number: lift for lift in calendar.lifts}
    for own in lying:
        if own.m3 > 0:
            changes.setdefault(calendar.lifts[0].first.likely, ([], []))
        for number, m3 in own.uses:
            lift = lifts[number]
            _used_by(changes, lift, own.kind, m3 / lift.placed_m3)


def _used_by(changes: Changes, lift: Lift, kind: Kind, share: float) -> None:
    """Add what a lift uses, m3 of a kind to each m3 of wall."""
    for work in lift.days:
        changes.setdefault(work.day, ([], []))[1].append((kind, share * work.m3))


def _text(fullest: DayStock, room_m3: float | None, *, fits: bool) -> str:
    parts = (
        f"{fullest.day}: {fullest.soil_m3:.1f} m3 of soil, {fullest.sand_m3:.1f} m3 of"
        f" sand and {fullest.straw_m3:.1f} m3 of bales"
    )
    if room_m3 is None:
        return f"The fullest day is {parts}."
    if fits:
        return f"The fullest day is {parts}; the room of {room_m3:.1f} m3 is enough."
    return (
        f"On {parts} are {fullest.total_m3:.1f} m3, more than the room of {room_m3:.1f} m3."
        " Take smaller loads later, build lower lifts, or find more room."
    )
