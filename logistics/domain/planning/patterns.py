"""Shift patterns: what one truck could do in one day, with its least paid time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.planning.shifts import Label, SlotClass


@dataclass(frozen=True, slots=True)
class Pattern:
    """A shift that a class of slots could drive.

    `early` and `late` bound the moment of leaving; `cost` is the whole cost of the shift
    in minor units, fees included.
    """

    group: int
    hauls: tuple[int, ...]
    early: int
    late: int
    length: int
    metres: int
    cost: int


def make_pattern(
    group: int, slots: SlotClass, hauls: tuple[int, ...], label: Label
) -> Pattern:
    """Close a label into a priced pattern."""
    closed = slots.closed(label, hauls[-1])
    fees = sum(slots.fee[haul] for haul in hauls)
    return Pattern(
        group=group,
        hauls=hauls,
        early=closed.early,
        late=closed.late,
        length=closed.length,
        metres=closed.metres,
        cost=slots.driving_cost(closed) + fees,
    )


def pattern_of(group: int, slots: SlotClass, hauls: Sequence[int]) -> Pattern | None:
    """The cheapest timing of a given sequence of trips, or None if it cannot be driven."""
    labels = [slots.start()]
    last: int | None = None
    for haul in hauls:
        if not slots.trips[haul]:
            return None
        labels = [
            after for label in labels for after in slots.extended(label, last, haul)
        ]
        last = haul
    patterns = [make_pattern(group, slots, tuple(hauls), label) for label in labels]
    return min(patterns, key=lambda pattern: pattern.cost, default=None)


def _beats(one: Label, other: Label) -> bool:
    return (
        one.length <= other.length
        and one.early + one.length <= other.early + other.length
        and one.late >= other.late
        and one.metres <= other.metres
    )


_Level = dict[tuple[tuple[int, ...], int], list[tuple[Label, tuple[int, ...]]]]


def _reach(level: _Level, label: Label, hauls: tuple[int, ...]) -> None:
    held = level.setdefault((tuple(sorted(hauls)), hauls[-1]), [])
    if any(_beats(other, label) for other, _ in held):
        return
    held[:] = [pair for pair in held if not _beats(label, pair[0])]
    held.append((label, hauls))


def all_patterns(group: int, slots: SlotClass, *, limit: int) -> list[Pattern] | None:
    """Every pattern of the class that can be part of an optimal plan.

    Of patterns with the same trips only those with the least cost are kept. None when
    more than `limit` partial shifts would have to be looked at.
    """
    best: dict[tuple[int, ...], Pattern] = {}
    useful = [haul for haul, trips in enumerate(slots.trips) if trips]
    level: _Level = {}
    for haul in useful:
        for label in slots.extended(slots.start(), None, haul):
            _reach(level, label, (haul,))
    seen = len(level)
    while level:
        after: _Level = {}
        for (trips, last), held in level.items():
            if seen + len(after) > limit:
                return None
            for label, hauls in held:
                pattern = make_pattern(group, slots, hauls, label)
                if trips not in best or pattern.cost < best[trips].cost:
                    best[trips] = pattern
                for haul in useful:
                    if trips.count(haul) < slots.trips[haul]:
                        for longer in slots.extended(label, last, haul):
                            _reach(after, longer, (*hauls, haul))
        level = after
        seen += len(level)
    return list(best.values())
