"""The grading curve: how much of a soil or sand is finer than each size.

Between measured sizes the share passing is taken linear in the logarithm of the size,
as the curve is drawn on the usual semi-logarithmic sheet. Nothing is assumed outside the
measured sizes.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate, pairwise

from logistics.domain.errors import Refused, refuse

# ASTM C136 does not accept a sieving whose masses differ by more than 0.3 % from the dry
# sample (seen quoted in a checklist of the method). Beyond 5 % a figure is mistyped.
LOSS_ACCEPTED = 0.003
MOST_LOSS = 0.05


class SizeSystem(StrEnum):
    """Whose limits a named fraction follows: silt ends at 0.05, 0.063 or 0.075 mm."""

    USDA = "usda"
    ISO_14688 = "iso_14688"
    UNIFIED = "unified"


# Upper limit in mm of each fraction, finest first. USDA: Soil Survey Manual (seen quoted).
# Unified: ASTM D2487 (seen quoted). ISO 14688-1: 0.063 seen, the others from memory.
LIMITS_MM: dict[SizeSystem, tuple[tuple[str, float], ...]] = {
    SizeSystem.USDA: (
        ("clay", 0.002),
        ("silt", 0.05),
        ("sand", 2.0),
        ("gravel", 76.0),
        ("cobbles", 250.0),
        ("stones", 600.0),
        ("boulders", math.inf),
    ),
    SizeSystem.ISO_14688: (
        ("clay", 0.002),
        ("silt", 0.063),
        ("sand", 2.0),
        ("gravel", 63.0),
        ("cobbles", 200.0),
        ("boulders", 630.0),
        ("large_boulders", math.inf),
    ),
    SizeSystem.UNIFIED: (
        ("fines", 0.075),
        ("sand", 4.75),
        ("gravel", 75.0),
        ("cobbles", 300.0),
        ("boulders", math.inf),
    ),
}


@dataclass(frozen=True, slots=True)
class Grading:
    """A grading curve: `points` are (size in mm, share passing by dry mass 0..1), sizes
    strictly ascending, shares never falling, at least two. Raises Refused otherwise."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise refuse(
                "too_few_sizes",
                field="grading.points",
                given=len(self.points),
                message="a curve needs at least two sizes",
                remedy="Give two or more sieves, each with the share that passes it.",
            )
        for size, share in self.points:
            _check_point(size, share)
        for coarser, finer in zip(self.points[1:], self.points, strict=False):
            _check_order(finer, coarser)

    @property
    def finest_mm(self) -> float:
        """Smallest measured size."""
        return self.points[0][0]

    @property
    def coarsest_mm(self) -> float:
        """Largest measured size."""
        return self.points[-1][0]

    def passing(self, size_mm: float) -> float:
        """Share finer than `size_mm`, log-linear between measured sizes.

        Outside them 0 or 1 if the end of the curve is there already; else raises Refused
        ("beyond_measured_sizes"): `bounds` then says what is still known."""
        low, high = self.bounds(size_mm)
        if low == high:
            return low
        raise refuse(
            "beyond_measured_sizes",
            field="size_mm",
            given=f"{size_mm:g}",
            message=f"the curve was measured from {self.finest_mm:g} to"
            f" {self.coarsest_mm:g} mm and does not end there",
            remedy="Add a sieve of that size, or a hydrometer reading below the sieves.",
        )

    def bounds(self, size_mm: float) -> tuple[float, float]:
        """Least and greatest share that can be finer than `size_mm`; the two are equal
        inside the measured sizes. Raises Refused for a size that is not positive."""
        _check_size(size_mm)
        sizes = [size for size, _ in self.points]
        at = bisect_left(sizes, size_mm)
        if at == len(sizes):
            return self.points[-1][1], 1.0
        if sizes[at] == size_mm:
            return self.points[at][1], self.points[at][1]
        if at == 0:
            return 0.0, self.points[0][1]
        (fine, low), (coarse, high) = self.points[at - 1], self.points[at]
        part = math.log(size_mm / fine) / math.log(coarse / fine)
        share = min(low + part * (high - low), high)
        return share, share

    def size_at(self, share: float) -> float:
        """Size in mm that `share` of the mass is finer than: D10 is size_at(0.10).

        The smallest such size where the curve is level. Raises Refused
        ("beyond_measured_shares") when the curve does not reach the share."""
        if not self.points[0][1] <= share <= self.points[-1][1]:
            raise refuse(
                "beyond_measured_shares",
                field="share",
                given=share,
                message=f"the curve was measured from {self.points[0][1]:.3f} to"
                f" {self.points[-1][1]:.3f} passing",
                remedy="Add finer or coarser sieves, or a hydrometer reading.",
            )
        at = bisect_left([passing for _, passing in self.points], share)
        coarse, high = self.points[at]
        if at == 0 or high == share:
            return coarse
        fine, low = self.points[at - 1]
        part = (share - low) / (high - low)
        return fine * math.exp(part * math.log(coarse / fine))

    @property
    def uniformity(self) -> float:
        """Coefficient of uniformity, D60 / D10. Raises Refused where one is not reached."""
        return self.size_at(0.60) / self.size_at(0.10)

    @property
    def curvature(self) -> float:
        """Coefficient of curvature, D30^2 / (D10 D60). Raises Refused likewise."""
        return self.size_at(0.30) ** 2 / (self.size_at(0.10) * self.size_at(0.60))


@dataclass(frozen=True, slots=True)
class Sieving:
    """A grading with the masses behind it: g found on the sieves and in the pan, and the
    share of the sample that went missing (negative: gained; None: not weighed before)."""

    grading: Grading
    sieved_g: float
    loss: float | None

    @property
    def adds_up(self) -> bool | None:
        """Whether the loss is small enough for an acceptance test (ASTM C136, 0.3 %)."""
        return None if self.loss is None else abs(self.loss) <= LOSS_ACCEPTED


def from_retained(
    sieves_mm: Sequence[float],
    grams: Sequence[float],
    pan_g: float,
    *,
    sample_g: float | None = None,
) -> Sieving:
    """The curve from the dry g kept on each sieve (not cumulated, any order) and in the
    pan. `sample_g` is the dry mass before sieving, for the loss.

    Raises Refused: lengths differ, a mass negative or all zero, a sieve twice, fewer than
    two sieves, a loss or gain above 5 %."""
    _check_masses(sieves_mm, grams, pan_g)
    kept = sorted(zip(sieves_mm, grams, strict=True))
    finer = list(accumulate((mass for _, mass in kept), initial=pan_g))
    total = finer[-1]
    if total <= 0:
        raise refuse(
            "nothing_sieved",
            field="grams",
            given=total,
            message="all masses are zero",
            remedy="Give the dry grams kept on each sieve and in the pan.",
        )
    points = tuple(
        (float(size), mass / total)
        for (size, _), mass in zip(kept, finer[:-1], strict=True)
    )
    return Sieving(Grading(points), total, _loss(total, sample_g))


def from_cumulative(
    sieves_mm: Sequence[float], grams: Sequence[float], sample_g: float
) -> Sieving:
    """The curve from g retained cumulatively, as some sheets give them: on each sieve all
    that is coarser. Raises Refused as `from_retained` does."""
    _check_masses(sieves_mm, grams, 0.0)
    ordered = sorted(zip(sieves_mm, grams, strict=True), reverse=True)
    masses = [0.0, *(mass for _, mass in ordered)]
    single = [after - before for before, after in pairwise(masses)]
    return from_retained(
        [size for size, _ in ordered], single, sample_g - masses[-1], sample_g=sample_g
    )


def fractions(
    grading: Grading, system: SizeSystem, *, below_mm: float | None = None
) -> dict[str, float]:
    """Share of dry mass in each named fraction of a system.

    With `below_mm` the shares are of what is finer than that: texture classes go by what
    passes 2 mm. Raises Refused when a limit lies beyond the measured sizes."""
    whole = 1.0 if below_mm is None else grading.passing(below_mm)
    if whole <= 0:
        raise _nothing_below(below_mm)
    found, before = {}, 0.0
    for name, limit in LIMITS_MM[system]:
        upper = limit if below_mm is None else min(limit, below_mm)
        share = max(grading.passing(upper), before)
        found[name] = (share - before) / whole
        before = share
    return found


def fraction_ranges(
    grading: Grading, system: SizeSystem
) -> dict[str, tuple[float, float]]:
    """Least and greatest share in each fraction: equal where measured, a range where a
    limit lies beyond the measured sizes. Shares are of the whole sample."""
    found, before = {}, (0.0, 0.0)
    for name, limit in LIMITS_MM[system]:
        upper = grading.bounds(limit)
        found[name] = (max(0.0, upper[0] - before[1]), upper[1] - before[0])
        before = upper
    return found


def _check_point(size: float, share: float) -> None:
    _check_size(size)
    if not math.isfinite(size):
        raise _bad_size(size)
    if not 0 <= share <= 1:
        raise refuse(
            "share_outside_0_1",
            field="grading.points.passing",
            given=share,
            message="a share of the mass lies between 0 and 1",
            remedy="Give 0.85 for 85 % passing.",
        )


def _check_size(size: float) -> None:
    if not size > 0:
        raise _bad_size(size)


def _bad_size(size: float) -> Refused:
    return refuse(
        "size_not_positive",
        field="grading.points.size_mm",
        given=size,
        message="a particle size is a positive number of millimetres",
        remedy="Leave the pan out; give the opening of each sieve in mm.",
    )


def _check_order(finer: tuple[float, float], coarser: tuple[float, float]) -> None:
    if coarser[0] == finer[0]:
        raise refuse(
            "sieve_twice",
            field="grading.points.size_mm",
            given=f"{finer[0]:g}",
            message="a sieve occurs twice",
            remedy="Give each sieve once.",
        )
    if coarser[0] < finer[0]:
        raise refuse(
            "sizes_not_ascending",
            field="grading.points.size_mm",
            given=f"{finer[0]:g}, {coarser[0]:g}",
            message="sizes must ascend",
            remedy="List the finest sieve first.",
        )
    if coarser[1] < finer[1]:
        raise refuse(
            "passing_falls",
            field="grading.points.passing",
            given=f"{finer[1]:g} at {finer[0]:g} mm, {coarser[1]:g} at {coarser[0]:g} mm",
            message="more cannot pass a fine sieve than a coarse one",
            remedy="Give shares passing, not shares retained, and check these two.",
        )


def _check_masses(
    sieves_mm: Sequence[float], grams: Sequence[float], pan_g: float
) -> None:
    if len(sieves_mm) != len(grams):
        raise refuse(
            "masses_and_sieves_differ",
            field="grams",
            given=f"{len(grams)} masses, {len(sieves_mm)} sieves",
            message="each sieve needs one mass",
            remedy="Give 0 for a sieve that kept nothing; the pan is apart.",
        )
    for mass in (*grams, pan_g):
        if not (math.isfinite(mass) and mass >= 0):
            raise refuse(
                "mass_negative",
                field="grams",
                given=mass,
                message="a mass kept on a sieve is zero or more",
                remedy="Give dry grams on each sieve alone, not cumulated differences.",
            )


def _loss(sieved_g: float, sample_g: float | None) -> float | None:
    if sample_g is None:
        return None
    if not (math.isfinite(sample_g) and sample_g > 0):
        raise refuse(
            "sample_without_mass",
            field="sample_g",
            given=sample_g,
            message="the sample must weigh something",
            remedy="Give its dry mass before sieving, or leave it out.",
        )
    loss = 1 - sieved_g / sample_g
    if abs(loss) > MOST_LOSS:
        raise refuse(
            "masses_do_not_add_up",
            field="sample_g",
            given=f"{sample_g:g} g before, {sieved_g:g} g after",
            message=f"more than {MOST_LOSS:.0%} of the sample was lost or gained",
            remedy="Weigh again, dry; every sieve and the pan count.",
        )
    return loss


def _nothing_below(size: float | None) -> Refused:
    return refuse(
        "nothing_below",
        field="below_mm",
        given=size,
        message="nothing of the sample is finer than that",
        remedy="Give a coarser size, or none.",
    )
