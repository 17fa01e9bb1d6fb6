"""Road distances the slow and plain way: every road cut at the places on it.

Reads roads and not the arcs that the searches use, so that it is no copy of them.
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

Node = int | tuple[str, int]


def cut_graph(network: RoadNetwork, snaps: Sequence[Snap]) -> nx.MultiDiGraph[Node]:
    """All roads in all directions they admit, cut at the places ("place", i)."""
    arrays = network.arrays
    graph: nx.MultiDiGraph[Node] = nx.MultiDiGraph()
    on_road: dict[int, list[tuple[float, Node]]] = {}
    for index, snap in enumerate(snaps):
        on_road.setdefault(snap.road, []).append((snap.fraction, ("place", index)))
    for road in range(arrays.roads):
        ends: list[tuple[float, Node]] = [
            (0.0, int(arrays.road_from[road])),
            (1.0, int(arrays.road_to[road])),
        ]
        stops = [ends[0], *sorted(on_road.get(road, []), key=lambda s: s[0]), ends[1]]
        metres = float(arrays.road_metres[road])
        for (low, a), (high, b) in itertools.pairwise(stops):
            share = high - low
            for start, end, whole in (
                (a, b, float(arrays.road_forward_s[road])),
                (b, a, float(arrays.road_backward_s[road])),
            ):
                # Places on one spot are one place, whichever way the road runs.
                seconds = 0.0 if share == 0 else share * whole
                if seconds < math.inf:
                    graph.add_edge(start, end, seconds=seconds, metres=share * metres)
    return graph


def slow_table(
    network: RoadNetwork, snaps: Sequence[Snap]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Seconds and metres between the places, access legs included."""
    graph = cut_graph(network, snaps)
    size = len(snaps)
    seconds, metres = np.zeros((size, size)), np.zeros((size, size))
    for row in range(size):
        source: Node = ("place", row)
        times = nx.single_source_dijkstra_path_length(graph, source, weight="seconds")
        paths = nx.single_source_dijkstra_path(graph, source, weight="seconds")
        for column in range(size):
            if snaps[row].point == snaps[column].point:
                continue
            access = snaps[row].distance_m + snaps[column].distance_m
            path = paths[("place", column)]
            metres[row, column] = access + sum(
                min(graph[a][b].values(), key=lambda arc: arc["seconds"])["metres"]
                for a, b in itertools.pairwise(path)
            )
            seconds[row, column] = times[("place", column)] + access * 3.6 / ACCESS_KMH
    return seconds, metres
