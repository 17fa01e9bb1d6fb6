"""The pricing problem of column generation: the shift that is worth most at given prices.

A shortest path with resources over trips. Trips are first allowed more often than the haul
needs, and only the hauls for which that happens are counted (decremental state space
relaxation, Righini and Salani 2008). A table of what can still be earned in the time that
is left cuts off the partial shifts that cannot reach the price of a slot any more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.patterns import Pattern, make_pattern
from logistics.domain.planning.shifts import Label, SlotClass

GRID_S = 300
NARROW = 6
"""Partial shifts kept for each last haul in the quick search."""
MOST_NODES = 30_000


@dataclass(frozen=True)
class Priced:
    """`top` is an upper bound on reward less cost of any pattern, None after a quick
    search that was content with what it found; `patterns` are worth more than asked."""

    top: float | None
    patterns: list[Pattern]


@dataclass(slots=True)
class _Node:
    label: Label
    hauls: tuple[int, ...]
    worth: float
    counted: tuple[int, ...]


class _TooMany(Exception):
    pass


class _Search:
    """One pricing problem: a class of slots and the reward for a trip of each haul."""

    def __init__(
        self, group: int, slots: SlotClass, reward: Sequence[float], asked: float
    ) -> None:
        self.group, self.slots, self.asked = group, slots, asked
        rates = slots.truck.rates
        self.per_m, self.per_s = rates.per_km / 1000, rates.per_hour / 3600
        self.useful = [
            haul for haul, trips in enumerate(slots.trips) if trips and reward[haul] > 0
        ]
        self.gain = [
            reward[haul] - slots.fee[haul] - slots.ride_m[haul] * self.per_m
            for haul in range(len(reward))
        ]
        self.outlook = self._outlook()

    def _outlook(self) -> NDArray[np.float64]:
        """Most that can still be earned after a trip of `useful[i]` with t grid steps left.

        Shape (useful + 1, steps + 1); the last row is for a truck still at its base.
        Durations are rounded down to the grid, so the table never says too little.
        """
        slots, useful = self.slots, self.useful
        limit = min(slots.truck.max_shift_s, slots.latest - slots.earliest)
        steps = math.ceil(limit / GRID_S)
        size = len(useful)
        work = [slots.load_s[h] + slots.ride_s[h] + slots.unload_s[h] for h in useful]
        seconds = np.array(
            [
                [slots.link_s[g][h] + w for h, w in zip(useful, work, strict=True)]
                for g in useful
            ]
            + [[slots.out_s[h] + w for h, w in zip(useful, work, strict=True)]],
            dtype=np.float64,
        ).reshape(size + 1, size)
        metres = np.array(
            [[slots.link_m[g][h] for h in useful] for g in useful]
            + [[slots.out_m[h] for h in useful]],
            dtype=np.float64,
        ).reshape(size + 1, size)
        earn = np.array([self.gain[h] for h in useful])[None, :] - metres * self.per_m
        earn = earn - seconds * self.per_s
        takes = np.maximum(1, np.floor(seconds / GRID_S)).astype(np.int64)
        home_s = np.array([slots.home_s[h] for h in useful] + [0], dtype=np.float64)
        home_m = np.array([slots.home_m[h] for h in useful] + [0], dtype=np.float64)
        home = -(home_m * self.per_m + home_s * self.per_s)
        home_steps = np.floor(home_s / GRID_S).astype(np.int64)
        table = np.full((size + 1, steps + 1), -np.inf)
        columns = np.arange(size)[None, :]
        for step in range(steps + 1):
            table[:, step] = np.where(home_steps <= step, home, -np.inf)
            if size:
                before = step - takes
                later = table[columns, np.maximum(before, 0)]
                later = np.where(before >= 0, later + earn, -np.inf)
                table[:, step] = np.maximum(table[:, step], later.max(axis=1))
        return table

    def crude_top(self) -> float:
        """An upper bound that needs no search: windows and counts are ignored."""
        return max(0.0, float(self.outlook[-1, -1]) - self.slots.truck.rates.call_out)

    def run(self, counted: tuple[int, ...], width: int | None) -> list[_Node]:
        """Finished shifts worth more than asked, best first.

        Exact for `width` None as far as trips of hauls in `counted` go; with a width only
        so many partial shifts are kept for each last haul, and all trips are counted.
        Raises _TooMany when an exact search grows beyond bounds.
        """
        start = _Node(
            self.slots.start(),
            (),
            -float(self.slots.truck.rates.call_out),
            (0,) * len(counted),
        )
        level, finished, seen = [start], list[_Node](), 0
        while level:
            after: dict[int, list[_Node]] = {}
            for node in level:
                for haul in self.useful:
                    self._extend(node, haul, counted, width, after)
                if width is None and seen + sum(map(len, after.values())) > MOST_NODES:
                    raise _TooMany
            if width is not None:
                for held in after.values():
                    held.sort(
                        key=lambda node: -node.worth + node.label.length * self.per_s
                    )
                    del held[width:]
            level = [node for held in after.values() for node in held]
            seen += len(level)
            finished += [done for node in level if (done := self._closed(node))]
        finished.sort(key=lambda node: (-node.worth, node.hauls))
        return finished

    def _extend(
        self,
        node: _Node,
        haul: int,
        counted: tuple[int, ...],
        width: int | None,
        after: dict[int, list[_Node]],
    ) -> None:
        slots, tally = self.slots, node.counted
        if width is not None and node.hauls.count(haul) >= slots.trips[haul]:
            return
        if haul in counted:
            at = counted.index(haul)
            if tally[at] >= slots.trips[haul]:
                return
            tally = (*tally[:at], tally[at] + 1, *tally[at + 1 :])
        last = node.hauls[-1] if node.hauls else None
        drive = slots.out_m[haul] if last is None else slots.link_m[last][haul]
        worth = node.worth + self.gain[haul] - drive * self.per_m
        row = self.useful.index(haul)
        for label in slots.extended(node.label, last, haul):
            free = min(
                slots.truck.max_shift_s - label.length,
                slots.latest - label.early - label.length,
            )
            step = min(-(-free // GRID_S), self.outlook.shape[1] - 1)
            best = worth - label.length * self.per_s + self.outlook[row, step]
            if best > self.asked:
                new = _Node(label, (*node.hauls, haul), worth, tally)
                _keep(after.setdefault(haul, []), new, self.per_s)

    def _closed(self, node: _Node) -> _Node | None:
        last = node.hauls[-1]
        closed = self.slots.closed(node.label, last)
        total = (
            node.worth
            - self.slots.home_m[last] * self.per_m
            - closed.length * self.per_s
        )
        if total <= self.asked:
            return None
        return _Node(node.label, node.hauls, total, node.counted)

    def patterns(self, nodes: Sequence[_Node], most: int) -> list[Pattern]:
        """Patterns of the best nodes that make no trip more often than needed."""
        found: dict[tuple[int, ...], Pattern] = {}
        for node in nodes:
            if len(found) >= most:
                break
            if not self.overdone(node):
                pattern = make_pattern(self.group, self.slots, node.hauls, node.label)
                found.setdefault(tuple(sorted(node.hauls)), pattern)
        return list(found.values())

    def overdone(self, node: _Node) -> set[int]:
        """Hauls of which the node makes more trips than are needed."""
        return {
            haul
            for haul in set(node.hauls)
            if node.hauls.count(haul) > self.slots.trips[haul]
        }


def best_pattern(
    group: int, slots: SlotClass, reward: Sequence[float], *, asked: float, quick: bool
) -> Priced:
    """Patterns whose reward less cost exceeds `asked` (>= 0), and a bound on the largest.

    `reward[haul]` is paid for each trip, figures are before rounding to minor units. With
    `quick` a narrow search may answer alone if it finds something.
    """
    search = _Search(group, slots, reward, asked)
    if quick:
        patterns = search.patterns(search.run((), NARROW), 10)
        if patterns:
            return Priced(None, patterns)
    counted: tuple[int, ...] = ()
    while True:
        try:
            nodes = search.run(counted, None)
        except _TooMany:
            return Priced(
                search.crude_top(), search.patterns(search.run((), NARROW), 10)
            )
        over = search.overdone(nodes[0]) if nodes else set()
        if not over:
            break
        counted = tuple(sorted({*counted, *over}))
    top = nodes[0].worth if nodes else asked
    return Priced(top, search.patterns(nodes, 20))


def _replaces(one: _Node, other: _Node, per_s: float) -> bool:
    """Whether whatever can follow `other` can follow `one` with at least its profit.

    A continuation ends `max(length + C, K - late)` after the leaving, C and K depending on
    it alone. So `one` ends at least `min(other.length - one.length, one.late - other.late)`
    sooner: that much time may be set off against the worth, and not the whole lead, which
    is lost where both wait for the same gate to open.
    """
    a, b = one.label, other.label
    lead = min(b.length - a.length, a.late - b.late)
    return (
        lead >= 0
        and one.worth + lead * per_s >= other.worth
        and a.early + a.length <= b.early + b.length
        and all(x <= y for x, y in zip(one.counted, other.counted, strict=True))
    )


def _keep(held: list[_Node], new: _Node, per_s: float) -> None:
    """Add a node to those that end with the same haul unless one of them replaces it."""
    for old in held:
        if _replaces(old, new, per_s):
            return
    held[:] = [old for old in held if not _replaces(new, old, per_s)]
    held.append(new)
