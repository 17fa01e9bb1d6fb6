"""What keeps a truck from a place, and where: the first limit on the way that it breaks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.limits import HGV_OVER_T, HeavyVehicle, Rule
from logistics.domain.roads.snapping import Snap
from logistics.domain.roads.tags import ROAD_CLASSES
from logistics.domain.roads.views import THROUGH, ViewArrays

Ints = NDArray[np.int64]

NO_ROAD = "no road that it may use leads there and back"
# Of a limit that is broken: what it limits, and how the truck stands to it.
_WORDS = {
    "axle_t": ("to axles of {:g} t", "an axle of this truck weighs {:g} t"),
    "gross_t": ("to {:g} t", "this truck weighs {:g} t"),
    "height_m": ("to a height of {:g} m", "this truck is {:g} m high"),
    "width_m": ("to a width of {:g} m", "this truck is {:g} m wide"),
    "length_m": ("to a length of {:g} m", "this truck is {:g} m long"),
}


@dataclass(frozen=True, eq=False)
class _Tree:
    """Fastest ways between the roads of the view and each junction, as if no rule held."""

    seconds: Floats  # (n,)
    previous: NDArray[np.int32]  # (n,)


class Barring:
    """Explains for one network and one size of truck."""

    def __init__(
        self, arrays: RoadArrays, view: ViewArrays, vehicle: HeavyVehicle
    ) -> None:
        self.arrays = arrays
        self.vehicle = vehicle
        open_ = np.unique(view.direction[view.layer[view.indices] == THROUGH])
        open_ = open_[(open_ >= 0) & view.attached[open_ // 2]]
        direction = np.arange(2 * arrays.roads)
        road, backward = direction // 2, direction % 2
        start, end = arrays.road_from[road], arrays.road_to[road]
        seconds = np.where(
            backward, arrays.road_backward_s[road], arrays.road_forward_s[road]
        )
        driven = np.isfinite(seconds)
        self.tail = np.where(backward, end, start)
        self.head = np.where(backward, start, end)
        columns = (self.tail[driven], self.head[driven], seconds[driven])
        self.seconds = seconds
        main = np.unique(self.tail[open_])
        self.to = self._tree(main, *columns)
        self.back = self._tree(main, columns[1], columns[0], columns[2])

    def why(self, snap: Snap) -> str:
        """In words, what keeps the truck from this place on a road."""
        for words, path in (
            ("the way to it", self._way_to(snap)),
            ("the way from it", self._way_from(snap)),
        ):
            for direction in path:
                rule = self.arrays.rule(direction)
                if rule.stops(self.vehicle) is not None:
                    return f"{words} is {self._limit(rule, direction)}"
        return NO_ROAD

    def _tree(self, main: Ints, tail: Ints, head: Ints, seconds: Floats) -> _Tree:
        size = self.arrays.nodes
        order = np.argsort(tail, kind="stable")
        starts = np.searchsorted(tail[order], np.arange(size + 1))
        graph = csr_array(
            (seconds[order], head[order].astype(np.int32), starts.astype(np.int32)),
            shape=(size, size),
        )
        if not len(main):
            return _Tree(np.full(size, np.inf), np.full(size, -9999, dtype=np.int32))
        found = dijkstra(graph, indices=main, min_only=True, return_predecessors=True)
        return _Tree(found[0], found[1])

    def _way_to(self, snap: Snap) -> Iterator[int]:
        """Directions from the roads of the view to the place, in driving order."""
        yield from self._way(snap, self.to, self.tail, self.head)[::-1]

    def _way_from(self, snap: Snap) -> Iterator[int]:
        """Directions from the roads of the view back to the place, against the driving:
        the first limit is the one next to the open roads."""
        yield from self._way(snap, self.back, self.head, self.tail)[::-1]

    def _way(self, snap: Snap, tree: _Tree, near: Ints, far: Ints) -> list[int]:
        """From the place outwards; `near` is the end of a direction on the side of the
        open roads, `far` the one on the side of the place."""
        own = [2 * snap.road, 2 * snap.road + 1]
        last = min(own, key=lambda d: float(tree.seconds[near[d]] + self.seconds[d]))
        if not np.isfinite(tree.seconds[near[last]] + self.seconds[last]):
            return []
        path, at = [last], int(near[last])
        while (before := int(tree.previous[at])) >= 0:
            between = np.flatnonzero((near == before) & (far == at))
            path.append(int(between[np.argmin(self.seconds[between])]))
            at = before
        return path

    def _limit(self, rule: Rule, direction: int) -> str:
        where, vehicle = self._where(direction), self.vehicle
        if vehicle.gross_t > rule.closed_over_t:
            if rule.closed_over_t == HGV_OVER_T:
                return f"closed to heavy goods vehicles {where}"
            return (
                f"closed to vehicles over {rule.closed_over_t:g} t {where}; "
                f"this truck weighs {vehicle.gross_t:g} t"
            )
        name = next(own for own in _WORDS if getattr(vehicle, own) > getattr(rule, own))
        limit, truck = _WORDS[name]
        return (
            f"limited {limit.format(getattr(rule, name))} {where}; "
            f"{truck.format(getattr(vehicle, name))}"
        )

    def _where(self, direction: int) -> str:
        road, backward = divmod(direction, 2)
        arrays = self.arrays
        shape = arrays.shape(road)
        at = shape.stop - 1 if backward else shape.start
        name = arrays.name(road)
        if not name:
            kind = ROAD_CLASSES[int(arrays.road_class[road])].replace("_", " ")
            name = f"a {kind} road without a name" if kind != "track" else "a track"
        barrier = "at a barrier " if arrays.road_metres[road] == 0 else ""
        return f"{barrier}on {name} ({arrays.lat[at]:.5f}, {arrays.lon[at]:.5f})"
