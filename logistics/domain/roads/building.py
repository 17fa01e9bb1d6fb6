"""From drivable ways to a network: split, connect, drop what cannot be reached."""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.arrays import (
    Classes,
    Flags,
    Floats,
    Offsets,
    RoadArrays,
)
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.roads.snapping import build_grid

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Ways:
    """Drivable ways: w ways with c shape points between them, one after the other.

    `forward_kmh` and `backward_kmh` are NaN where a direction is forbidden;
    `crossing_s` is NaN unless a ferry states its time. Nodes whose number is in
    `blocked` cannot be passed.
    """

    refs: Ints  # (c,)
    lat: Floats  # (c,)
    lon: Floats  # (c,)
    offsets: Offsets  # (w + 1,), at least two points to a way
    forward_kmh: Floats  # (w,)
    backward_kmh: Floats  # (w,)
    crossing_s: Floats  # (w,)
    road_class: Classes  # (w,)
    may_stop: Flags  # (w,)
    blocked: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Losses:
    """What the network lost because it cannot be reached from its largest part."""

    components: int
    nodes: int
    roads: int
    km: float
    slower_parallels: int


@dataclass(frozen=True, eq=False)
class Prepared:
    """The prepared graph, and the same as arrays.

    Node i of the arrays is node `labels[i]` of the graph. Edges are keyed
    (piece, backward) and carry `seconds` and `metres`.
    """

    graph: nx.MultiDiGraph[int]
    labels: Ints
    arrays: RoadArrays
    losses: Losses


@dataclass(frozen=True, eq=False)
class _Pieces:
    first: Ints  # (p,): where a piece starts in the shape points
    last: Ints  # (p,): where it ends, inclusive
    start: Ints  # (p,): node label
    end: Ints  # (p,)
    metres: Floats
    forward_s: Floats
    backward_s: Floats
    way: Ints
    node_lat: Floats  # (labels,)
    node_lon: Floats
    reach: Floats  # (c,): running metres over all shape points


def prepare(ways: Ways) -> Prepared:
    """Split at shared nodes, keep the largest strongly connected part, thin parallels.

    Ways without shape points are not allowed. The result may be empty of roads when no
    two junctions can reach each other.
    """
    pieces = _split(ways)
    graph = _graph_of(pieces)
    components = list(nx.strongly_connected_components(graph))
    largest = max(components, key=lambda part: (len(part), -min(part)))
    lost_nodes = graph.number_of_nodes() - len(largest)
    graph.remove_nodes_from([node for node in graph if node not in largest])
    slower = _remove_slower_parallels(graph)
    labels = np.array(sorted(largest), dtype=np.int64)
    kept = np.flatnonzero(np.isin(pieces.start, labels) & np.isin(pieces.end, labels))
    lost = np.setdiff1d(np.arange(len(pieces.first)), kept)
    losses = Losses(
        components=len(components),
        nodes=lost_nodes,
        roads=len(lost),
        km=float(pieces.metres[lost].sum()) / 1000,
        slower_parallels=slower,
    )
    arrays = _to_arrays(ways, pieces, graph, labels, kept)
    return Prepared(graph=graph, labels=labels, arrays=arrays, losses=losses)


def _split(ways: Ways) -> _Pieces:
    way_first, way_last = ways.offsets[:-1], ways.offsets[1:] - 1
    numbers, inverse, counts = np.unique(
        ways.refs, return_inverse=True, return_counts=True
    )
    blocked = np.isin(numbers, np.fromiter(ways.blocked, np.int64, len(ways.blocked)))
    cut = (counts[inverse] > 1) | blocked[inverse]
    cut[way_first] = cut[way_last] = True
    cuts = np.flatnonzero(cut)
    way_of_point = np.repeat(np.arange(len(way_first)), np.diff(ways.offsets))
    inside = way_of_point[cuts[:-1]] == way_of_point[cuts[1:]]
    first, last = cuts[:-1][inside], cuts[1:][inside]
    label, node_lat, node_lon = _label_nodes(ways, inverse, blocked, first, last)
    half = len(first)
    steps = lengths_m(ways.lat[:-1], ways.lon[:-1], ways.lat[1:], ways.lon[1:])
    # The leap from way to way is no road, and would only cost the sum its last digits.
    steps[way_first[1:] - 1] = 0.0
    reach = np.concatenate([[0.0], np.cumsum(steps)])
    metres = reach[last] - reach[first]
    way = way_of_point[first]
    forward_s, backward_s = _times(ways, way, metres)
    return _Pieces(
        first=first,
        last=last,
        start=label[:half],
        end=label[half:],
        metres=metres,
        forward_s=forward_s,
        backward_s=backward_s,
        way=way,
        node_lat=node_lat,
        node_lon=node_lon,
        reach=reach,
    )


def _label_nodes(
    ways: Ways, inverse: Ints, blocked: Flags, first: Ints, last: Ints
) -> tuple[Ints, Floats, Floats]:
    """Labels of all starts and then all ends, and where each label is.

    Neighbours on the ground get neighbouring labels, which makes searches a fifth faster.
    A blocked node becomes a separate dead end for each piece that touches it.
    """
    points = np.concatenate([first, last])
    node = inverse[points].astype(np.int64)
    alone = np.flatnonzero(blocked[node])
    node[alone] = len(blocked) + np.arange(len(alone))
    _, where, label = np.unique(node, return_index=True, return_inverse=True)
    lat, lon = ways.lat[points[where]], ways.lon[points[where]]
    order = np.argsort(_curve(lat, lon), kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return rank[label].astype(np.int64), lat[order], lon[order]


def _curve(lat: Floats, lon: Floats) -> NDArray[np.uint64]:
    """Position on a Z-order curve over the whole earth."""
    key = np.zeros(len(lat), dtype=np.uint64)
    scaled = ((lat + 90) / 180 * (2**31), (lon + 180) / 360 * (2**31))
    for shift, values in enumerate(scaled):
        whole = values.astype(np.uint64)
        for bit in range(32):
            one = (whole >> np.uint64(bit)) & np.uint64(1)
            key |= one << np.uint64(2 * bit + shift)
    return key


def _times(ways: Ways, way: Ints, metres: Floats) -> tuple[Floats, Floats]:
    total = np.zeros(len(ways.offsets) - 1)
    np.add.at(total, way, metres)
    share = metres / np.where(total[way] > 0, total[way], 1.0)
    stated = share * ways.crossing_s[way]
    both = []
    for kmh in (ways.forward_kmh[way], ways.backward_kmh[way]):
        seconds = np.where(np.isnan(stated), metres * 3.6 / kmh, stated)
        both.append(np.where(np.isnan(kmh), np.inf, seconds))
    return both[0], both[1]


def _graph_of(pieces: _Pieces) -> nx.MultiDiGraph[int]:
    graph: nx.MultiDiGraph[int] = nx.MultiDiGraph()
    graph.add_nodes_from(range(len(pieces.node_lat)))
    columns = (pieces.start, pieces.end, pieces.metres, pieces.forward_s)
    rows = zip(*(c.tolist() for c in (*columns, pieces.backward_s)), strict=True)
    for piece, (start, end, metres, forward_s, backward_s) in enumerate(rows):
        if forward_s < np.inf:
            graph.add_edge(start, end, (piece, False), seconds=forward_s, metres=metres)
        if backward_s < np.inf:
            graph.add_edge(end, start, (piece, True), seconds=backward_s, metres=metres)
    return graph


def _remove_slower_parallels(graph: nx.MultiDiGraph[int]) -> int:
    slower = []
    for start, neighbours in graph.adjacency():
        for end, arcs in neighbours.items():
            if len(arcs) > 1:
                fastest = min(
                    arcs,
                    key=lambda key: (arcs[key]["seconds"], arcs[key]["metres"], key),
                )
                slower += [(start, end, key) for key in arcs if key != fastest]
    for start, end, key in slower:
        graph.remove_edge(start, end, key)
    return len(slower)


def _to_arrays(
    ways: Ways,
    pieces: _Pieces,
    graph: nx.MultiDiGraph[int],
    labels: Ints,
    kept: Ints,
) -> RoadArrays:
    arcs = [
        (start, end, piece, backward, data["seconds"], data["metres"])
        for start, end, (piece, backward), data in graph.edges(keys=True, data=True)
    ]
    columns = np.array(arcs, dtype=np.float64).reshape(-1, 6)
    start = np.searchsorted(labels, columns[:, 0])
    end = np.searchsorted(labels, columns[:, 1])
    order = np.lexsort((end, start))
    indptr = np.searchsorted(start[order], np.arange(len(labels) + 1))
    shape, offsets = _shapes(pieces, kept)
    along = pieces.reach[shape] - np.repeat(
        pieces.reach[pieces.first[kept]], np.diff(offsets)
    )
    lat, lon = ways.lat[shape], ways.lon[shape]
    cells, cell_starts, cell_segments = build_grid(
        lat, lon, _stopping_segments(offsets, ways.may_stop[pieces.way[kept]])
    )
    return RoadArrays(
        node_lat=pieces.node_lat[labels],
        node_lon=pieces.node_lon[labels],
        indptr=indptr.astype(np.int32),
        indices=end[order].astype(np.int32),
        seconds=columns[order, 4],
        metres=columns[order, 5],
        arc_road=np.searchsorted(kept, columns[order, 2]).astype(np.int32),
        arc_backward=columns[order, 3].astype(np.bool_),
        road_from=np.searchsorted(labels, pieces.start[kept]).astype(np.int32),
        road_to=np.searchsorted(labels, pieces.end[kept]).astype(np.int32),
        road_metres=pieces.metres[kept],
        road_forward_s=pieces.forward_s[kept],
        road_backward_s=pieces.backward_s[kept],
        road_class=ways.road_class[pieces.way[kept]],
        offsets=offsets,
        lat=lat,
        lon=lon,
        along=along,
        cells=cells,
        cell_starts=cell_starts,
        cell_segments=cell_segments,
    )


def _shapes(pieces: _Pieces, kept: Ints) -> tuple[Ints, Offsets]:
    """The shape points of the kept pieces, one after the other, and their offsets."""
    first, counts = pieces.first[kept], pieces.last[kept] - pieces.first[kept] + 1
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    within = np.arange(offsets[-1]) - np.repeat(offsets[:-1], counts)
    return np.repeat(first, counts) + within, offsets


def _stopping_segments(offsets: Offsets, may_stop: Flags) -> Ints:
    is_segment = np.repeat(may_stop, np.diff(offsets))
    is_segment[offsets[1:] - 1] = False
    return np.flatnonzero(is_segment).astype(np.int64)
