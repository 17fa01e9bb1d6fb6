"""The road network as the rest of the project sees it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial

import networkx as nx
import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.errors import Problem, Refused, refuse
from logistics.domain.places import Point
from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.barring import Barring
from logistics.domain.roads.hierarchy import HierarchyArrays, build_hierarchy
from logistics.domain.roads.legs import attached
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.matrices import Graphs, fastest, fastest_way
from logistics.domain.roads.outlines import Box, Line, extent, outline
from logistics.domain.roads.routing import graph_of, polyline
from logistics.domain.roads.snapping import LIMIT_M, Snap, snap
from logistics.domain.roads.views import Admission, ViewArrays, admission, build_view

# From the road to the heap and back, over a yard or a field; common practice, no source.
ACCESS_KMH = 10.0
# How much farther a truck's road may be than the nearest one: across the yard or the verge,
# not across a field; common practice, no source.
NEXT_ROAD_M = 30.0
_SNAPS_KEPT = 50_000
_TABLES_KEPT = 16
_VEHICLES_KEPT = 32
_VIEWS_KEPT = 16

Made = tuple[ViewArrays, HierarchyArrays]
Keep = Callable[[str, Callable[[], Made]], Made]


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
    """The roads of an area for one size of truck. Safe to share.

    `ground` is what it shares with the networks of other trucks.
    """

    def __init__(
        self,
        arrays: RoadArrays,
        facts: NetworkFacts,
        *,
        ground: Ground | None = None,
        vehicle: HeavyVehicle | None = None,
    ) -> None:
        self._ground = ground or Ground(arrays)
        self.facts = facts
        self.vehicle = vehicle or facts.vehicle

    def for_vehicle(self, vehicle: HeavyVehicle) -> RoadNetwork:
        """The same roads for another size of truck; made once for each."""
        if vehicle == self.vehicle:
            return self
        return self._ground.network(self.facts, vehicle)

    def same_roads(self, other: RoadNetwork) -> bool:
        """Whether both trucks may use the same roads in the same way."""
        return self._ground is other._ground and self.key == other.key

    @property
    def arrays(self) -> RoadArrays:
        """All roads, whichever of them this truck may use."""
        return self._ground.arrays

    @property
    def view(self) -> ViewArrays:
        """The graph of what this truck may use."""
        return self._graphs.view

    @cached_property
    def key(self) -> str:
        """The same for trucks that may use the same roads."""
        return self._admitted.key

    @property
    def basis(self) -> str:
        """In words, where figures of this network come from."""
        return (
            f"fastest road route in network '{self.facts.name}' "
            f"({self.arrays.nodes} nodes, imported {self.facts.imported_at[:10]}, "
            f"open to {self.vehicle.gross_t:g} t); between road and place straight "
            f"at {ACCESS_KMH:g} km/h"
        )

    @property
    def extent(self) -> Box:
        """The box around all roads."""
        return extent(self.arrays)

    def snap(self, point: Point, limit_m: float = LIMIT_M) -> Snap:
        """The nearest point of a road where a truck may stop.

        If this truck cannot use that road, the nearest one that it can, at most 30 m
        farther off; without such a road the place is barred. Raises Refused
        "too_far_from_road" when the nearest road is more than `limit_m` away.
        """
        nearest = self._ground.snap(point, limit_m)
        if self._attached(nearest):
            return nearest
        return self._beside(point, min(limit_m, nearest.distance_m + NEXT_ROAD_M)) or (
            nearest
        )

    def table(
        self, points: Sequence[Point], *, limit_m: float = LIMIT_M
    ) -> DistanceTable:
        """Fastest ways by road between all places, as whole seconds and metres.

        Each place is joined to the nearest road by a straight access leg (the snap
        distance) at 10 km/h, which counts at both ends. Seconds are rounded up; metres
        are those of the fastest way, rounded. Between places at the same coordinates
        all is 0. A place that this truck cannot reach and leave is not reachable, and
        `barred` says why. Raises Refused "too_far_from_road", naming every place it is
        true of. The arrays are shared and cannot be written to.
        """
        return self._table(tuple(points), limit_m)

    def route(self, start: Point, end: Point, *, limit_m: float = LIMIT_M) -> Route:
        """The fastest way from one place to another, with its line.

        The same figures as `table` gives. Raises Refused "too_far_from_road", and
        "place_barred" when this truck cannot drive to one of them.
        """
        if start == end:
            return Route((start,), 0, 0)
        ends = self._snap_all((start, end), limit_m)
        for field, own in zip(("start", "end"), ends, strict=True):
            if not self._attached(own):
                raise refuse(
                    "place_barred",
                    field=field,
                    given=f"{own.point.lat:.6f}, {own.point.lon:.6f}",
                    message=self._barring.why(own),
                    remedy="Send a smaller truck, or put the pin at a road that it may use.",
                )
        legs = fastest_way(self._graphs, *ends)
        access = sum(own.distance_m for own in ends)
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

    @cached_property
    def graph(self) -> nx.DiGraph[int]:
        """The view as networkx holds it, with `seconds` and `metres` on each arc."""
        return graph_of(self.view)

    @cached_property
    def _admitted(self) -> Admission:
        return admission(self.arrays, self.vehicle)

    @property
    def graphs(self) -> Made:
        """The view and the hierarchy over it."""
        return self._graphs.view, self._graphs.hierarchy

    @cached_property
    def _graphs(self) -> Graphs:
        return self._ground.graphs(self._admitted)

    @cached_property
    def _barring(self) -> Barring:
        return Barring(self.arrays, self.view, self.vehicle)

    @cached_property
    def _table(self) -> Callable[[tuple[Point, ...], float], DistanceTable]:
        # Plans, matches and maps ask for the same places again and again.
        return lru_cache(maxsize=_TABLES_KEPT)(self._new_table)

    def _new_table(self, points: tuple[Point, ...], limit_m: float) -> DistanceTable:
        snaps = self._snap_all(points, limit_m)
        size = len(snaps)
        seconds, metres = np.full((size, size), np.inf), np.full((size, size), np.inf)
        good = [i for i, own in enumerate(snaps) if self._attached(own)]
        if good:
            pick = np.ix_(good, good)
            seconds[pick], metres[pick] = fastest(
                self._graphs, [snaps[index] for index in good]
            )
        access = np.array([place.distance_m for place in snaps])
        both = access[:, None] + access[None, :]
        where = np.array([(point.lat, point.lon) for point in points]).reshape(-1, 2)
        apart = (where[:, None, :] != where[None, :, :]).any(axis=2)
        use = np.isfinite(seconds) & apart
        barred = sorted(set(range(size)) - set(good))
        return _unwritable(
            DistanceTable(
                metres=np.rint(np.where(use, metres + both, 0)).astype(np.int64),
                seconds=_whole_seconds(np.where(use, seconds + _access_s(both), 0)),
                reachable=use | ~apart,
                basis=self.basis,
                barred={index: self._barring.why(snaps[index]) for index in barred},
            )
        )

    def _attached(self, snap: Snap) -> bool:
        return attached(self.arrays, self.view, snap)

    def _beside(self, point: Point, limit_m: float) -> Snap | None:
        try:
            return snap(self.arrays, point, limit_m, self.view.attached)
        except Refused:
            return None

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


def _unwritable(table: DistanceTable) -> DistanceTable:
    for array in (table.metres, table.seconds, table.reachable):
        array.flags.writeable = False
    return table


class Ground:
    """The roads of an area, and what the networks for all sizes of truck share.

    `keep` fetches the graphs of a key, or makes and keeps them.
    """

    def __init__(self, arrays: RoadArrays, keep: Keep | None = None) -> None:
        self.arrays = arrays
        self._keep = keep or (lambda _, make: make())
        self._lock = threading.Lock()
        # The same places come back in table after table.
        self.snap = lru_cache(maxsize=_SNAPS_KEPT)(partial(snap, arrays))
        self.network = lru_cache(maxsize=_VEHICLES_KEPT)(self._network)
        self._made: dict[str, Graphs] = {}

    def graphs(self, admitted: Admission) -> Graphs:
        """The graphs for whoever is admitted so, made once."""
        key = admitted.key
        with self._lock:
            if key not in self._made:
                view, high = self._keep(key, partial(self._make, admitted))
                self._made[key] = Graphs(self.arrays, view, high)
                while len(self._made) > _VIEWS_KEPT:
                    del self._made[next(iter(self._made))]
            return self._made[key]

    def _make(self, admitted: Admission) -> Made:
        view = build_view(self.arrays, admitted)
        return view, build_hierarchy(view)

    def _network(self, facts: NetworkFacts, vehicle: HeavyVehicle) -> RoadNetwork:
        return RoadNetwork(self.arrays, facts, ground=self, vehicle=vehicle)
