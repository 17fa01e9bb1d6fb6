"""The nearest point of a road to a place, exactly, from a grid of road segments."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.errors import Refused, refuse
from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads.arrays import Flags, Floats, Indexes, Offsets, RoadArrays
from logistics.domain.roads.geodesics import lengths_m, metres_per_degree

CELL_DEGREES = 0.005
_COLUMNS = round(360 / CELL_DEGREES) + 1
FAR_M = 100.0
LIMIT_M = 500.0
# How far a refusal still looks, so that it can say how far the nearest road is.
_LOOK_M = 50_000.0
_FIRST_RADIUS_M = 100.0
# Sums of floats end up a hair beside the end that they mean.
_AT_THE_END_M = 1e-6


@dataclass(frozen=True, slots=True)
class Snap:
    """Where a place meets the road.

    `fraction` runs from 0 to 1 along the road's own direction, by length.
    `distance_m` is the geodesic between the place and the road.
    """

    point: Point
    on_road: Point
    road: int
    fraction: float
    distance_m: float

    @property
    def far(self) -> bool:
        """Whether the place is so far off the road that a person should look."""
        return self.distance_m > FAR_M


def build_grid(
    lat: Floats, lon: Floats, segments: NDArray[np.int64]
) -> tuple[Offsets, Offsets, Indexes]:
    """Cells, their starts and the segments in each, as `RoadArrays` holds them.

    A segment is named by its first shape point and is put in every cell it may touch.
    """
    lat_from, lon_from = lat[segments], lon[segments]
    span_lat, span_lon = lat[segments + 1] - lat_from, lon[segments + 1] - lon_from
    span = np.maximum(np.abs(span_lat), np.abs(span_lon))
    # A chunk of at most half a cell touches at most two rows and two columns.
    chunks = np.maximum(np.ceil(span / (CELL_DEGREES / 2)), 1).astype(np.int64)
    owner = np.repeat(np.arange(len(segments)), chunks)
    first = np.repeat(np.cumsum(chunks) - chunks, chunks)
    step = np.arange(len(owner)) - first
    found = []
    for lat_end in (0, 1):
        at_lat = (step + lat_end) / chunks[owner]
        row = _row(lat_from[owner] + at_lat * span_lat[owner])
        for lon_end in (0, 1):
            at_lon = (step + lon_end) / chunks[owner]
            column = _column(lon_from[owner] + at_lon * span_lon[owner])
            found.append((row * _COLUMNS + column) * len(lat) + segments[owner])
    # Cell and segment as one number: far fewer than 2**63, and quick to sort.
    pairs = np.sort(np.concatenate(found))
    pairs = pairs[np.diff(pairs, prepend=-1) > 0]
    cell, segment = np.divmod(pairs, max(1, len(lat)))
    starts = np.flatnonzero(np.diff(cell, prepend=-1, append=-1))
    return (
        cell[starts[:-1]].astype(np.int64),
        starts.astype(np.int64),
        segment.astype(np.int32),
    )


def snap(
    arrays: RoadArrays,
    point: Point,
    limit_m: float = LIMIT_M,
    only: Flags | None = None,
) -> Snap:
    """The nearest point on any road where a truck may stop, within `limit_m`.

    `only` says of each road whether it is looked at. Motorways and ferries are not in the grid. Raises Refused "too_far_from_road", and
    "limit_out_of_range" for a limit that is not above 0 and at most 50 km.
    """
    if not 0 < limit_m <= _LOOK_M:
        raise refuse(
            "limit_out_of_range",
            field="limit_m",
            given=limit_m,
            message="no place can be looked up within this distance of a road",
            remedy=f"Give metres above 0 and at most {_LOOK_M:.0f}; {LIMIT_M:.0f} is usual.",
        )
    found = _nearest(arrays, point, limit_m, only)
    if found is None or found.distance_m > limit_m:
        raise _too_far(arrays, point, limit_m)
    return found


def _row(lat: Floats) -> NDArray[np.int64]:
    return np.floor((lat + 90) / CELL_DEGREES).astype(np.int64)


def _column(lon: Floats) -> NDArray[np.int64]:
    return np.floor((lon + 180) / CELL_DEGREES).astype(np.int64)


def _nearest(
    arrays: RoadArrays, point: Point, limit_m: float, only: Flags | None = None
) -> Snap | None:
    radius = min(_FIRST_RADIUS_M, limit_m)
    while True:
        # A touch more than asked, since the plane used here is not quite the earth.
        near = _segments_near(arrays, point, radius * 1.01 + 1)
        if only is not None:
            near = near[only[np.searchsorted(arrays.offsets, near, side="right") - 1]]
        found = _best_of(arrays, point, near)
        if found is not None and found.distance_m <= radius:
            return found
        if radius >= limit_m:
            return found
        radius = min(radius * 3, limit_m)


def _segments_near(
    arrays: RoadArrays, point: Point, radius_m: float
) -> NDArray[np.int64]:
    per_lat, per_lon = metres_per_degree(point.lat)
    high, wide = radius_m / per_lat, radius_m / max(per_lon, 1.0)
    rows = _row(np.array([point.lat - high, point.lat + high]))
    columns = np.clip(
        _column(np.array([point.lon - wide, point.lon + wide])), 0, _COLUMNS - 1
    )
    keys = np.arange(rows[0], rows[1] + 1) * _COLUMNS
    first = np.searchsorted(arrays.cells, keys + columns[0])
    last = np.searchsorted(arrays.cells, keys + columns[1], side="right")
    parts = [
        arrays.cell_segments[arrays.cell_starts[start] : arrays.cell_starts[end]]
        for start, end in zip(first.tolist(), last.tolist(), strict=True)
        if end > start
    ]
    if not parts:
        return np.empty(0, dtype=np.int64)
    return np.unique(np.concatenate(parts)).astype(np.int64)


def _best_of(
    arrays: RoadArrays, point: Point, segments: NDArray[np.int64]
) -> Snap | None:
    if not len(segments):
        return None
    per_lat, per_lon = metres_per_degree(point.lat)
    y, x = (arrays.lat[segments] - point.lat), (arrays.lon[segments] - point.lon)
    dy = arrays.lat[segments + 1] - arrays.lat[segments]
    dx = arrays.lon[segments + 1] - arrays.lon[segments]
    square = (dx * per_lon) ** 2 + (dy * per_lat) ** 2
    toward = -(x * dx * per_lon**2 + y * dy * per_lat**2)
    share = np.clip(toward / np.where(square > 0, square, 1.0), 0.0, 1.0)
    lat, lon = point.lat + y + share * dy, point.lon + x + share * dx
    plane = np.hypot((lat - point.lat) * per_lat, (lon - point.lon) * per_lon)
    # The plane decides who comes near, the ellipsoid who is nearest.
    close = np.flatnonzero(plane <= plane.min() * 1.02 + 0.01)
    best = int(close[0])
    if len(close) > 1:
        metres = lengths_m(point.lat, point.lon, lat[close], lon[close])
        best = int(close[int(np.argmin(metres))])
    segment = int(segments[best])
    on_road = Point(float(lat[best]), float(lon[best]))
    road = arrays.road_of(segment)
    here, there = float(arrays.along[segment]), float(arrays.along[segment + 1])
    along = here + float(share[best]) * (there - here)
    total = float(arrays.road_metres[road])
    return Snap(
        point=point,
        on_road=on_road,
        road=road,
        fraction=_fraction(along, total),
        distance_m=geodesic_m(point, on_road),
    )


def _fraction(along: float, total: float) -> float:
    """Share of the road, exactly 0 or 1 where a place is at its end."""
    if along <= _AT_THE_END_M:
        return 0.0
    return 1.0 if along >= total - _AT_THE_END_M else along / total


def _too_far(arrays: RoadArrays, point: Point, limit_m: float) -> Refused:
    nearest = _nearest(arrays, point, _LOOK_M)
    if nearest is None or nearest.distance_m > _LOOK_M:
        how_far = f"no road within {_LOOK_M / 1000:.0f} km"
        remedy = (
            "Check that latitude and longitude are not swapped, or import the roads of this area: "
            "manage.py import_roads FILE"
        )
    else:
        at = nearest.on_road
        how_far = f"the nearest road is {nearest.distance_m:.0f} m away at {at.lat:.5f}, {at.lon:.5f}"
        remedy = (
            f"Put the pin where a truck can reach it, at most {limit_m:.0f} m from a road "
            "(the gate, not the field), or raise the limit."
        )
    return refuse(
        "too_far_from_road",
        field="point",
        given=f"{point.lat:.6f}, {point.lon:.6f}",
        message=how_far,
        remedy=remedy,
    )
