"""Growing partial shifts trip by trip, all of one length at a time, as NumPy arrays.

The same arithmetic as `shifts._visit` and `SlotClass.extended`, for thousands of labels at
once. What differs between enumerating all patterns and looking for the best ones is only
which labels are thrown away: see `Thinning`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.patterns import Pattern, make_pattern
from logistics.domain.planning.shifts import Label, SlotClass

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Batch:
    """Partial shifts of one number of trips; row i of every array is one of them.

    `last` counts the hauls of a `Field` (its size for a truck still at the base), `made`
    of shape (n, hauls) says how many trips of each; `worth` is reward less the cost of the
    kilometres; `parent` is the row in the batch before.
    """

    early: Ints
    late: Ints
    length: Ints
    metres: Ints
    worth: Floats
    last: Ints
    made: NDArray[np.int16]
    parent: Ints

    def __len__(self) -> int:
        return len(self.early)

    def take(self, rows: Ints | Mask) -> Batch:
        """Some of the rows, in the order given."""
        return Batch(
            self.early[rows],
            self.late[rows],
            self.length[rows],
            self.metres[rows],
            self.worth[rows],
            self.last[rows],
            self.made[rows],
            self.parent[rows],
        )


def _joined(parts: Sequence[Batch]) -> Batch:
    return Batch(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in Batch.__dataclass_fields__
        )
    )


def _padded(
    windows: Sequence[Sequence[tuple[int, int]]], service: Ints
) -> list[tuple[Ints, Ints]]:
    """For each number of a window: when it opens and the last begin, for all hauls."""
    most = max((len(own) for own in windows), default=0)
    found = []
    for number in range(most):
        shut = (1, 0)
        own = [held[number] if number < len(held) else shut for held in windows]
        opens = np.array([window[0] for window in own], dtype=np.int64)
        closes = np.array([window[1] for window in own], dtype=np.int64)
        last = closes - service
        found.append((opens, np.where(last >= opens, last, -1)))
    return found


@dataclass(frozen=True)
class Growth:
    """What a trip of each haul gains, what a shift starts with, and what is allowed."""

    gain: Floats
    start: float
    per_m: float
    most: NDArray[np.int16]


class Field:
    """A class of slots as arrays over the hauls its truck may carry."""

    def __init__(self, group: int, slots: SlotClass) -> None:
        self.group, self.slots = group, slots
        self.hauls = np.array(
            [h for h, n in enumerate(slots.trips) if n], dtype=np.int64
        )
        pick = self.hauls.tolist()
        self.size = len(pick)
        self.most = np.array([slots.trips[h] for h in pick], dtype=np.int16)
        self.fee = np.array([slots.fee[h] for h in pick], dtype=np.float64)
        self.load_s = np.array([slots.load_s[h] for h in pick], dtype=np.int64)
        self.unload_s = np.array([slots.unload_s[h] for h in pick], dtype=np.int64)
        self.ride_s = np.array([slots.ride_s[h] for h in pick], dtype=np.int64)
        self.ride_m = np.array([slots.ride_m[h] for h in pick], dtype=np.int64)
        self.home_s = np.array([slots.home_s[h] for h in pick], dtype=np.int64)
        self.home_m = np.array([slots.home_m[h] for h in pick], dtype=np.int64)
        # Row `size` is the way from the base.
        self.go_s = np.array(
            [[slots.link_s[g][h] for h in pick] for g in pick]
            + [[slots.out_s[h] for h in pick]],
            dtype=np.int64,
        ).reshape(self.size + 1, self.size)
        self.go_m = np.array(
            [[slots.link_m[g][h] for h in pick] for g in pick]
            + [[slots.out_m[h] for h in pick]],
            dtype=np.int64,
        ).reshape(self.size + 1, self.size)
        self.pickup = _padded([slots.pickup[h] for h in pick], self.load_s)
        self.drop = _padded([slots.drop[h] for h in pick], self.unload_s)

    def start(self, worth: float) -> Batch:
        """The truck at its base."""
        one = np.zeros(1, dtype=np.int64)
        return Batch(
            early=one,
            late=one + self.slots.latest,
            length=one,
            metres=one,
            worth=np.array([worth]),
            last=one + self.size,
            made=np.zeros((1, self.size), dtype=np.int16),
            parent=one,
        )

    def grown(self, batch: Batch, growth: Growth) -> Batch:
        """Every way to add one trip, at most `growth.most` of each haul."""
        rows, hauls = np.nonzero(batch.made < growth.most)
        until = batch.length[rows] + self.go_s[batch.last[rows], hauls]
        bare = batch.take(rows)
        metres = self.go_m[bare.last, hauls]
        made = bare.made
        made[np.arange(len(rows)), hauls] += 1
        first = replace(
            bare,
            length=until,
            worth=bare.worth + growth.gain[hauls] - metres * growth.per_m,
            metres=bare.metres + metres + self.ride_m[hauls],
            last=hauls,
            made=made,
            parent=rows,
        )
        parts = []
        for loaded in _visits(first, self.pickup, self.load_s):
            on_way = replace(loaded, length=loaded.length + self.ride_s[loaded.last])
            parts += list(_visits(on_way, self.drop, self.unload_s))
        if not parts:
            return first.take(np.zeros(0, dtype=np.int64))
        grown = _joined(parts)
        whole = grown.length + self.home_s[grown.last]
        return grown.take(
            (grown.early + whole <= self.slots.latest)
            & (whole <= self.slots.truck.max_shift_s)
        )


def _visits(
    batch: Batch, windows: list[tuple[Ints, Ints]], service: Ints
) -> Iterator[Batch]:
    """The batch after a visit in each window; `batch.length` is up to the arrival."""
    for opens, last_begin in windows:
        shut = last_begin[batch.last]
        own = batch.take(batch.early + batch.length <= shut)
        shut, opening = last_begin[own.last], opens[own.last]
        waits = own.late + own.length < opening
        yield replace(
            own,
            early=np.where(
                waits, own.late, np.maximum(own.early, opening - own.length)
            ),
            late=np.where(waits, own.late, np.minimum(own.late, shut - own.length)),
            length=np.where(waits, opening - own.late, own.length) + service[own.last],
        )


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

    def closed(self, level: int, per_m: float, per_s: float) -> Floats:
        """Reward less cost of the shifts of a level, driven home."""
        batch, field = self.levels[level], self.field
        seconds = batch.length + field.home_s[batch.last]
        return np.asarray(
            batch.worth - field.home_m[batch.last] * per_m - seconds * per_s
        )

    def pattern(self, level: int, row: int) -> Pattern:
        """The finished shift of one label."""
        field, batch = self.field, self.levels[level]
        label = Label(
            int(batch.early[row]),
            int(batch.late[row]),
            int(batch.length[row]),
            int(batch.metres[row]),
        )
        hauls: list[int] = []
        while level:
            batch = self.levels[level]
            hauls.append(int(field.hauls[batch.last[row]]))
            row, level = int(batch.parent[row]), level - 1
        return make_pattern(field.group, field.slots, tuple(reversed(hauls)), label)


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
        [pattern.hauls.count(haul) for haul in field.hauls.tolist()], dtype=np.int16
    )

    def thin(batch: Batch) -> Batch:
        batch = thin_equals(batch, per_m, per_s)
        cost = batch.metres * per_m + batch.length * per_s
        return batch.take(np.argsort(cost, kind="stable")[:width])

    growth = Growth(np.zeros(field.size), 0.0, per_m, most)
    swept = sweep(field, growth, thin=thin, limit=width * (len(pattern.hauls) + 2))
    if len(swept.levels) <= len(pattern.hauls):
        return pattern
    last = len(pattern.hauls)
    found = [swept.pattern(last, row) for row in range(len(swept.levels[last]))]
    return min([pattern, *found], key=lambda own: own.cost)


def cheapest(swept: Swept, keep: Callable[[int], Mask] | None) -> list[Pattern]:
    """The cheapest pattern of each set of trips, of the labels that `keep(level)` names."""
    best: dict[tuple[int, ...], Pattern] = {}
    for level in range(1, len(swept.levels)):
        rows = range(len(swept.levels[level]))
        for row in np.flatnonzero(keep(level)).tolist() if keep else rows:
            pattern = swept.pattern(level, row)
            trips = tuple(sorted(pattern.hauls))
            if trips not in best or pattern.cost < best[trips].cost:
                best[trips] = pattern
    return list(best.values())
