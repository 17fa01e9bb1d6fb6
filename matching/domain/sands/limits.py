"""Published grading limits of concrete and masonry sand, and where a sand departs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from matching.domain.grading import Grading
from matching.domain.sands.fineness import fineness_range

# A share read from a sheet in whole per cent must not depart by a rounding of floats.
_SLACK = 1e-9


class Limit(StrEnum):
    """A published set of limits."""

    ASTM_C33 = "astm_c33"
    ASTM_C144_NATURAL = "astm_c144_natural"
    ASTM_C144_MANUFACTURED = "astm_c144_manufactured"
    EN_12620_COARSE = "en_12620_cp"
    EN_12620_MEDIUM = "en_12620_mp"
    EN_12620_FINE = "en_12620_fp"
    BS_1200 = "bs_1200"


class Seen(StrEnum):
    """How well the figures are known."""

    SEEN = "seen"
    SEEN_QUOTED = "seen quoted"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class LimitPoint:
    """Least and greatest share passing one sieve."""

    size_mm: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LimitSet:
    """Limits, finest sieve first; `fineness` is the ASTM modulus allowed and `most_between`
    the greatest share retained between two sieves that follow each other, where stated."""

    title: str
    source: str
    seen: Seen
    points: tuple[LimitPoint, ...]
    fineness: tuple[float, float] | None = None
    most_between: float | None = None


@dataclass(frozen=True, slots=True)
class Departure:
    """A sieve on which a sand leaves the limits: `by` is a share, positive when too much
    passes (too fine there), negative when too little."""

    size_mm: float
    passing: float
    low: float
    high: float
    by: float


def _points(*rows: tuple[float, int, int]) -> tuple[LimitPoint, ...]:
    return tuple(LimitPoint(size, low / 100, high / 100) for size, low, high in rows)


_C144 = "ASTM C144 as printed in a masonry magazine, 1993"
_EN = "EN 12620:2002+A1 Annex B, share passing 0.5 mm"

LIMITS: dict[Limit, LimitSet] = {
    Limit.ASTM_C33: LimitSet(
        "Concrete sand (ASTM C33)",
        "ASTM C33 as quoted by civil-engineering pages; modulus and 45 % rule by others",
        Seen.SEEN_QUOTED,
        _points(
            (0.075, 0, 3),
            (0.15, 0, 10),
            (0.3, 5, 30),
            (0.6, 25, 60),
            (1.18, 50, 85),
            (2.36, 80, 100),
            (4.75, 95, 100),
            (9.5, 100, 100),
        ),
        fineness=(2.3, 3.1),
        most_between=0.45,
    ),
    Limit.ASTM_C144_NATURAL: LimitSet(
        "Masonry sand, natural (ASTM C144)",
        _C144,
        Seen.SEEN_QUOTED,
        _points(
            (0.15, 2, 15),
            (0.3, 10, 35),
            (0.6, 40, 75),
            (1.18, 70, 100),
            (2.36, 95, 100),
            (4.75, 100, 100),
        ),
    ),
    Limit.ASTM_C144_MANUFACTURED: LimitSet(
        "Masonry sand, manufactured (ASTM C144)",
        _C144,
        Seen.SEEN_QUOTED,
        _points(
            (0.075, 0, 10),
            (0.15, 10, 25),
            (0.3, 20, 40),
            (0.6, 40, 75),
            (1.18, 70, 100),
            (2.36, 95, 100),
            (4.75, 100, 100),
        ),
    ),
    Limit.EN_12620_COARSE: LimitSet(
        "Coarse sand (EN 12620 CP)", _EN, Seen.SEEN, _points((0.5, 5, 45))
    ),
    Limit.EN_12620_MEDIUM: LimitSet(
        "Medium sand (EN 12620 MP)", _EN, Seen.SEEN, _points((0.5, 30, 70))
    ),
    Limit.EN_12620_FINE: LimitSet(
        "Fine sand (EN 12620 FP)", _EN, Seen.SEEN, _points((0.5, 55, 100))
    ),
    Limit.BS_1200: LimitSet(
        "General mortar sand (BS 1200)",
        "BS 1200 as quoted in a shared document",
        Seen.SEEN_QUOTED,
        _points(
            (0.15, 0, 15),
            (0.3, 5, 70),
            (0.6, 40, 100),
            (1.18, 70, 100),
            (2.36, 90, 100),
            (5.0, 100, 100),
        ),
    ),
}


def envelope(limit: Limit) -> tuple[tuple[float, float, float], ...]:
    """(size in mm, least, greatest share passing) of a limit, finest first, for a plot."""
    return tuple((at.size_mm, at.low, at.high) for at in LIMITS[limit].points)


def departures(grading: Grading, limit: Limit) -> tuple[Departure, ...]:
    """Where a sand certainly leaves a limit, finest sieve first; a sieve beyond the
    measured sizes departs only if every possible share there does."""
    found = []
    for at in LIMITS[limit].points:
        least, greatest = grading.bounds(at.size_mm)
        if least > at.high + _SLACK:
            found.append(Departure(at.size_mm, least, at.low, at.high, least - at.high))
        elif greatest < at.low - _SLACK:
            found.append(
                Departure(at.size_mm, greatest, at.low, at.high, greatest - at.low)
            )
    return tuple(found)


def unmeasured(grading: Grading, limit: Limit) -> tuple[float, ...]:
    """Sieves of a limit, in mm, for which the sand's curve cannot say in or out."""
    return tuple(
        at.size_mm
        for at in LIMITS[limit].points
        if _undecided(grading.bounds(at.size_mm), at)
    )


def inside(grading: Grading, limit: Limit) -> bool | None:
    """Whether the sand keeps all of a limit: every sieve, the modulus and the most between
    two sieves where the limit states them. None where the sieves cannot tell."""
    answers = (
        False if departures(grading, limit) else None,
        modulus_inside(grading, limit),
        even_enough(grading, limit),
    )
    if False in answers:
        return False
    if unmeasured(grading, limit) or None in answers[1:]:
        return None
    return True


def modulus_inside(grading: Grading, limit: Limit) -> bool | None:
    """Whether the ASTM modulus is what the limit allows, True where it states none; None
    where the sieves leave it open."""
    allowed = LIMITS[limit].fineness
    if allowed is None:
        return True
    low, high = fineness_range(grading)
    if high < allowed[0] - _SLACK or low > allowed[1] + _SLACK:
        return False
    return True if allowed[0] - _SLACK <= low and high <= allowed[1] + _SLACK else None


def even_enough(grading: Grading, limit: Limit) -> bool:
    """Whether no two sieves that follow each other keep more between them than the limit
    allows, of those that were measured; True where it states nothing."""
    most = LIMITS[limit].most_between
    return most is None or most_between_sieves(grading) <= most + _SLACK


def within(grading: Grading, limit: Limit) -> bool:
    """Whether nothing measured departs and at least one sieve decides."""
    open_sizes = len(unmeasured(grading, limit))
    return inside(grading, limit) is not False and open_sizes < len(
        LIMITS[limit].points
    )


def most_between_sieves(grading: Grading) -> float:
    """Greatest share retained between two sieves of ASTM C33 that follow each other, of
    those that were measured; 0 when fewer than two were."""
    shares = [
        grading.passing(at.size_mm)
        for at in LIMITS[Limit.ASTM_C33].points
        if grading.finest_mm <= at.size_mm <= grading.coarsest_mm
    ]
    return max(
        (coarse - fine for fine, coarse in pairwise(shares)),
        default=0.0,
    )


def _undecided(bounds: tuple[float, float], at: LimitPoint) -> bool:
    least, greatest = bounds
    inside = at.low - _SLACK <= least and greatest <= at.high + _SLACK
    outside = least > at.high + _SLACK or greatest < at.low - _SLACK
    return not inside and not outside
