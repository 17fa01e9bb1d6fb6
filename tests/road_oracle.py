"""Road distances the slow and plain way: a search from stretch to stretch of road.

Reads the roads and what they ask, not the graph that the searches use, so that it is no
copy of it: a state is "at the far end of this direction of a road, so far in the way".
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.network import ACCESS_KMH, RoadNetwork
from logistics.domain.roads.snapping import Snap

State = tuple[str, int, int]
# How far in the way: on roads for its beginning, on open roads, on roads for its end.
PHASES = (0, 1, 2)


class Plain:
    """Directions of roads as one truck may drive them, as a graph of states.

    The places are ("from", i, 0) and ("to", i, 0).
    """

    def __init__(self, network: RoadNetwork, snaps: Sequence[Snap]) -> None:
        self.arrays = network.arrays
        self.tail: dict[int, int] = {}
        self.head: dict[int, int] = {}
        self.through: dict[int, bool] = {}
        vehicle = network.vehicle
        for direction in range(2 * self.arrays.roads):
            rule = self.arrays.rule(direction)
            driven = self.arrays.whole_s(direction) < math.inf
            if driven and rule.stops(vehicle) is None:
                ends = self.ends(direction // 2)
                self.tail[direction], self.head[direction] = (
                    ends[::-1] if direction % 2 else ends
                )
                self.through[direction] = vehicle.gross_t <= rule.end_over_t
        turns = (
            self.arrays.turn_from.tolist(),
            self.arrays.turn_to.tolist(),
            self.arrays.turn_over_t.tolist(),
        )
        self.barred = {
            (a, b) for a, b, t in zip(*turns, strict=True) if vehicle.gross_t > t
        }
        self.out: dict[int, list[int]] = {}
        self.into: dict[int, list[int]] = {}
        for direction in self.tail:
            self.out.setdefault(self.tail[direction], []).append(direction)
            self.into.setdefault(self.head[direction], []).append(direction)
        self._settle_pockets()
        self.graph: nx.DiGraph[State] = nx.DiGraph()
        self._drive()
        for index, snap in enumerate(snaps):
            self.graph.add_nodes_from((("from", index, 0), ("to", index, 0)))
            self._leave(("from", index, 0), snap)
            self._arrive(("to", index, 0), snap)
        self._stay(snaps)

    def ends(self, road: int) -> tuple[int, int]:
        return int(self.arrays.road_from[road]), int(self.arrays.road_to[road])

    def _settle_pockets(self) -> None:
        """What hangs on roads for the ends of a way alone is one of these."""
        graph: nx.DiGraph[int] = nx.DiGraph()
        graph.add_nodes_from(range(self.arrays.nodes))
        for direction, open_ in self.through.items():
            if open_:
                graph.add_edge(self.tail[direction], self.head[direction])
        parts = nx.strongly_connected_components(graph)
        main = max(parts, key=lambda part: (len(part), -min(part)))
        for direction in self.through:
            ends = {self.tail[direction], self.head[direction]}
            self.through[direction] &= ends <= main

    def _phases(self, direction: int, before: int) -> list[int]:
        """In which phases the direction may be driven after one of phase `before`."""
        allowed = (1,) if self.through[direction] else (0, 2)
        return [own for own in allowed if own >= before]

    def _drive(self) -> None:
        for one, node in self.head.items():
            for two in self.out.get(node, []):
                if (one, two) in self.barred:
                    continue
                for before in PHASES:
                    for after in self._phases(two, before):
                        self._add(("d", one, before), ("d", two, after), two, 1.0)

    def _leave(self, start: State, snap: Snap) -> None:
        # On a junction itself no direction of the own road is driven.
        here = self.at(snap)
        starts = [
            (two, 1.0, int(self.is_open(at)))
            for at in here
            for two in self.out.get(at, [])
        ]
        starts += [
            (own, left, 0)
            for own, left in sides(snap)
            if own in self.tail and 0 < left < 1
        ]
        for direction, left, before in starts:
            for after in self._phases(direction, before):
                self._add(start, ("d", direction, after), direction, left)

    def _arrive(self, end: State, snap: Snap) -> None:
        for at in self.at(snap):
            for one in self.into.get(at, []):
                for before in PHASES[: 2 if self.is_open(at) else 3]:
                    self._add(("d", one, before), end, one, 0.0)
        for direction, left in sides(snap):
            if direction not in self.tail or left in (0, 1):
                continue
            here = self.into.get(self.tail[direction], [])
            goes = [own for own in here if (own, direction) not in self.barred]
            for one, before in itertools.product(goes, PHASES):
                if self._phases(direction, before):
                    self._add(("d", one, before), end, direction, 1 - left)

    def _stay(self, snaps: Sequence[Snap]) -> None:
        """Ways between two places that need no turn."""
        for (i, a), (j, b) in itertools.product(enumerate(snaps), repeat=2):
            start, end = ("from", i, 0), ("to", j, 0)
            for direction, share in self._straight(a, b):
                self._add(start, end, direction, share)

    def _straight(self, a: Snap, b: Snap) -> Iterator[tuple[int, float]]:
        if set(self.at(a)) & set(self.at(b)):
            yield 0, 0.0
        for direction, left in sides(b):
            starts_here = self.tail.get(direction) in self.at(a)
            if starts_here and 0 < left < 1:
                yield direction, 1 - left
        direction = 2 * a.road + (b.fraction < a.fraction)
        whole = {a.fraction, b.fraction} == {0.0, 1.0}
        goes = a.fraction == b.fraction or direction in self.tail
        if a.road == b.road and goes and not whole:
            yield direction, abs(a.fraction - b.fraction)

    def is_open(self, junction: int) -> bool:
        """Whether an open road ends here: then a place here is at that one."""
        here = self.out.get(junction, []) + self.into.get(junction, [])
        return any(self.through[direction] for direction in here)

    def at(self, snap: Snap) -> list[int]:
        """The junctions on which a place stands."""
        ends = zip(self.ends(snap.road), (0.0, 1.0), strict=True)
        return [end for end, at in ends if snap.fraction == at]

    def _add(self, start: State, end: State, direction: int, share: float) -> None:
        seconds = share * self.arrays.whole_s(direction) if share else 0.0
        metres = share * float(self.arrays.road_metres[direction // 2])
        known = self.graph.has_edge(start, end)
        if not known or seconds < self.graph[start][end]["seconds"]:
            self.graph.add_edge(start, end, seconds=seconds, metres=metres)


def sides(snap: Snap) -> list[tuple[int, float]]:
    """Directions of the road of a place, and how much of each is left from there."""
    return [(2 * snap.road, 1 - snap.fraction), (2 * snap.road + 1, snap.fraction)]


def expanded(network: RoadNetwork, snaps: Sequence[Snap]) -> nx.DiGraph[State]:
    """All states, with the places as ("from", i, 0) and ("to", i, 0)."""
    return Plain(network, snaps).graph


def slow_table(
    network: RoadNetwork, snaps: Sequence[Snap]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Seconds and metres between the places, access legs included; inf without a way."""
    graph = expanded(network, snaps)
    size = len(snaps)
    seconds, metres = np.zeros((size, size)), np.zeros((size, size))
    for row in range(size):
        source = ("from", row, 0)
        times = nx.single_source_dijkstra_path_length(graph, source, weight="seconds")
        paths = nx.single_source_dijkstra_path(graph, source, weight="seconds")
        for column in range(size):
            if snaps[row].point == snaps[column].point:
                continue
            target = ("to", column, 0)
            if target not in times:
                seconds[row, column] = metres[row, column] = math.inf
                continue
            access = snaps[row].distance_m + snaps[column].distance_m
            steps = itertools.pairwise(paths[target])
            metres[row, column] = access + sum(graph[a][b]["metres"] for a, b in steps)
            seconds[row, column] = times[target] + access * 3.6 / ACCESS_KMH
    return seconds, metres
