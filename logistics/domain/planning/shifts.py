"""Timing and pricing a shift: which sequences of tasks a truck can drive in one day.

A partial shift is a *label* (early, late, length): leaving at any moment from `early` to
`late` it is done `length` seconds later. That is the whole truth about a sequence of
visits with windows: leaving earlier than `early` only adds waiting, leaving after `late`
misses a window. Windows of one visit are tried one by one, so that a lunch break is exact
too. Rests are taken at places: on arrival, where waiting for a gate is rest as well, or
before leaving, where the way would be too long without.

Moments count from the earliest leaving of the slot. A slot of another day whose hauls are
open at the same times of day is thereby the same slot, and is searched once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from logistics.domain.planning.hire import shift_cost
from logistics.domain.planning.problem import Window
from logistics.domain.planning.tasks import Task
from logistics.domain.trucks import RestRule, Truck

NO_WAY = 1 << 40
"""Seconds of a way that does not exist: no shift is as long."""


class Label(NamedTuple):
    """Leave within [early, late], be done `length` seconds later; `metres` driven.

    `wheel` is the driving since the last rest, `work` driving and all other work since
    then, `driven` the driving of the day; they stay 0 where no rule asks. `rests` are the
    legs, counted from 0, with a rest; a leg with one before it and one on arrival is named
    twice.
    """

    early: int
    late: int
    length: int
    metres: int
    wheel: int = 0
    work: int = 0
    driven: int = 0
    rests: tuple[int, ...] = ()
    legs: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """A visit within a task: the drive from the visit before it (0 for the first one), the
    work there, and when it is open."""

    drive_s: int
    drive_m: int
    service_s: int
    windows: tuple[Window, ...]


@dataclass(frozen=True)
class SlotClass:
    """Slots that are alike in everything but name and day, seen from the tasks.

    `latest` and the windows count from the earliest leaving of each slot; `days` are the
    slots' days. Lists are indexed by task, `capacity` and `mass_rates` by haul;
    `link_s[g][h]` is the drive from the last drop of g to the first pickup of h, `clean_s`
    the cleaning between them. `trips[t]` is how often a shift of this class may do the task
    at most, 0 if the truck may not do it; of a haul alone that is how many trips carry the
    whole of it. `fee[t]` is what each time costs beside driving and mass. `through_s` is the
    way of a truck that only goes to where it must be in the evening. Classes of one `kind`
    differ in their days alone.
    """

    slots: tuple[int, ...]
    days: tuple[str, ...]
    truck: Truck
    start_place: int
    end_place: int
    latest: int
    tasks: tuple[Task, ...]
    capacity: tuple[int, ...]
    mass_rates: tuple[tuple[float, float, int], ...]
    trips: tuple[int, ...]
    fee: tuple[int, ...]
    out_s: tuple[int, ...]
    out_m: tuple[int, ...]
    home_s: tuple[int, ...]
    home_m: tuple[int, ...]
    link_s: tuple[tuple[int, ...], ...]
    link_m: tuple[tuple[int, ...], ...]
    clean_s: tuple[tuple[int, ...], ...]
    steps: tuple[tuple[Step, ...], ...]
    ride_s: tuple[int, ...]
    ride_m: tuple[int, ...]
    work_s: tuple[int, ...]
    through_s: int
    through_m: int
    kind: int

    def start(self) -> Label:
        """The empty shift where the truck stands in the morning."""
        return Label(0, self.latest, 0, 0)

    def extended(self, label: Label, last: int | None, task: int) -> Iterator[Label]:
        """All ways to add a task after `last` (None: from the start)."""
        if last is None:
            clean, drive, metres = 0, self.out_s[task], self.out_m[task]
        else:
            clean = self.clean_s[last][task]
            drive, metres = self.link_s[last][task], self.link_m[last][task]
        labels = [label._replace(metres=label.metres + metres + self.ride_m[task])]
        for step in self.steps[task]:
            labels = [
                done
                for own in labels
                for arrived in self._driven(own, clean, drive + step.drive_s, step)
                for done in _visit(arrived, step, counted=self.truck.rest is not None)
            ]
            clean = drive = 0
        for own in labels:
            if self.can_return(own, task):
                yield own

    def _driven(
        self, label: Label, clean_s: int, drive_s: int, step: Step
    ) -> Iterator[Label]:
        """On arrival at a visit, with or without a rest on the way."""
        rule = self.truck.rest
        longer = label._replace(
            length=label.length + clean_s + drive_s, legs=label.legs + 1
        )
        if rule is None:
            yield longer
            return
        longer = longer._replace(driven=label.driven + drive_s)
        wheel_most, work_most, day_most = limits(rule)
        wheel, work = label.wheel + drive_s, label.work + clean_s + drive_s
        rested = longer._replace(
            length=longer.length + rule.rest_s, rests=(*label.rests, label.legs)
        )
        if longer.driven > day_most:
            return
        if wheel <= wheel_most and work <= work_most:
            if work + step.service_s <= work_most:
                yield longer._replace(wheel=wheel, work=work)
            left = self.truck.max_shift_s - longer.length
            if wheel + left > wheel_most or work + left > work_most:
                yield rested._replace(wheel=0, work=0)
        else:
            work = drive_s + clean_s * (label.work + clean_s > work_most)
            if drive_s > wheel_most or work > work_most:
                return
            if work + step.service_s <= work_most:
                yield rested._replace(wheel=drive_s, work=work)
            yield rested._replace(
                length=rested.length + rule.rest_s,
                wheel=0,
                work=0,
                rests=(*rested.rests, label.legs),
            )

    def can_return(self, label: Label, last: int) -> bool:
        """Whether the truck is where it must be in time and within its longest shift."""
        whole = label.length + self.homeward_s(label, last)
        return label.early + whole <= self.latest and whole <= self.truck.max_shift_s

    def homeward_s(self, label: Label, last: int) -> int:
        """The drive to the end of the shift, with the rest that it takes."""
        home = self.home_s[last]
        rule = self.truck.rest
        if rule is None:
            return home
        wheel_most, work_most, day_most = limits(rule)
        if label.driven + home > day_most or home > min(wheel_most, work_most):
            return NO_WAY
        late = label.wheel + home > wheel_most or label.work + home > work_most
        return home + rule.rest_s * late

    def closed(self, label: Label, last: int) -> Label:
        """The label with the drive home."""
        whole = self.homeward_s(label, last)
        rested = whole > self.home_s[last]
        return label._replace(
            length=label.length + whole,
            metres=label.metres + self.home_m[last],
            rests=(*label.rests, label.legs) if rested else label.rests,
        )

    def driving_cost(self, closed: Label) -> int:
        """Call-out, kilometres and hours of a closed label, in minor units."""
        return shift_cost(self.truck.rates, seconds=closed.length, metres=closed.metres)


def limits(rule: RestRule) -> tuple[int, int, int]:
    """Driving and work without a rest, driving of a day; NO_WAY where nothing is said."""
    return (
        rule.after_driving_s or NO_WAY,
        rule.after_work_s or NO_WAY,
        rule.most_driving_s or NO_WAY,
    )


def _visit(label: Label, step: Step, *, counted: bool) -> Iterator[Label]:
    """The work of a visit in each window; `label.length` is up to the arrival."""
    until, service_s = label.length, step.service_s
    if counted:
        label = label._replace(work=label.work + service_s)
    for opens, closes in step.windows:
        last_begin = closes - service_s
        if last_begin < opens or label.early + until > last_begin:
            continue
        if label.late + until < opens:  # even the latest leaving has to wait
            length = opens - label.late + service_s
            yield label._replace(early=label.late, length=length)
        else:
            yield label._replace(
                early=max(label.early, opens - until),
                late=min(label.late, last_begin - until),
                length=until + service_s,
            )


def in_both(one: Iterable[Window], other: Iterable[Window]) -> tuple[Window, ...]:
    """The moments that lie in a window of each."""
    found = {
        (max(a, c), min(b, d))
        for a, b in one
        for c, d in other
        if max(a, c) <= min(b, d)
    }
    return tuple(sorted(found))
