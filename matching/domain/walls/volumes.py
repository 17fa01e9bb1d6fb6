"""What walls hold together: each alone, less what they share where they meet.

The shared area of a level cut is what the footprints add up to less their union, worked
out at single heights. Between the heights where a top, an opening or a lintel begins or
ends, lengths and thicknesses are straight lines in height, so areas are quadratics and so
is the shared area of straight walls: the parabola through three Gauss points is exact.
Where it is not (a sloping top that passes the face of another wall, arcs that cross while
tapering), stretches are halved until parabolas fit, so all figures come from one set of
parabolas and courses add up to the whole.

Where walls that openings without a place thin evenly overlap, the fuller one counts. An
opening with a place is cut out of its own wall only: a wall that runs into it fills it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import shapely

from matching.domain.walls.footprints import Footprint, Part, footprints, parts
from matching.domain.walls.sections import density, levels
from matching.domain.walls.wall import Wall

_ROOT = math.sqrt(0.6)
# A millilitre a stretch; no builder measures less.
_CLOSE_M3 = 1e-6
# How often a stretch is halved: less where each look at a height is dear, or a few dozen
# crossing arcs would take minutes. A house of 10 walls and 20 levels is halved five times:
# 3 cm of a metre, where a kink is off by some 50 ml.
_SHALLOWEST, _DEEPEST = 1, 12
_MOST_LOOKS = 8_000
# Gauss points lie inside, so a kink near an end is looked for there.
_NEAR_END = 1e-3


@dataclass(frozen=True, slots=True)
class Stretch:
    """A parabola of shared area (m2) over heights, through its three Gauss points."""

    low_m: float
    high_m: float
    areas: tuple[float, float, float]

    def volume(self, low_m: float, high_m: float) -> float:
        """Shared volume between two heights, m3, 0 outside the stretch."""
        low, high = max(low_m, self.low_m), min(high_m, self.high_m)
        if high <= low:
            return 0.0
        middle, half = (self.low_m + self.high_m) / 2, (self.high_m - self.low_m) / 2
        below, at, above = self.areas
        slope, bow = (above - below) / 2 / _ROOT, ((above + below) / 2 - at) / 0.6

        def primitive(height: float) -> float:
            x = (height - middle) / half
            return half * x * (at + x * (slope / 2 + x * bow / 3))

        return primitive(high) - primitive(low)

    def area(self, height_m: float) -> float:
        """Shared area at a height within, m2."""
        x = (2 * height_m - self.low_m - self.high_m) / (self.high_m - self.low_m)
        below, at, above = self.areas
        slope, bow = (above - below) / 2 / _ROOT, ((above + below) / 2 - at) / 0.6
        return at + x * (slope + x * bow)


def placed_m3(walls: tuple[Wall, ...]) -> float:
    """Volume of cob in all walls, what they share counted once."""
    return sum(wall.placed_m3 for wall in walls) - overlap_m3(walls)


def overlap_m3(walls: tuple[Wall, ...]) -> float:
    """What the walls alone add up to above what they hold together.

    Walls without a place share nothing. A little below 0 where an arc meets another wall
    at a corner: its outer side gains more than its inner side gives.
    """
    return sum(own.volume(own.low_m, own.high_m) for own in shared(walls))


@lru_cache(maxsize=64)
def shared(walls: tuple[Wall, ...]) -> tuple[Stretch, ...]:
    """The shared area of these walls over all heights."""
    own = parts(walls)
    if len(own) < 2:
        return ()
    edges = _edges(walls, own)

    def area(height_m: float) -> float:
        return _shared_area(walls, own, height_m)

    looks = _MOST_LOOKS / (len(edges) * len(own))
    deepest = max(_SHALLOWEST, min(_DEEPEST, int(math.log2(max(1.0, looks)))))
    found: list[Stretch] = []
    for low, high in pairwise(edges):
        if high - low > 1e-9:
            found += _fitted(area, _through(area, low, high), deepest)
    return tuple(found)


def intricacy(walls: tuple[Wall, ...]) -> int:
    """How dear it is to join these walls: pieces of path times heights where any changes.

    A house of 10 walls has some 200; 4,000 take seconds.
    """
    own = parts(walls)
    return len(own) * len(_edges(walls, own))


def _edges(walls: tuple[Wall, ...], own: tuple[Part, ...]) -> list[float]:
    return sorted(
        {level for index in {p.wall for p in own} for level in levels(walls[index])}
    )


def _shared_area(
    walls: tuple[Wall, ...], own: tuple[Part, ...], height_m: float
) -> float:
    prints = footprints(walls, own, height_m)
    fills = {
        index: density(walls[index], height_m) for index in {p.wall for p in prints}
    }
    alone = sum(fills[own.wall] * own.square_m2 for own in prints)
    return alone - _together(prints, fills)


def _together(prints: tuple[Footprint, ...], fills: dict[int, float]) -> float:
    """Area of the union, each spot weighed with the fullest wall that covers it."""
    area, below = 0.0, 0.0
    for fill in sorted(set(fills.values())):
        shapes = [own.shape for own in prints if fills[own.wall] >= fill]
        area += (fill - below) * float(shapely.union_all(shapes).area)
        below = fill
    return area


def _through(area: Callable[[float], float], low: float, high: float) -> Stretch:
    middle, reach = (low + high) / 2, (high - low) / 2 * _ROOT
    return Stretch(
        low, high, (area(middle - reach), area(middle), area(middle + reach))
    )


def _fitted(
    area: Callable[[float], float], whole: Stretch, deeper: int
) -> list[Stretch]:
    if deeper == 0:
        return [whole]
    middle = (whole.low_m + whole.high_m) / 2
    lower = _through(area, whole.low_m, middle)
    upper = _through(area, middle, whole.high_m)
    if _fits(area, whole, (lower, upper)):
        return [whole]
    return _fitted(area, lower, deeper - 1) + _fitted(area, upper, deeper - 1)


def _fits(
    area: Callable[[float], float], whole: Stretch, halves: tuple[Stretch, Stretch]
) -> bool:
    for part in halves:
        own = part.volume(part.low_m, part.high_m)
        if abs(own - whole.volume(part.low_m, part.high_m)) > _CLOSE_M3:
            return False
    long = whole.high_m - whole.low_m
    ends = (whole.low_m + _NEAR_END * long, whole.high_m - _NEAR_END * long)
    return all(abs(area(end) - whole.area(end)) * long <= _CLOSE_M3 for end in ends)
