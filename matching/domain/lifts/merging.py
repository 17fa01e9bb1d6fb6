"""Pulses put together until each is worth a truck, as far as the site has room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.materials import SMALL_BALE, Bale
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import BuildCalendar
from matching.domain.lifts.pulses import Kind, Pulse, in_order
from matching.domain.lifts.storage import STORED, Lying, storage


@dataclass(frozen=True, slots=True)
class LeastLoad:
    """The least that is worth a truck, in kg as loaded, for each kind; 0 for any."""

    soil_kg: float = 0.0
    sand_kg: float = 0.0
    straw_kg: float = 0.0

    def __post_init__(self) -> None:
        for field in ("soil_kg", "sand_kg", "straw_kg"):
            given = getattr(self, field)
            if not (math.isfinite(given) and given >= 0):
                raise refuse(
                    "load_below_zero",
                    field=f"least.{field}",
                    given=given,
                    message="a load has a mass",
                    remedy="Give kg, 0 for any load.",
                )

    def of(self, kind: Kind) -> float:
        """Least kg of a kind; water comes in any amount."""
        return {
            Kind.SOIL: self.soil_kg,
            Kind.SAND: self.sand_kg,
            Kind.STRAW: self.straw_kg,
        }.get(kind, 0.0)


def merge(
    calendar: BuildCalendar,
    found: Sequence[Pulse],
    least: LeastLoad,
    *,
    room_m3: float | None = None,
    bale: Bale = SMALL_BALE,
    lying: Sequence[Lying] = (),
) -> tuple[Pulse, ...]:
    """Join a pulse below the least load to the next of its kind, the last one to the one
    before it, unless the stock would outgrow the room. Nothing is lost or added.

    A joined pulse comes when the earlier one is due. What stays below the least load did so
    for want of room, or because there is no more of its kind.
    """

    def fullest(row: Sequence[Pulse]) -> float:
        own = storage(calendar, row, bale=bale, lying=lying)
        return own.fullest.total_m3 if own else 0.0

    kept = list(in_order(found))
    for kind in STORED:
        index = 0
        while True:
            row = [pulse for pulse in kept if pulse.kind is kind]
            if index >= len(row):
                break
            # The last one has none behind it and looks back.
            partner = index + 1 if index + 1 < len(row) else index - 1
            if row[index].kg.likely >= least.of(kind) or partner < 0:
                index += 1
                continue
            pair = (row[min(index, partner)], row[max(index, partner)])
            joined = [p for p in kept if p not in pair] + [_join(*pair)]
            if room_m3 is not None and fullest(joined) > (
                max(room_m3, fullest(kept)) + 1e-6
            ):
                index += 1
                continue
            kept = joined
            index = min(index, partner)
    return in_order(kept)


def _join(one: Pulse, other: Pulse) -> Pulse:
    """Both in one delivery, at the due date of the earlier."""
    return Pulse(
        kind=one.kind,
        lifts=tuple(sorted(one.lifts + other.lifts)),
        kg=_sum(one.kg, other.kg),
        dry_kg=_sum(one.dry_kg, other.dry_kg),
        loose_m3=_sum(one.loose_m3, other.loose_m3),
        not_before=min(one.not_before, other.not_before),
        due=min(one.due, other.due),
        used_until=max(one.used_until, other.used_until),
    )


def _sum(one: Spread, other: Spread) -> Spread:
    return Spread(one.low + other.low, one.likely + other.likely, one.high + other.high)
