"""Fastest ways between many places at once, with compiled searches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from logistics.domain.roads.arrays import Floats, RoadArrays
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.roads.legs import Leg, direct, entries, exits
from logistics.domain.roads.snapping import Snap

Ints = NDArray[np.int64]

# Bounds the memory of one batch of searches to about 50 MB.
_BATCH_NODES = 4_000_000
# One-way streets make a way and the way back differ; by more than this is rare.
_LIMIT_SLACK = 1.1


def fastest(arrays: RoadArrays, snaps: Sequence[Snap]) -> tuple[Floats, Floats]:
    """Seconds and metres between places on the roads, both of shape (k, k).

    Metres are those of the fastest way. Infinite where there is no way, which in a
    strongly connected network does not happen. As many searches run as there are
    distinct spots.
    """
    spots = {(snap.road, snap.fraction): snap for snap in snaps}
    number = {spot: index for index, spot in enumerate(spots)}
    distinct = list(spots.values())
    seconds, metres = _Search(arrays, distinct).all_pairs()
    which = [number[snap.road, snap.fraction] for snap in snaps]
    pick = np.ix_(which, which)
    return seconds[pick], metres[pick]


@dataclass(frozen=True)
class _Found:
    seconds: Floats  # (b, k)
    metres: Floats  # (b, k)


class _Search:
    """The network with one more row for each place: arcs out of it, none into it.

    A place is never on the way between two others, since the whole arc beside it is
    still there. So the rows of the junctions stay as they are on disk.
    """

    def __init__(self, arrays: RoadArrays, snaps: Sequence[Snap]) -> None:
        self.arrays = arrays
        self.snaps = snaps
        out = [exits(arrays, snap) for snap in snaps]
        into = [entries(arrays, snap) for snap in snaps]
        self.graph = _with_rows(arrays, out)
        self.exit_node, _, self.exit_m = _columns(out)
        self.entry_node, self.entry_s, self.entry_m = _columns(into)
        tails = np.repeat(np.arange(arrays.nodes), np.diff(arrays.indptr))
        self.keys = tails * np.int64(arrays.nodes) + arrays.indices

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
        batch = max(1, _BATCH_NODES // self.graph.shape[0])
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

    def _from(self, rows: list[int], limit: float) -> _Found:
        sources = np.array(rows) + self.arrays.nodes
        distance, previous = dijkstra(
            self.graph, indices=sources, return_predecessors=True, limit=limit
        )
        ways = distance[:, self.entry_node] + self.entry_s  # (b, k, 2)
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
        self, previous: NDArray[np.int32], last: Ints, reached: NDArray[np.bool_]
    ) -> Floats:
        """Metres from each source to each of its targets' last junctions, (b, k)."""
        row, pair = np.divmod(np.flatnonzero(reached), last.shape[1])
        current = last[row, pair].astype(np.int64)
        pair = row * last.shape[1] + pair
        heads, tails, pairs = [], [], []
        while len(current):
            before = previous[row, current].astype(np.int64)
            heads.append(current)
            tails.append(before)
            pairs.append(pair)
            on = before < self.arrays.nodes
            row, pair, current = row[on], pair[on], before[on]
        if not heads:
            return np.zeros(last.shape)
        metres = self._arc_metres(np.concatenate(tails), np.concatenate(heads))
        total = np.bincount(np.concatenate(pairs), weights=metres, minlength=last.size)
        return np.asarray(total, dtype=np.float64).reshape(last.shape)

    def _arc_metres(self, tails: Ints, heads: Ints) -> Floats:
        metres = np.empty(len(tails))
        inner = tails < self.arrays.nodes
        keys = tails[inner] * np.int64(self.arrays.nodes) + heads[inner]
        metres[inner] = self.arrays.metres[np.searchsorted(self.keys, keys)]
        place = tails[~inner] - self.arrays.nodes
        side = (self.exit_node[place, 0] != heads[~inner]).astype(np.int64)
        metres[~inner] = self.exit_m[place, side]
        return metres

    def _prefer_direct(self, rows: list[int], seconds: Floats, metres: Floats) -> None:
        by_road: dict[int, list[int]] = {}
        for index, snap in enumerate(self.snaps):
            by_road.setdefault(snap.road, []).append(index)
        for at, row in enumerate(rows):
            start = self.snaps[row]
            for column in by_road[start.road]:
                leg = direct(self.arrays, start, self.snaps[column])
                if leg is not None and leg.seconds <= seconds[at, column]:
                    seconds[at, column] = leg.seconds
                    metres[at, column] = leg.metres


def _with_rows(arrays: RoadArrays, out: Sequence[list[Leg]]) -> csr_array:
    more = [leg for legs in out for leg in legs]
    ends = np.cumsum([len(legs) for legs in out]) + arrays.arcs
    size = arrays.nodes + len(out)
    return csr_array(
        (
            np.concatenate([arrays.seconds, [leg.seconds for leg in more]]),
            np.concatenate([arrays.indices, [leg.node for leg in more]]).astype(
                np.int32
            ),
            np.concatenate([arrays.indptr, ends]).astype(np.int32),
        ),
        shape=(size, size),
    )


def _columns(legs: Sequence[list[Leg]]) -> tuple[Ints, Floats, Floats]:
    """Node, seconds and metres of up to two legs of each place, (k, 2)."""
    node = np.zeros((len(legs), 2), dtype=np.int64)
    seconds = np.full((len(legs), 2), np.inf)
    metres = np.zeros((len(legs), 2))
    for index, few in enumerate(legs):
        for side, leg in enumerate(few):
            node[index, side] = leg.node
            seconds[index, side] = leg.seconds
            metres[index, side] = leg.metres
    return node, seconds, metres
