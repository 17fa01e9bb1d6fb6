"""One fastest way with its shape, found by networkx."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Sequence

import networkx as nx
import numpy as np

from logistics.domain.places import Point
from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.legs import Leg, direct, entries, exits
from logistics.domain.roads.snapping import Snap


def graph_of(arrays: RoadArrays) -> nx.DiGraph[int]:
    """The prepared network: arcs carry `seconds`, `metres` and their number `arc`."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(arrays.nodes))
    tails = np.repeat(np.arange(arrays.nodes), np.diff(arrays.indptr))
    columns = (tails, arrays.indices, arrays.seconds, arrays.metres)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    graph.add_edges_from(
        (start, end, {"seconds": seconds, "metres": metres, "arc": arc})
        for arc, (start, end, seconds, metres) in enumerate(rows)
    )
    return graph


class Router:
    """Answers single routes on a graph that it keeps; safe to share among threads."""

    def __init__(self, arrays: RoadArrays) -> None:
        self.arrays = arrays
        self.graph = graph_of(arrays)
        self._lock = threading.Lock()

    def fastest(self, start: Snap, end: Snap) -> list[Leg]:
        """The legs of the fastest way between two places on the roads, in order."""
        arrays, source, target = self.arrays, self.arrays.nodes, self.arrays.nodes + 1
        out = {leg.node: leg for leg in exits(arrays, start)}
        into = {leg.node: leg for leg in entries(arrays, end)}
        beside = direct(arrays, start, end)
        with self._lock:
            # The two places are guests in the shared graph for the length of one search.
            try:
                for node, leg in out.items():
                    self.graph.add_edge(source, node, seconds=leg.seconds)
                for node, leg in into.items():
                    self.graph.add_edge(node, target, seconds=leg.seconds)
                if beside is not None:
                    self.graph.add_edge(source, target, seconds=beside.seconds)
                _, path = nx.bidirectional_dijkstra(
                    self.graph, source, target, weight="seconds"
                )
            finally:
                self.graph.remove_nodes_from((source, target))
        if len(path) == 2 and beside is not None:
            return [beside]
        inner = [self._arc_leg(a, b) for a, b in itertools.pairwise(path[1:-1])]
        return [out[path[1]], *inner, into[path[-2]]]

    def _arc_leg(self, start: int, end: int) -> Leg:
        data = self.graph.edges[start, end]
        arc = data["arc"]
        ends = (1.0, 0.0) if self.arrays.arc_backward[arc] else (0.0, 1.0)
        road = int(self.arrays.arc_road[arc])
        return Leg(end, road, *ends, data["seconds"], data["metres"])


def polyline(arrays: RoadArrays, legs: Sequence[Leg]) -> list[Point]:
    """The shape of the legs, without points that repeat."""
    points: list[Point] = []
    for leg in legs:
        for lat, lon in _stretch(arrays, leg).tolist():
            point = Point(lat, lon)
            if not points or points[-1] != point:
                points.append(point)
    return points


def _stretch(arrays: RoadArrays, leg: Leg) -> Floats:
    """Latitude and longitude along a leg, (s, 2), in driving order."""
    shape = arrays.shape(leg.road)
    along, lat, lon = arrays.along[shape], arrays.lat[shape], arrays.lon[shape]
    low, high = sorted((leg.start, leg.end))
    total = float(arrays.road_metres[leg.road])
    inside = (along > low * total) & (along < high * total)
    at = np.concatenate([[low * total], along[inside], [high * total]])
    points = np.stack([np.interp(at, along, lat), np.interp(at, along, lon)], axis=1)
    return points if leg.end >= leg.start else points[::-1]
