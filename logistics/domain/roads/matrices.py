"""Fastest ways between many places at once, with compiled searches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from logistics.domain.roads.arrays import Flags, Floats, RoadArrays
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.roads.hierarchy import HierarchyArrays
from logistics.domain.roads.legs import Leg, direct, entries, exits
from logistics.domain.roads.snapping import Snap
from logistics.domain.roads.views import ViewArrays

Ints = NDArray[np.int64]

# Bounds the memory of one batch of searches to about 50 MB.
_BATCH_NODES = 4_000_000
# One-way streets make a way and the way back differ; by more than this is rare.
_LIMIT_SLACK = 1.1


@dataclass(frozen=True, eq=False)
class Graphs:
    """What searches need of a network for one size of truck."""

    arrays: RoadArrays
    view: ViewArrays
    hierarchy: HierarchyArrays


def fastest(graphs: Graphs, snaps: Sequence[Snap]) -> tuple[Floats, Floats]:
    """Seconds and metres between places on roads of the view, both of shape (k, k).

    Metres are those of the fastest way. The roads must be attached, so that there is a
    way. As many searches run as there are distinct spots.
    """
    spots = {(snap.road, snap.fraction): snap for snap in snaps}
    number = {spot: index for index, spot in enumerate(spots)}
    distinct = list(spots.values())
    seconds, metres = _Search(graphs, distinct).all_pairs()
    which = [number[snap.road, snap.fraction] for snap in snaps]
    pick = np.ix_(which, which)
    return seconds[pick], metres[pick]


def fastest_way(graphs: Graphs, start: Snap, end: Snap) -> list[Leg]:
    """The legs of the fastest way between two places, in order."""
    beside = direct(graphs.arrays, graphs.view, start, end)
    found = _Search(graphs, [start, end]).way(0, 1)
    if beside is not None and beside.seconds <= sum(leg.seconds for leg in found):
        return [beside]
    return found


@dataclass(frozen=True)
class _Found:
    seconds: Floats  # (b, k)
    metres: Floats  # (b, k)


class _Search:
    """A small graph that holds every fastest way between the places.

    Its nodes are the core of the hierarchy, the nodes over which the places climb to it
    or descend from it, and one for each place: arcs out of it, none into it.
    """

    def __init__(self, graphs: Graphs, snaps: Sequence[Snap]) -> None:
        self.graphs = graphs
        self.snaps = snaps
        self.out = [exits(graphs.arrays, graphs.view, snap) for snap in snaps]
        self.into = [entries(graphs.arrays, graphs.view, snap) for snap in snaps]
        high = graphs.hierarchy
        up, climbed = _reached(self.out, high.up_starts, high.up_arcs, high.head)
        down, descended = _reached(
            self.into, high.down_starts, high.down_arcs, high.tail
        )
        nodes = climbed | descended
        nodes[high.core] = True
        self.nodes = np.flatnonzero(nodes)
        self.place = np.zeros(len(nodes), dtype=np.int64)
        self.place[self.nodes] = np.arange(len(self.nodes))
        self._assemble(np.concatenate([high.core_arcs, up, down]).astype(np.int64))
        self.exit_node, _, self.exit_m = self._columns(self.out)
        self.entry_node, self.entry_s, self.entry_m = self._columns(self.into)

    def _assemble(self, arcs: Ints) -> None:
        high, count = self.graphs.hierarchy, len(self.nodes)
        more = [(at, leg) for at, legs in enumerate(self.out) for leg in legs]
        tail = np.concatenate(
            [self.place[high.tail[arcs]], [count + a for a, _ in more]]
        )
        to = np.array([leg.node for _, leg in more], dtype=np.int64)
        head = np.concatenate([self.place[high.head[arcs]], self.place[to]])
        seconds = np.concatenate([high.seconds[arcs], [leg.seconds for _, leg in more]])
        self.size = count + len(self.snaps)
        key = (tail * self.size + head).astype(np.int64)
        order = np.argsort(key, kind="stable")
        self.keys = key[order]
        self.arcs = np.concatenate([arcs, np.full(len(more), -1)])[order]
        self.graph = csr_array(
            (
                seconds[order],
                head[order].astype(np.int32),
                np.searchsorted(tail[order], np.arange(self.size + 1)).astype(np.int32),
            ),
            shape=(self.size, self.size),
        )

    def all_pairs(self) -> tuple[Floats, Floats]:
        size = len(self.snaps)
        seconds, metres = np.zeros((size, size)), np.zeros((size, size))
        if size < 2:
            return seconds, metres
        lat = np.array([snap.on_road.lat for snap in self.snaps])
        lon = np.array([snap.on_road.lon for snap in self.snaps])
        apart = lengths_m(lat[:, None], lon[:, None], lat[None, :], lon[None, :])
        hub = int(np.argmin(apart.max(axis=1)))
        found = self._from([hub], np.inf)
        seconds[hub], metres[hub] = found.seconds[0], found.metres[0]
        rest = [index for index in range(size) if index != hub]
        # No way is longer than the one by the hub; the way to it is taken from the way back.
        limits = (seconds[hub] + seconds[hub].max()) * _LIMIT_SLACK
        rest.sort(key=lambda index: float(limits[index]))
        batch = max(1, _BATCH_NODES // self.size)
        for start in range(0, len(rest), batch):
            rows = rest[start : start + batch]
            limit = float(limits[rows].max())
            found = self._from(rows, limit)
            late = [
                row
                for row, values in zip(rows, found.seconds, strict=True)
                if values.max() > limit
            ]
            seconds[rows], metres[rows] = found.seconds, found.metres
            # What lies beyond the guess may have been found by a detour only.
            if late:
                again = self._from(late, np.inf)
                seconds[late], metres[late] = again.seconds, again.metres
        return seconds, metres

    def way(self, start: int, end: int) -> list[Leg]:
        """The legs of the fastest way over the graph, in order."""
        source = len(self.nodes) + start
        distance, previous = dijkstra(
            self.graph, indices=np.array([source]), return_predecessors=True
        )
        distance, previous = distance[0], previous[0]
        last = min(
            self.into[end],
            key=lambda leg: float(distance[self.place[leg.node]]) + leg.seconds,
        )
        at, arcs = int(self.place[last.node]), []
        while (before := int(previous[at])) != source:
            key = before * self.size + at
            arcs.append(int(self.arcs[np.searchsorted(self.keys, key)]))
            at = before
        first = next(leg for leg in self.out[start] if self.place[leg.node] == at)
        inner = [
            _whole(self.graphs, arc)
            for arc in self.graphs.hierarchy.unpacked(reversed(arcs))
            if self.graphs.view.direction[arc] >= 0
        ]
        return [first, *inner, last]

    def _from(self, rows: list[int], limit: float) -> _Found:
        sources = np.array(rows) + len(self.nodes)
        distance, previous = dijkstra(
            self.graph, indices=sources, return_predecessors=True, limit=limit
        )
        ways = distance[:, self.entry_node] + self.entry_s  # (b, k, up to e)
        side = np.argmin(ways, axis=2)
        seconds = np.take_along_axis(ways, side[..., None], axis=2)[..., 0]
        column = np.arange(len(self.snaps))
        last = self.entry_node[column, side]
        metres = self.entry_m[column, side] + self._walked(
            previous, last, np.isfinite(seconds)
        )
        self._prefer_direct(rows, seconds, metres)
        return _Found(seconds, metres)

    def _walked(
        self, previous: NDArray[np.int32], last: Ints, reached: Flags
    ) -> Floats:
        """Metres from each source to each of its targets' last nodes, (b, k)."""
        row, pair = np.divmod(np.flatnonzero(reached), last.shape[1])
        current = last[row, pair].astype(np.int64)
        pair = row * last.shape[1] + pair
        heads, tails, pairs = [], [], []
        while len(current):
            before = previous[row, current].astype(np.int64)
            heads.append(current)
            tails.append(before)
            pairs.append(pair)
            on = before < len(self.nodes)
            row, pair, current = row[on], pair[on], before[on]
        if not heads:
            return np.zeros(last.shape)
        metres = self._arc_metres(np.concatenate(tails), np.concatenate(heads))
        total = np.bincount(np.concatenate(pairs), weights=metres, minlength=last.size)
        return np.asarray(total, dtype=np.float64).reshape(last.shape)

    def _arc_metres(self, tails: Ints, heads: Ints) -> Floats:
        metres = np.empty(len(tails))
        inner = tails < len(self.nodes)
        keys = tails[inner] * np.int64(self.size) + heads[inner]
        arcs = self.arcs[np.searchsorted(self.keys, keys)]
        metres[inner] = self.graphs.hierarchy.metres[arcs]
        place = tails[~inner] - len(self.nodes)
        side = np.argmax(self.exit_node[place] == heads[~inner][:, None], axis=1)
        metres[~inner] = self.exit_m[place, side]
        return metres

    def _prefer_direct(self, rows: list[int], seconds: Floats, metres: Floats) -> None:
        by_road: dict[int, list[int]] = {}
        for index, snap in enumerate(self.snaps):
            by_road.setdefault(snap.road, []).append(index)
        for at, row in enumerate(rows):
            start = self.snaps[row]
            for column in by_road[start.road]:
                end = self.snaps[column]
                leg = direct(self.graphs.arrays, self.graphs.view, start, end)
                if leg is not None and leg.seconds <= seconds[at, column]:
                    seconds[at, column] = leg.seconds
                    metres[at, column] = leg.metres

    def _columns(self, legs: Sequence[list[Leg]]) -> tuple[Ints, Floats, Floats]:
        """Node, seconds and metres of the legs of each place, (k, as many as the most)."""
        width = max((len(few) for few in legs), default=0)
        node = np.full((len(legs), width), -1, dtype=np.int64)
        seconds = np.full((len(legs), width), np.inf)
        metres = np.zeros((len(legs), width))
        for index, few in enumerate(legs):
            for side, leg in enumerate(few):
                node[index, side] = self.place[leg.node]
                seconds[index, side] = leg.seconds
                metres[index, side] = leg.metres
        return node, seconds, metres


def _whole(graphs: Graphs, arc: int) -> Leg:
    road, backward = divmod(int(graphs.view.direction[arc]), 2)
    ends = (1.0, 0.0) if backward else (0.0, 1.0)
    seconds, metres = graphs.view.seconds[arc], graphs.view.metres[arc]
    return Leg(
        int(graphs.view.indices[arc]), road, *ends, float(seconds), float(metres)
    )


def _reached(
    legs: Sequence[list[Leg]],
    starts: Ints,
    arcs: NDArray[np.int32],
    far: NDArray[np.int32],
) -> tuple[Ints, Flags]:
    """Arcs of the hierarchy from the legs' nodes on, and all nodes met."""
    met = np.zeros(len(starts) - 1, dtype=np.bool_)
    front = np.unique(
        np.array([leg.node for few in legs for leg in few], dtype=np.int64)
    )
    met[front] = True
    found = [np.empty(0, dtype=np.int64)]
    while len(front):
        counts = starts[front + 1] - starts[front]
        ends = np.cumsum(counts)
        within = np.arange(int(ends[-1])) - np.repeat(ends - counts, counts)
        some = arcs[np.repeat(starts[front], counts) + within]
        found.append(some.astype(np.int64))
        nodes = far[some]
        front = np.unique(nodes[~met[nodes]]).astype(np.int64)
        met[front] = True
    return np.concatenate(found), met
