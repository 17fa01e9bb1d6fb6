"""Road distances the slow and plain way: a search from stretch to stretch of road.

Reads the roads and what they ask, not the graph that the searches use, so that it is no
copy of it: a state is "at the far end of this direction of a road, so far in the way".
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.network import ACCESS_KMH, RoadNetwork
from logistics.domain.roads.snapping import Snap

State = tuple[str, int, int]
# How far in the way: on roads for its beginning, on open roads, on roads for its end.
PHASES = (0, 1, 2)


class Plain:
    """Directions of roads as one truck may drive them."""

    def __init__(self, network: RoadNetwork) -> None:
        self.arrays = arrays = network.arrays
        vehicle = network.vehicle
        self.tail: dict[int, int] = {}
        self.head: dict[int, int] = {}
        self.through: dict[int, bool] = {}
        for road in range(arrays.roads):
            ends = int(arrays.road_from[road]), int(arrays.road_to[road])
            for direction in (2 * road, 2 * road + 1):
                rule = arrays.rule(direction)
                driven = arrays.whole_s(direction) < math.inf
                if driven and rule.stops(vehicle) is None:
                    order = 1 if direction % 2 == 0 else -1
                    self.tail[direction], self.head[direction] = ends[::order]
                    self.through[direction] = vehicle.gross_t <= rule.end_over_t
        self.barred = {
            (int(a), int(b))
            for a, b, over in zip(
                arrays.turn_from, arrays.turn_to, arrays.turn_over_t, strict=True
            )
            if vehicle.gross_t > over
        }
        self._settle_pockets()

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

    def phases(self, direction: int, before: int) -> list[int]:
        """In which phases the direction may be driven after one of phase `before`."""
        allowed = (1,) if self.through[direction] else (0, 2)
        return [own for own in allowed if own >= before]


def expanded(network: RoadNetwork, snaps: Sequence[Snap]) -> nx.DiGraph[State]:
    """All states, with the places as ("from", i, 0) and ("to", i, 0)."""
    plain = Plain(network)
    graph: nx.DiGraph[State] = nx.DiGraph()
    out: dict[int, list[int]] = {}
    for direction, node in plain.tail.items():
        out.setdefault(node, []).append(direction)
    for one, node in plain.head.items():
        for two in out.get(node, []):
            if (one, two) in plain.barred:
                continue
            for before in PHASES:
                for after in plain.phases(two, before):
                    _add(graph, plain, ("d", one, before), ("d", two, after), two, 1.0)
    for index, snap in enumerate(snaps):
        _add_place(graph, plain, out, index, snap)
    for (i, a), (j, b) in itertools.product(enumerate(snaps), repeat=2):
        for junction in _junctions(plain, a):
            if junction in _junctions(plain, b):
                _add(graph, plain, ("from", i, 0), ("to", j, 0), 0, 0.0)
            for direction, left in _sides(b):
                if plain.tail.get(direction) == junction:
                    share = 1 - left
                    _add(graph, plain, ("from", i, 0), ("to", j, 0), direction, share)
        direction = 2 * a.road + (b.fraction < a.fraction)
        if a.road == b.road and (a.fraction == b.fraction or direction in plain.tail):
            share = abs(a.fraction - b.fraction)
            _add(graph, plain, ("from", i, 0), ("to", j, 0), direction, share)
    return graph


def _sides(snap: Snap) -> list[tuple[int, float]]:
    """Directions of the road of a place, and how much of each is left from there."""
    return [(2 * snap.road, 1 - snap.fraction), (2 * snap.road + 1, snap.fraction)]


def _junctions(plain: Plain, snap: Snap) -> list[int]:
    """Those on which a place stands."""
    arrays = plain.arrays
    ends = int(arrays.road_from[snap.road]), int(arrays.road_to[snap.road])
    return [
        end for end, at in zip(ends, (0.0, 1.0), strict=True) if snap.fraction == at
    ]


def _add_place(
    graph: nx.DiGraph[State],
    plain: Plain,
    out: dict[int, list[int]],
    index: int,
    snap: Snap,
) -> None:
    start, end = ("from", index, 0), ("to", index, 0)
    graph.add_nodes_from((start, end))
    for junction in _junctions(plain, snap):
        # On the junction itself: no direction of the road is driven.
        for two in out.get(junction, []):
            for after in plain.phases(two, 0):
                _add(graph, plain, start, ("d", two, after), two, 1.0)
        for one, node in plain.head.items():
            if node == junction:
                for before in PHASES:
                    _add(graph, plain, ("d", one, before), end, one, 0.0)
    for direction, left in _sides(snap):
        if direction not in plain.tail:
            continue
        if left > 0:
            for after in plain.phases(direction, 0):
                _add(graph, plain, start, ("d", direction, after), direction, left)
        if left < 1:
            for one, node in plain.head.items():
                turn = (one, direction)
                if node != plain.tail[direction] or turn in plain.barred:
                    continue
                for before in PHASES:
                    if plain.phases(direction, before):
                        _add(graph, plain, ("d", one, before), end, direction, 1 - left)


def _add(
    graph: nx.DiGraph[State],
    plain: Plain,
    start: State,
    end: State,
    direction: int,
    share: float,
) -> None:
    seconds = share * plain.arrays.whole_s(direction) if share else 0.0
    metres = share * float(plain.arrays.road_metres[direction // 2])
    known = graph.get_edge_data(start, end)
    if known is None or seconds < known["seconds"]:
        graph.add_edge(start, end, seconds=seconds, metres=metres)


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
            access = snaps[row].distance_m + snaps[column].distance_m
            target = ("to", column, 0)
            if target not in times:
                seconds[row, column] = metres[row, column] = math.inf
                continue
            steps = itertools.pairwise(paths[target])
            metres[row, column] = access + sum(graph[a][b]["metres"] for a, b in steps)
            seconds[row, column] = times[target] + access * 3.6 / ACCESS_KMH
    return seconds, metres
