"""Shift patterns: what one truck could do in one day, with its least paid time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.planning.shifts import Label, SlotClass, limits


@dataclass(frozen=True, slots=True)
class Pattern:
    """A shift that a class of slots could drive.

    `early` and `late` bound the moment of leaving, counted from the earliest leaving of
    the slot; `cost` is the whole cost of the shift in minor units, fees included, but not
    what depends on the mass carried. `rests` are the legs with a rest, as far as
    `pattern_of` made the pattern.
    """

    group: int
    tasks: tuple[int, ...]
    early: int
    late: int
    length: int
    metres: int
    cost: int
    rests: tuple[int, ...] = ()


def make_pattern(
    group: int, slots: SlotClass, tasks: tuple[int, ...], label: Label
) -> Pattern:
    """Close a label into a priced pattern."""
    closed = slots.closed(label, tasks[-1])
    fees = sum(slots.fee[task] for task in tasks)
    return Pattern(
        group=group,
        tasks=tasks,
        early=closed.early,
        late=closed.late,
        length=closed.length,
        metres=closed.metres,
        cost=slots.driving_cost(closed) + fees,
        rests=closed.rests,
    )


def empty_pattern(group: int, slots: SlotClass) -> Pattern | None:
    """The shift without a load, of a truck that ends elsewhere than it began."""
    if slots.start_place == slots.end_place:
        return None
    seconds = slots.through_s
    rule = slots.truck.rest
    most = min(slots.latest, slots.truck.max_shift_s, *(limits(rule) if rule else ()))
    if seconds > most:
        return None
    label = Label(0, slots.latest - seconds, seconds, slots.through_m)
    return Pattern(
        group=group,
        tasks=(),
        early=0,
        late=label.late,
        length=seconds,
        metres=label.metres,
        cost=slots.driving_cost(label),
    )


def pattern_of(group: int, slots: SlotClass, tasks: Sequence[int]) -> Pattern | None:
    """The cheapest timing of a given sequence of tasks, or None if it cannot be driven."""
    labels = [slots.start()]
    last: int | None = None
    for task in tasks:
        if not slots.trips[task]:
            return None
        after: list[Label] = []
        for label in labels:
            for longer in slots.extended(label, last, task):
                _keep(after, longer)
        labels, last = after, task
    patterns = [make_pattern(group, slots, tuple(tasks), label) for label in labels]
    return min(patterns, key=lambda pattern: pattern.cost, default=None)


def _keep(held: list[Label], new: Label) -> None:
    if any(_beats(old, new) for old in held):
        return
    held[:] = [old for old in held if not _beats(new, old)]
    held.append(new)


def _beats(one: Label, other: Label) -> bool:
    """Whether `one` can do all that `other` can, in the same sequence or as cheaply."""
    return (
        one.length <= other.length
        and one.early + one.length <= other.early + other.length
        and one.late >= other.late
        and one.metres <= other.metres
        and one.wheel <= other.wheel
        and one.work <= other.work
        and one.driven <= other.driven
    )
