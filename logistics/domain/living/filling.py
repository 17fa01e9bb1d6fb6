"""Loads put where there is room beside loads that stay put: bodies, then hours."""

from __future__ import annotations

from collections.abc import Sequence

from logistics.domain.living.blocks import companions, load_of, open_for
from logistics.domain.living.standing import Standing
from logistics.domain.living.surgery import cost_of, inserted, reweighed
from logistics.domain.planning.result import Shift, StopKind, Trip


def fill(
    own: Standing,
    shifts: Sequence[Shift],
    waiting: Sequence[int],
    now: int,
) -> tuple[list[Shift], list[int]]:
    """The shifts with more in them, and the kg of each haul that still wait.

    First what fits bodies that are not full, then whole loads in hours that are free, each
    where a kilogram costs least.
    """
    found, left = list(shifts), list(waiting)
    for haul in range(len(left)):
        for at, shift in enumerate(found):
            if left[haul] > 0:
                found[at], left[haul] = _topped_up(own, shift, haul, left[haul], now)
        while left[haul] > 0:
            best = _cheapest(own, found, haul, left[haul], now)
            if best is None:
                break
            at, shift, kg = best
            found[at] = shift
            left[haul] -= kg
    return found, left


def _topped_up(
    own: Standing, shift: Shift, haul: int, kg: int, now: int
) -> tuple[Shift, int]:
    slot = own.world.slots[shift.slot]
    truck = own.world.trucks[slot.truck]
    capacity = own.world.capacity(truck, own.world.hauls[haul]).kg
    more: dict[int, int] = {}
    for number, trip in enumerate(shift.trips):
        alone = len(companions(shift, [number])) == 1
        room = min(capacity - trip.load.mass_kg, kg)
        if trip.load.haul == haul and trip.pickup.begin >= now and alone and room > 0:
            more[number] = trip.load.mass_kg + room
            kg -= room
    if not more:
        return shift, kg
    heavier = reweighed(own.checked, shift, more)
    back = sum(more[n] - shift.trips[n].load.mass_kg for n in more)
    return (heavier, kg) if heavier else (shift, kg + back)


def _cheapest(
    own: Standing,
    shifts: Sequence[Shift],
    haul: int,
    kg: int,
    now: int,
) -> tuple[int, Shift, int] | None:
    """Where one load more costs least for what it carries."""
    options = []
    for at, shift in enumerate(shifts):
        slot = own.world.slots[shift.slot]
        truck = own.world.trucks[slot.truck]
        asked = own.world.hauls[haul]
        if slot.truck in own.roaming or own.world.barrier(truck, asked):
            continue
        size = min(own.world.capacity(truck, asked).kg, kg)
        size = size // asked.unit_kg * asked.unit_kg
        if size <= 0:
            continue
        load = load_of(own.world, truck, haul, size)
        ready = max(now, own.ready.get(shift.slot, now))
        longer = inserted(own.checked, shift, load, ready)
        if longer and _allowed(own, longer, shift):
            extra = (cost_of(longer) - cost_of(shift)) / size
            options.append((extra, at, longer, size))
    if not options:
        return None
    _, at, longer, size = min(options, key=lambda option: option[:2])
    return at, longer, size


def _allowed(own: Standing, longer: Shift, shift: Shift) -> bool:
    """New loads keep the hours that places have now, which facts need not."""
    slot = own.world.slots[longer.slot]
    truck = own.world.trucks[slot.truck]
    told = {(trip.load.haul, trip.pickup.begin) for trip in shift.trips}

    def fits(trip: Trip) -> bool:
        haul = own.world.hauls[trip.load.haul]
        return all(
            any(
                a <= stop.begin and stop.end <= b
                for a, b in open_for(haul, truck, kind)
            )
            for stop, kind in (
                (trip.pickup, StopKind.LOAD),
                (trip.drop, StopKind.TIP),
            )
        )

    return all(
        fits(trip)
        for trip in longer.trips
        if (trip.load.haul, trip.pickup.begin) not in told
    )
