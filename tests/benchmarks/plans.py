"""Shift plans: ours against OR-Tools as it comes and against PyVRP, on the same loads.

    python -m tests.benchmarks.plans

Each instance is planned by us first; the rivals get as long as we took (at least 2 s). All
trucks take 18 t and all days are alike with one opening each, because PyVRP knows one
window for each client; so every planner cuts the same loads. A load is one node: the drive
to its pickup comes with the arc, loading, ride and tipping with the node. Every answer is
priced again by our cost rules; an answer that leaves a load out has no price.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pyvrp
from numpy.typing import NDArray
from ortools.constraint_solver import pywrapcp, routing_enums_pb2
from pyvrp.stop import MaxRuntime

from logistics.domain.planning.patterns import pattern_of
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.shifts import SlotClass, slot_classes
from tests.logistics.domain.planning.medium_worlds import DAY, HOUR, medium_world

SCALE = 1800
"""Rivals count in whole numbers: this makes the prices of a metre and a second whole."""
SIZES = ((6, 3, 2), (12, 4, 3), (24, 6, 4), (36, 8, 4))
LEAST_S = 2.0

Ints = NDArray[np.int64]
Answer = list[tuple[int, tuple[int, ...]]]
"""(group, hauls in order) of each shift."""


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def instance(hauls: int, trucks: int, days: int) -> PlanProblem:
    """A random world in which all trucks take the same and all days are alike."""
    problem = medium_world(hauls, hauls=hauls, trucks=trucks, days=days, most_kg=90_000)
    hours = tuple((d * DAY + 7 * HOUR, d * DAY + 17 * HOUR) for d in range(days))
    return replace(
        problem,
        trucks=tuple(replace(t, payload_kg=18_000) for t in problem.trucks),
        hauls=tuple(
            replace(h, pickup_windows=hours, drop_windows=hours) for h in problem.hauls
        ),
    )


@dataclass(frozen=True)
class Nodes:
    """Loads as nodes 1.. of a routing problem in the hours of one day; 0 is the base.

    `seconds` and `metres` of each group are of the empty drive and what the next node
    takes; `windows` hold the moment at which the loading may begin.
    """

    groups: tuple[SlotClass, ...]
    loads: tuple[int, ...]
    work_s: Ints
    windows: tuple[Window, ...]
    seconds: tuple[Ints, ...]
    metres: tuple[Ints, ...]


def nodes_of(problem: PlanProblem) -> Nodes:
    """The routing problem of an instance."""
    groups = slot_classes(problem)
    one = groups[0]
    loads = tuple(h for h, trips in enumerate(one.trips) for _ in range(trips))
    work = [one.load_s[h] + one.ride_s[h] + one.unload_s[h] for h in loads]
    windows = []
    for haul in loads:
        (opens, closes), (drop_opens, drop_closes) = (
            one.pickup[haul][0],
            one.drop[haul][0],
        )
        until = one.load_s[haul] + one.ride_s[haul]
        last = min(closes - one.load_s[haul], drop_closes - one.unload_s[haul] - until)
        windows.append((max(opens, drop_opens - until), last))
    return Nodes(
        groups,
        loads,
        np.array([0, *work], dtype=np.int64),
        tuple(windows),
        tuple(_arcs(g.out_s, g.home_s, g.link_s, loads) for g in groups),
        tuple(
            _arcs(g.out_m, g.home_m, g.link_m, loads)
            + np.array([0, *[g.ride_m[h] for h in loads]])[None, :]
            for g in groups
        ),
    )


def _arcs(
    out: Sequence[int],
    home: Sequence[int],
    link: Sequence[Sequence[int]],
    loads: Sequence[int],
) -> Ints:
    table = np.zeros((len(loads) + 1, len(loads) + 1), dtype=np.int64)
    table[0, 1:] = [out[h] for h in loads]
    table[1:, 0] = [home[h] for h in loads]
    table[1:, 1:] = [[link[g][h] for h in loads] for g in loads]
    return table


def or_tools(nodes: Nodes, limit_s: float, *, guided: bool) -> Answer:
    """OR-Tools with its default search, or guided local search until the time is up."""
    vehicles = [g for g, own in enumerate(nodes.groups) for _ in own.slots]
    manager = pywrapcp.RoutingIndexManager(len(nodes.loads) + 1, len(vehicles), 0)
    routing = pywrapcp.RoutingModel(manager)
    times, costs = [], []
    for group, slots in enumerate(nodes.groups):
        rates = slots.truck.rates
        seconds = nodes.seconds[group] + nodes.work_s[:, None]
        price = nodes.metres[group] * rates.per_km * SCALE // 1000
        times.append(routing.RegisterTransitMatrix(seconds.tolist()))
        costs.append(routing.RegisterTransitMatrix(price.tolist()))
    transits = [times[g] for g in vehicles]
    routing.AddDimensionWithVehicleTransits(transits, DAY, DAY, False, "time")
    clock = routing.GetDimensionOrDie("time")
    for vehicle, group in enumerate(vehicles):
        slots = nodes.groups[group]
        rates = slots.truck.rates
        routing.SetArcCostEvaluatorOfVehicle(costs[group], vehicle)
        routing.SetFixedCostOfVehicle(rates.call_out * SCALE, vehicle)
        clock.SetSpanCostCoefficientForVehicle(rates.per_hour * SCALE // 3600, vehicle)
        clock.SetSpanUpperBoundForVehicle(slots.truck.max_shift_s, vehicle)
        clock.CumulVar(routing.End(vehicle)).SetMax(slots.latest)
    for node, (opens, last) in enumerate(nodes.windows, 1):
        clock.CumulVar(manager.NodeToIndex(node)).SetRange(opens, last)
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    )
    parameters.time_limit.FromMilliseconds(int(limit_s * 1000))
    if guided:
        parameters.local_search_metaheuristic = (
            routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        )
    answer = routing.SolveWithParameters(parameters)
    found: Answer = []
    for vehicle, group in enumerate(vehicles if answer else []):
        index, trips = answer.Value(routing.NextVar(routing.Start(vehicle))), []
        while not routing.IsEnd(index):
            trips.append(nodes.loads[manager.IndexToNode(index) - 1])
            index = answer.Value(routing.NextVar(index))
        if trips:
            found.append((group, tuple(trips)))
    return found


def py_vrp(nodes: Nodes, limit_s: float) -> Answer:
    """PyVRP with a type of vehicle and a profile for each group of like slots."""
    model = pyvrp.Model()
    places = [model.add_location(0, 0) for _ in range(len(nodes.loads) + 1)]
    depot = model.add_depot(places[0])
    for place, work, (opens, last) in zip(
        places[1:], nodes.work_s[1:].tolist(), nodes.windows, strict=True
    ):
        model.add_client(place, service_duration=work, tw_early=opens, tw_late=last)
    for group, slots in enumerate(nodes.groups):
        rates, profile = slots.truck.rates, model.add_profile()
        model.add_vehicle_type(
            num_available=len(slots.slots),
            start_depot=depot,
            end_depot=depot,
            fixed_cost=rates.call_out * SCALE,
            tw_early=0,
            tw_late=slots.latest,
            shift_duration=slots.truck.max_shift_s,
            unit_distance_cost=rates.per_km * SCALE // 1000,
            unit_duration_cost=rates.per_hour * SCALE // 3600,
            profile=profile,
        )
        metres, seconds = nodes.metres[group].tolist(), nodes.seconds[group].tolist()
        for row, start in enumerate(places):
            for column, end in enumerate(places):
                if row != column:
                    model.add_edge(
                        start, end, metres[row][column], seconds[row][column], profile
                    )
    best = model.solve(MaxRuntime(limit_s), seed=1, display=False).best
    if not best.is_feasible():
        return []
    return [
        (
            route.vehicle_type(),
            tuple(nodes.loads[visit.idx] for visit in route if visit.is_client()),
        )
        for route in best.routes()
    ]


def repriced(nodes: Nodes, answer: Answer) -> int | None:
    """The cost by our rules, None if a load is left out or a shift cannot be driven."""
    if sum(len(hauls) for _, hauls in answer) != len(nodes.loads):
        return None
    patterns = [
        pattern_of(group, nodes.groups[group], hauls) for group, hauls in answer
    ]
    costs = [pattern.cost for pattern in patterns if pattern]
    return sum(costs) if len(costs) == len(patterns) else None


def main() -> None:
    """Print a line for each planner and instance."""
    say(f"{'loads':>5} {'planner':<22} {'cost':>10} {'ratio':>7} {'gap':>7} {'s':>6}")
    for hauls, trucks, days in SIZES:
        problem = instance(hauls, trucks, days)
        begin = time.perf_counter()
        plan = plan_hauls(problem)
        took = time.perf_counter() - begin
        nodes = nodes_of(problem)
        limit = max(LEAST_S, took)
        say(
            f"{len(nodes.loads):>5} {'ours':<22} {plan.haul_cost:>10} {1:>7.4f}"
            f" {plan.gap:>7.2%} {took:>6.1f}"
        )
        rivals: list[tuple[str, Callable[[], Answer]]] = [
            ("OR-Tools, defaults", partial(or_tools, nodes, limit, guided=False)),
            ("OR-Tools, guided", partial(or_tools, nodes, limit, guided=True)),
            ("PyVRP", partial(py_vrp, nodes, limit)),
        ]
        for name, rival in rivals:
            begin = time.perf_counter()
            cost = repriced(nodes, rival())
            took = time.perf_counter() - begin
            if cost is None:
                say(
                    f"{len(nodes.loads):>5} {name:<22} {'incomplete':>10} {took:>22.1f}"
                )
                continue
            gap = (cost - plan.bound.amount) / cost
            say(
                f"{len(nodes.loads):>5} {name:<22} {cost:>10}"
                f" {cost / plan.haul_cost:>7.4f} {gap:>7.2%} {took:>6.1f}"
            )


if __name__ == "__main__":
    main()
