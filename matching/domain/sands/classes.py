"""The Unified class of a sand: SW, SP, SM, SC and the double names between.

ASTM D2487 (seen quoted): under 5 % fines SW if Cu >= 6 and 1 <= Cc <= 3, else SP; over
12 % SM or SC by the fines; a double name from 5 to 12 %.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from logistics.domain.errors import Refused, refuse
from matching.domain.grading import Grading
from matching.domain.grounds import Known

FINES_MM = 0.075
GRAVEL_MM = 4.75
CLEAN_BELOW = 0.05
DIRTY_ABOVE = 0.12
LEAST_UNIFORMITY = 6.0
CURVATURE = (1.0, 3.0)


@dataclass(frozen=True, slots=True)
class SandClass:
    """The class names that the figures leave open (one when all is known), and the
    figures: None where the curve does not reach."""

    symbols: tuple[str, ...]
    fines: tuple[float, float]
    uniformity: float | None
    curvature: float | None


def well_graded(uniformity: float, curvature: float) -> bool:
    """Whether the sizes of a sand are spread without a gap."""
    return uniformity >= LEAST_UNIFORMITY and CURVATURE[0] <= curvature <= CURVATURE[1]


def symbols(graded: Known, fines: float, clayey: Known) -> tuple[str, ...]:
    """Class names for a share of fines, whether the sand is well graded and whether its
    fines are clay (yes) or silt (no); an unknown leaves two names open."""
    spread = _choices(graded, "SW", "SP")
    dirt = _choices(clayey, "SC", "SM")
    if fines < CLEAN_BELOW:
        return spread
    if fines > DIRTY_ABOVE:
        return dirt
    return tuple(f"{one}-{other}" for one, other in product(spread, dirt))


def sand_class(grading: Grading, clayey: Known = Known.UNKNOWN) -> SandClass:
    """The Unified class of a curve. Raises Refused for a gravel (more than half of what is
    coarser than 0.075 mm stays on 4.75 mm) and for a fine soil (half or more is finer)."""
    fines = grading.bounds(FINES_MM)
    _check_sand(grading, fines)
    uniformity = _or_none(grading, "uniformity")
    curvature = _or_none(grading, "curvature")
    graded = _graded(uniformity, curvature)
    names = (symbols(graded, share, clayey) for share in _turns(fines))
    return SandClass(
        tuple(dict.fromkeys(name for group in names for name in group)),
        fines,
        uniformity,
        curvature,
    )


def _graded(uniformity: float | None, curvature: float | None) -> Known:
    if uniformity is None or curvature is None:
        return Known.UNKNOWN
    return Known.YES if well_graded(uniformity, curvature) else Known.NO


def _turns(fines: tuple[float, float]) -> tuple[float, ...]:
    # The ends of the range and, when it spans it, the middle group of names.
    between = (CLEAN_BELOW + DIRTY_ABOVE) / 2
    middle = (between,) if fines[0] < between < fines[1] else ()
    return (fines[0], *middle, fines[1])


def _choices(answer: Known, yes: str, no: str) -> tuple[str, ...]:
    if answer is Known.UNKNOWN:
        return (yes, no)
    return (yes,) if answer is Known.YES else (no,)


def _or_none(grading: Grading, name: str) -> float | None:
    try:
        value: float = getattr(grading, name)
    except Refused:
        return None
    return value


def _check_sand(grading: Grading, fines: tuple[float, float]) -> None:
    if fines[0] >= 0.5:
        raise refuse(
            "not_a_sand",
            field="grading",
            given=f"{fines[0]:.0%} finer than {FINES_MM} mm",
            message="half or more of it is finer than sand",
            remedy="Judge it as a subsoil.",
        )
    passing = grading.bounds(GRAVEL_MM)[1]
    if (1 - passing) > 0.5 * (1 - fines[0]):
        raise refuse(
            "not_a_sand",
            field="grading",
            given=f"{1 - passing:.0%} coarser than {GRAVEL_MM} mm",
            message="more than half of its grains are gravel",
            remedy="Screen it, or offer it as gravel.",
        )
