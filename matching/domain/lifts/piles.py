"""Heaps and bales on the ground: how much room they take and where they may lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.materials import SMALL_BALE, Bale
from matching.domain.verdicts import Reason

REPOSE_DEGREES = 35.0
"""Slope of a tipped heap. Dry sand 34, wet sand 45, dry lumps of clay 25-40, wet dug clay 15
(buildsum.blogspot.com 2014-06, seen)."""

TARP_OVERLAP_M = 0.75
"""To weigh a tarp down on each side; common practice, no source."""

LEAST_FROM_WATER_M = 10.0
"""Stockpile at least 10 m from water or drains (bpg.co.nz, seen)."""


@dataclass(frozen=True, slots=True)
class Pile:
    """A heap on level ground: m on the ground and high, m2 covered, and the tarp in whole m
    that covers it. A cone is as long as it is wide."""

    volume_m3: float
    width_m: float
    length_m: float
    height_m: float
    ground_m2: float
    tarp_m: tuple[int, int]


def cone(volume_m3: float, degrees: float = REPOSE_DEGREES) -> Pile:
    """One tipped heap: V = pi r^3 tan(slope) / 3. Raises Refused for no volume or slope."""
    slope = _slope(degrees)
    _positive("volume_m3", volume_m3)
    radius = (3 * volume_m3 / (math.pi * slope)) ** (1 / 3)
    side = _tarp(0, radius, slope)
    return Pile(
        volume_m3,
        2 * radius,
        2 * radius,
        radius * slope,
        math.pi * radius**2,
        (side, side),
    )


def windrow(volume_m3: float, width_m: float, degrees: float = REPOSE_DEGREES) -> Pile:
    """A long heap of a given width with half a cone at each end; a cone where that is
    enough. Raises Refused for no volume, width or slope."""
    slope = _slope(degrees)
    _positive("width_m", width_m)
    heap = cone(volume_m3, degrees)
    if heap.width_m <= width_m:
        return heap
    radius = width_m / 2
    ends = math.pi * radius**3 * slope / 3
    ridge = (volume_m3 - ends) / (radius**2 * slope)
    return Pile(
        volume_m3,
        width_m,
        ridge + width_m,
        radius * slope,
        math.pi * radius**2 + ridge * width_m,
        (_tarp(0, radius, slope), _tarp(ridge, radius, slope)),
    )


@dataclass(frozen=True, slots=True)
class BaleStack:
    """Whole bales for a mass of straw, and the m3 that they take under a roof."""

    bales: int
    kg: int
    volume_m3: float


def bale_stack(straw_kg: float, bale: Bale = SMALL_BALE) -> BaleStack:
    """Bales for a mass of straw, the last one whole."""
    count = math.ceil(straw_kg / bale.kg - 1e-9)
    return BaleStack(count, count * bale.kg, count * bale.m3)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a heap is to lie. Distances in m, None where nobody has looked."""

    from_water_m: float | None = None
    from_trench_m: float | None = None
    on_verge: bool = False
    under_wires: bool = False
    under_trees: bool = False
    children: bool = False


def standing_cautions(place: Standing, pile: Pile) -> tuple[Reason, ...]:
    """What speaks against a place for a heap."""
    found = []
    if place.from_water_m is None or place.from_water_m < LEAST_FROM_WATER_M:
        found.append(
            Reason(
                "pile_near_water",
                _metres(place.from_water_m),
                f"at least {LEAST_FROM_WATER_M:.0f} m from water and drains",
                "Rain carries earth into drains: choose another place or put up a silt"
                " fence.",
            )
        )
    # From memory: a heap loads the edge of a trench within about its own height.
    if place.from_trench_m is not None and place.from_trench_m < pile.height_m:
        found.append(
            Reason(
                "pile_near_trench",
                _metres(place.from_trench_m),
                f"at least {pile.height_m:.1f} m, the height of the heap",
                "A heap at its edge pushes a trench in.",
            )
        )
    said = (
        (
            place.on_verge,
            "pile_on_verge",
            "Not on a path, a verge or a neighbour's land.",
        ),
        (place.under_wires, "pile_under_wires", "No body is ever raised below wires."),
        (place.under_trees, "pile_on_roots", "A heap smothers the roots below it."),
        (
            place.children,
            "children_near_pile",
            "Nobody climbs or undercuts a heap: fence it off from children.",
        ),
    )
    found += [
        Reason(code, "so declared", "elsewhere", text)
        for bad, code, text in said
        if bad
    ]
    return tuple(found)


def _metres(given: float | None) -> str:
    return "not measured" if given is None else f"{given:.1f} m"


def _tarp(ridge_m: float, radius_m: float, slope: float) -> int:
    over = 2 * radius_m * math.hypot(1, slope)
    return math.ceil(ridge_m + over + 2 * TARP_OVERLAP_M - 1e-9)


def _slope(degrees: float) -> float:
    if not 0 < degrees < 90:
        raise refuse(
            "slope_out_of_range",
            field="degrees",
            given=degrees,
            message="a heap's slope lies between 0 and 90 degrees",
            remedy="Give about 35.",
        )
    return math.tan(math.radians(degrees))


def _positive(field: str, given: float) -> None:
    if not (math.isfinite(given) and given > 0):
        raise refuse(
            "size_not_positive",
            field=field,
            given=given,
            message="a heap has a volume and a width",
            remedy="Give a figure above 0.",
        )
