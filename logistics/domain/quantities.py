"""Amounts of material, each with the state or basis without which it means nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.errors import refuse


class VolumeState(StrEnum):
    """Where a volume is measured: the same earth is larger in a truck than in the ground."""

    BANK = "bank"
    LOOSE = "loose"
    PLACED = "placed"


class MassBasis(StrEnum):
    """Whether a mass counts the water in the material."""

    DRY = "dry"
    MOIST = "moist"


class End(StrEnum):
    """Which figure of a spread is meant."""

    LOW = "low"
    LIKELY = "likely"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure that is not known exactly: low <= likely <= high."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high)) or not (
            self.low <= self.likely <= self.high
        ):
            raise refuse(
                "spread_out_of_order",
                field="spread",
                given=f"{self.low}, {self.likely}, {self.high}",
                message="low, likely and high must be finite and in this order",
                remedy="Give low <= likely <= high.",
            )

    def at(self, end: End) -> float:
        """The figure at one end, or the likely one."""
        return {End.LOW: self.low, End.LIKELY: self.likely, End.HIGH: self.high}[end]

    @staticmethod
    def exactly(value: float) -> Spread:
        """A figure without doubt."""
        return Spread(value, value, value)


def round_half_up(value: float) -> int:
    """Whole number nearest to a non-negative or negative value, halves away from zero."""
    return int(math.copysign(math.floor(abs(value) + 0.5), value))
