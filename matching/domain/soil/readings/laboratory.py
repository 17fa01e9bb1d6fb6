"""Reading a laboratory's sheet, whichever system named its fractions."""

from __future__ import annotations

import math

from logistics.domain.quantities import Spread
from matching.domain.grading import LIMITS_MM, Grading, SizeSystem
from matching.domain.soil.evidence import Finding, Rung, bounded, ranged
from matching.domain.soil.records import LabGrading, LabMethod
from matching.domain.soil.stones import STONE_MM, stones_of

CLAY_MM = 0.002
SILT_MM = 0.05
SAND_MM = 2.0
FINEST_MM = 0.0002

# A commercial hydrometer test is sold as reproducible "generally within 8 %" (seen; of the
# value or in points is not said); AASHTO T88 is quoted with up to 12 points between
# laboratories (seen in a paper). The points taken here are ours, between those.
METHOD_POINTS = {
    LabMethod.PIPETTE: 0.03,
    LabMethod.HYDROMETER: 0.04,
    LabMethod.NOT_STATED: 0.05,
    LabMethod.SIEVE_ONLY: 0.04,
}
# Between measured sizes the curve may bend: a quarter of the way to each neighbour (ours).
BEND = 0.25
# A laboratory's sample is small for stones: another may hold a fifth more or less (ours).
STONES_ERROR = 0.2


def read_laboratory(sheet: LabGrading) -> Finding:
    """Clay, silt by the USDA limits, and stones: what is coarser than 20 mm."""
    grading = Grading(curve_of(sheet))
    fine = _whole(grading)
    error = METHOD_POINTS[sheet.method]
    clay_at, silt_at = _at(grading, CLAY_MM), _at(grading, SILT_MM)
    clay = _share(clay_at, fine, error)
    silt = bounded(
        (silt_at.low - clay_at.high) / fine - error,
        (silt_at.likely - clay_at.likely) / fine,
        (silt_at.high - clay_at.low) / fine + error,
    )
    measured = grading.finest_mm <= CLAY_MM * 1.001
    return Finding(
        kind=sheet.kind,
        rung=Rung.LABORATORY if measured else Rung.HAND,
        sample=sheet.sample,
        clay=clay,
        silt=silt,
        stones=_stones(sheet, grading),
        says=f"The sheet ({_basis(sheet)}) gives {ranged(clay)} clay and {ranged(silt)}"
        " USDA silt of what passes 2 mm.",
        doubt=_doubt(sheet, error, measured=measured),
    )


def curve_of(sheet: LabGrading) -> tuple[tuple[float, float], ...]:
    """The points of the curve: as given, or the named shares at their system's limits."""
    if sheet.points:
        return sheet.points
    shares = [
        (share or 0.0) / sheet.total for share in (sheet.clay, sheet.silt, sheet.sand)
    ]
    clay, silt, _ = shares
    limits = dict(LIMITS_MM[sheet.system])
    fines = limits["fines"] if sheet.system is SizeSystem.UNIFIED else limits["silt"]
    return (
        (CLAY_MM, clay),
        (fines, min(clay + silt, 1.0)),
        (limits["sand"], min(math.fsum(shares), 1.0)),
    )


def _whole(grading: Grading) -> float:
    """Share passing 2 mm; half way to all of it when no sieve was as coarse."""
    least, most = grading.bounds(SAND_MM)
    return max((least + most) / 2, 1e-6)


def _at(grading: Grading, size_mm: float) -> Spread:
    """Share passing a size, with what the curve may do between its points."""
    least, most = grading.bounds(size_mm)
    if least < most:
        if grading.finest_mm < size_mm:
            return Spread(least, (least + most) / 2, most)
        # Below the finest sieve: even in the logarithm of size down to 0.0002 mm.
        part = math.log(max(size_mm, FINEST_MM) / FINEST_MM)
        part /= math.log(grading.finest_mm / FINEST_MM)
        return Spread(0.0, part * most, most)
    finer = max(
        (share for size, share in grading.points if size <= size_mm), default=least
    )
    coarser = min(
        (share for size, share in grading.points if size >= size_mm), default=least
    )
    return Spread(
        least - BEND * max(0.0, least - finer),
        least,
        least + BEND * max(0.0, coarser - least),
    )


def _share(at: Spread, fine: float, error: float) -> Spread:
    return bounded(at.low / fine - error, at.likely / fine, at.high / fine + error)


def _stones(sheet: LabGrading, grading: Grading) -> Spread | None:
    if grading.coarsest_mm < SAND_MM or (not sheet.points and sheet.gravel is None):
        return None
    # A sheet whose sieves end below 20 mm tells only the most stones there can be.
    size = min(grading.coarsest_mm, STONE_MM)
    return stones_of(1 - grading.passing(size), size, STONES_ERROR)


def _basis(sheet: LabGrading) -> str:
    names = {
        SizeSystem.USDA: "USDA limits",
        SizeSystem.ISO_14688: "ISO 14688 limits",
        SizeSystem.UNIFIED: "Unified limits",
    }
    what = (
        f"curve of {len(sheet.points)} sizes" if sheet.points else names[sheet.system]
    )
    return f"{what}, {sheet.method.replace('_', ' ')}"


def _doubt(sheet: LabGrading, error: float, *, measured: bool) -> str:
    if not measured:
        return (
            "No grain below the sieves was measured: a sieve sets only the most clay that"
            " there can be. Ask for a hydrometer."
        )
    moved = ""
    if not sheet.points and sheet.system is not SizeSystem.USDA:
        moved = (
            " Its silt ends at another size than USDA's 0.05 mm and was moved along the"
            " curve, even in the logarithm of size."
        )
    return (
        f"Laboratories differ by about {error * 100:.0f} points of clay, and one small"
        f" sample stands for a heap that changes within a few feet.{moved}"
    )
