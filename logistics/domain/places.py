"""Places on the earth and the distance between them as the crow flies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

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


class Firmness(StrEnum):
    """The ground on which a truck stands at a place."""

    HARD = "hard"
    FIRM_WHEN_DRY = "firm_when_dry"
    SOFT = "soft"


@dataclass(frozen=True, slots=True)
class AccessLimits:
    """The access card of a place: what the way in and the tipping place admit.

    None means that no limit is known. `turning_m` is the diameter of the circle in which a
    truck can turn. `slope_percent`, `firmness`, `wires` and `clear_height_m` are of the
    ground where bodies are raised, and of what hangs above it; `wires`: a line that
    carries current crosses the tipping place or hangs beside it.
    """

    max_gross_kg: int | None = None
    max_height_m: float | None = None
    max_width_m: float | None = None
    max_length_m: float | None = None
    max_axle_kg: int | None = None
    turning_m: float | None = None
    slope_percent: float | None = None
    firmness: Firmness | None = None
    wires: bool | None = None
    clear_height_m: float | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere a truck starts, loads or tips.

    `point` is the gate, where the road access is and to which distances are reckoned; `tip`
    is where the load goes, if that is elsewhere. `at_once` trucks are loaded or tip at the
    same time, `loads_a_day` are loaded or tipped on one day at most; None: no limit.
    """

    key: str
    name: str
    point: Point
    access: AccessLimits = AccessLimits()
    at_once: int | None = None
    loads_a_day: int | None = None
    tip: Point | None = None
