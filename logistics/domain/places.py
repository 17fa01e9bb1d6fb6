"""Places on the earth and the distance between them as the crow flies."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geopy.distance import geodesic

from logistics.domain.errors import refuse


@dataclass(frozen=True, slots=True)
class Point:
    """A position in WGS 84 degrees. Fields are named so that axes cannot be swapped.

    Raises Refused when a coordinate is not a finite number on the earth.
    """

    lat: float
    lon: float

    def __post_init__(self) -> None:
        for name, value, limit in (("lat", self.lat, 90.0), ("lon", self.lon, 180.0)):
            if not math.isfinite(value) or abs(value) > limit:
                raise refuse(
                    "not_on_earth",
                    field=name,
                    given=value,
                    message="this coordinate is not on the earth",
                    remedy=f"Give degrees between -{limit:g} and {limit:g}.",
                )


def geodesic_m(start: Point, end: Point) -> float:
    """Length in metres of the shortest line over the WGS 84 ellipsoid (Karney 2013)."""
    return float(geodesic((start.lat, start.lon), (end.lat, end.lon)).meters)


@dataclass(frozen=True, slots=True)
class AccessLimits:
    """What the way into a place admits; None means that no limit is known."""

    max_gross_kg: int | None = None
    max_height_m: float | None = None
    max_width_m: float | None = None
    max_length_m: float | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere a truck starts, loads or tips.

    `at_once` trucks are loaded or tip at the same time, `loads_a_day` are loaded or tipped
    on one day at most; None: no limit.
    """

    key: str
    name: str
    point: Point
    access: AccessLimits = AccessLimits()
    at_once: int | None = None
    loads_a_day: int | None = None
