"""Shapes for drawings of walls: the plan from above, and each wall unrolled. Numbers only.

All in m. In the plan x is east and y north; walls without a place are laid out in a row
below the others. In an elevation x runs along the centre line and y is the height above
the plinth, so the plinth lies below 0; a curved wall is drawn as long as its centre line.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import Polygon

from matching.domain.walls import heights
from matching.domain.walls.courses import lift_edges
from matching.domain.walls.footprints import joined, parts
from matching.domain.walls.heights import Span
from matching.domain.walls.paths import Path, Point, place, segments
from matching.domain.walls.sections import cob_at
from matching.domain.walls.wall import Hole, Kind, Opening, Wall

_GAP_M = 1.0
# From a distance along a wall and one to its left to a point of the plan.
_Where = Callable[[float, float], Point]


@dataclass(frozen=True, slots=True)
class Ring:
    """A polygon: its outer edge and its holes, first point not repeated."""

    outer: tuple[Point, ...]
    inner: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class PlanOpening:
    """The gap of an opening: its four corners and middle, and its sizes for a label."""

    corners: tuple[Point, Point, Point, Point]
    middle: Point
    width_m: float
    height_m: float
    sill_m: float


@dataclass(frozen=True, slots=True)
class PlanWall:
    """A wall from above, at its bottom. `number` counts from 1; `middle` lies on its
    centre line; `placed` is false for a wall that is only laid out to be seen."""

    number: int
    name: str
    kind: Kind
    placed: bool
    rings: tuple[Ring, ...]
    openings: tuple[PlanOpening, ...]
    middle: Point
    length_m: float
    thickness_m: float


@dataclass(frozen=True, slots=True)
class Plan:
    """All walls from above, and the corners of the box round them."""

    walls: tuple[PlanWall, ...]
    low: Point
    high: Point


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle of an elevation."""

    low: Point
    high: Point


@dataclass(frozen=True, slots=True)
class LiftLine:
    """A course's upper edge: its height, and where cob stands there."""

    height_m: float
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Elevation:
    """A wall unrolled. `outline` goes round its face from the foot of its start;
    `plinth` is None without one; `loose` are openings that have no place yet; `corners`
    are the distances where the path turns or a curve begins or ends."""

    length_m: float
    height_m: float
    outline: tuple[Point, ...]
    openings: tuple[Box, ...]
    lintels: tuple[Box, ...]
    loose: tuple[Opening, ...]
    plinth: Box | None
    lifts: tuple[LiftLine, ...]
    corners: tuple[float, ...]


def plan(walls: tuple[Wall, ...]) -> Plan:
    """The walls from above; gaps are openings with a place, at whatever height."""
    own = parts(walls)
    spans = {index: _unbroken(wall) for index, wall in enumerate(walls)}
    halves = {index: wall.thickness_m / 2 for index, wall in enumerate(walls)}
    shapes: dict[int, list[shapely.Geometry]] = {}
    for found in joined(own, spans, halves):
        shapes.setdefault(found.wall, []).append(found.shape)
    everything = [shape for ones in shapes.values() for shape in ones]
    west, foot = 0.0, 0.0
    if everything:
        west, foot, _, _ = shapely.total_bounds(everything).tolist()
    drawn = []
    for index, wall in enumerate(walls):
        if isinstance(wall.run, Path):
            drawn.append(_drawn(index, wall, shapes.get(index, []), _along(wall.run)))
            continue
        foot -= _GAP_M + wall.thickness_m
        row = _row(west, foot + wall.thickness_m / 2)
        drawn.append(_drawn(index, wall, _bars(spans[index], halves[index], row), row))
    points = [p for one in drawn for ring in one.rings for p in ring.outer]
    xs, ys = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
    return Plan(tuple(drawn), (min(xs), min(ys)), (max(xs), max(ys)))


def elevation(wall: Wall, lift_m: float | None = None) -> Elevation:
    """One wall unrolled, with the upper edges of its lifts if their height is given.

    Raises Refused "not_a_sane_size" for the lift.
    """
    length = wall.length_m
    round_ = ((0.0, 0.0), (length, 0.0), *reversed(wall.top), (0.0, 0.0))
    holes = [hole for hole in wall.holes if hole.placed]
    return Elevation(
        length_m=length,
        height_m=wall.height_m,
        outline=tuple(one for one, after in pairwise(round_) if one != after),
        openings=tuple(_box(own) for own in holes if not own.lintel),
        lintels=tuple(_box(own) for own in holes if own.lintel),
        loose=tuple(own for own in wall.openings if own.at_m is None),
        plinth=Box((0.0, -wall.plinth_m), (length, 0.0)) if wall.plinth_m else None,
        lifts=() if lift_m is None else _lifts(wall, lift_m),
        corners=_turns(wall),
    )


def _unbroken(wall: Wall) -> tuple[Span, ...]:
    spans: tuple[Span, ...] = ((0.0, wall.length_m),)
    for own in wall.openings:
        if own.at_m is not None:
            spans = heights.without(spans, (own.at_m, own.at_m + own.width_m))
    return spans


def _along(path: Path) -> _Where:
    return lambda along, left: place(path, along, left)


def _row(x: float, y: float) -> _Where:
    return lambda along, left: (x + along, y + left)


def _bars(
    spans: tuple[Span, ...], half_m: float, where: _Where
) -> list[shapely.Geometry]:
    return [Polygon(_corners(where, low, high, half_m)) for low, high in spans]


def _corners(
    where: _Where, low: float, high: float, half_m: float
) -> tuple[Point, Point, Point, Point]:
    return (
        where(low, -half_m),
        where(high, -half_m),
        where(high, half_m),
        where(low, half_m),
    )


def _drawn(
    index: int, wall: Wall, shapes: list[shapely.Geometry], where: _Where
) -> PlanWall:
    # A tenth of a millimetre: pieces of a curve close up without hairlines.
    together = shapely.simplify(shapely.union_all(shapes, grid_size=1e-4), 1e-6)
    half = wall.thickness_m / 2
    return PlanWall(
        number=index + 1,
        name=wall.name,
        kind=wall.kind,
        placed=isinstance(wall.run, Path),
        rings=tuple(
            _ring(own)
            for own in shapely.get_parts(together).tolist()
            if isinstance(own, Polygon)
        ),
        openings=tuple(
            PlanOpening(
                corners=_corners(where, own.at_m, own.at_m + own.width_m, half),
                middle=where(own.at_m + own.width_m / 2, 0.0),
                width_m=own.width_m,
                height_m=own.height_m,
                sill_m=own.foot_m or 0.0,
            )
            for own in wall.openings
            if own.at_m is not None
        ),
        middle=where(wall.length_m / 2, 0.0),
        length_m=wall.length_m,
        thickness_m=wall.thickness_m,
    )


def _ring(shape: Polygon) -> Ring:
    return Ring(
        tuple((x, y) for x, y in shape.exterior.coords[:-1]),
        tuple(tuple((x, y) for x, y in own.coords[:-1]) for own in shape.interiors),
    )


def _box(own: Hole) -> Box:
    at, foot = own.at_m or 0.0, own.foot_m or 0.0
    return Box((at, foot), (at + own.width_m, foot + own.height_m))


def _lifts(wall: Wall, lift_m: float) -> tuple[LiftLine, ...]:
    return tuple(
        LiftLine(edge, cob_at(wall, edge))
        for edge in lift_edges(wall.height_m, lift_m)[1:-1]
    )


def _turns(wall: Wall) -> tuple[float, ...]:
    if not isinstance(wall.run, Path):
        return ()
    return tuple(
        later.from_m
        for sooner, later in pairwise(segments(wall.run))
        if abs(sooner.bend - later.bend) > 1e-9
        or math.dist(sooner.direction(sooner.length_m), later.direction(0.0)) > 1e-6
    )
