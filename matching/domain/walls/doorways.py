"""Ends of walls that stand in an opening of another wall, which they would fill."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shapely import LineString, Point

from matching.domain.walls.paths import Path, line, segments
from matching.domain.walls.wall import Opening, Wall

# As plans are measured: less than this in an opening is no fault.
_SLIGHT_M = 0.01


@dataclass(frozen=True, slots=True)
class EndInOpening:
    """A wall that ends in an opening of another; walls count from 0."""

    wall: int
    other: int
    opening: Opening


def ends_in_openings(walls: tuple[Wall, ...]) -> tuple[EndInOpening, ...]:
    """Each end that stands in an opening, once for each opening.

    Only walls with a place in the plan and openings with a place count. The end counts with
    its thickness, as far as it lies along the other wall and stands as high as the opening's
    foot.
    """
    found: list[EndInOpening] = []
    for index, other in enumerate(walls):
        if not isinstance(other.run, Path) or not other.openings:
            continue
        run = LineString(line(other.run))
        for number, wall in enumerate(walls):
            if number != index:
                found += [
                    EndInOpening(number, index, own)
                    for own in _filled(wall, other, run)
                ]
    return tuple(dict.fromkeys(found))


def _filled(wall: Wall, other: Wall, run: LineString) -> Iterator[Opening]:
    for end_height, stretch in _ends_on(wall, run, other.thickness_m / 2):
        for own in other.openings:
            foot = own.foot_m
            if own.at_m is None or foot is None or foot >= end_height:
                continue
            low = max(stretch[0], own.at_m)
            high = min(stretch[1], own.at_m + own.width_m)
            if high - low > _SLIGHT_M:
                yield own


def _ends_on(
    wall: Wall, run: LineString, reach_m: float
) -> Iterator[tuple[float, tuple[float, float]]]:
    """Height of each end of a wall within reach of another's centre line, and the stretch
    along that line that the end takes."""
    if not isinstance(wall.run, Path) or wall.run.closed:
        return
    pieces = segments(wall.run)
    half = wall.thickness_m / 2
    ends = (
        (wall.top[0][1], pieces[0], 0.0),
        (wall.top[-1][1], pieces[-1], pieces[-1].length_m),
    )
    for height, piece, along in ends:
        middle = Point(piece.at(along))
        if run.distance(middle) > reach_m + 1e-9:
            continue
        sides = [run.project(Point(piece.at(along, side))) for side in (half, -half)]
        low, high = min(sides), max(sides)
        if high - low > 2 * wall.thickness_m:
            # The faces meet a closed wall on either side of its seam.
            low = high = run.project(middle)
            low, high = low - _SLIGHT_M, high + _SLIGHT_M
        yield height, (low, high)
