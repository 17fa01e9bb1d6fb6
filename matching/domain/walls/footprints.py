"""Footprints of walls at a height, joined where their ends meet.

Ends that meet in a point (within a centimetre) are cut to each other: every face runs on
to the face of its neighbour, as a mason would build the corner. Two ends meet in one
straight cut through the point, which takes from one face what it gives to the other: the
corner is full and the volume stays centre line times thickness, at any angle. Three and
more ends share the middle without overlap. An end that meets nothing, and an end on the
centre line of another wall (a T), is cut square; there the walls overlap.

Where the cut would run more than four times the greater half thickness along a face
(corners sharper than about 28 degrees) or past the other end of a short piece, the face
stays square.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import shapely
from shapely import Polygon

from matching.domain.walls.heights import Span
from matching.domain.walls.paths import (
    SAME_POINT_M,
    Path,
    Point,
    Segment,
    segments,
)
from matching.domain.walls.sections import cob_at
from matching.domain.walls.wall import Wall

_MITRE_LIMIT = 4.0
_TOUCH_M = 1e-7


@dataclass(frozen=True, slots=True)
class Part:
    """A segment of a wall with the numbers of the points where it starts and ends."""

    wall: int
    segment: Segment
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Footprint:
    """Part of a wall at a height: a polygon, or several where a joint cuts an arc apart.
    `square_m2` is its area with square ends."""

    wall: int
    shape: shapely.Geometry
    square_m2: float


@dataclass(frozen=True, slots=True)
class _Piece:
    """The stretch of a part that stands at a height."""

    part: Part
    low_m: float
    high_m: float
    half_m: float

    @property
    def starts(self) -> bool:
        return self.low_m <= _TOUCH_M

    @property
    def ends(self) -> bool:
        return self.high_m >= self.part.segment.length_m - _TOUCH_M


@dataclass(frozen=True, slots=True)
class _End:
    """An end of a piece in a point: the way out of the point, half its thickness."""

    piece: int
    tail: bool
    out: Point
    half_m: float


# How far each face of an end is cut back (below 0: runs on): piece, tail -> left, right
# of the walk along the wall.
_Cuts = dict[tuple[int, bool], tuple[float, float]]


def parts(walls: tuple[Wall, ...]) -> tuple[Part, ...]:
    """The segments of all walls that have a place in the plan."""
    points: list[Point] = []

    def number(point: Point) -> int:
        for index, known in enumerate(points):
            if math.dist(known, point) < SAME_POINT_M:
                return index
        points.append(point)
        return len(points) - 1

    return tuple(
        Part(index, own, number(own.start), number(own.at(own.length_m)))
        for index, wall in enumerate(walls)
        if isinstance(wall.run, Path)
        for own in segments(wall.run)
    )


def footprints(
    walls: tuple[Wall, ...], own: tuple[Part, ...], height_m: float
) -> tuple[Footprint, ...]:
    """Footprints of these parts at a height, joined to each other."""
    present = {part.wall for part in own}
    spans = {index: cob_at(walls[index], height_m) for index in present}
    halves = {index: walls[index].thickness_at(height_m) / 2 for index in present}
    return joined(own, spans, halves)


def joined(
    own: tuple[Part, ...],
    spans: Mapping[int, tuple[Span, ...]],
    halves: Mapping[int, float],
) -> tuple[Footprint, ...]:
    """Footprints of parts whose walls stand on these spans with these half thicknesses.

    Arcs are drawn with a point a degree: a face is off by at most 4 mm in 100 m of radius.
    """
    pieces = _pieces(own, spans, halves)
    cuts = _cuts(pieces)
    still = (0.0, 0.0)
    found = []
    for index, piece in enumerate(pieces):
        head, tail = cuts.get((index, False), still), cuts.get((index, True), still)
        found.append(_drawn(piece, *_unfolded(piece, head, tail)))
    return tuple(found)


def _pieces(
    own: tuple[Part, ...],
    spans: Mapping[int, tuple[Span, ...]],
    halves: Mapping[int, float],
) -> list[_Piece]:
    found = []
    for part in own:
        for low, high in spans[part.wall]:
            start = max(0.0, low - part.segment.from_m)
            end = min(part.segment.length_m, high - part.segment.from_m)
            if end - start > _TOUCH_M:
                found.append(_Piece(part, start, end, halves[part.wall]))
    return found


def _cuts(pieces: list[_Piece]) -> _Cuts:
    meeting: dict[int, list[_End]] = {}
    for index, piece in enumerate(pieces):
        segment = piece.part.segment
        if piece.starts:
            out = segment.direction(0.0)
            meeting.setdefault(piece.part.start, []).append(
                _End(index, False, out, piece.half_m)
            )
        if piece.ends:
            x, y = segment.direction(segment.length_m)
            meeting.setdefault(piece.part.end, []).append(
                _End(index, True, (-x, -y), piece.half_m)
            )
    cuts: _Cuts = {}
    for ends in meeting.values():
        cuts |= _joined(ends)
    return cuts


def _joined(ends: list[_End]) -> _Cuts:
    """The cuts of the ends round one point: each with its neighbour on its left."""
    if len(ends) < 2:
        return {}
    round_ = sorted(ends, key=lambda end: math.atan2(end.out[1], end.out[0]))
    left: dict[int, float] = {}
    right: dict[int, float] = {}
    for index, one in enumerate(round_):
        after = (index + 1) % len(round_)
        left[index], right[after] = _corner(one, round_[after])
    cuts: _Cuts = {}
    for index, end in enumerate(round_):
        sides = (left[index], right[index])
        # Out of the far end of a wall one looks against the walk.
        cuts[end.piece, end.tail] = sides[::-1] if end.tail else sides
    return cuts


def _corner(one: _End, other: _End) -> tuple[float, float]:
    """How far from the point, along each, the left face of one meets the right face of
    the next round."""
    sine = one.out[0] * other.out[1] - one.out[1] * other.out[0]
    cosine = one.out[0] * other.out[0] + one.out[1] * other.out[1]
    if abs(sine) < 1e-9:
        return 0.0, 0.0
    here = (other.half_m + one.half_m * cosine) / sine
    there = (one.half_m + other.half_m * cosine) / sine
    if max(abs(here), abs(there)) > _MITRE_LIMIT * max(one.half_m, other.half_m):
        return 0.0, 0.0
    return here, there


def _unfolded(
    piece: _Piece, head: tuple[float, float], tail: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The cuts, square on a face that they would cut away whole."""
    length = piece.high_m - piece.low_m
    kept = [
        (one, other) if one + other < length else (min(0.0, one), min(0.0, other))
        for one, other in zip(head, tail, strict=True)
    ]
    return (kept[0][0], kept[1][0]), (kept[0][1], kept[1][1])


def _drawn(
    piece: _Piece, head: tuple[float, float], tail: tuple[float, float]
) -> Footprint:
    segment, half = piece.part.segment, piece.half_m
    low, high = piece.low_m, piece.high_m
    if segment.bend == 0:
        corners = [
            segment.at(low),
            segment.at(low + head[0], half),
            segment.at(high - tail[0], half),
            segment.at(high),
            segment.at(high - tail[1], -half),
            segment.at(low + head[1], -half),
        ]
        return Footprint(piece.part.wall, Polygon(corners), (high - low) * 2 * half)
    along = segment.stations(low, high)
    left = [segment.at(s, half) for s in along]
    right = [segment.at(s, -half) for s in reversed(along)]
    square = Polygon(left + right)
    shape: shapely.Geometry = square
    for side, cut in zip((half, -half), head, strict=True):
        shape = _trimmed(shape, segment, low, side, cut)
    for side, cut in zip((half, -half), tail, strict=True):
        shape = _trimmed(shape, segment, high, side, -cut)
    return Footprint(piece.part.wall, shape, square.area)


def _trimmed(
    shape: shapely.Geometry,
    segment: Segment,
    at_m: float,
    side_m: float,
    shift_m: float,
) -> shapely.Geometry:
    """An arc's end with one face cut back or run on along the tangent by a signed shift."""
    if abs(shift_m) < _TOUCH_M:
        return shape
    x, y = segment.direction(at_m)
    middle, corner = segment.at(at_m), segment.at(at_m, side_m)
    inward = 1 if at_m < segment.length_m / 2 else -1
    if shift_m * inward < 0:
        beyond = (corner[0] + shift_m * x, corner[1] + shift_m * y)
        return shapely.union(shape, Polygon([middle, corner, beyond]))
    # The face bends off the tangent, so the wedge reaches past it.
    far = 1.5
    edge = segment.at(at_m, side_m * far)
    cut = (edge[0] + far * shift_m * x, edge[1] + far * shift_m * y)
    # From a hair outside the end: overlays leave slivers on a common edge.
    back = (middle[0] - inward * 1e-6 * x, middle[1] - inward * 1e-6 * y)
    behind = (edge[0] - inward * 1e-6 * x, edge[1] - inward * 1e-6 * y)
    return shapely.difference(shape, Polygon([middle, cut, behind, back]))
