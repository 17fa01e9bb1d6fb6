"""The roads as one size of truck may use them: a graph for searches.

Roads that a truck may not drive through lie in layers of their own: one for the beginning
of a way, from which the open roads can be entered, and one for its end, which can be
entered from them. So every path is one that the truck may drive, and the fastest path the
fastest way. Behind a restricted turn the junction is there once more, without that turn.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from logistics.domain.roads.arrays import (
    RULE_COLUMNS,
    Classes,
    Flags,
    Floats,
    Indexes,
    Offsets,
    RoadArrays,
)
from logistics.domain.roads.limits import LIMIT_REASONS, RULE_FIELDS, HeavyVehicle

Ints = NDArray[np.int64]

THROUGH, BEGINNING, END = 0, 1, 2
_CLOSED_OVER = RULE_FIELDS.index("closed_over_t")
_END_OVER = RULE_FIELDS.index("end_over_t")


@dataclass(frozen=True, eq=False)
class ViewArrays:
    """A graph of n nodes and m arcs over r roads, w ways to be on a direction of one.

    Of several arcs between the same nodes only the fastest is here; its slower rivals
    stay among the ways, since places may lie on them.
    """

    junction: Indexes  # (n,): the junction that a node stands for, ascending
    layer: Classes  # (n,): THROUGH, BEGINNING or END
    indptr: Indexes  # (n + 1,): arcs of node i are indptr[i]:indptr[i + 1]
    indices: Indexes  # (m,): the node an arc leads to, ascending within a node
    seconds: Floats  # (m,)
    metres: Floats  # (m,)
    direction: Indexes  # (m,): of a road; -1 from layer to layer on the spot
    way_starts: Offsets  # (2 r + 1,): ways on a direction
    way_tail: Indexes  # (w,)
    way_head: Indexes  # (w,)
    reached: Flags  # (n,): from the open roads
    reaching: Flags  # (n,): the open roads
    attached: Flags  # (r,): a place along it can be reached and left

    @property
    def nodes(self) -> int:
        """Number of nodes."""
        return len(self.junction)

    @property
    def arcs(self) -> int:
        """Number of arcs."""
        return len(self.indices)

    def open(self, direction: int) -> bool:
        """Whether a direction of a road may be driven."""
        return bool(self.way_starts[direction] < self.way_starts[direction + 1])

    def heads(self, direction: int) -> list[int]:
        """Where one gets to from a place on this direction of a road."""
        ways = slice(*self.way_starts[direction : direction + 2].tolist())
        heads = self.way_head[ways]
        return sorted(set(heads[self.layer[heads] != END].tolist()))

    def at(self, junction: int) -> list[int]:
        """The nodes that stand for a junction."""
        ends = np.searchsorted(self.junction, (junction, junction + 1))
        return list(range(*ends.tolist()))

    def tails(self, direction: int) -> list[int]:
        """From where one gets to a place on this direction of a road."""
        ways = slice(*self.way_starts[direction : direction + 2].tolist())
        return sorted(set(self.way_tail[ways].tolist()))


@dataclass(frozen=True, eq=False)
class Admission:
    """What a vehicle may do: (k,) closed and driven at the ends only, (t,) turns barred."""

    closed: Flags
    ends: Flags
    turns: Flags

    @property
    def key(self) -> str:
        """The same for vehicles that may use the same roads in the same way."""
        flags = (self.closed, self.ends, self.turns)
        text = b"|".join(np.packbits(own).tobytes() for own in flags)
        return hashlib.sha256(text).hexdigest()[:24]


def admission(arrays: RoadArrays, vehicle: HeavyVehicle) -> Admission:
    """What the rules of a network say to a vehicle."""
    rules = arrays.rules.reshape(-1, RULE_COLUMNS)
    closed = vehicle.gross_t > rules[:, _CLOSED_OVER]
    for name in LIMIT_REASONS:
        closed |= getattr(vehicle, name) > rules[:, RULE_FIELDS.index(name)]
    return Admission(
        closed=closed,
        ends=vehicle.gross_t > rules[:, _END_OVER],
        turns=vehicle.gross_t > arrays.turn_over_t,
    )


def build_view(arrays: RoadArrays, admitted: Admission) -> ViewArrays:
    """The graph for whoever is admitted so."""
    arcs = _arcs(arrays, admitted)
    graph = _Layers(arrays, arcs, admitted)
    tail, head, direction, junction, layer = graph.expanded()
    used = np.zeros(len(layer), dtype=np.bool_)
    used[tail] = used[head] = True
    number = np.cumsum(used) - 1
    return _to_view(
        arrays, number[tail], number[head], direction, junction[used], layer[used]
    )


@dataclass(frozen=True, eq=False)
class _Arcs:
    direction: Ints  # (a,)
    tail: Ints
    head: Ints
    through: Flags  # on the open roads


def _arcs(arrays: RoadArrays, admitted: Admission) -> _Arcs:
    """All directions that may be driven, and which of them may be driven through."""
    rule = np.stack([arrays.road_forward_rule, arrays.road_backward_rule], axis=1)
    seconds = np.stack([arrays.road_forward_s, arrays.road_backward_s], axis=1)
    usable = np.isfinite(seconds.ravel()) & ~admitted.closed[rule.ravel()]
    direction = np.flatnonzero(usable)
    road, backward = direction // 2, direction % 2
    start, end = arrays.road_from[road], arrays.road_to[road]
    tail = np.where(backward, end, start).astype(np.int64)
    head = np.where(backward, start, end).astype(np.int64)
    through = ~admitted.ends[rule.ravel()[direction]]
    # What can be reached over roads for the ends of a way alone, is one of these itself.
    main = _largest(tail[through], head[through], arrays.nodes)
    through &= main[tail] & main[head]
    return _Arcs(direction, tail, head, through)


def _largest(tail: Ints, head: Ints, size: int) -> Flags:
    """Nodes of the largest part in which all reach all; of equals that of the first."""
    graph = csr_array((np.ones(len(tail)), (tail, head)), shape=(size, size))
    _, part = connected_components(graph, directed=True, connection="strong")
    sizes = np.bincount(part)[part]
    return np.asarray(part == part[int(np.argmax(sizes))], dtype=np.bool_)


class _Layers:
    """Nodes are layer * n + junction, and after these the junctions behind a turn."""

    def __init__(self, arrays: RoadArrays, arcs: _Arcs, admitted: Admission) -> None:
        self.size = arrays.nodes
        self.arcs = arcs
        self.ends = ~arcs.through
        self.barred = self._barred(arrays, admitted)

    def expanded(self) -> tuple[Ints, Ints, Ints, Ints, Classes]:
        """Tail, head and direction of each arc; junction and layer of each node."""
        arcs, size = self.arcs, self.size
        both = [(THROUGH, arcs.through)]
        if self.ends.any():
            both += [(BEGINNING, self.ends), (END, self.ends)]
        tail = np.concatenate([arcs.tail[own] + k * size for k, own in both])
        head = np.concatenate([arcs.head[own] + k * size for k, own in both])
        direction = np.concatenate([arcs.direction[own] for _, own in both])
        steps = self._steps()
        tail = np.concatenate([tail, steps[0]])
        head = np.concatenate([head, steps[1]])
        direction = np.concatenate([direction, np.full(len(steps[0]), -1)])
        junction = np.tile(np.arange(size), 3)
        layer = np.repeat(np.arange(3, dtype=np.uint8), size)
        if not self.barred:
            return tail, head, direction, junction, layer
        return self._with_turns(tail, head, direction, junction, layer)

    def _steps(self) -> tuple[Ints, Ints]:
        """From the beginning to the open roads, and from these to the end."""
        open_here = np.zeros(self.size, dtype=np.bool_)
        open_here[self.arcs.tail[self.arcs.through]] = True
        ends = [self.arcs.tail[self.ends], self.arcs.head[self.ends]]
        here = np.unique(np.concatenate(ends))
        here = here[open_here[here]]
        begins, finishes = here + BEGINNING * self.size, here + END * self.size
        return np.concatenate([begins, here]), np.concatenate([here, finishes])

    def _barred(
        self, arrays: RoadArrays, admitted: Admission
    ) -> dict[int, frozenset[int]]:
        """By direction: into which ones a truck that comes from it may not turn."""
        found: dict[int, set[int]] = {}
        pairs = zip(
            arrays.turn_from[admitted.turns].tolist(),
            arrays.turn_to[admitted.turns].tolist(),
            strict=True,
        )
        for start, end in pairs:
            found.setdefault(start, set()).add(end)
        return {start: frozenset(ends) for start, ends in found.items()}

    def _with_turns(
        self, tail: Ints, head: Ints, direction: Ints, junction: Ints, layer: Classes
    ) -> tuple[Ints, Ints, Ints, Ints, Classes]:
        coming = np.flatnonzero(np.isin(direction, list(self.barred)))
        old = head[coming]
        count = len(junction)
        new = count + np.arange(len(coming))
        head = head.copy()
        head[coming] = new
        order = np.argsort(tail, kind="stable")
        starts = np.searchsorted(tail[order], np.arange(count + 1))
        tails, arcs = [], []
        for arc, node, copy in zip(
            coming.tolist(), old.tolist(), new.tolist(), strict=True
        ):
            stop = self.barred[int(direction[arc])]
            leaving = self._leaving(node, order, starts, head, direction)
            goes = [own for own in leaving if int(direction[own]) not in stop]
            arcs += goes
            tails += [copy] * len(goes)
        more = np.array(arcs, dtype=np.int64)
        return (
            np.concatenate([tail, np.array(tails, dtype=np.int64)]),
            np.concatenate([head, head[more]]),
            np.concatenate([direction, direction[more]]),
            np.concatenate([junction, junction[old]]),
            np.concatenate([layer, layer[old]]),
        )

    def _leaving(
        self, node: int, order: Ints, starts: Ints, head: Ints, direction: Ints
    ) -> list[int]:
        """Arcs along roads out of a node, those after a step to another layer too."""
        found: list[int] = []
        waiting = [node]
        while waiting:
            at = waiting.pop()
            for arc in order[starts[at] : starts[at + 1]].tolist():
                if direction[arc] < 0:
                    waiting.append(int(head[arc]))
                else:
                    found.append(arc)
        return found


def _attached(
    arrays: RoadArrays,
    ways: tuple[Ints, Ints, Ints],
    reached: Flags,
    reaching: Flags,
) -> Flags:
    """Roads on which a place can be reached from the open roads, and left for them."""
    leaves = np.zeros(arrays.roads, dtype=np.bool_)
    comes = np.zeros(arrays.roads, dtype=np.bool_)
    direction, way_tail, way_head = ways
    leaves[direction[reaching[way_head]] // 2] = True
    comes[direction[reached[way_tail]] // 2] = True
    return leaves & comes


def _hub(tail: Ints, head: Ints, layer: Classes) -> int:
    """A node of the open roads."""
    open_ = layer == THROUGH
    inner = open_[tail] & open_[head]
    return int(np.argmax(_largest(tail[inner], head[inner], len(layer))))


def _met(tail: Ints, head: Ints, start: int, size: int) -> Flags:
    graph = csr_array((np.ones(len(tail)), (tail, head)), shape=(size, size))
    met = np.zeros(size, dtype=np.bool_)
    met[breadth_first_order(graph, start, return_predecessors=False)] = True
    return met


def _to_view(
    arrays: RoadArrays,
    tail: Ints,
    head: Ints,
    direction: Ints,
    junction: Ints,
    layer: Classes,
) -> ViewArrays:
    # Neighbours on the ground stay neighbours in memory.
    order = np.lexsort((layer, junction))
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    tail, head, junction, layer = rank[tail], rank[head], junction[order], layer[order]
    seconds, metres = _lengths(arrays, direction)
    first = np.lexsort((direction, metres, seconds, head, tail))
    key = tail[first] * len(junction) + head[first]
    first = first[np.concatenate([[True], key[1:] != key[:-1]])[: len(first)]]
    ways = np.flatnonzero(direction >= 0)
    ways = ways[np.argsort(direction[ways], kind="stable")]
    on_ways = direction[ways], tail[ways], head[ways]
    numbers = np.arange(2 * arrays.roads + 1)
    hub, size = _hub(tail, head, layer), len(junction)
    reached, reaching = _met(tail, head, hub, size), _met(head, tail, hub, size)
    indptr = np.searchsorted(tail[first], np.arange(len(junction) + 1))
    return ViewArrays(
        junction=junction.astype(np.int32),
        layer=layer,
        indptr=indptr.astype(np.int32),
        indices=head[first].astype(np.int32),
        seconds=seconds[first],
        metres=metres[first],
        direction=direction[first].astype(np.int32),
        way_starts=np.searchsorted(direction[ways], numbers).astype(np.int64),
        way_tail=on_ways[1].astype(np.int32),
        way_head=on_ways[2].astype(np.int32),
        reached=reached,
        reaching=reaching,
        attached=_attached(arrays, on_ways, reached, reaching),
    )


def _lengths(arrays: RoadArrays, direction: Ints) -> tuple[Floats, Floats]:
    seconds, metres = np.zeros(len(direction)), np.zeros(len(direction))
    along = np.flatnonzero(direction >= 0)
    road, backward = direction[along] // 2, direction[along] % 2
    seconds[along] = np.where(
        backward, arrays.road_backward_s[road], arrays.road_forward_s[road]
    )
    metres[along] = arrays.road_metres[road]
    return seconds, metres
