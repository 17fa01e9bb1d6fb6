"""A contraction hierarchy: junctions taken out of the graph one after the other.

Taking a node out adds a shortcut for each way through it that no other arc makes needless
(Geisberger, Sanders, Schultes and Delling 2008, "Contraction Hierarchies"; cited from
memory). Every fastest way then climbs from its start over nodes taken out later and later,
runs through the core that was left, and descends to its end. Here whole sets of nodes, no
two of them neighbours, are taken out at once, so that NumPy does the work, and the rest is
left as the core as soon as taking more out would make it denser.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.arrays import Floats, Indexes, Offsets
from logistics.domain.roads.views import ViewArrays

Ints = NDArray[np.int64]

# Nodes are taken out while they add at most so many arcs more than go with them.
_STEPS = (-2, 0, 2, 4, 7, 10, 20, 40, 80, 150)
# From here on a step also drops old arcs that are beaten: few before, many later.
_DENSE = 20
# A round that takes out fewer than this share costs more than it is worth.
_WORTH = 0.015
_SMALL_CORE = 64
_CERTAIN_S = 1e-7
_PAIRS = 4_000_000


@dataclass(frozen=True, eq=False)
class HierarchyArrays:
    """A hierarchy over n nodes with e arcs, of which the first m are those of the view.

    `left` and `right` are the two arcs that a shortcut stands for, -1 for others. Arcs of
    a node that was taken out lead `up` from it or come `down` to it; those among the core
    are in `core_arcs`.
    """

    tail: Indexes  # (e,)
    head: Indexes  # (e,)
    seconds: Floats  # (e,)
    metres: Floats  # (e,)
    left: Indexes  # (e,)
    right: Indexes  # (e,)
    core: Indexes  # (c,): ascending
    core_arcs: Indexes  # by tail
    up_starts: Offsets  # (n + 1,)
    up_arcs: Indexes
    down_starts: Offsets  # (n + 1,)
    down_arcs: Indexes

    def unpacked(self, arcs: Iterable[int]) -> list[int]:
        """The arcs of the view that a run of arcs stands for, in order."""
        found: list[int] = []
        waiting = list(arcs)[::-1]
        while waiting:
            arc = waiting.pop()
            if self.left[arc] < 0:
                found.append(arc)
            else:
                waiting += [int(self.right[arc]), int(self.left[arc])]
        return found


def build_hierarchy(view: ViewArrays) -> HierarchyArrays:
    """Takes out as many nodes as pays."""
    work = _Contraction(view)
    for most in _STEPS:
        before = work.live_nodes + 1
        while _SMALL_CORE < work.live_nodes < before:
            before = round(work.live_nodes * (1 - _WORTH))
            work.round(most)
        if most >= _DENSE:
            work.thin()
    return work.result()


@dataclass(frozen=True, eq=False)
class _Live:
    """Arcs among the nodes that are left, ascending by tail and head, each pair once."""

    tail: Ints
    head: Ints
    seconds: Floats
    metres: Floats
    number: Ints
    left: Ints
    right: Ints

    def merged(self, more: _Live, size: int) -> _Live:
        """Both together; of two between the same nodes the faster."""
        key = np.concatenate(
            [self.tail * size + self.head, more.tail * size + more.head]
        )
        seconds = np.concatenate([self.seconds, more.seconds])
        # A stable sort of two sorted runs is a merge.
        order = np.argsort(key, kind="stable")
        twice = np.flatnonzero(np.diff(key[order]) == 0)
        slower = np.where(
            seconds[order[twice + 1]] < seconds[order[twice]], twice, twice + 1
        )
        order = np.delete(order, slower)
        return _Live(
            *(
                np.concatenate([getattr(self, own.name), getattr(more, own.name)])[
                    order
                ]
                for own in fields(self)
            )
        )

    def without(self, positions: Ints) -> _Live:
        """All but those at these positions."""
        return _Live(
            *(np.delete(getattr(self, own.name), positions) for own in fields(self))
        )


def _first_of_each(keys: Ints) -> NDArray[np.bool_]:
    first = np.ones(len(keys), dtype=np.bool_)
    first[1:] = keys[1:] != keys[:-1]
    return first


class _Contraction:
    def __init__(self, view: ViewArrays) -> None:
        self.size = view.nodes
        tail = np.repeat(np.arange(view.nodes), np.diff(view.indptr))
        head = view.indices.astype(np.int64)
        none = np.full(view.arcs, -1, dtype=np.int64)
        self.made = [(tail, head, view.seconds, view.metres, none, none)]
        self.count = view.arcs
        # A loop is on no fastest way.
        live = np.flatnonzero(tail != head)
        self.tail, self.head = tail[live], head[live]
        self.seconds, self.metres = view.seconds[live], view.metres[live]
        self.number = live
        self.alive = np.ones(view.nodes, dtype=np.bool_)
        self.up: list[Ints] = []
        self.down: list[Ints] = []
        # A fixed shuffle parts neighbours of equal cost.
        self.lot = np.random.default_rng(0).permutation(view.nodes)

    @property
    def live_nodes(self) -> int:
        return int(self.alive.sum())

    def round(self, most: int) -> None:
        """Take out a set of nodes that add at most `most` arcs each."""
        chosen = self._chosen(most)
        if not chosen.any():
            return
        goes, comes = chosen[self.tail], chosen[self.head]
        self.up.append(self.number[goes])
        self.down.append(self.number[comes])
        new = self._shortcuts(np.flatnonzero(comes), np.flatnonzero(goes))
        rest = ~(goes | comes)
        self.alive &= ~chosen
        self._join(rest, new)

    def thin(self) -> None:
        """Drop the arcs that are on no fastest way any more."""
        every = np.arange(len(self.tail))
        beaten = _beaten(self.tail, self.head, self.seconds, every, self.size)
        self.tail = np.delete(self.tail, beaten)
        self.head = np.delete(self.head, beaten)
        self.seconds = np.delete(self.seconds, beaten)
        self.metres = np.delete(self.metres, beaten)
        self.number = np.delete(self.number, beaten)

    def _chosen(self, most: int) -> NDArray[np.bool_]:
        out = np.bincount(self.tail, minlength=self.size)
        into = np.bincount(self.head, minlength=self.size)
        # Ways there and back to the same neighbour need no shortcut.
        keys = self.tail * self.size + self.head
        back = self.head * self.size + self.tail
        at = np.minimum(np.searchsorted(keys, back), len(keys) - 1)
        both = np.bincount(self.tail[keys[at] == back], minlength=self.size)
        adds = out * into - both - out - into
        fit = self.alive & (adds <= most)
        cost = np.where(fit, (adds + 64) * self.size + self.lot, np.iinfo(np.int64).max)
        least = np.full(self.size, np.iinfo(np.int64).max)
        np.minimum.at(least, self.tail, cost[self.head])
        np.minimum.at(least, self.head, cost[self.tail])
        return np.asarray(fit & (cost < least), dtype=np.bool_)

    def _shortcuts(self, comes: Ints, goes: Ints) -> tuple[Ints, Ints]:
        """Positions of the two arcs of each way through a node that is taken out."""
        goes = goes[np.argsort(self.tail[goes], kind="stable")]
        starts = np.searchsorted(self.tail[goes], self.head[comes])
        counts = np.searchsorted(self.tail[goes], self.head[comes], "right") - starts
        first = np.repeat(comes, counts)
        within = np.arange(len(first)) - np.repeat(np.cumsum(counts) - counts, counts)
        second = goes[np.repeat(starts, counts) + within]
        apart = self.tail[first] != self.head[second]
        return first[apart], second[apart]

    def _join(self, rest: NDArray[np.bool_], new: tuple[Ints, Ints]) -> None:
        """The arcs of the rest and the fastest of the new ones, still in order."""
        first, second = new
        seconds = self.seconds[first] + self.seconds[second]
        metres = self.metres[first] + self.metres[second]
        key = self.tail[first] * self.size + self.head[second]
        order = np.lexsort((metres, seconds, key))
        order = order[_first_of_each(key[order])]
        first, second = first[order], second[order]
        old = np.flatnonzero(rest)
        more = _Live(
            self.tail[first],
            self.head[second],
            seconds[order],
            metres[order],
            np.full(len(order), -1),
            self.number[first],
            self.number[second],
        )
        none = np.full(len(old), -1)
        kept = _Live(
            self.tail[old],
            self.head[old],
            self.seconds[old],
            self.metres[old],
            self.number[old],
            none,
            none,
        )
        self._take(kept.merged(more, self.size))

    def _take(self, live: _Live) -> None:
        new = np.flatnonzero(live.number < 0)
        beaten = _beaten(live.tail, live.head, live.seconds, new, self.size)
        live = live.without(beaten)
        new = np.flatnonzero(live.number < 0)
        live.number[new] = self.count + np.arange(len(new))
        self.count += len(new)
        self.made.append(
            (
                live.tail[new],
                live.head[new],
                live.seconds[new],
                live.metres[new],
                live.left[new],
                live.right[new],
            )
        )
        self.tail, self.head, self.number = live.tail, live.head, live.number
        self.seconds, self.metres = live.seconds, live.metres

    def result(self) -> HierarchyArrays:
        columns = [
            np.concatenate([own[index] for own in self.made]) for index in range(6)
        ]
        tail, head = columns[0], columns[1]
        up, down = _joined(self.up), _joined(self.down)
        up = up[np.argsort(tail[up], kind="stable")]
        down = down[np.argsort(head[down], kind="stable")]
        numbers = np.arange(self.size + 1)
        return HierarchyArrays(
            tail=tail.astype(np.int32),
            head=head.astype(np.int32),
            seconds=columns[2],
            metres=columns[3],
            left=columns[4].astype(np.int32),
            right=columns[5].astype(np.int32),
            core=np.flatnonzero(self.alive).astype(np.int32),
            core_arcs=self.number[np.argsort(self.tail, kind="stable")].astype(
                np.int32
            ),
            up_starts=np.searchsorted(tail[up], numbers).astype(np.int64),
            up_arcs=up.astype(np.int32),
            down_starts=np.searchsorted(head[down], numbers).astype(np.int64),
            down_arcs=down.astype(np.int32),
        )


def _joined(parts: list[Ints]) -> Ints:
    return np.concatenate(parts) if parts else np.empty(0, dtype=np.int64)


def _beaten(tail: Ints, head: Ints, seconds: Floats, new: Ints, size: int) -> Ints:
    """Which of the `new` arcs are slower than some run of two; sorted by tail and head.

    An arc that is slower than another way between its ends is on no fastest way, so all
    of these can go at once.
    """
    starts = np.searchsorted(tail, np.arange(size + 1))
    counts = np.diff(starts)[tail[new]]
    keys = tail * size + head
    beaten = np.zeros(len(new), dtype=np.bool_)
    for low, high in _slices(np.cumsum(counts)):
        own = counts[low:high]
        which = np.repeat(np.arange(low, high), own)
        within = np.arange(len(which)) - np.repeat(np.cumsum(own) - own, own)
        first = starts[tail[new[which]]] + within
        wanted = head[first] * size + head[new[which]]
        second = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        better = (keys[second] == wanted) & (
            seconds[first] + seconds[second] < seconds[new[which]] - _CERTAIN_S
        )
        beaten[which[better]] = True
    return new[beaten]


def _slices(ends: Ints) -> list[tuple[int, int]]:
    """Stretches of about a fixed number of pairs, which bounds the memory of a step."""
    if not len(ends):
        return []
    cuts = np.searchsorted(ends, np.arange(_PAIRS, int(ends[-1]), _PAIRS))
    edges = np.unique(np.concatenate([[0], cuts, [len(ends)]])).tolist()
    return list(itertools.pairwise(edges))
