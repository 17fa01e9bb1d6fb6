"""Level cuts through one wall: where cob stands at a height, and how much.

Openings whose place or height nobody has drawn yet cannot be cut out anywhere. They thin
the wall evenly: along it if only the height is known, over the whole face if not even that.
"""

from __future__ import annotations

import math
from itertools import pairwise

from matching.domain.walls import heights
from matching.domain.walls.heights import Span
from matching.domain.walls.wall import Wall


def levels(wall: Wall) -> tuple[float, ...]:
    """Heights in m between which the length of cob changes in a straight line."""
    found = {0.0, *(height for _, height in wall.top)}
    for hole in wall.holes:
        if hole.foot_m is not None:
            found |= {hole.foot_m, hole.head_m}
    return tuple(sorted(found))


def cob_at(wall: Wall, height_m: float) -> tuple[Span, ...]:
    """Distances along the wall between which it stands at a height, holes that have a
    place cut out."""
    spans = heights.standing(wall.top, height_m)
    for hole in wall.holes:
        low, foot = hole.at_m, hole.foot_m
        if low is not None and foot is not None and foot < height_m < hole.head_m:
            spans = heights.without(spans, (low, low + hole.width_m))
    return spans


def density(wall: Wall, height_m: float) -> float:
    """Share of `cob_at` that is cob: less than 1 if openings without a place thin it."""
    spans = _length(cob_at(wall, height_m))
    if spans == 0:
        return 0.0
    wide = sum(
        hole.width_m
        for hole in wall.holes
        if hole.at_m is None
        and hole.foot_m is not None
        and hole.foot_m < height_m < hole.head_m
    )
    return max(0.0, 1 - wide / spans) * (1 - wall.loose_share)


def area_at(wall: Wall, height_m: float) -> float:
    """Area of cob in a level cut, m2."""
    length = _length(cob_at(wall, height_m))
    return length * wall.thickness_at(height_m) * density(wall, height_m)


def volume_between(wall: Wall, low_m: float, high_m: float) -> float:
    """Volume of cob of this wall alone between two heights, m3.

    Between two levels the cut is a straight line times a straight line in height, a
    quadratic, and two Gauss points are exact up to cubics. They also keep off the levels,
    where the length of cob jumps.
    """
    inside = [height for height in levels(wall) if low_m < height < high_m]
    parts: list[float] = []
    for low, high in pairwise((low_m, *inside, min(high_m, max(low_m, wall.height_m)))):
        middle, half = (low + high) / 2, (high - low) / 2
        reach = half / math.sqrt(3)
        parts += [half * area_at(wall, middle + off) for off in (-reach, reach)]
    return math.fsum(parts)


def _length(spans: tuple[Span, ...]) -> float:
    return sum(high - low for low, high in spans)
