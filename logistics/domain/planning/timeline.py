"""From chosen patterns to shifts with clock times, loads and cost lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.loads import cut_into_loads
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.planning.result import (
    CostLine,
    LineKind,
    Load,
    Shift,
    Stop,
    StopKind,
    Trip,
)
from logistics.domain.planning.shifts import SlotClass, distance_cost, time_cost
from logistics.domain.trucks import Truck

Chosen = list[tuple[int, Pattern]]
"""Slots with the pattern that each of them drives."""


def share_loads(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    chosen: Chosen,
    left: Sequence[int],
    *,
    use_all: bool = False,
) -> list[list[int]]:
    """The kg of each trip of each chosen shift, filled in the order of loading days."""
    masses = [[0] * len(pattern.hauls) for _, pattern in chosen]
    order = sorted(
        range(len(chosen)),
        key=lambda at: (
            problem.slots[chosen[at][0]].earliest + chosen[at][1].early,
            chosen[at][0],
        ),
    )
    for index, haul in enumerate(problem.hauls):
        trips = [
            (at, position)
            for at in order
            for position, own in enumerate(chosen[at][1].hauls)
            if own == index
        ]
        if not trips:
            continue
        sizes = [groups[chosen[at][1].group].capacity[index] for at, _ in trips]
        loads = cut_into_loads(
            haul.mass_kg - left[index],
            sizes,
            unit_kg=haul.unit_kg,
            terms=haul.part_load,
            use_all=use_all,
        )
        for (at, position), kg in zip(trips, loads, strict=True):
            masses[at][position] = kg
    return masses


def without_empty_trips(
    groups: Sequence[SlotClass], chosen: Chosen, masses: list[list[int]]
) -> tuple[Chosen, list[list[int]]] | None:
    """Drop trips that nothing was left for, and shifts that have no trip any more.

    None where a shift would be dearer for it: some tables have a shorter way with a stop.
    """
    kept: Chosen = []
    loads: list[list[int]] = []
    for (slot, pattern), row in zip(chosen, masses, strict=True):
        hauls = [haul for haul, kg in zip(pattern.hauls, row, strict=True) if kg]
        if not hauls:
            continue
        shorter = pattern
        if len(hauls) < len(pattern.hauls):
            found = pattern_of(pattern.group, groups[pattern.group], hauls)
            if not found or found.cost > pattern.cost:
                return None
            shorter = found
        kept.append((slot, shorter))
        loads.append([kg for kg in row if kg])
    return kept, loads


def build_shift(
    problem: PlanProblem, slot: int, pattern: Pattern, masses: Sequence[int]
) -> Shift:
    """Drive the pattern from its earliest leaving, each visit as soon as a window allows."""
    truck = problem.trucks[problem.slots[slot].truck]
    now, here = problem.slots[slot].earliest + pattern.early, truck.base
    leave = Stop(StopKind.LEAVE, here, now, now, now, 0, 0)
    trips = []
    for number, (index, kg) in enumerate(zip(pattern.hauls, masses, strict=True)):
        haul = problem.hauls[index]
        pickup = _stop(problem, haul, StopKind.LOAD, here, now)
        drop = _stop(problem, haul, StopKind.TIP, haul.origin, pickup.end)
        pickup, drop = replace(pickup, trip=number), replace(drop, trip=number)
        trips.append(Trip(_load(problem, truck, index, kg), pickup, drop))
        now, here = drop.end, haul.destination
    seconds = int(problem.distances.seconds[here, truck.base])
    home = now + seconds
    back = Stop(
        StopKind.RETURN,
        truck.base,
        home,
        home,
        home,
        int(problem.distances.metres[here, truck.base]),
        seconds,
    )
    middle = [stop for trip in trips for stop in (trip.pickup, trip.drop)]
    bare = Shift(slot, (leave, *middle, back), tuple(trips), ())
    return replace(bare, costs=shift_costs(problem, bare))


def _load(problem: PlanProblem, truck: Truck, index: int, kg: int) -> Load:
    haul = problem.hauls[index]
    capacity = problem.capacity(truck, haul)
    full = kg > capacity.kg - haul.unit_kg
    return Load(
        haul=index,
        mass_kg=kg,
        loose_m3=kg / haul.loose_kg_per_m3,
        bound=capacity.bound if full else None,
    )


def _stop(
    problem: PlanProblem, haul: Haul, kind: StopKind, start: int, now: int
) -> Stop:
    end, service_s, windows = (
        (haul.origin, haul.load_s, haul.pickup_windows)
        if kind is StopKind.LOAD
        else (haul.destination, haul.unload_s, haul.drop_windows)
    )
    seconds = int(problem.distances.seconds[start, end])
    arrive = now + seconds
    begin = next(
        max(arrive, opens)
        for opens, closes in windows
        if max(arrive, opens) + service_s <= closes
    )
    return Stop(
        kind,
        end,
        arrive,
        begin,
        begin + service_s,
        int(problem.distances.metres[start, end]),
        seconds,
    )


def shift_costs(problem: PlanProblem, shift: Shift) -> tuple[CostLine, ...]:
    """The bill of one shift; each line carries its formula."""
    truck = problem.trucks[problem.slots[shift.slot].truck]
    rates = truck.rates
    hours = shift.duration_s / 3600
    lines = [
        CostLine(LineKind.CALL_OUT, truck.name, rates.call_out, "once a shift"),
        CostLine(
            LineKind.DRIVING_DISTANCE,
            truck.name,
            distance_cost(rates.per_km, shift.metres),
            f"{shift.metres / 1000:.3f} km x {rates.per_km}",
        ),
        CostLine(
            LineKind.DRIVING_TIME,
            truck.name,
            time_cost(rates.per_hour, shift.duration_s),
            f"{hours:.4f} h x {rates.per_hour}",
        ),
    ]
    for trip in shift.trips:
        lines += _load_costs(problem.hauls[trip.load.haul], trip.load)
    return tuple(line for line in lines if line.amount)


def _load_costs(haul: Haul, load: Load) -> list[CostLine]:
    lines = [CostLine(LineKind.LOADING, haul.key, haul.loading_fee, "for one load")]
    due = haul.part_load.due(load.mass_kg)
    if due:
        formula = f"load of {load.mass_kg} kg is under {haul.part_load.below_kg} kg"
        lines.append(CostLine(LineKind.PART_LOAD, haul.key, due, formula))
    return lines
