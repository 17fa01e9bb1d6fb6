"""The rivals of the benchmark of shift plans, each on loads that were cut beforehand.

A load is one node in the hours of one day: the empty drive to its pickup comes with the
arc, as does the cleaning of the body after another cargo; loading, ride and tipping with the
node. Node 0 is the base, whose arcs are those of each truck.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pyvrp
from numpy.typing import NDArray
from ortools.constraint_solver import pywrapcp, routing_enums_pb2
from pyvrp.stop import MaxRuntime

from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.trucks import Truck
from tests.benchmarks.plan_instances import Load, loads_of

SCALE = 1800
"""Rivals count in whole numbers: this makes the prices of a metre and a second whole."""
DAY = 86_400

Ints = NDArray[np.int64]
Answer = list[tuple[int, tuple[int, ...]]]
"""(truck, numbers of the loads in order) of each shift; a truck has one for each day."""


@dataclass(frozen=True)
class Nodes:
    """Loads as nodes 1.. of a routing problem; `begins` are the times in which the loading
    of each may begin so that the tipping need not wait, `fits` which trucks take it."""

    problem: PlanProblem
    days: int
    loads: tuple[Load, ...]
    work_s: Ints
    begins: tuple[tuple[Window, ...], ...]
    fits: NDArray[np.bool_]
    seconds: tuple[Ints, ...]
    metres: tuple[Ints, ...]
    hours: tuple[Window, ...]


def nodes_of(problem: PlanProblem) -> Nodes:
    """The routing problem of an instance; `seconds` and `metres` are by truck."""
    loads, ways = loads_of(problem), problem.distances
    hauls = [problem.hauls[load.haul] for load in loads]
    work, ride, begins = [0], [0], []
    for haul in hauls:
        rides = int(ways.seconds[haul.origin, haul.destination])
        ride.append(int(ways.metres[haul.origin, haul.destination]))
        work.append(haul.load_s + rides + haul.unload_s)
        until = haul.load_s + rides
        begins.append(
            tuple(
                (max(opens, first - until), min(closes - haul.load_s, last))
                for opens, closes in haul.pickup_windows
                for first, last in _tipping(haul.drop_windows, until + haul.unload_s)
                if opens < DAY and first < DAY
            )
        )
    fits = [
        [load.kg <= problem.capacity(truck, haul).kg for truck in problem.trucks]
        for load, haul in zip(loads, hauls, strict=True)
    ]
    seconds = [_arcs(problem, truck, loads, ways.seconds) for truck in problem.trucks]
    metres = [_arcs(problem, truck, loads, ways.metres) for truck in problem.trucks]
    for truck, table in zip(problem.trucks, seconds, strict=True):
        table[1:, 1:] += _cleaning(problem, truck, loads)
    first = {slot.truck: slot for slot in reversed(problem.slots)}
    return Nodes(
        problem,
        len({slot.day for slot in problem.slots}),
        loads,
        np.array(work, dtype=np.int64),
        tuple(begins),
        np.array(fits),
        tuple(seconds),
        tuple(table + np.array(ride)[None, :] for table in metres),
        tuple((first[t].earliest, first[t].latest) for t in range(len(problem.trucks))),
    )


def _tipping(windows: tuple[Window, ...], after_s: int) -> list[Window]:
    """When tipping may begin, and when loading may at the latest so that it ends in time."""
    return [(opens, closes - after_s) for opens, closes in windows]


def _arcs(
    problem: PlanProblem, truck: Truck, loads: tuple[Load, ...], table: Ints
) -> Ints:
    starts = [truck.base, *(problem.hauls[load.haul].destination for load in loads)]
    ends = [truck.base, *(problem.hauls[load.haul].origin for load in loads)]
    arcs: Ints = table[np.ix_(starts, ends)].astype(np.int64)
    arcs[0, 0] = 0
    return arcs


def _cleaning(problem: PlanProblem, truck: Truck, loads: tuple[Load, ...]) -> Ints:
    cargo = np.array([problem.hauls[load.haul].cargo for load in loads])
    other: Ints = (cargo[:, None] != cargo[None, :]).astype(np.int64)
    return other * truck.cleaning_s


def or_tools(nodes: Nodes, limit_s: float, *, guided: bool) -> Answer:
    """OR-Tools with its default search, or guided local search until the time is up."""
    vehicles = [t for t in range(len(nodes.hours)) for _ in range(nodes.days)]
    manager = pywrapcp.RoutingIndexManager(len(nodes.loads) + 1, len(vehicles), 0)
    routing = pywrapcp.RoutingModel(manager)
    times, costs = [], []
    for truck, own in enumerate(nodes.problem.trucks):
        seconds = nodes.seconds[truck] + nodes.work_s[:, None]
        price = nodes.metres[truck] * own.rates.per_km * SCALE // 1000
        times.append(routing.RegisterTransitMatrix(seconds.tolist()))
        costs.append(routing.RegisterTransitMatrix(price.tolist()))
    routing.AddDimensionWithVehicleTransits(
        [times[t] for t in vehicles], DAY, DAY, False, "time"
    )
    clock = routing.GetDimensionOrDie("time")
    for vehicle, truck in enumerate(vehicles):
        rates = nodes.problem.trucks[truck].rates
        routing.SetArcCostEvaluatorOfVehicle(costs[truck], vehicle)
        routing.SetFixedCostOfVehicle(rates.call_out * SCALE, vehicle)
        clock.SetSpanCostCoefficientForVehicle(rates.per_hour * SCALE // 3600, vehicle)
        clock.CumulVar(routing.Start(vehicle)).SetMin(nodes.hours[truck][0])
        clock.CumulVar(routing.End(vehicle)).SetMax(nodes.hours[truck][1])
    for node, windows in enumerate(nodes.begins, 1):
        index = manager.NodeToIndex(node)
        clock.CumulVar(index).SetRange(windows[0][0], windows[-1][1])
        for (_, closes), (opens, _) in pairwise(windows):
            if closes + 1 < opens:
                clock.CumulVar(index).RemoveInterval(closes + 1, opens - 1)
        small = [v for v, t in enumerate(vehicles) if not nodes.fits[node - 1, t]]
        routing.VehicleVar(index).RemoveValues(small)
    answer = routing.SolveWithParameters(_parameters(limit_s, guided=guided))
    if not answer:
        return []
    return [
        (truck, trips)
        for vehicle, truck in enumerate(vehicles)
        if (trips := _route(manager, routing, answer, vehicle))
    ]


def _route(
    manager: pywrapcp.RoutingIndexManager,
    routing: pywrapcp.RoutingModel,
    answer: pywrapcp.Assignment,
    vehicle: int,
) -> tuple[int, ...]:
    index, trips = answer.Value(routing.NextVar(routing.Start(vehicle))), []
    while not routing.IsEnd(index):
        trips.append(manager.IndexToNode(index) - 1)
        index = answer.Value(routing.NextVar(index))
    return tuple(trips)


def _parameters(
    limit_s: float, *, guided: bool
) -> pywrapcp.DefaultRoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    )
    parameters.time_limit.FromMilliseconds(int(limit_s * 1000))
    if guided:
        parameters.local_search_metaheuristic = (
            routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        )
    return parameters


def py_vrp(nodes: Nodes, limit_s: float) -> Answer:
    """PyVRP with a profile for each truck; a load that may begin at several times is a group
    of clients of which one is visited."""
    model = pyvrp.Model()
    places = [model.add_location(0, 0) for _ in range(len(nodes.loads) + 1)]
    depot, own_load = model.add_depot(places[0]), []
    for load, windows in enumerate(nodes.begins):
        group = model.add_client_group() if len(windows) > 1 else None
        for opens, last in windows:
            model.add_client(
                places[load + 1],
                service_duration=int(nodes.work_s[load + 1]),
                tw_early=max(opens, 0),
                tw_late=last,
                required=group is None,
                group=group,
            )
            own_load.append(load)
    for truck, own in enumerate(nodes.problem.trucks):
        profile = model.add_profile()
        model.add_vehicle_type(
            num_available=nodes.days,
            start_depot=depot,
            end_depot=depot,
            fixed_cost=own.rates.call_out * SCALE,
            tw_early=nodes.hours[truck][0],
            tw_late=nodes.hours[truck][1],
            unit_distance_cost=own.rates.per_km * SCALE // 1000,
            unit_duration_cost=own.rates.per_hour * SCALE // 3600,
            profile=profile,
        )
        metres, seconds = nodes.metres[truck].tolist(), nodes.seconds[truck].tolist()
        able = [True, *nodes.fits[:, truck]]
        for row, start in enumerate(places):
            for column, end in enumerate(places):
                if row != column and able[row] and able[column]:
                    model.add_edge(
                        start, end, metres[row][column], seconds[row][column], profile
                    )
    best = model.solve(MaxRuntime(limit_s), seed=1, display=False).best
    if not best.is_feasible():
        return []
    return [
        (
            route.vehicle_type(),
            tuple(own_load[visit.idx] for visit in route if visit.is_client()),
        )
        for route in best.routes()
    ]


def py_vroom(nodes: Nodes, limit_s: float) -> Answer:
    """VROOM by its binding; it does not count waiting, which costs with us."""
    vroom = importlib.import_module("vroom")

    model = vroom.Input()
    for truck, own in enumerate(nodes.problem.trucks):
        profile = f"truck{truck}"
        model.set_durations_matrix(profile, nodes.seconds[truck].astype(np.uint32))
        model.set_distances_matrix(profile, nodes.metres[truck].astype(np.uint32))
        for day in range(nodes.days):
            model.add_vehicle(
                vroom.Vehicle(
                    truck * nodes.days + day,
                    start=0,
                    end=0,
                    profile=profile,
                    skills=set(np.flatnonzero(nodes.fits[:, truck]).tolist()),
                    time_window=vroom.TimeWindow(*nodes.hours[truck]),
                    costs=vroom.VehicleCosts(
                        fixed=own.rates.call_out,
                        per_hour=own.rates.per_hour,
                        per_km=own.rates.per_km,
                    ),
                )
            )
    for load, windows in enumerate(nodes.begins):
        model.add_job(
            vroom.Job(
                load,
                location=load + 1,
                default_service=int(nodes.work_s[load + 1]),
                time_windows=[vroom.TimeWindow(max(a, 0), b) for a, b in windows],
                skills={load},
            )
        )
    solution = model.solve(
        exploration_level=5, nb_threads=1, timeout=timedelta(seconds=limit_s)
    )
    routes: dict[int, list[int]] = {}
    for step in solution.routes.itertuples():
        if step.type == "job":
            routes.setdefault(int(step.vehicle_id), []).append(int(step.id))
    return [(v // nodes.days, tuple(loads)) for v, loads in routes.items()]


def has_vroom() -> bool:
    """Whether the binding is installed here."""
    return importlib.util.find_spec("vroom") is not None


Rival = Callable[[Nodes, float], Answer]
