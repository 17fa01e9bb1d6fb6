"""The pricing problem of column generation: the shift that is worth most at given prices.

A shortest path with resources over tasks. Tasks are first allowed more often than they are
useful, and only those for which that happens are counted (decremental state space
relaxation, Righini and Salani 2008). A table of what can still be earned in the time that
is left cuts off the partial shifts that cannot reach the price of a slot any more.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.field import Batch, Field, Floats, Growth, Mask
from logistics.domain.planning.hire import least_price_s
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.sweep import (
    Swept,
    Thinning,
    cheapest,
    sweep,
    thin_equals,
)

STEPS = 200
"""Steps of the outlook table: three minutes in a shift of ten hours."""
BEAM = 12
"""Partial shifts kept for each last haul in the quick search."""
RIVALS = 100
"""How many of the best labels all others are compared with."""
LIMIT = 120_000
"""Partial shifts of an exact search."""
FEW_SETS = 6_000
"""Sets of tasks that a class of slots can do, up to which all are counted at once."""
ROWS = 4_000_000
"""Partial shifts made at once, before any is thrown away: a matter of memory."""
OFTEN = np.int16(np.iinfo(np.int16).max)


@dataclass(frozen=True)
class Tariff:
    """Prices as one class of slots sees them.

    `reward[task]` is paid each time and `start` is what a shift brings before its first
    task, the call-out taken off. Without `paid` driving costs nothing.
    """

    reward: Floats
    start: float
    paid: bool = True


@dataclass(frozen=True)
class Priced:
    """`top` bounds reward less cost of any pattern from above.

    It is None after a quick search that was content with the patterns it found.
    """

    top: float | None
    patterns: list[Pattern]


@dataclass
class Pricer:
    """Prices the patterns of one class of slots; remembers which tasks had to be counted.

    `limit` ends an exact search, `beam` is the width of a quick one.
    """

    field: Field
    limit: int = LIMIT
    beam: int = BEAM
    counted: Mask = dataclasses.field(init=False)
    plain: Pricer | None = dataclasses.field(init=False, default=None)
    """The same without rests."""

    def __post_init__(self) -> None:
        self.limit = min(self.limit, self._room())
        sets = float(np.prod(self.field.most.astype(np.float64) + 1))
        self.counted = self._endless() | (sets <= FEW_SETS)

    def _room(self) -> int:
        """Partial shifts that may be held: each grows into one for each task at first."""
        return ROWS // max(1, self.field.size)

    def _endless(self) -> Mask:
        """Tasks that take no time would be repeated for ever: then all are counted."""
        own = self.field
        seconds = own.go_s + own.clean_s + (own.ride_s + own.work_s)[None, :]
        return np.full(own.size, bool((seconds <= 0).any()))

    def best(self, tariff: Tariff, *, floor: float, quick: bool, most: int) -> Priced:
        """At most `most` patterns worth more than `floor`, and a bound on the largest.

        Worth is before rounding to minor units. With `quick` a narrow search may answer
        alone if it finds something.
        """
        if not self.field.size:
            return Priced(0.0, [])
        search = _Search(self.field, tariff, floor)
        if quick:
            patterns = self.quickly(tariff, floor=floor, most=most)
            if patterns:
                return Priced(None, patterns)
        least = np.inf
        while True:
            swept = search.exact(self.counted, self.limit)
            top, patterns, over = search.answer(swept, most)
            least = min(least, top)  # with less counted a bound as well
            if not swept.whole:
                least = min(least, self._loosely(tariff, floor))
                swept = search.narrow(self.field.most, self.beam)
                return Priced(least, patterns + search.patterns(swept, most))
            if not over.any():
                return Priced(least, patterns)
            self.counted |= over

    def _loosely(self, tariff: Tariff, floor: float) -> float:
        """A bound by shifts without rests, where they make the search too large."""
        if self.field.rule is None:
            return np.inf
        if self.plain is None:
            bare = Field(self.field.group, self.field.slots, rested=False)
            self.plain = Pricer(bare, self.limit, self.beam)
        top = self.plain.best(tariff, floor=floor, quick=False, most=0).top
        return np.inf if top is None else top

    def quickly(self, tariff: Tariff, *, floor: float, most: int) -> list[Pattern]:
        """At most `most` patterns worth more than `floor` that a narrow search finds."""
        if not self.field.size:
            return []
        search = _Search(self.field, tariff, floor)
        return search.patterns(search.narrow(self.field.most, self.beam), most)

    def quick(self, tariff: Tariff) -> Callable[[NDArray[np.int16]], Pattern | None]:
        """A function that finds a good pattern with each task at most so often."""
        if not self.field.size:
            return lambda _: None
        search = _Search(self.field, tariff, -np.inf)

        def find(most: NDArray[np.int16]) -> Pattern | None:
            found = search.patterns(search.narrow(most, self.beam), 1)
            return found[0] if found else None

        return find

    def within(
        self, tariff: Tariff, *, floor: float, limit: int
    ) -> list[Pattern] | None:
        """Every pattern worth more than `floor` that may be the cheapest of its trips.

        None if more than `limit` partial shifts would have to be looked at.
        """
        if not self.field.size:
            return []
        search = _Search(self.field, tariff, floor)
        swept = search.all(min(limit, self._room()))
        if not swept.whole:
            return None
        return cheapest(swept, lambda level: search.closed(swept, level) > floor)


class _Search:
    """One pricing problem: a class of slots, prices, and what a pattern must be worth."""

    def __init__(self, own: Field, tariff: Tariff, floor: float) -> None:
        self.field, self.floor, self.start = own, floor, tariff.start
        self.rates = own.slots.truck.rates if tariff.paid else None
        self.per_m = self.rates.per_km / 1000 if self.rates else 0.0
        self.per_s = self.rates.per_hour / 3600 if self.rates else 0.0
        # What a lead is worth at least: nothing, while the minimum hire is paid anyway.
        self.lead_s = least_price_s(self.rates) if self.rates else 0.0
        fee = own.fee if tariff.paid else 0.0
        reward = tariff.reward[own.tasks]
        self.gain = reward - fee - own.ride_m * self.per_m
        self.grid, self.outlook = self._outlook()

    def _outlook(self) -> tuple[int, Floats]:
        """Most that can still be earned after task i with t grid steps left.

        Shape (tasks + 1, steps + 1); the last row is for a truck that has not left.
        Durations are rounded down to the grid, so the table never says too little; windows
        and rests are ignored, and counts but for tasks that are done once at most.
        """
        own, size = self.field, self.field.size
        limit = min(own.slots.truck.max_shift_s, own.slots.latest)
        grid = max(1, limit // STEPS)
        steps = -(-max(limit, 0) // grid)
        seconds = own.go_s + own.clean_s + (own.ride_s + own.work_s)[None, :]
        earn = self.gain[None, :] - own.go_m * self.per_m - seconds * self.per_s
        single = np.flatnonzero(own.most == 1)
        earn[single, single] = -np.inf
        home = -(own.home_m * self.per_m + own.home_s * self.per_s)
        home = np.append(home, 0.0)
        if (
            seconds < grid
        ).any():  # trips without an end: count them instead of the time
            best = np.maximum(earn.max(axis=0, initial=-np.inf), 0.0)
            return grid, np.full((size + 1, steps + 1), float(best @ own.most))
        takes = seconds // grid
        home_steps = np.append(own.home_s // grid, 0)
        table = np.full((size + 1, steps + 1), -np.inf)
        columns = np.arange(size)[None, :]
        for step in range(steps + 1):
            table[:, step] = np.where(home_steps <= step, home, -np.inf)
            before = step - takes
            later = table[columns, np.maximum(before, 0)] + earn
            later[before < 0] = -np.inf
            np.maximum(table[:, step], later.max(axis=1), out=table[:, step])
        return grid, table

    def promise(self, batch: Batch) -> Floats:
        """An upper bound on the worth of whatever a label can become."""
        slots = self.field.slots
        free = np.minimum(
            slots.truck.max_shift_s - batch.length,
            slots.latest - batch.early - batch.length,
        )
        step = np.minimum(-(-free // self.grid), self.outlook.shape[1] - 1)
        later: Floats = self.outlook[batch.last, np.maximum(step, 0)]
        return np.asarray(batch.worth - batch.length * self.per_s + later)

    def closed(self, swept: Swept, level: int) -> Floats:
        """Worth of the finished shifts of a level."""
        return swept.closed(level, self.per_m, self.rates)

    def narrow(self, most: NDArray[np.int16], beam: int) -> Swept:
        """Only a few partial shifts are kept for each last haul; all trips are counted."""

        def thin(batch: Batch) -> Batch:
            promise = self.promise(batch)
            order = np.lexsort([-promise, batch.last])
            order = order[promise[order] > self.floor]
            last = batch.last[order]
            first = np.searchsorted(last, last, side="left")
            return batch.take(order[np.arange(len(order)) - first < beam])

        return self._sweep(most, thin, 10**9)

    def exact(self, counted: Mask, limit: int) -> Swept:
        """Exact as far as trips of hauls in `counted` go."""

        def thin(batch: Batch) -> Batch:
            batch = batch.take(self.promise(batch) > self.floor)
            if counted.all():
                batch = thin_equals(batch, self.per_m, self.per_s)
            return _undominated(batch, counted, self.lead_s)

        most = np.where(counted, self.field.most, OFTEN)
        return self._sweep(most, thin, limit, counted=bool(counted.all()))

    def all(self, limit: int) -> Swept:
        """Every set of trips that can be worth more than the floor."""

        def thin(batch: Batch) -> Batch:
            batch = batch.take(self.promise(batch) > self.floor)
            return thin_equals(batch, self.per_m, self.per_s)

        return self._sweep(self.field.most, thin, limit)

    def _sweep(
        self,
        most: NDArray[np.int16],
        thin: Thinning,
        limit: int,
        *,
        counted: bool = True,
    ) -> Swept:
        growth = Growth(self.gain, self.start, self.per_m, most, counted)
        return sweep(self.field, growth, thin=thin, limit=limit)

    def answer(self, swept: Swept, most: int) -> tuple[float, list[Pattern], Mask]:
        """The bound on all, the best patterns, and what the best shift makes too often."""
        top, at = self.floor, None
        for level in range(1, len(swept.levels)):
            worth = self.closed(swept, level)
            if len(worth) and worth.max() > top:
                top, at = float(worth.max()), (level, int(worth.argmax()))
        over = np.zeros(self.field.size, dtype=bool)
        if at:
            over = swept.levels[at[0]].made[at[1]] > self.field.most
        if not swept.whole:  # what was not grown is bounded by the outlook
            top = max(top, float(self.promise(swept.levels[-1]).max()))
        return top, self.patterns(swept, most), over

    def patterns(self, swept: Swept, most: int) -> list[Pattern]:
        """The best patterns that make no trip more often than needed."""
        found: dict[tuple[int, ...], Pattern] = {}
        ranks: list[tuple[float, int, int]] = []
        for level in range(1, len(swept.levels)):
            worth = self.closed(swept, level)
            fits = (swept.levels[level].made <= self.field.most).all(axis=1)
            rows = np.flatnonzero(fits & (worth > self.floor))
            rows = rows[np.argsort(-worth[rows], kind="stable")][: 4 * most]
            ranks += [(-float(worth[row]), level, int(row)) for row in rows]
        for _, level, row in sorted(ranks):
            if len(found) >= most:
                break
            pattern = swept.pattern(level, row)
            found.setdefault(tuple(sorted(pattern.tasks)), pattern)
        return list(found.values())


def _undominated(batch: Batch, counted: Mask, per_s: float) -> Batch:
    """Drop labels that one of the best with the same last trip replaces.

    A continuation ends `max(length + C, K - late)` after the leaving, C and K depending on
    it alone. So the one ends at least `min(other.length - one.length, one.late - other.late)`
    sooner: that much time may be set off against the worth, and not the whole lead, which
    is lost where both wait for the same gate to open.
    """
    # Nothing can replace a label that is worth more when its time is paid.
    value = batch.worth - batch.length * per_s
    batch = batch.take(np.lexsort([-value, batch.last]))
    keep = np.ones(len(batch), dtype=bool)
    edges = np.flatnonzero(np.diff(batch.last)) + 1
    for first, end in zip([0, *edges], [*edges, len(batch)], strict=True):
        keep[first:end] = _standing(batch.take(np.arange(first, end)), counted, per_s)
    return batch.take(keep)


def _standing(batch: Batch, counted: Mask, per_s: float) -> Mask:
    size = len(batch)
    made = batch.made[:, counted]
    done = batch.early + batch.length
    keep = np.ones(size, dtype=bool)
    rivals = 0
    for row in range(size - 1):
        if rivals >= RIVALS:
            break
        if not keep[row]:
            continue
        rivals += 1
        rest = slice(row + 1, size)
        lead = np.minimum(
            batch.length[rest] - batch.length[row], batch.late[row] - batch.late[rest]
        )
        beaten = (
            (lead >= 0)
            & (batch.worth[row] + lead * per_s >= batch.worth[rest])
            & (done[row] <= done[rest])
            & (batch.wheel[row] <= batch.wheel[rest])
            & (batch.work[row] <= batch.work[rest])
            & (batch.driven[row] <= batch.driven[rest])
        )
        if made.shape[1]:
            beaten &= (made[row] <= made[rest]).all(axis=1)
        keep[rest] &= ~beaten
    return keep
