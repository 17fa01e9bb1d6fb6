"""The road network as the rest of the project sees it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial

import networkx as nx
import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.errors import Problem, Refused
from logistics.domain.places import Point
from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.matrices import fastest
from logistics.domain.roads.outlines import Box, Line, extent, outline
from logistics.domain.roads.routing import Router, polyline
from logistics.domain.roads.snapping import LIMIT_M, Snap, snap

# From the road to the heap and back, over a yard or a field; common practice, no source.
ACCESS_KMH = 10.0
_SNAPS_KEPT = 50_000


@dataclass(frozen=True, slots=True)
class NetworkFacts:
    """Where a network comes from. `imported_at` is an ISO 8601 moment."""

    name: str
    imported_at: str
    source: str
    attribution: str
    vehicle: HeavyVehicle
    ferries: bool = False


@dataclass(frozen=True, slots=True)
class Route:
    """One way by road, access legs included; `points` is the line to draw."""

    points: tuple[Point, ...]
    metres: int
    seconds: int


class RoadNetwork:
    """A strongly connected network for one size of vehicle. Safe to share."""

    def __init__(self, arrays: RoadArrays, facts: NetworkFacts) -> None:
        self.arrays = arrays
        self.facts = facts

    @property
    def basis(self) -> str:
        """In words, where figures of this network come from."""
        return (
            f"fastest road route in network '{self.facts.name}' "
            f"({self.arrays.nodes} nodes, imported {self.facts.imported_at[:10]}, "
            f"open to {self.facts.vehicle.gross_t:g} t); between road and place straight "
            f"at {ACCESS_KMH:g} km/h"
        )

    @property
    def extent(self) -> Box:
        """The box around all roads."""
        return extent(self.arrays)

    def snap(self, point: Point, limit_m: float = LIMIT_M) -> Snap:
        """The nearest point of a road where a truck may stop.

        Raises Refused "too_far_from_road" when it is more than `limit_m` away.
        """
        return self._snap(point, limit_m)

    def table(
        self, points: Sequence[Point], *, limit_m: float = LIMIT_M
    ) -> DistanceTable:
        """Fastest ways by road between all places, as whole seconds and metres.

        Each place is joined to the nearest road by a straight access leg (the snap
        distance) at 10 km/h, which counts at both ends. Seconds are rounded up; metres
        are those of the fastest way, rounded. Between places at the same coordinates
        all is 0. Raises Refused "too_far_from_road", naming every place it is true of.
        """
        snaps = self._snap_all(points, limit_m)
        seconds, metres = np.zeros((0, 0)), np.zeros((0, 0))
        if snaps:
            seconds, metres = fastest(self.arrays, snaps)
        reachable = np.isfinite(seconds)
        access = np.array([place.distance_m for place in snaps])
        both = access[:, None] + access[None, :]
        where = np.array([(point.lat, point.lon) for point in points]).reshape(-1, 2)
        apart = (where[:, None, :] != where[None, :, :]).any(axis=2)
        use = reachable & apart
        return DistanceTable(
            metres=np.rint(np.where(use, metres + both, 0)).astype(np.int64),
            seconds=_whole_seconds(np.where(use, seconds + _access_s(both), 0)),
            reachable=reachable,
            basis=self.basis,
        )

    def route(self, start: Point, end: Point, *, limit_m: float = LIMIT_M) -> Route:
        """The fastest way from one place to another, with its line.

        The same figures as `table` gives. Raises Refused "too_far_from_road".
        """
        if start == end:
            return Route((start,), 0, 0)
        first, last = self._snap_all((start, end), limit_m)
        legs = self._router.fastest(first, last)
        access = first.distance_m + last.distance_m
        seconds = np.array(sum(leg.seconds for leg in legs) + _access_s(access))
        metres = sum(leg.metres for leg in legs) + access
        line = (start, *polyline(self.arrays, legs), end)
        points = tuple(
            point for i, point in enumerate(line) if not i or point != line[i - 1]
        )
        return Route(points, round(metres), int(_whole_seconds(seconds)))

    def outline(
        self,
        *,
        box: Box | None = None,
        classes: Collection[str] | None = None,
        coarse_m: float = 0.0,
    ) -> list[tuple[str, Line]]:
        """Class and (longitude, latitude) line of each road, ready for GeoJSON.

        See `outlines.outline` for what the arguments leave out.
        """
        return outline(self.arrays, box=box, classes=classes, coarse_m=coarse_m)

    @property
    def graph(self) -> nx.DiGraph[int]:
        """The network as networkx holds it, with `seconds` and `metres` on each arc."""
        return self._router.graph

    @cached_property
    def _snap(self) -> Callable[[Point, float], Snap]:
        # The same places come back in table after table.
        return lru_cache(maxsize=_SNAPS_KEPT)(partial(snap, self.arrays))

    @cached_property
    def _router(self) -> Router:
        return Router(self.arrays)

    def _snap_all(self, points: Sequence[Point], limit_m: float) -> list[Snap]:
        snaps: list[Snap] = []
        problems: list[Problem] = []
        for index, point in enumerate(points):
            try:
                snaps.append(self.snap(point, limit_m))
            except Refused as refusal:
                if refusal.problems[0].field != "point":
                    raise
                problems += [
                    replace(problem, field=f"points[{index}]")
                    for problem in refusal.problems
                ]
        if problems:
            raise Refused(*problems)
        return snaps


def _access_s(metres: Floats | float) -> Floats:
    return np.asarray(metres * (3.6 / ACCESS_KMH), dtype=np.float64)


def _whole_seconds(seconds: Floats) -> np.typing.NDArray[np.int64]:
    # Sums of floats may lie a hair above the whole second that they mean.
    return np.ceil(np.round(seconds, 6)).astype(np.int64)
