"""A first plan by local search (OR-Tools), for problems too large to enumerate.

Each load is one node: the drive to its pickup, loading, the ride and tipping are on the
arc that leads to it. Only the order of the trips is taken from the answer; timing and
price are computed again, exactly, by `pattern_of`. The search stops after a number of
solutions, not of seconds, so that the same input gives the same plan.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ortools.constraint_solver import pywrapcp, routing_enums_pb2
from ortools.constraint_solver.routing_parameters_pb2 import RoutingSearchParameters

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.shifts import SlotClass

# Costs are multiplied by this so that a price per hour is a whole number per second.
SCALE = 3600
HARD_STOP_S = 60


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
    loads: Sequence[tuple[int, int]],
    *,
    solutions: int,
) -> list[tuple[int, tuple[int, ...]]]:
    """Trips of each shift in order, as (group, hauls); loads without a place are left out."""
    if not loads:
        return []
    vehicles = [group for group, slots in enumerate(groups) for _ in slots.slots]
    manager = pywrapcp.RoutingIndexManager(len(loads) + 1, len(vehicles), 0)
    routing = pywrapcp.RoutingModel(manager)
    origin = min(slots.earliest for slots in groups)
    horizon = max(slots.latest for slots in groups) - origin
    _time(routing, manager, [groups[v] for v in vehicles], loads, origin, horizon)
    _costs(routing, manager, [groups[v] for v in vehicles], loads)
    _who_may(routing, manager, [groups[v] for v in vehicles], loads)
    # Leaving a load out must cost more than any plan; kept small against int64.
    penalty = 10**12 // len(loads)
    for node in range(1, len(loads) + 1):
        routing.AddDisjunction([manager.NodeToIndex(node)], penalty)
    answer = routing.SolveWithParameters(_parameters(solutions))
    if answer is None:
        return []
    return _sequences(routing, manager, answer, vehicles, loads)


def _parameters(solutions: int) -> RoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    )
    parameters.local_search_metaheuristic = (
        routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    )
    parameters.solution_limit = solutions
    parameters.time_limit.FromSeconds(HARD_STOP_S)
    return parameters


Arc = Callable[[int, int], int]


def _arc(
    manager: pywrapcp.RoutingIndexManager,
    loads: Sequence[tuple[int, int]],
    empty: Callable[[int | None, int | None], int],
    ride: Callable[[int], int],
) -> Arc:
    def between(start: int, end: int) -> int:
        before, after = manager.IndexToNode(start), manager.IndexToNode(end)
        last = loads[before - 1][0] if before else None
        following = loads[after - 1][0] if after else None
        return (ride(last) if last is not None else 0) + empty(last, following)

    return between


def _time(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    vehicles: Sequence[SlotClass],
    loads: Sequence[tuple[int, int]],
    origin: int,
    horizon: int,
) -> None:
    callbacks: dict[int, int] = {}
    transits = []
    for slots in vehicles:
        if id(slots) not in callbacks:
            work = [
                slots.load_s[h] + slots.ride_s[h] + slots.unload_s[h]
                for h in range(len(slots.trips))
            ]
            arc = _arc(
                manager,
                loads,
                _drive(slots.out_s, slots.home_s, slots.link_s),
                work.__getitem__,
            )
            callbacks[id(slots)] = routing.RegisterTransitCallback(arc)
        transits.append(callbacks[id(slots)])
    routing.AddDimensionWithVehicleTransits(transits, horizon, horizon, False, "time")
    time = routing.GetDimensionOrDie("time")
    for vehicle, slots in enumerate(vehicles):
        for index in (routing.Start(vehicle), routing.End(vehicle)):
            time.CumulVar(index).SetRange(
                slots.earliest - origin, slots.latest - origin
            )
        time.SetSpanUpperBoundForVehicle(slots.truck.max_shift_s, vehicle)
        time.SetSpanCostCoefficientForVehicle(slots.truck.rates.per_hour, vehicle)
    for node, (haul, _) in enumerate(loads, 1):
        ranges = _loading_ranges(vehicles, haul)
        _open(time.CumulVar(manager.NodeToIndex(node)), ranges, origin)


def _loading_ranges(vehicles: Sequence[SlotClass], haul: int) -> list[tuple[int, int]]:
    """Moments at which loading may begin so that tipping needs no wait, as ranges."""
    ranges: set[tuple[int, int]] = set()
    for slots in vehicles:
        until_tip = slots.load_s[haul] + slots.ride_s[haul]
        for opens, closes in slots.pickup[haul]:
            for drop_opens, drop_closes in slots.drop[haul]:
                first = max(opens, drop_opens - until_tip)
                last = min(
                    closes - slots.load_s[haul],
                    drop_closes - slots.unload_s[haul] - until_tip,
                )
                if first <= last:
                    ranges.add((first, last))
    merged: list[tuple[int, int]] = []
    for first, last in sorted(ranges):
        if merged and first <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return merged


def _open(
    variable: pywrapcp.IntVar, ranges: Sequence[tuple[int, int]], origin: int
) -> None:
    if not ranges:
        return
    variable.SetRange(ranges[0][0] - origin, ranges[-1][1] - origin)
    for (_, shut), (opens, _) in zip(ranges, ranges[1:], strict=False):
        variable.RemoveInterval(shut + 1 - origin, opens - 1 - origin)


def _drive(
    out: Sequence[int], home: Sequence[int], link: Sequence[Sequence[int]]
) -> Callable[[int | None, int | None], int]:
    def empty(last: int | None, following: int | None) -> int:
        if last is None:
            return out[following] if following is not None else 0
        return link[last][following] if following is not None else home[last]

    return empty


def _costs(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    vehicles: Sequence[SlotClass],
    loads: Sequence[tuple[int, int]],
) -> None:
    callbacks: dict[int, int] = {}
    for vehicle, slots in enumerate(vehicles):
        if id(slots) not in callbacks:
            per_km = slots.truck.rates.per_km
            metres = _arc(
                manager,
                loads,
                _drive(slots.out_m, slots.home_m, slots.link_m),
                slots.ride_m.__getitem__,
            )
            callbacks[id(slots)] = routing.RegisterTransitCallback(
                lambda a, b, metres=metres, per_km=per_km: (
                    metres(a, b) * per_km * SCALE // 1000
                )
            )
        routing.SetArcCostEvaluatorOfVehicle(callbacks[id(slots)], vehicle)
        routing.SetFixedCostOfVehicle(slots.truck.rates.call_out * SCALE, vehicle)


def _who_may(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    vehicles: Sequence[SlotClass],
    loads: Sequence[tuple[int, int]],
) -> None:
    for node, (haul, kg) in enumerate(loads, 1):
        may = [
            v
            for v, slots in enumerate(vehicles)
            if slots.trips[haul] and slots.capacity[haul] >= kg
        ]
        # -1 is "left out", which every load may be.
        routing.VehicleVar(manager.NodeToIndex(node)).SetValues([-1, *may])


def _sequences(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    answer: pywrapcp.Assignment,
    vehicles: Sequence[int],
    loads: Sequence[tuple[int, int]],
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
