"""Water in straw, on both bases, and how dense a bale is when dry."""

from __future__ import annotations

import math

from logistics.domain.errors import refuse
from logistics.domain.materials import Bale

LB_KG = 0.453_592_37
FT3_M3 = 0.3048**3

# Residential code, straw-bale appendix (seen quoted): dry density of at least 6.5 lb/ft3,
# for walls stacked of bales. In cob it only tells a tight bale from a loose one.
LEAST_DRY_KG_PER_M3 = 6.5 * LB_KG / FT3_M3


def wet_basis(dry_basis: float) -> float:
    """Water over total mass from water over dry mass: 0.25 -> 0.20. Raises Refused when
    negative or not finite."""
    if not 0 <= dry_basis < math.inf:
        raise refuse(
            "moisture_negative",
            field="moisture",
            given=dry_basis,
            message="water over dry mass is zero or more",
            remedy="Give 0.25 for 25 kg of water in 100 kg of dry straw.",
        )
    return dry_basis / (1 + dry_basis)


def dry_basis(wet_basis: float) -> float:
    """Water over dry mass from water over total mass: 0.20 -> 0.25. Raises Refused
    outside 0..1, 1 excluded."""
    _check_wet(wet_basis)
    return wet_basis / (1 - wet_basis)


def dry_kg(kg: float, moisture: float) -> float:
    """Dry mass in a mass as weighed, `moisture` on the wet basis."""
    _check_wet(moisture)
    return kg * (1 - moisture)


def dry_kg_per_m3(bale: Bale, moisture: float) -> float:
    """Dry density of a bale, `moisture` on the wet basis."""
    return dry_kg(bale.kg_per_m3, moisture)


def lb_per_ft3(kg_per_m3: float) -> float:
    """A density in the code's units."""
    return kg_per_m3 * FT3_M3 / LB_KG


def kg_per_m3(lb_per_ft3: float) -> float:
    """A density from the code's units."""
    return lb_per_ft3 * LB_KG / FT3_M3


def _check_wet(moisture: float) -> None:
    if not 0 <= moisture < 1:
        raise refuse(
            "moisture_outside_0_1",
            field="moisture",
            given=moisture,
            message="water over total mass lies between 0 and 1",
            remedy="Give 0.15 for a meter that shows 15 %.",
        )
