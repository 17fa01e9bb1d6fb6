"""Fineness modulus: one number for how coarse a sand is, by two series of sieves."""

from __future__ import annotations

from enum import StrEnum

from matching.domain.grading import Grading


class FinenessSeries(StrEnum):
    """Whose sieves are summed: the two numbers of one sand differ."""

    ASTM = "astm"
    EN_12620 = "en_12620"


# ASTM C125/C136: 150 um, doubling (seen quoted in Tex-402-A). EN 12620 Annex B: 4 mm
# halving to 0.125 (seen).
SERIES_MM: dict[FinenessSeries, tuple[float, ...]] = {
    FinenessSeries.ASTM: (0.15, 0.3, 0.6, 1.18, 2.36, 4.75, 9.5),
    FinenessSeries.EN_12620: (0.125, 0.25, 0.5, 1.0, 2.0, 4.0),
}

# The coarsest sieve on which sand is retained, by ASTM.
SAND_MM = 4.75

# EN 12620 Annex B (seen): bands of the European modulus, overlapping on purpose.
EN_12620_BANDS: dict[str, tuple[float, float]] = {
    "CF": (2.4, 4.0),
    "MF": (1.5, 2.8),
    "FF": (0.6, 2.1),
}


def fineness_modulus(
    grading: Grading, series: FinenessSeries = FinenessSeries.ASTM
) -> float:
    """Sum of the shares retained on the sieves of the series; higher is coarser.

    Unless it was used, 9.5 mm counts as retaining nothing, as on a laboratory's sheet.
    Raises Refused when another sieve of the series lies beyond the measured sizes."""
    return sum(1 - grading.passing(size) for size in _summed(grading, series))


def fineness_range(
    grading: Grading, series: FinenessSeries = FinenessSeries.ASTM
) -> tuple[float, float]:
    """Least and greatest modulus that the measured sizes allow: equal when they reach
    both ends of the series."""
    bounds = [grading.bounds(size) for size in _summed(grading, series)]
    return sum(1 - high for _, high in bounds), sum(1 - low for low, _ in bounds)


def en_12620_bands(modulus: float) -> tuple[str, ...]:
    """Names of the EN 12620 bands (CF coarse, MF medium, FF fine) that hold a European
    modulus; none when it is outside all."""
    return tuple(
        name for name, (low, high) in EN_12620_BANDS.items() if low <= modulus <= high
    )


def _summed(grading: Grading, series: FinenessSeries) -> tuple[float, ...]:
    least = max(grading.coarsest_mm, SAND_MM)
    return tuple(size for size in SERIES_MM[series] if size <= least)
