"""The empty-running bound: the loads, and the cheapest way to be where the next one is.

It counts the loads, the loaded kilometres and hours and the cheapest circulation of empty
trucks between drops, pickups and bases (min-cost flow). It holds for every plan that
carries everything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LowerBound
from logistics.domain.planning.shifts import SlotClass

METHOD = "least empty running (min-cost flow)"
Costs = NDArray[np.float64]


def empty_running_bound(
    problem: PlanProblem, groups: Sequence[SlotClass]
) -> LowerBound:
    """Cheapest rates times the least loaded and empty driving; all loads carried.

    Every load leaves its pickup and ends at its drop; what happens in between is a
    circulation in which each drop is followed by a pickup or the end of a shift, and each
    begin of a shift by a pickup. Hauls that may share a body count nothing, but the way
    over their places is open. Costs are floored to whole minor units, because network
    simplex wants integers.
    """
    legs = _cheapest_legs(problem, groups)
    graph: nx.DiGraph[object] = nx.DiGraph()
    graph.add_node("base", demand=0)
    loaded = total = 0
    counted = []
    for index, haul in enumerate(problem.hauls):
        able = [g for g in groups if g.trips[index]]
        if haul.mass_kg <= 0 or not able or haul.shared:
            continue
        trips = min(g.trips[index] for g in able)
        cheapest = min(_work_cost(g, index) for g in able)
        ride = legs[haul.origin, haul.destination]
        loaded += trips * math.floor(cheapest + ride)
        total += trips
        counted.append(index)
        graph.add_node(("drop", index), demand=-trips)
        graph.add_node(("pickup", index), demand=trips)
    if not total:
        return LowerBound(0, METHOD)
    for start, end, cost in _arcs(problem, groups, counted, legs):
        graph.add_edge(start, end, weight=math.floor(cost + 1e-9), capacity=total)
    flow = nx.min_cost_flow_cost(graph)
    # Unlike a plan, a circulation need not touch a base at all; it is still a bound.
    return LowerBound(max(0, loaded + int(flow)), METHOD)


def _work_cost(slots: SlotClass, index: int) -> float:
    return slots.work_s[index] * slots.truck.rates.per_hour / 3600 + slots.fee[index]


def _cheapest_legs(problem: PlanProblem, groups: Sequence[SlotClass]) -> Costs:
    """Cost of going from place to place, by any truck and over any places.

    A stop on the way may be shorter than the direct way in some tables.
    """
    size = len(problem.places)
    best = np.full((size, size), np.inf)
    for slots in groups:
        ways, rates = problem.ways(slots.truck), slots.truck.rates
        cost = ways.metres * (rates.per_km / 1000) + ways.seconds * (
            rates.per_hour / 3600
        )
        best = np.minimum(best, np.where(ways.reachable, cost, np.inf))
    np.fill_diagonal(best, 0.0)
    for middle in range(size):
        best = np.minimum(best, best[:, middle, None] + best[None, middle, :])
    return best


def _arcs(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    counted: Sequence[int],
    legs: Costs,
) -> list[tuple[object, object, float]]:
    """(from, to, cost) of empty ways; infinite ones left out."""
    found: list[tuple[object, object, float]] = []
    for index in counted:
        haul = problem.hauls[index]
        able = [g for g in groups if g.trips[index]]
        out = min(
            g.truck.rates.call_out + legs[g.start_place, haul.origin] for g in able
        )
        home = min(legs[haul.destination, g.end_place] for g in able)
        found += [
            ("base", ("pickup", index), out),
            (("drop", index), "base", home),
        ]
        found += [
            (
                ("drop", index),
                ("pickup", other),
                legs[haul.destination, problem.hauls[other].origin],
            )
            for other in counted
        ]
    return [own for own in found if np.isfinite(own[2])]
