"""The line of a way, and the graph as networkx holds it."""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx
import numpy as np

from logistics.domain.places import Point
from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.legs import Leg
from logistics.domain.roads.views import ViewArrays


def graph_of(view: ViewArrays) -> nx.DiGraph[int]:
    """The graph of a view: arcs carry `seconds`, `metres` and their number `arc`."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(view.nodes))
    tails = np.repeat(np.arange(view.nodes), np.diff(view.indptr))
    columns = (tails, view.indices, view.seconds, view.metres)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    graph.add_edges_from(
        (start, end, {"seconds": seconds, "metres": metres, "arc": arc})
        for arc, (start, end, seconds, metres) in enumerate(rows)
    )
    return graph


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
