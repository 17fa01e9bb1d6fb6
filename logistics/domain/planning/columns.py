"""Shift patterns: what one truck could do in one day, enumerated or priced.

A pattern is a sequence of trips with its least paid time. Two searches share the same
extension step:

* `all_patterns` lists every pattern that no other one beats (same hauls, same last haul),
  or gives up when there are too many;
* `best_pattern` finds the pattern with the largest reward less cost. It is the pricing
  problem of column generation, solved as a shortest path with resources; trips are first
  allowed more often than the haul needs, and only the hauls for which that happens are
  counted (decremental state space relaxation, Righini and Salani 2008).
"""

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


@dataclass(slots=True)
class _Node:
    label: Label
    hauls: tuple[int, ...]
    worth: float
    counted: tuple[int, ...]


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
        labels = [after for label in labels for after in slots.extended(label, last, haul)]
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


def all_patterns(group: int, slots: SlotClass, *, limit: int) -> list[Pattern] | None:
    """Every pattern of the class that can be part of an optimal plan.

    Of patterns with the same trips only those with the least cost are kept. None when
    more than `limit` partial shifts would have to be looked at.
    """
    best: dict[tuple[int, ...], Pattern] = {}
    useful = [haul for haul, trips in enumerate(slots.trips) if trips]
    level: dict[tuple[tuple[int, ...], int], list[tuple[Label, tuple[int, ...]]]] = {}
    seen = 0

    def reach(label: Label, hauls: tuple[int, ...], level_: dict) -> None:  # type: ignore[type-arg]
        key = (tuple(sorted(hauls)), hauls[-1])
        held = level_.setdefault(key, [])
        if any(_beats(other, label) for other, _ in held):
            return
        held[:] = [pair for pair in held if not _beats(label, pair[0])]
        held.append((label, hauls))

    for haul in useful:
        for label in slots.extended(slots.start(), None, haul):
            reach(label, (haul,), level)
    while level:
        after: dict[tuple[tuple[int, ...], int], list[tuple[Label, tuple[int, ...]]]] = {}
        for (trips, last), held in level.items():
            seen += len(held)
            if seen > limit:
                return None
            for label, hauls in held:
                pattern = make_pattern(group, slots, hauls, label)
                if trips not in best or pattern.cost < best[trips].cost:
                    best[trips] = pattern
                for haul in useful:
                    if trips.count(haul) < slots.trips[haul]:
                        for longer in slots.extended(label, last, haul):
                            reach(longer, (*hauls, haul), after)
        level = after
    return list(best.values())


def best_pattern(
    group: int, slots: SlotClass, reward: Sequence[float]
) -> tuple[float, list[Pattern]]:
    """The largest reward less cost over all patterns, and patterns that come near it.

    `reward[haul]` is paid for each trip. The figure returned is an upper bound: it is
    taken before rounding to minor units and over a set that holds every pattern. It is
    never below 0 (the truck may stay at home).
    """
    counted: tuple[int, ...] = ()
    while True:
        top, nodes = _search(slots, reward, counted)
        worst = max(
            (node for node in nodes[:1]), key=lambda node: node.worth, default=None
        )
        over = (
            {
                haul
                for haul in set(worst.hauls)
                if worst.hauls.count(haul) > slots.trips[haul]
            }
            if worst
            else set()
        )
        if not over or over <= set(counted):
            break
        counted = tuple(sorted({*counted, *over}))
    found = {}
    for node in nodes:
        if all(node.hauls.count(haul) <= slots.trips[haul] for haul in set(node.hauls)):
            pattern = make_pattern(group, slots, node.hauls, node.label)
            found.setdefault(tuple(sorted(node.hauls)), pattern)
    return max(top, 0.0), list(found.values())


def _search(
    slots: SlotClass, reward: Sequence[float], counted: tuple[int, ...]
) -> tuple[float, list[_Node]]:
    rates = slots.truck.rates
    per_m, per_s = rates.per_km / 1000, rates.per_hour / 3600
    place = {haul: index for index, haul in enumerate(counted)}
    gain = [
        reward[haul] - slots.fee[haul] - slots.ride_m[haul] * per_m
        for haul in range(len(reward))
    ]
    useful = [
        haul for haul, trips in enumerate(slots.trips) if trips and reward[haul] > 0
    ]
    finished: list[_Node] = []
    start = _Node(slots.start(), (), -float(rates.call_out), (0,) * len(counted))
    level = [start]
    while level:
        after: dict[int, list[_Node]] = {}
        for node in level:
            last = node.hauls[-1] if node.hauls else None
            for haul in useful:
                index = place.get(haul)
                tally = node.counted
                if index is not None:
                    if tally[index] >= slots.trips[haul]:
                        continue
                    tally = (*tally[:index], tally[index] + 1, *tally[index + 1 :])
                drive = slots.out_m[haul] if last is None else slots.link_m[last][haul]
                worth = node.worth + gain[haul] - drive * per_m
                for label in slots.extended(node.label, last, haul):
                    _keep(
                        after.setdefault(haul, []),
                        _Node(label, (*node.hauls, haul), worth, tally),
                    )
        level = [node for nodes in after.values() for node in nodes]
        for node in level:
            closed = slots.closed(node.label, node.hauls[-1])
            total = (
                node.worth
                - slots.home_m[node.hauls[-1]] * per_m
                - closed.length * per_s
            )
            if total > 0:
                finished.append(_Node(node.label, node.hauls, total, node.counted))
    finished.sort(key=lambda node: (-node.worth, node.hauls))
    top = finished[0].worth if finished else 0.0
    return top, finished[:40]


def _replaces(one: _Node, other: _Node) -> bool:
    """Whether whatever can follow `other` can follow `one` with at least its profit.

    The time already spent is not set off against the worth: where both have to wait for
    the same gate to open, the shorter one loses its lead.
    """
    return (
        one.worth >= other.worth
        and one.label.length <= other.label.length
        and one.label.early + one.label.length <= other.label.early + other.label.length
        and one.label.late >= other.label.late
        and all(a <= b for a, b in zip(one.counted, other.counted, strict=True))
    )


def _keep(held: list[_Node], new: _Node) -> None:
    """Add a node to those that end with the same haul unless one of them replaces it."""
    if any(_replaces(old, new) for old in held):
        return
    held[:] = [old for old in held if not _replaces(new, old)]
    held.append(new)
