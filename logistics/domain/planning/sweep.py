"""Growing all partial shifts, those of one number of tasks at a time.

What differs between enumerating all patterns and looking for the best ones is only which
labels are thrown away: see `Thinning`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from logistics.domain.planning.field import Batch, Field, Floats, Growth, Ints, Mask
from logistics.domain.planning.hire import time_price
from logistics.domain.planning.patterns import Pattern, make_pattern
from logistics.domain.planning.shifts import Label, SlotClass
from logistics.domain.trucks import TruckRates

Thinning = Callable[[Batch], Batch]
"""Throws away labels that are not needed."""


@dataclass(frozen=True)
class Swept:
    """All levels that were grown.

    `whole` is False if there were too many labels; the last level is not grown then.
    """

    field: Field
    levels: list[Batch]
    whole: bool

    def closed(self, level: int, per_m: float, rates: TruckRates | None) -> Floats:
        """Reward less cost of the shifts of a level, driven home; None: time is free."""
        batch, field = self.levels[level], self.field
        worth = batch.worth - field.home_m[batch.last] * per_m
        if rates is None:
            return np.asarray(worth)
        seconds = batch.length + field.homeward_s(batch)
        return np.asarray(worth - time_price(rates, seconds))

    def pattern(self, level: int, row: int) -> Pattern:
        """The finished shift of one label."""
        field, batch = self.field, self.levels[level]
        label = Label(
            int(batch.early[row]),
            int(batch.late[row]),
            int(batch.length[row]),
            int(batch.metres[row]),
            int(batch.wheel[row]),
            int(batch.work[row]),
            int(batch.driven[row]),
        )
        tasks: list[int] = []
        while level:
            batch = self.levels[level]
            tasks.append(int(field.tasks[batch.last[row]]))
            row, level = int(batch.parent[row]), level - 1
        return make_pattern(field.group, field.slots, tuple(reversed(tasks)), label)


def sweep(field: Field, growth: Growth, *, thin: Thinning, limit: int) -> Swept:
    """Grow partial shifts until none can be grown, or there are more than `limit`."""
    levels = [field.start(growth.start)]
    seen = 0
    while field.size and len(levels[-1]):
        grown = thin(field.grown(levels[-1], growth))
        levels.append(grown)
        seen += len(grown)
        if seen > limit:
            return Swept(field, levels, whole=False)
    return Swept(field, levels, whole=True)


def same_trips(batch: Batch, per_m: float, per_s: float) -> Ints:
    """An order that brings labels with the same trips and last trip together.

    The cheapest of them comes first.
    """
    cost = batch.metres * per_m + batch.length * per_s
    keys = [cost, batch.last, *batch.made.T]
    return np.lexsort(keys)


def thin_equals(batch: Batch, per_m: float, per_s: float) -> Batch:
    """Drop labels that another one with the same trips and last trip beats.

    Only the nearest few in order of cost are compared: to keep too many is no fault.
    """
    if len(batch) < 2:
        return batch
    batch = batch.take(same_trips(batch, per_m, per_s))
    beaten = np.zeros(len(batch), dtype=bool)
    done = batch.early + batch.length
    for step in (1, 2, 3, 5, 8):
        if step >= len(batch):
            break
        a, b = slice(None, -step), slice(step, None)
        beaten[b] |= (
            (batch.last[a] == batch.last[b])
            & (batch.length[a] <= batch.length[b])
            & (done[a] <= done[b])
            & (batch.late[a] >= batch.late[b])
            & (batch.metres[a] <= batch.metres[b])
            & (batch.wheel[a] <= batch.wheel[b])
            & (batch.work[a] <= batch.work[b])
            & (batch.driven[a] <= batch.driven[b])
            & (batch.made[a] == batch.made[b]).all(axis=1)
        )
    return batch.take(~beaten)


def all_patterns(group: int, slots: SlotClass, *, limit: int) -> list[Pattern] | None:
    """Every pattern of the class that can be part of an optimal plan.

    Of patterns with the same trips only the cheapest is kept. None when more than `limit`
    partial shifts would have to be looked at.
    """
    field = Field(group, slots)
    rates = slots.truck.rates
    per_m, per_s = rates.per_km / 1000, rates.per_hour / 3600
    swept = sweep(
        field,
        Growth(np.zeros(field.size), 0.0, per_m, field.most),
        thin=lambda batch: thin_equals(batch, per_m, per_s),
        limit=limit,
    )
    return cheapest(swept, None) if swept.whole else None


def best_order(field: Field, pattern: Pattern, width: int) -> Pattern:
    """The cheapest order of the same trips, among the `width` best starts of each length."""
    rates = field.slots.truck.rates
    per_m, per_s = rates.per_km / 1000, rates.per_hour / 3600
    most = np.array(
        [pattern.tasks.count(task) for task in field.tasks.tolist()], dtype=np.int16
    )

    def thin(batch: Batch) -> Batch:
        batch = thin_equals(batch, per_m, per_s)
        cost = batch.metres * per_m + batch.length * per_s
        return batch.take(np.argsort(cost, kind="stable")[:width])

    growth = Growth(np.zeros(field.size), 0.0, per_m, most)
    swept = sweep(field, growth, thin=thin, limit=width * (len(pattern.tasks) + 2))
    if len(swept.levels) <= len(pattern.tasks):
        return pattern
    last = len(pattern.tasks)
    found = [swept.pattern(last, row) for row in range(len(swept.levels[last]))]
    return min([pattern, *found], key=lambda own: own.cost)


def cheapest(swept: Swept, keep: Callable[[int], Mask] | None) -> list[Pattern]:
    """The cheapest pattern of each set of trips, of the labels that `keep(level)` names."""
    best: dict[tuple[int, ...], Pattern] = {}
    for level in range(1, len(swept.levels)):
        rows = range(len(swept.levels[level]))
        for row in np.flatnonzero(keep(level)).tolist() if keep else rows:
            pattern = swept.pattern(level, row)
            tasks = tuple(sorted(pattern.tasks))
            if tasks not in best or pattern.cost < best[tasks].cost:
                best[tasks] = pattern
    return list(best.values())
