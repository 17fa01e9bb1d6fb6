"""Published densities and swell of earth, sand and straw.

Bank and loose densities of clay and common earth: Nunnally, Construction Methods and
Management, 3000/2310 and 3100/2480 lb/yd3 (the clay pair was seen quoted, the other is
from memory). Dry sand 1600/1420 kg/m3: handbook table "Density and load factors" derived
from an equipment maker's handbook. Swell ranges: Peurifoy, Construction Planning,
Equipment and Methods, table 4-1 (seen quoted).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.errors import refuse
from logistics.domain.quantities import MassBasis, Spread, VolumeState

LB_PER_YD3 = 0.593276421
"""kg/m3 in one lb/yd3."""


class Earth(StrEnum):
    """How a material swells when it is dug."""

    COMMON_EARTH = "common_earth"
    CLAY = "clay"
    SAND = "sand"


@dataclass(frozen=True, slots=True)
class Bulk:
    """Densities in kg/m3, moist as dug, and swell = loose volume / bank volume - 1."""

    bank_kg_per_m3: float
    loose_kg_per_m3: float
    swell: Spread

    def loose_m3(self, moist_kg: float) -> float:
        """Loose volume of a moist mass."""
        return moist_kg / self.loose_kg_per_m3

    def moist_kg(self, volume_m3: float, state: VolumeState) -> float:
        """Moist mass of a bank or loose volume. Raises Refused for a placed volume."""
        if state is VolumeState.BANK:
            return volume_m3 * self.bank_kg_per_m3
        if state is VolumeState.LOOSE:
            return volume_m3 * self.loose_kg_per_m3
        raise refuse(
            "placed_volume_of_supply",
            field="quantity.state",
            given=state,
            message="only a wall has a placed volume; material on offer is bank or loose",
            remedy='Give "bank" (still in the ground) or "loose" (heap or truck).',
        )


BULK: dict[Earth, Bulk] = {
    Earth.COMMON_EARTH: Bulk(
        3100 * LB_PER_YD3, 2480 * LB_PER_YD3, Spread(0.20, 0.25, 0.45)
    ),
    Earth.CLAY: Bulk(3000 * LB_PER_YD3, 2310 * LB_PER_YD3, Spread(0.30, 0.30, 0.60)),
    # 5 % moisture on the dry figures; most sand is bought so (common practice, no source).
    Earth.SAND: Bulk(1600 * 1.05, 1420 * 1.05, Spread(0.05, 0.127, 0.15)),
}

# Water as a share of the dry mass. Subsoil dug at 12-25 %, stockpiled sand at 2-8 %;
# common practice, no source.
MOISTURE: dict[Earth, Spread] = {
    Earth.COMMON_EARTH: Spread(0.12, 0.18, 0.25),
    Earth.CLAY: Spread(0.12, 0.18, 0.30),
    Earth.SAND: Spread(0.02, 0.05, 0.08),
}


def other_basis(
    kg: float, *, given: MassBasis, wanted: MassBasis, moisture: float
) -> float:
    """Convert a mass between dry and moist; `moisture` is water over dry mass."""
    if given is wanted:
        return kg
    return kg * (1 + moisture) if wanted is MassBasis.MOIST else kg / (1 + moisture)


@dataclass(frozen=True, slots=True)
class Bale:
    """A bale as it is stacked: mass in kg and outer volume in m3."""

    kg: int
    m3: float

    @property
    def kg_per_m3(self) -> float:
        """Density as loaded."""
        return self.kg / self.m3


# Two-string bale 14 x 18 x 36 in (IRC straw-bale appendix sizes), 35-50 lb of straw.
SMALL_BALE = Bale(kg=16, m3=0.149)
