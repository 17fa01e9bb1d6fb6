"""Bulking: damp sand stands up on its films of water and sells air by the cubic metre."""

from __future__ import annotations

from logistics.domain.errors import refuse

# Several civil-engineering pages (seen): 20 to 40 % more volume at 5 to 8 % moisture, more
# in fine sand; another (seen) puts the peak at 4 to 6 %. Dry and flooded sand do not bulk.
BULKING = (0.20, 0.40)
DAMP = (0.02, 0.10)


def bulking(damp_height: float, flooded_height: float) -> float:
    """Added share of volume by the jar method: height of the damp sand, then of the same
    sand under water, in any one unit. Raises Refused unless damp >= flooded > 0."""
    if not 0 < flooded_height <= damp_height < float("inf"):
        raise refuse(
            "bulking_heights",
            field="flooded_height",
            given=f"damp {damp_height}, flooded {flooded_height}",
            message="sand does not rise when it is flooded",
            remedy="Measure the damp sand first, then the same sand under water.",
        )
    return damp_height / flooded_height - 1


def solid_m3(damp_m3: float, added: float) -> float:
    """Volume of the sand as if dry or flooded, from its damp volume and its bulking."""
    return damp_m3 / (1 + added)
