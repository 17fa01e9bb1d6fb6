"""Lines cut where they cross the 180th meridian (RFC 7946, section 3.1.9)."""

from __future__ import annotations

from itertools import pairwise

from api.exports.book import Line


def cut(line: Line) -> tuple[Line, ...]:
    """The parts of a line, none of which crosses the antimeridian.

    Of two ways round the earth a piece takes the shorter. Points that repeat the one
    before are left out, and so are parts of less than two points.
    """
    parts: list[list[tuple[float, float]]] = [list(line[:1])]
    for (lon, lat), (next_lon, next_lat) in pairwise(line):
        if abs(next_lon - lon) > 180:
            edge = 180.0 if lon > 0 else -180.0
            span = next_lon + 2 * edge - lon
            share = (edge - lon) / span if span else 0.0
            crossing = lat + share * (next_lat - lat)
            parts[-1].append((edge, crossing))
            parts.append([(-edge, crossing)])
        parts[-1].append((next_lon, next_lat))
    return tuple(part for own in parts if len(part := _once(own)) > 1)


def _once(points: list[tuple[float, float]]) -> Line:
    return tuple(
        own for index, own in enumerate(points) if not index or own != points[index - 1]
    )


def unrolled(line: Line, near: float) -> Line:
    """The line with longitudes that run on past 180, each within 180 of `near`."""
    return tuple(
        (near + (lon - near + 180.0) % 360.0 - 180.0, lat) for lon, lat in line
    )
