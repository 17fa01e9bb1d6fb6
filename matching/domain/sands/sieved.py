"""What the sieves say of a sand: coarse enough, spread enough, clean enough."""

from __future__ import annotations

from itertools import pairwise

from matching.domain.grading import Grading
from matching.domain.grounds import Finding, Ground, Level, percent
from matching.domain.sands.classes import DIRTY_ABOVE, FINES_MM, GRAVEL_MM
from matching.domain.sands.fineness import fineness_range
from matching.domain.sands.limits import (
    LIMITS,
    Departure,
    Limit,
    departures,
    even_enough,
    inside,
    most_between_sieves,
    unmeasured,
    within,
)

# Our own choice, no source: up to five points in a hundred outside ASTM C33 on a sieve is
# near enough for a wall.
NEAR = 0.05
# Our own choice, no source: sieves that skip more than one of the doubling series, with a
# tenth of the sand between them or beyond them, do not draw a curve.
WIDEST_GAP = 4.5
MOST_IN_GAP = 0.10
# ASTM C33 (seen quoted): below 2.3 a sand is too fine for concrete. As a bar for cob it is
# common practice (masonry and plaster sands lie there), no source.
LEAST_FINENESS = 2.3
# ASTM C33: 3 %, or 5 % where concrete is not worn (the 5 from memory).
CLEAN_UP_TO = 0.05
WANTED = "within or near the limits of concrete sand (ASTM C33)"
_MASONRY = (Limit.ASTM_C144_NATURAL, Limit.ASTM_C144_MANUFACTURED)


def size_findings(grading: Grading) -> list[Finding]:
    """Findings on coarseness and spread; exactly one of them is no caution."""
    evenness = most_between_sieves(grading)
    most = LIMITS[Limit.ASTM_C33].most_between
    cautions = []
    if most is not None and evenness > most + 1e-9:
        ground = Ground(
            "one_size",
            f"{percent(evenness)} between two sieves",
            f"at most {percent(most)} (ASTM C33)",
            "Grains of one size leave hollows for clay to fill, and clay shrinks: make"
            " test bricks, or mix it with a coarser or finer sand.",
        )
        cautions.append(Finding(Level.CAUTION, ground))
    return [_size(grading), *cautions]


def fines_findings(
    grading: Grading | None, declared: float | None, earthy: tuple[float, ...] = ()
) -> list[Finding]:
    """Findings on what is finer than 0.075 mm, by the sieves and by a jar or laboratory;
    the greater counts when they differ. `earthy` are the shares of clay and silt that were
    told of: fines are at least as much."""
    measured = _known_fines(grading)
    known = [share for share in (measured, declared) if share is not None]
    # Silt may itself have been worked out from fines that were measured: never add it then.
    least = max(earthy, default=0.0) if known else sum(earthy)
    if least > max(known, default=0.0):
        known.append(least)
    if not known:
        return []
    found = [] if max(known) - min(known) <= 0.03 else [_fines_differ(known)]
    fines = max(known)
    if fines > DIRTY_ABOVE:
        return [*found, _dirty(fines)]
    if fines > CLEAN_UP_TO:
        return [*found, _dusty(fines)]
    return found


def describe(out: tuple[Departure, ...]) -> str:
    """The departures in words, finest sieve first."""
    return "; ".join(
        f"{at.size_mm:g} mm: {percent(at.passing)} passing, "
        f"{abs(at.by) * 100:.1f} points too {'many' if at.by > 0 else 'few'}"
        for at in out
    )


def _size(grading: Grading) -> Finding:
    low, high = fineness_range(grading)
    gravel = 1 - grading.bounds(GRAVEL_MM)[1]
    if gravel > 0.5:
        return _gravel(gravel)
    if _gaps(grading):
        return _sieves_missing(grading)
    if high < LEAST_FINENESS:
        return _too_fine(high)
    if low < LEAST_FINENESS or _open_ends(grading):
        return _sieves_missing(grading)
    # Fines are judged apart: in cob they count as clay and silt, not as a fault.
    out = departures(grading, Limit.ASTM_C33)
    out = tuple(at for at in out if at.size_mm > FINES_MM)
    return _outside(grading, out) if out else _on_every_sieve(grading, (low, high))


def _outside(grading: Grading, out: tuple[Departure, ...]) -> Finding:
    if max(abs(at.by) for at in out) <= NEAR + 1e-9:
        return _near(out)
    if any(within(grading, limit) for limit in _MASONRY):
        return _masonry(out)
    if all(at.by < 0 for at in out):
        return _coarse(out)
    return _uneven(out)


def _gaps(grading: Grading) -> bool:
    # Between sieves far apart the straight line says nothing of the sand.
    return any(
        coarse[0] > WIDEST_GAP * fine[0] and coarse[1] - fine[1] > MOST_IN_GAP
        for fine, coarse in pairwise(grading.points)
        if fine[0] < GRAVEL_MM and coarse[0] > FINES_MM
    )


def _open_ends(grading: Grading) -> bool:
    ends = [
        grading.bounds(at.size_mm)
        for at in LIMITS[Limit.ASTM_C33].points
        if FINES_MM < at.size_mm <= GRAVEL_MM
    ]
    return any(high - low > MOST_IN_GAP for low, high in ends)


def _known_fines(grading: Grading | None) -> float | None:
    if grading is None:
        return None
    low, high = grading.bounds(FINES_MM)
    return low if low == high else None


def _too_fine(modulus: float) -> Finding:
    ground = Ground(
        "too_fine",
        f"fineness modulus {modulus:.2f}",
        f"at least {LEAST_FINENESS} (ASTM C33)",
        "Too fine for large walls: it needs more clay to coat it and shrinks more. It can"
        " still make plaster.",
    )
    return Finding(Level.UNFIT, ground)


def _sieves_missing(grading: Grading) -> Finding:
    ground = Ground(
        "sieves_missing",
        "sieved on " + ", ".join(f"{size:g}" for size, _ in grading.points) + " mm",
        "sieves from 0.15 to 4.75 mm, each about twice the one before",
        "These sieves do not show how coarse it is: sieve it again on a full set.",
    )
    return Finding(Level.NOT_UNTIL, ground)


def _gravel(share: float) -> Finding:
    ground = Ground(
        "gravel",
        f"{percent(share)} coarser than {GRAVEL_MM} mm",
        "mostly sand",
        "This is gravel: screen it, or use it under the plinth.",
    )
    return Finding(Level.UNFIT, ground)


def _on_every_sieve(grading: Grading, modulus: tuple[float, float]) -> Finding:
    """No sieve above the fines departs: the modulus and the spread decide."""
    allowed = LIMITS[Limit.ASTM_C33].fineness
    if allowed is not None and modulus[0] > allowed[1] + 1e-9:
        return _coarse_on_the_whole(modulus[0], allowed)
    if not even_enough(grading, Limit.ASTM_C33):
        return _one_size_on_the_whole(most_between_sieves(grading))
    return _within(grading, modulus[0])


def _coarse_on_the_whole(modulus: float, allowed: tuple[float, float]) -> Finding:
    ground = Ground(
        "coarser",
        f"on every sieve within ASTM C33, but fineness modulus {modulus:.2f}",
        f"{WANTED}; fineness modulus {allowed[0]} to {allowed[1]}",
        "Coarser on the whole than concrete sand: no harm to a wall, but plaster wants a"
        " finer sand.",
    )
    return Finding(Level.FIT, ground)


def _one_size_on_the_whole(share: float) -> Finding:
    ground = Ground(
        "near_limits",
        f"on every sieve within ASTM C33, but {percent(share)} between two",
        WANTED,
        "Cob is not concrete, such a sand does; see the caution on grains of one size.",
    )
    return Finding(Level.FIT, ground)


def _within(grading: Grading, modulus: float) -> Finding:
    whole = inside(grading, Limit.ASTM_C33)
    missing = ", ".join(f"{size:g}" for size in unmeasured(grading, Limit.ASTM_C33))
    words = "within ASTM C33"
    if whole is None:
        words += " as far as can be told"
        words += f" without a sieve at {missing} mm" if missing else ""
    elif not whole:
        words += " but for its fines"
    ground = Ground(
        "within_limits",
        f"{words}, fineness modulus {modulus:.2f}",
        WANTED,
        "Coarse and well spread: the grains lock together and leave little for clay.",
    )
    return Finding(Level.FIT, ground)


def _near(out: tuple[Departure, ...]) -> Finding:
    ground = Ground(
        "near_limits",
        describe(out),
        WANTED,
        f"Leaves the limits by no more than {NEAR * 100:.0f} points in a hundred: cob is"
        " not concrete, such a sand does.",
    )
    return Finding(Level.FIT, ground)


def _masonry(out: tuple[Departure, ...]) -> Finding:
    ground = Ground(
        "masonry_limits",
        f"within ASTM C144; {describe(out)}",
        WANTED,
        "Graded as masonry sand: too fine for large walls. It can still make plaster.",
    )
    return Finding(Level.UNFIT, ground)


def _coarse(out: tuple[Departure, ...]) -> Finding:
    ground = Ground(
        "coarser",
        describe(out),
        WANTED,
        "Coarser than concrete sand: pebbles do a wall no harm, but plaster wants a finer"
        " sand.",
    )
    return Finding(Level.FIT, ground)


def _uneven(out: tuple[Departure, ...]) -> Finding:
    ground = Ground(
        "uneven",
        describe(out),
        WANTED,
        "Neither concrete nor masonry sand: make test bricks before any truck moves.",
    )
    return Finding(Level.NOT_UNTIL, ground)


def _dirty(fines: float) -> Finding:
    ground = Ground(
        "dirty",
        f"{percent(fines)} finer than {FINES_MM} mm",
        f"at most {percent(DIRTY_ABOVE)}",
        "This is a lean soil rather than a sand: find its clay share as for a subsoil.",
    )
    return Finding(Level.NOT_UNTIL, ground)


def _dusty(fines: float) -> Finding:
    ground = Ground(
        "fines",
        f"{percent(fines)} finer than {FINES_MM} mm",
        f"at most {percent(CLEAN_UP_TO)} in clean sand",
        "Counts as clay and silt in the mix: enter it in the recipe.",
    )
    return Finding(Level.CAUTION, ground)


def _fines_differ(known: list[float]) -> Finding:
    ground = Ground(
        "fines_differ",
        " and ".join(percent(share) for share in known),
        "one figure",
        "Sieves and jar or laboratory disagree on the fines; the greater is used. Wash"
        " the sample over the finest sieve.",
    )
    return Finding(Level.CAUTION, ground)
