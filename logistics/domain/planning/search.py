"""Plans by local search (OR-Tools), for problems too large to enumerate.

Each load is one node: the drive to its pickup, loading, the ride and tipping are on the
arc that leads to it. Breaks in opening hours, rests and milk runs are left out, they make
the search slow. Only the order of the trips is taken from the answer; timing and
price are computed again, exactly, by `pattern_of`. The search ends after a number of
solutions, not of seconds, so that the same input gives the same plan.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from ortools.constraint_solver import pywrapcp, routing_enums_pb2
from ortools.constraint_solver.routing_parameters_pb2 import RoutingSearchParameters

from logistics.domain.planning.patterns import pattern_of
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.shifts import NO_WAY, SlotClass

# Costs are multiplied by this so that a price per hour is a whole number per second.
SCALE = 3600
GUIDED_FROM = 12
"""Loads from which a guided search is worth it; among fewer it might find no end."""
FEW_SLOTS = 10
HARD_STOP_S = 120
"""Against a search without an end only: the number of solutions ends it long before."""
Ints = NDArray[np.int64]
Loads = Sequence[tuple[int, int]]
Vehicle = tuple[SlotClass, int]
"""A class of slots and the earliest leaving of one slot in it, from the first of all."""


def cut_loads(
    problem: PlanProblem, groups: Sequence[SlotClass], *, largest: bool
) -> list[tuple[int, int]]:
    """Loads as (haul, kg), cut for the largest or the smallest truck that may carry them."""
    loads = []
    for index, haul in enumerate(problem.hauls):
        sizes = [group.capacity[index] for group in groups if group.trips[index]]
        if not sizes or haul.mass_kg <= 0:
            continue
        size = max(sizes) if largest else min(sizes)
        loads += [(index, size)] * -(-haul.mass_kg // size)
    return loads


def search_sequences(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    loads: Loads,
    *,
    solutions: int,
) -> list[tuple[int, tuple[int, ...]]]:
    """Trips of each shift in order, as (group, hauls); loads without a place are left out."""
    if not loads:
        return []
    origin = min(slot.earliest for slot in problem.slots)
    # Twice the slots that an even spread of the loads would take: more only cost time.
    enough = max(FEW_SLOTS, -(-2 * len(loads) // len(groups)))
    own = [
        (number, slots, problem.slots[slot].earliest - origin)
        for number, slots in enumerate(groups)
        for slot in slots.slots[:enough]
    ]
    vehicles = [(slots, start) for _, slots, start in own]
    manager = pywrapcp.RoutingIndexManager(len(loads) + 1, len(vehicles), 0)
    routing = pywrapcp.RoutingModel(manager)
    _time(routing, manager, vehicles, loads)
    _costs(routing, vehicles, loads)
    _who_may(routing, manager, vehicles, loads)
    # Leaving a load out must cost more than any plan; kept small against int64.
    penalty = 10**15 // len(loads)
    for node in range(1, len(loads) + 1):
        routing.AddDisjunction([manager.NodeToIndex(node)], penalty)
    answer = routing.SolveWithParameters(_parameters(len(loads), solutions))
    if answer is None:
        return []
    return _sequences(routing, manager, answer, [number for number, *_ in own], loads)


def _parameters(loads: int, solutions: int) -> RoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    )
    if loads >= GUIDED_FROM:
        parameters.local_search_metaheuristic = (
            routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        )
        parameters.solution_limit = solutions
        parameters.time_limit.FromSeconds(HARD_STOP_S)
    return parameters


def _arcs(
    loads: Loads,
    ride: Sequence[int],
    out: Sequence[int],
    home: Sequence[int],
    link: Sequence[Sequence[int]] | Ints,
) -> Ints:
    """From node to node, node 0 being the base; the ride of a load is on its way out."""
    hauls = np.array([haul for haul, _ in loads], dtype=np.int64)
    size = len(loads) + 1
    table = np.zeros((size, size), dtype=np.int64)
    table[0, 1:] = np.array(out, dtype=np.int64)[hauls]
    rides = np.array(ride, dtype=np.int64)[hauls]
    table[1:, 0] = rides + np.array(home, dtype=np.int64)[hauls]
    links = np.array(link, dtype=np.int64)
    table[1:, 1:] = rides[:, None] + links[np.ix_(hauls, hauls)]
    np.fill_diagonal(table, 0)
    return np.minimum(table, NO_WAY)


def _time(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    vehicles: Sequence[Vehicle],
    loads: Loads,
) -> None:
    known: dict[int, int] = {}
    for slots, _ in vehicles:
        if id(slots) not in known:
            work = [a + b for a, b in zip(slots.ride_s, slots.work_s, strict=True)]
            between = np.array(slots.link_s) + np.array(slots.clean_s)
            table = _arcs(loads, work, slots.out_s, slots.home_s, between)
            known[id(slots)] = routing.RegisterTransitMatrix(table.tolist())
    horizon = max(start + slots.latest for slots, start in vehicles)
    transits = [known[id(slots)] for slots, _ in vehicles]
    routing.AddDimensionWithVehicleTransits(transits, horizon, horizon, False, "time")
    time = routing.GetDimensionOrDie("time")
    for vehicle, (slots, start) in enumerate(vehicles):
        for index in (routing.Start(vehicle), routing.End(vehicle)):
            time.CumulVar(index).SetRange(start, start + slots.latest)
        time.SetSpanUpperBoundForVehicle(slots.truck.max_shift_s, vehicle)
        time.SetSpanCostCoefficientForVehicle(slots.truck.rates.per_hour, vehicle)
    for node, (haul, _) in enumerate(loads, 1):
        ranges = _loading_ranges(vehicles, haul)
        if ranges:
            first, last = ranges[0][0], max(end for _, end in ranges)
            time.CumulVar(manager.NodeToIndex(node)).SetRange(first, last)


def _loading_ranges(vehicles: Sequence[Vehicle], haul: int) -> list[tuple[int, int]]:
    """Moments at which loading may begin so that tipping needs no wait, as ranges."""
    ranges: set[tuple[int, int]] = set()
    for slots, start in vehicles:
        loading, tipping = slots.steps[haul]
        until_tip = loading.service_s + slots.ride_s[haul]
        for opens, closes in loading.windows:
            for drop_opens, drop_closes in tipping.windows:
                first = max(opens, drop_opens - until_tip)
                last = min(
                    closes - loading.service_s,
                    drop_closes - tipping.service_s - until_tip,
                )
                if first <= last:
                    ranges.add((start + first, start + last))
    return sorted(ranges)


def _costs(
    routing: pywrapcp.RoutingModel, vehicles: Sequence[Vehicle], loads: Loads
) -> None:
    known: dict[int, int] = {}
    for vehicle, (slots, _) in enumerate(vehicles):
        if id(slots) not in known:
            metres = _arcs(loads, slots.ride_m, slots.out_m, slots.home_m, slots.link_m)
            price = metres * slots.truck.rates.per_km * SCALE // 1000
            known[id(slots)] = routing.RegisterTransitMatrix(price.tolist())
        routing.SetArcCostEvaluatorOfVehicle(known[id(slots)], vehicle)
        rates = slots.truck.rates
        hired = rates.per_hour * rates.minimum_hire_s // 3600
        routing.SetFixedCostOfVehicle((rates.call_out + hired) * SCALE, vehicle)


def _who_may(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    vehicles: Sequence[Vehicle],
    loads: Loads,
) -> None:
    for node, (haul, kg) in enumerate(loads, 1):
        may = [
            v
            for v, (slots, _) in enumerate(vehicles)
            if slots.capacity[haul] >= kg and pattern_of(0, slots, (haul,))
        ]
        # -1 is "left out", which every load may be.
        routing.VehicleVar(manager.NodeToIndex(node)).SetValues([-1, *may])


def _sequences(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    answer: pywrapcp.Assignment,
    vehicles: Sequence[int],
    loads: Loads,
) -> list[tuple[int, tuple[int, ...]]]:
    found = []
    for vehicle, group in enumerate(vehicles):
        index, trips = answer.Value(routing.NextVar(routing.Start(vehicle))), []
        while not routing.IsEnd(index):
            trips.append(loads[manager.IndexToNode(index) - 1][0])
            index = answer.Value(routing.NextVar(index))
        if trips:
            found.append((group, tuple(trips)))
    return found
