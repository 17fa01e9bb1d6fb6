"""A class of slots as arrays: growing partial shifts task by task, thousands at once.

The same arithmetic as `SlotClass.extended`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.shifts import NO_WAY, SlotClass, Step, limits

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Batch:
    """Partial shifts of one number of tasks; row i of every array is one of them.

    `last` counts the tasks of a `Field` (its size for a truck that has not left), `made`
    of shape (n, tasks) says how many times each; `worth` is reward less the cost of the
    kilometres; `wheel`, `work` and `driven` as in `Label`; `parent` is the row in the batch
    before.
    """

    early: Ints
    late: Ints
    length: Ints
    metres: Ints
    wheel: Ints
    work: Ints
    driven: Ints
    worth: Floats
    last: Ints
    made: NDArray[np.int16]
    parent: Ints

    def __len__(self) -> int:
        return len(self.early)

    def take(self, rows: Ints | Mask) -> Batch:
        """Some of the rows, in the order given."""
        return Batch(*(getattr(self, name)[rows] for name in COLUMNS))


COLUMNS = tuple(Batch.__dataclass_fields__)


def _joined(parts: Sequence[Batch]) -> Batch:
    return Batch(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in COLUMNS)
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
    """What a task of each kind gains, what a shift starts with, and what is allowed: so
    many of each task, and with `counted` only so many that serve a haul as are useful."""

    gain: Floats
    start: float
    per_m: float
    most: NDArray[np.int16]
    counted: bool = True


@dataclass(frozen=True)
class Stage:
    """The nth visit of every task: drive from the visit before, work, windows as pairs of
    opening and last begin. `there` is False for tasks with fewer visits."""

    there: Mask
    drive_s: Ints
    service_s: Ints
    windows: list[tuple[Ints, Ints]]


def _stage(slots: SlotClass, pick: Sequence[int], number: int) -> Stage:
    nothing = Step(0, 0, 0, ())
    own = [
        slots.steps[task][number] if number < len(slots.steps[task]) else nothing
        for task in pick
    ]
    service = np.array([step.service_s for step in own], dtype=np.int64)
    return Stage(
        there=np.array([step is not nothing for step in own], dtype=np.bool_),
        drive_s=np.array([step.drive_s for step in own], dtype=np.int64),
        service_s=service,
        windows=_padded([step.windows for step in own], service),
    )


class Field:
    """A class of slots as arrays over the tasks that its truck may do.

    With `rested` False rests are left out: whatever a driver can do is possible then.
    """

    def __init__(self, group: int, slots: SlotClass, *, rested: bool = True) -> None:
        self.group, self.slots = group, slots
        self.rule = slots.truck.rest if rested else None
        self.tasks = np.array(
            [task for task, n in enumerate(slots.trips) if n], dtype=np.int64
        )
        pick = self.tasks.tolist()
        self.size = len(pick)

        def own(values: Sequence[int]) -> Ints:
            return np.array([values[task] for task in pick], dtype=np.int64)

        self.most = own(slots.trips).astype(np.int16)
        self.fee = own(slots.fee).astype(np.float64)
        self.ride_s, self.ride_m = own(slots.ride_s), own(slots.ride_m)
        self.work_s = own(slots.work_s)
        self.home_s, self.home_m = own(slots.home_s), own(slots.home_m)
        # Row `size` is the way from the start.
        self.go_s = _ways(slots.link_s, slots.out_s, pick)
        self.go_m = _ways(slots.link_m, slots.out_m, pick)
        self.clean_s = _ways(slots.clean_s, (0,) * len(slots.trips), pick)
        hauls = len(slots.capacity)
        self.serves = np.array(
            [
                [haul in slots.tasks[task].hauls for haul in range(hauls)]
                for task in pick
            ],
            dtype=np.int16,
        ).reshape(self.size, hauls)
        self.runs = bool((self.serves.sum(axis=1) > 1).any())
        # A haul is split once more than it must be, in one shift.
        self.useful = np.array(
            [n + (n > 0) for n in slots.trips[:hauls]], dtype=np.int16
        )
        deepest = max((len(slots.steps[task]) for task in pick), default=0)
        self.stages = [_stage(slots, pick, number) for number in range(deepest)]

    def start(self, worth: float) -> Batch:
        """The truck where it stands in the morning."""
        one = np.zeros(1, dtype=np.int64)
        return Batch(
            early=one,
            late=one + self.slots.latest,
            length=one,
            metres=one,
            wheel=one,
            work=one,
            driven=one,
            worth=np.array([worth]),
            last=one + self.size,
            made=np.zeros((1, self.size), dtype=np.int16),
            parent=one,
        )

    def grown(self, batch: Batch, growth: Growth) -> Batch:
        """Every way to add one task, at most `growth.most` of each."""
        allowed = batch.made < growth.most
        if growth.counted and self.runs:
            full = batch.made @ self.serves >= self.useful
            allowed &= ~(full @ self.serves.T > 0)
        rows, tasks = np.nonzero(allowed)
        # What was made before is looked up again for those that are left in the end.
        bare = replace(batch, made=np.zeros((len(batch), 0), np.int16)).take(rows)
        metres = self.go_m[bare.last, tasks]
        drive, clean = self.go_s[bare.last, tasks], self.clean_s[bare.last, tasks]
        first = replace(
            bare,
            worth=bare.worth + growth.gain[tasks] - metres * growth.per_m,
            metres=bare.metres + metres + self.ride_m[tasks],
            last=tasks,
            parent=rows,
        )
        grown = self._relevant(self._visited(first, drive, clean))
        whole = grown.length + self.homeward_s(grown)
        grown = grown.take(
            (grown.early + whole <= self.slots.latest)
            & (whole <= self.slots.truck.max_shift_s)
        )
        made = batch.made[grown.parent]
        made[np.arange(len(made)), grown.last] += 1
        return replace(grown, made=made)

    def _relevant(self, batch: Batch) -> Batch:
        """Counts of driving and work that can bind nothing any more are taken for none, so
        that labels compare by what matters."""
        if self.rule is None:
            return batch
        slots = self.slots
        left = np.minimum(
            slots.truck.max_shift_s - batch.length,
            slots.latest - batch.early - batch.length,
        )
        wheel_most, work_most, day_most = limits(self.rule)
        return replace(
            batch,
            wheel=np.where(batch.wheel + left <= wheel_most, 0, batch.wheel),
            work=np.where(batch.work + left <= work_most, 0, batch.work),
            driven=np.where(batch.driven + left <= day_most, 0, batch.driven),
        )

    def _visited(self, batch: Batch, drive: Ints, clean: Ints) -> Batch:
        """The batch after all visits of its last task."""
        for number, stage in enumerate(self.stages):
            there = stage.there[batch.last]
            going = batch.take(there)
            if number:
                drive, clean = stage.drive_s[going.last], np.zeros_like(going.last)
            parts = [
                done
                for arrived in self._arrived(going, drive, clean, stage)
                for done in _visits(arrived, stage, counted=self.rule is not None)
            ]
            if not there.all():
                parts.append(batch.take(~there))
            batch = _joined(parts) if parts else going.take(going.last < 0)
        return batch

    def _arrived(
        self, batch: Batch, drive: Ints, clean: Ints, stage: Stage
    ) -> Iterator[Batch]:
        """On arrival at a visit, with or without a rest: see `SlotClass.extended`."""
        longer = replace(batch, length=batch.length + clean + drive)
        if self.rule is None:
            yield longer
            return
        wheel_most, work_most, day_most = limits(self.rule)
        service = stage.service_s[batch.last]
        driven = batch.driven + drive
        wheel, work = batch.wheel + drive, batch.work + clean + drive
        able = driven <= day_most
        on = (wheel <= wheel_most) & (work <= work_most)
        longer = replace(longer, driven=driven, wheel=wheel, work=work)
        yield longer.take(able & on & (work + service <= work_most))
        left = self.slots.truck.max_shift_s - longer.length
        needed = (wheel + left > wheel_most) | (work + left > work_most)
        none = np.zeros_like(wheel)
        rested = replace(longer, length=longer.length + self.rule.rest_s)
        yield replace(rested, wheel=none, work=none).take(able & on & needed)
        work = drive + clean * (batch.work + clean > work_most)
        before = able & ~on & (drive <= wheel_most)
        yield replace(rested, wheel=drive, work=work).take(
            before & (work + service <= work_most)
        )
        twice = replace(rested, length=rested.length + self.rule.rest_s)
        yield replace(twice, wheel=none, work=none).take(before & (work <= work_most))

    def homeward_s(self, batch: Batch) -> Ints:
        """The drive to the end of the shift, with the rest that it takes."""
        home = self.home_s[batch.last]
        if self.rule is None:
            return home
        wheel_most, work_most, day_most = limits(self.rule)
        barred = batch.driven + home > day_most
        barred |= home > min(wheel_most, work_most)
        late = (batch.wheel + home > wheel_most) | (batch.work + home > work_most)
        return np.where(barred, NO_WAY, home + self.rule.rest_s * late)


def _ways(
    link: Sequence[Sequence[int]], out: Sequence[int], pick: Sequence[int]
) -> Ints:
    rows = [[link[g][h] for h in pick] for g in pick] + [[out[h] for h in pick]]
    return np.array(rows, dtype=np.int64).reshape(len(pick) + 1, len(pick))


def _visits(batch: Batch, stage: Stage, *, counted: bool) -> Iterator[Batch]:
    """The batch after a visit in each window; `batch.length` is up to the arrival."""
    service = stage.service_s
    if counted:
        batch = replace(batch, work=batch.work + service[batch.last])
    for opens, last_begin in stage.windows:
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
