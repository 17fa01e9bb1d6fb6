"""Timing and pricing a shift: which sequences of trips a truck can drive in one day.

A partial shift is a *label* (early, late, length): leaving the base at any moment from
`early` to `late` it is done `length` seconds later. That is the whole truth about a
sequence of visits with windows: leaving earlier than `early` only adds waiting, leaving
after `late` misses a window. Windows of one visit are tried one by one, so that a lunch
break is exact too.

Moments count from the earliest leaving of the slot. A slot of another day whose hauls are
open at the same times of day is thereby the same slot, and is searched once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from logistics.domain.planning.problem import PlanProblem, Slot, Window
from logistics.domain.quantities import round_half_up
from logistics.domain.trucks import Truck

NO_WAY = 1 << 40
"""Seconds of a way that does not exist: no shift is as long."""


class Label(NamedTuple):
    """Leave within [early, late], be done `length` seconds later; `metres` driven."""

    early: int
    late: int
    length: int
    metres: int


@dataclass(frozen=True)
class SlotClass:
    """Slots that are alike in everything but name and day, seen from the hauls.

    `latest` and the windows count from the earliest leaving of each slot. Lists are indexed by haul; `link_s[g][h]` is the drive from the drop of g to the pickup
    of h. `trips[h]` is how many trips of this class would carry the whole haul, 0 if the
    truck may not carry it. `fee[h]` is what each trip costs beside driving.
    """

    slots: tuple[int, ...]
    truck: Truck
    latest: int
    capacity: tuple[int, ...]
    trips: tuple[int, ...]
    fee: tuple[int, ...]
    out_s: tuple[int, ...]
    out_m: tuple[int, ...]
    ride_s: tuple[int, ...]
    ride_m: tuple[int, ...]
    home_s: tuple[int, ...]
    home_m: tuple[int, ...]
    link_s: tuple[tuple[int, ...], ...]
    link_m: tuple[tuple[int, ...], ...]
    load_s: tuple[int, ...]
    unload_s: tuple[int, ...]
    pickup: tuple[tuple[Window, ...], ...]
    drop: tuple[tuple[Window, ...], ...]

    def start(self) -> Label:
        """The empty shift at the base."""
        return Label(0, self.latest, 0, 0)

    def extended(self, label: Label, last: int | None, haul: int) -> Iterator[Label]:
        """All ways to add a trip of `haul` after one of `last` (None: from the base)."""
        if last is None:
            drive_s, drive_m = self.out_s[haul], self.out_m[haul]
        else:
            drive_s, drive_m = self.link_s[last][haul], self.link_m[last][haul]
        metres = label.metres + drive_m + self.ride_m[haul]
        for loaded in _visit(label, drive_s, self.load_s[haul], self.pickup[haul]):
            for tipped in _visit(
                loaded, self.ride_s[haul], self.unload_s[haul], self.drop[haul]
            ):
                if self.can_return(tipped, haul):
                    yield tipped._replace(metres=metres)

    def can_return(self, label: Label, last: int) -> bool:
        """Whether the truck is home in time and within its longest shift."""
        whole = label.length + self.home_s[last]
        return label.early + whole <= self.latest and whole <= self.truck.max_shift_s

    def closed(self, label: Label, last: int) -> Label:
        """The label with the drive home."""
        return label._replace(
            length=label.length + self.home_s[last],
            metres=label.metres + self.home_m[last],
        )

    def driving_cost(self, closed: Label) -> int:
        """Call-out, kilometres and hours of a closed label, in minor units."""
        rates = self.truck.rates
        return (
            rates.call_out
            + distance_cost(rates.per_km, closed.metres)
            + time_cost(rates.per_hour, closed.length)
        )


def distance_cost(per_km: int, metres: int) -> int:
    """Price of a distance, rounded to the minor unit, halves up."""
    return round_half_up(per_km * metres / 1000)


def time_cost(per_hour: int, seconds: int) -> int:
    """Price of a time, rounded to the minor unit, halves up."""
    return round_half_up(per_hour * seconds / 3600)


def _visit(
    label: Label, drive_s: int, service_s: int, windows: Iterable[Window]
) -> Iterator[Label]:
    until = label.length + drive_s
    for opens, closes in windows:
        last_begin = closes - service_s
        if last_begin < opens or label.early + until > last_begin:
            continue
        if label.late + until < opens:  # even the latest leaving has to wait
            length = opens - label.late + service_s
            yield Label(label.late, label.late, length, label.metres)
        else:
            yield Label(
                max(label.early, opens - until),
                min(label.late, last_begin - until),
                until + service_s,
                label.metres,
            )


def _inside(windows: tuple[Window, ...], slot: Slot) -> tuple[Window, ...]:
    clipped = (
        (max(opens, slot.earliest), min(closes, slot.latest))
        for opens, closes in windows
    )
    return tuple(
        (opens - slot.earliest, closes - slot.earliest)
        for opens, closes in clipped
        if opens <= closes
    )


def slot_class(problem: PlanProblem, slots: tuple[int, ...]) -> SlotClass:
    """The view of the problem from slots that are alike."""
    slot = problem.slots[slots[0]]
    truck = problem.trucks[slot.truck]
    hauls = problem.hauls
    way = problem.distances.reachable
    # The figures of a pair without a way must not be used, whatever they are.
    seconds = np.where(way, problem.distances.seconds, NO_WAY).tolist()
    metres = np.where(way, problem.distances.metres, 0).tolist()
    sizes = tuple(
        0 if problem.barrier(truck, haul) else problem.capacity(truck, haul).kg
        for haul in hauls
    )
    ends = [(haul.origin, haul.destination) for haul in hauls]
    return SlotClass(
        slots=slots,
        truck=truck,
        latest=slot.latest - slot.earliest,
        capacity=sizes,
        trips=tuple(
            -(-haul.mass_kg // most) if most else 0
            for haul, most in zip(hauls, sizes, strict=True)
        ),
        fee=tuple(
            haul.loading_fee + haul.part_load.due(most)
            for haul, most in zip(hauls, sizes, strict=True)
        ),
        out_s=tuple(seconds[truck.base][origin] for origin, _ in ends),
        out_m=tuple(metres[truck.base][origin] for origin, _ in ends),
        ride_s=tuple(seconds[origin][drop] for origin, drop in ends),
        ride_m=tuple(metres[origin][drop] for origin, drop in ends),
        home_s=tuple(seconds[drop][truck.base] for _, drop in ends),
        home_m=tuple(metres[drop][truck.base] for _, drop in ends),
        link_s=tuple(tuple(seconds[d][o] for o, _ in ends) for _, d in ends),
        link_m=tuple(tuple(metres[d][o] for o, _ in ends) for _, d in ends),
        load_s=tuple(haul.load_s for haul in hauls),
        unload_s=tuple(haul.unload_s for haul in hauls),
        pickup=tuple(_inside(haul.pickup_windows, slot) for haul in hauls),
        drop=tuple(_inside(haul.drop_windows, slot) for haul in hauls),
    )


def slot_classes(problem: PlanProblem) -> tuple[SlotClass, ...]:
    """Group the slots that cannot be told apart, so that no search tries both.

    Two days are the same day to a truck if every haul is open at the same times of day.
    """
    groups: dict[object, list[int]] = {}
    order = sorted(
        range(len(problem.slots)), key=lambda at: (problem.slots[at].earliest, at)
    )
    for index in order:
        slot = problem.slots[index]
        truck = problem.trucks[slot.truck]
        alike = (
            slot.latest - slot.earliest,
            tuple(_inside(haul.pickup_windows, slot) for haul in problem.hauls),
            tuple(_inside(haul.drop_windows, slot) for haul in problem.hauls),
            replace(truck, key="", name=""),
        )
        groups.setdefault(alike, []).append(index)
    return tuple(slot_class(problem, tuple(slots)) for slots in groups.values())
