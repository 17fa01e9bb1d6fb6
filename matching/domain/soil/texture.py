"""Texture classes of the USDA triangle: which class a soil is, which it may be.

Shares are fractions of the dry mass that passes 2 mm, with the USDA limits: clay below
0.002 mm, silt to 0.05 mm, sand to 2 mm. The classes are the inequalities of the Soil
Survey Manual (quoted in a public repository from its page 122, and in the NRCS texture
calculator): together they class every point once. A point on a line goes to the class that
the inequalities name, usually the finer one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread

Point = tuple[float, float]
Outline = tuple[Point, ...]

# Shares are sums of decimal fractions: 0.1 + 0.2 must still count as 0.3.
_HAIR = 1e-9


class Texture(StrEnum):
    """The twelve classes of the USDA triangle, coarse to fine."""

    SAND = "sand"
    LOAMY_SAND = "loamy_sand"
    SANDY_LOAM = "sandy_loam"
    LOAM = "loam"
    SILT_LOAM = "silt_loam"
    SILT = "silt"
    SANDY_CLAY_LOAM = "sandy_clay_loam"
    CLAY_LOAM = "clay_loam"
    SILTY_CLAY_LOAM = "silty_clay_loam"
    SANDY_CLAY = "sandy_clay"
    SILTY_CLAY = "silty_clay"
    CLAY = "clay"

    @property
    def words(self) -> str:
        """The class as people write it."""
        return self.value.replace("_", " ")


@dataclass(frozen=True, slots=True)
class ClassBounds:
    """The least and greatest clay, silt and sand that a class can hold; `likely` is the
    middle of its area in the triangle."""

    clay: Spread
    silt: Spread
    sand: Spread


# One row per side of a class: clay factor, silt factor, bound, and whether the class lies
# at or above the bound (True) or below it (False). Sand is 1 - clay - silt throughout.
_Side = tuple[float, float, float, bool]
_Piece = tuple[_Side, ...]


def _clay(low: float, high: float = 2.0) -> _Piece:
    return ((1, 0, low, True), (1, 0, high, False))


def _silt(low: float, high: float = 2.0) -> _Piece:
    return ((0, 1, low, True), (0, 1, high, False))


def _fines(low: float, high: float = 2.0) -> _Piece:
    return ((1, 1, low, True), (1, 1, high, False))


# Non-convex classes are two convex pieces, so that a region can be clipped against each.
_PIECES: dict[Texture, tuple[_Piece, ...]] = {
    Texture.SAND: (((1.5, 1, 0.15, False),),),
    Texture.LOAMY_SAND: (((1.5, 1, 0.15, True), (2, 1, 0.30, False)),),
    Texture.SANDY_LOAM: (
        (*_clay(0.07, 0.20), *_fines(0, 0.48), (2, 1, 0.30, True)),
        (*_clay(0, 0.07), *_silt(0, 0.50), (2, 1, 0.30, True)),
    ),
    Texture.LOAM: ((*_clay(0.07, 0.27), *_silt(0.28, 0.50), *_fines(0.48)),),
    Texture.SILT_LOAM: (
        (*_clay(0.12, 0.27), *_silt(0.50)),
        (*_clay(0, 0.12), *_silt(0.50, 0.80)),
    ),
    Texture.SILT: ((*_clay(0, 0.12), *_silt(0.80)),),
    Texture.SANDY_CLAY_LOAM: ((*_clay(0.20, 0.35), *_silt(0, 0.28), *_fines(0, 0.55)),),
    Texture.CLAY_LOAM: ((*_clay(0.27, 0.40), *_fines(0.55, 0.80)),),
    Texture.SILTY_CLAY_LOAM: ((*_clay(0.27, 0.40), *_fines(0.80)),),
    Texture.SANDY_CLAY: ((*_clay(0.35), *_fines(0, 0.55)),),
    Texture.SILTY_CLAY: ((*_clay(0.40), *_silt(0.40)),),
    Texture.CLAY: ((*_clay(0.40), *_fines(0.55), *_silt(0, 0.40)),),
}

# Corners of each class as (clay, silt), in order round it, for drawing: the corner points
# of the same inequalities.
OUTLINES: dict[Texture, Outline] = {
    Texture.SAND: ((0, 0), (0.10, 0), (0, 0.15)),
    Texture.LOAMY_SAND: ((0.10, 0), (0.15, 0), (0, 0.30), (0, 0.15)),
    Texture.SANDY_LOAM: (
        (0.15, 0),
        (0.20, 0),
        (0.20, 0.28),
        (0.07, 0.41),
        (0.07, 0.50),
        (0, 0.50),
        (0, 0.30),
    ),
    Texture.LOAM: (
        (0.07, 0.41),
        (0.20, 0.28),
        (0.27, 0.28),
        (0.27, 0.50),
        (0.07, 0.50),
    ),
    Texture.SILT_LOAM: (
        (0, 0.50),
        (0.27, 0.50),
        (0.27, 0.73),
        (0.12, 0.88),
        (0.12, 0.80),
        (0, 0.80),
    ),
    Texture.SILT: ((0, 0.80), (0.12, 0.80), (0.12, 0.88), (0, 1.0)),
    Texture.SANDY_CLAY_LOAM: (
        (0.20, 0),
        (0.35, 0),
        (0.35, 0.20),
        (0.27, 0.28),
        (0.20, 0.28),
    ),
    Texture.CLAY_LOAM: ((0.27, 0.28), (0.40, 0.15), (0.40, 0.40), (0.27, 0.53)),
    Texture.SILTY_CLAY_LOAM: (
        (0.27, 0.53),
        (0.40, 0.40),
        (0.40, 0.60),
        (0.27, 0.73),
    ),
    Texture.SANDY_CLAY: ((0.35, 0), (0.55, 0), (0.35, 0.20)),
    Texture.SILTY_CLAY: ((0.40, 0.40), (0.60, 0.40), (0.40, 0.60)),
    Texture.CLAY: (
        (0.40, 0.15),
        (0.55, 0),
        (1.0, 0),
        (0.60, 0.40),
        (0.40, 0.40),
    ),
}


def texture_of(clay: float, silt: float) -> Texture:
    """The class of a soil with these shares of clay and silt; the rest is sand.

    Raises Refused ("shares_out_of_range") when a share is negative or both exceed 1.
    """
    sound = math.isfinite(clay) and math.isfinite(silt)
    if not sound or min(clay, silt) < -_HAIR or clay + silt > 1 + _HAIR:
        raise refuse(
            "shares_out_of_range",
            field="clay, silt",
            given=f"{clay}, {silt}",
            message="clay and silt must be 0 or more and together at most 1",
            remedy="Give fractions of the dry mass that passes 2 mm, such as 0.20.",
        )
    for texture, pieces in _PIECES.items():
        if any(_holds(piece, (clay, silt)) for piece in pieces):
            return texture
    raise AssertionError("the classes cover the triangle")  # pragma: no cover


def textures_within(clay: Spread, silt: Spread | None = None) -> tuple[Texture, ...]:
    """Every class that a soil in these ranges can be, coarse to fine.

    Without a range for silt, any silt that the clay leaves room for.
    """
    silt = silt or Spread(0.0, max(0.0, 0.5 - clay.likely / 2), 1.0)
    region = _region(clay, silt)
    return tuple(
        texture
        for texture, pieces in _PIECES.items()
        if any(_touches(texture, piece, region) for piece in pieces)
    )


def bounds_of(texture: Texture) -> ClassBounds:
    """What belonging to a class says of each share."""
    outline = OUTLINES[texture]
    clay, silt = _centroid(outline)
    return ClassBounds(
        clay=_span([point[0] for point in outline], clay),
        silt=_span([point[1] for point in outline], silt),
        sand=_span([1 - point[0] - point[1] for point in outline], 1 - clay - silt),
    )


def _span(values: list[float], likely: float) -> Spread:
    low, high = max(0.0, min(values)), min(1.0, max(values))
    return Spread(low, min(max(likely, low), high), high)


def _holds(piece: _Piece, point: Point) -> bool:
    for clay_factor, silt_factor, bound, above in piece:
        value = clay_factor * point[0] + silt_factor * point[1]
        if (value >= bound - _HAIR) is not above:
            return False
    return True


def _region(clay: Spread, silt: Spread) -> Outline:
    corners = (
        (clay.low, silt.low),
        (clay.high, silt.low),
        (clay.high, silt.high),
        (clay.low, silt.high),
    )
    return _clipped(corners, (1, 1, 1 + _HAIR, False))


def _touches(texture: Texture, piece: _Piece, region: Outline) -> bool:
    shape = region
    for side in piece:
        shape = _clipped(shape, side)
    if not shape:
        return False
    # A region that meets a class only along a line the class does not own is no part of
    # it: its own points decide, the middle first.
    middle = (
        math.fsum(point[0] for point in shape) / len(shape),
        math.fsum(point[1] for point in shape) / len(shape),
    )
    return any(_owned(texture, point) for point in (middle, *shape))


def _owned(texture: Texture, point: Point) -> bool:
    clay, silt = max(0.0, point[0]), max(0.0, point[1])
    return clay + silt <= 1 + _HAIR and texture_of(clay, silt) is texture


def _clipped(shape: Outline, side: _Side) -> Outline:
    """A convex outline cut off at one side (Sutherland and Hodgman)."""
    clay_factor, silt_factor, bound, above = side
    sign = 1 if above else -1
    depth = [
        sign * (clay_factor * point[0] + silt_factor * point[1] - bound)
        for point in shape
    ]
    kept: list[Point] = []
    for index, point in enumerate(shape):
        before = index - 1
        if (depth[index] >= -_HAIR) is not (depth[before] >= -_HAIR):
            part = depth[before] / (depth[before] - depth[index])
            last = shape[before]
            kept.append(
                (
                    last[0] + part * (point[0] - last[0]),
                    last[1] + part * (point[1] - last[1]),
                )
            )
        if depth[index] >= -_HAIR:
            kept.append(point)
    return tuple(kept)


def _centroid(outline: Outline) -> Point:
    double = clay = silt = 0.0
    for index, point in enumerate(outline):
        last = outline[index - 1]
        cross = last[0] * point[1] - point[0] * last[1]
        double += cross
        clay += (last[0] + point[0]) * cross
        silt += (last[1] + point[1]) * cross
    return clay / (3 * double), silt / (3 * double)
