"""Distance tables between places, whatever they were computed from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from logistics.domain.errors import refuse
from logistics.domain.places import Point, geodesic_m

Table = NDArray[np.int64]

# Road length over straight line. Newell (1980) gives about 1.2 and O'Sullivan and
# Morrall (1996) 1.21-1.23 for towns; rural roads measured in Spain give 1.36
# (Dominguez-Caamano 2016). Earth sites are rural: the larger figure is the default.
DETOUR_FACTOR = 1.36
DETOUR_SOURCE = "rural roads, Dominguez-Caamano 2016"
# Mean speed of a loaded rigid truck on minor and district roads; common practice, no source.
TRUCK_SPEED_KMH = 45.0


@dataclass(frozen=True)
class DistanceTable:
    """Metres and seconds from each place (row) to each place (column).

    `metres` and `seconds` are int64 of shape (n, n), seconds rounded up. A pair with no
    way between is False in `reachable`, and its figures must not be used.
    `basis` says in words where the figures come from; every result repeats it.
    `barred` says for a place (by its number) what keeps the truck from it, and where.
    """

    metres: Table
    seconds: Table
    reachable: NDArray[np.bool_]
    basis: str
    barred: Mapping[int, str] = field(default_factory=dict)

    def why_not(self, start: int, end: int) -> str | None:
        """What stops a truck on the way from one place to the other, if that is known."""
        return self.barred.get(end) or self.barred.get(start)

    def __len__(self) -> int:
        return int(self.metres.shape[0])


def geodesic_table(
    points: Sequence[Point],
    *,
    detour_factor: float = DETOUR_FACTOR,
    speed_kmh: float = TRUCK_SPEED_KMH,
) -> DistanceTable:
    """Straight lines over the ellipsoid times a detour factor, at one speed.

    Raises Refused for a factor below 1 or a speed that is not positive.
    """
    if not detour_factor >= 1:
        raise refuse(
            "detour_factor_below_one",
            field="detour_factor",
            given=detour_factor,
            message="a road is never shorter than the straight line",
            remedy="Give 1 or more; 1.2 suits towns, 1.36 the country.",
        )
    if not speed_kmh > 0:
        raise refuse(
            "speed_not_positive",
            field="speed_kmh",
            given=speed_kmh,
            message="a truck cannot drive at this speed",
            remedy="Give a mean speed in km/h above 0.",
        )
    size = len(points)
    metres = np.zeros((size, size), dtype=np.float64)
    for row in range(size):
        for column in range(row + 1, size):
            length = geodesic_m(points[row], points[column]) * detour_factor
            metres[row, column] = metres[column, row] = length
    basis = (
        f"straight line times {detour_factor:g} ({DETOUR_SOURCE if detour_factor == DETOUR_FACTOR else 'factor given'})"
        f" at {speed_kmh:g} km/h; no road network was used"
    )
    return DistanceTable(
        metres=np.rint(metres).astype(np.int64),
        seconds=np.ceil(np.round(metres * 3.6 / speed_kmh, 6)).astype(np.int64),
        reachable=np.ones((size, size), dtype=np.bool_),
        basis=basis,
    )
