"""Grid cells (H3) in which places are looked up before their distance is measured."""

from __future__ import annotations

import math

import h3

from logistics.domain.places import Point
from logistics.domain.roads.geodesics import lengths_m

RESOLUTION = 8
_MOST_RINGS = 8
# A cell's corner lies at most this many mean edges from its centre, everywhere on the
# earth: cells vary by a factor of two in area. With room for the children of a cell,
# which do not fill it exactly.
_CORNER_EDGES = 2.0


def cell_of(point: Point) -> str:
    """The cell of a place: 15 hexadecimal digits, stored and compared as text."""
    return str(h3.latlng_to_cell(point.lat, point.lon, RESOLUTION))


def ranges_around(point: Point, reach_m: float) -> list[tuple[str, str]]:
    """Ranges of cells, both ends included, that hold every place within `reach_m`.

    They hold some farther places too: measure afterwards. The cells inside a coarser cell
    are neighbours in the alphabet, so a wide circle needs few ranges, and a B-tree answers
    each in one descent.
    """
    coarse, rings = _coarseness(reach_m)
    edge = h3.average_hexagon_edge_length(coarse, unit="m")
    centre = h3.latlng_to_cell(point.lat, point.lon, coarse)
    disk = h3.grid_disk(centre, rings)
    lat, lon = zip(*(h3.cell_to_latlng(cell) for cell in disk), strict=True)
    apart = lengths_m(point.lat, point.lon, lat, lon)
    near = sorted(
        _span(cell)
        for cell, metres in zip(disk, apart, strict=True)
        if metres <= reach_m + _CORNER_EDGES * edge
    )
    merged: list[tuple[str, str]] = []
    for low, high in near:
        if merged and int(low, 16) <= int(merged[-1][1], 16) + 1:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def _coarseness(reach_m: float) -> tuple[int, int]:
    """The finest resolution at which few rings of cells cover the circle."""
    for resolution in range(RESOLUTION, -1, -1):
        # A ring advances by 1.5 edges of a mean cell, so by one edge of a small one.
        edge = h3.average_hexagon_edge_length(resolution, unit="m")
        rings = math.ceil(reach_m / edge) + 2
        if rings <= _MOST_RINGS:
            return resolution, rings
    return 0, _MOST_RINGS * 2


def _span(cell: str) -> tuple[str, str]:
    """The first and the last possible cell inside a coarser one."""
    coarse = h3.get_resolution(cell)
    value = int(cell, 16) & ~(0xF << 52) | RESOLUTION << 52
    unused = 3 * (15 - RESOLUTION)
    inside = 3 * (RESOLUTION - coarse)
    low = value & ~(((1 << inside) - 1) << unused)
    return f"{low:x}", f"{value | ((1 << inside) - 1) << unused:x}"
