"""The roads as lines to draw."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.arrays import RoadArrays
from logistics.domain.roads.geodesics import metres_per_degree
from logistics.domain.roads.tags import ROAD_CLASSES

Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Box:
    """A part of the map in degrees."""

    south: float
    west: float
    north: float
    east: float


def outline(
    arrays: RoadArrays,
    *,
    box: Box | None = None,
    classes: Collection[str] | None = None,
    coarse_m: float = 0.0,
) -> list[tuple[str, Line]]:
    """Class and (longitude, latitude) line of each road, ready for GeoJSON.

    Only roads whose extent meets the `box`, and of the given classes. `coarse_m` drops
    shape points that share a square of that size with the one before; ends stay.
    """
    chosen = _chosen(arrays, box, classes)
    keep = _keep(arrays, coarse_m) & np.repeat(chosen, np.diff(arrays.offsets))
    before = np.concatenate([[0], np.cumsum(keep)])[arrays.offsets].tolist()
    points = list(
        zip(arrays.lon[keep].tolist(), arrays.lat[keep].tolist(), strict=True)
    )
    names = [ROAD_CLASSES[number] for number in arrays.road_class.tolist()]
    return [
        (names[road], tuple(points[before[road] : before[road + 1]]))
        for road in np.flatnonzero(chosen).tolist()
    ]


def extent(arrays: RoadArrays) -> Box:
    """The box around all roads. The network must not be empty."""
    return Box(
        south=float(arrays.lat.min()),
        west=float(arrays.lon.min()),
        north=float(arrays.lat.max()),
        east=float(arrays.lon.max()),
    )


def _chosen(
    arrays: RoadArrays, box: Box | None, classes: Collection[str] | None
) -> NDArray[np.bool_]:
    chosen = np.ones(arrays.roads, dtype=np.bool_)
    if classes is not None:
        wanted = [ROAD_CLASSES.index(name) for name in classes if name in ROAD_CLASSES]
        chosen &= np.isin(arrays.road_class, wanted)
    if box is not None and arrays.roads:
        first = arrays.offsets[:-1]
        chosen &= np.maximum.reduceat(arrays.lat, first) >= box.south
        chosen &= np.minimum.reduceat(arrays.lat, first) <= box.north
        chosen &= np.maximum.reduceat(arrays.lon, first) >= box.west
        chosen &= np.minimum.reduceat(arrays.lon, first) <= box.east
    return chosen


def _keep(arrays: RoadArrays, coarse_m: float) -> NDArray[np.bool_]:
    keep = np.ones(len(arrays.lat), dtype=np.bool_)
    if coarse_m <= 0 or not arrays.roads:
        return keep
    per_lat, per_lon = metres_per_degree(float(np.mean(arrays.node_lat)))
    row = np.floor(arrays.lat * (per_lat / coarse_m))
    column = np.floor(arrays.lon * (per_lon / coarse_m))
    keep[1:] = (np.diff(row) != 0) | (np.diff(column) != 0)
    keep[arrays.offsets[:-1]] = True
    keep[arrays.offsets[1:] - 1] = True
    return keep
