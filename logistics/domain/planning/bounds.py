"""Proven lower bounds on what any plan must cost.

Both hold for every plan that leaves at most `left_kg` behind:

* the pattern bound prices what the cover rows ask for and lets every slot take its best
  pattern at these prices (Lagrangian bound of the column generation, Farley 1990 and
  Luebbecke and Desrosiers 2005);
* the empty-running bound counts the loads, the loaded kilometres and hours and the
  cheapest circulation of empty trucks between drops, pickups and bases (min-cost flow).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import networkx as nx

from logistics.domain.planning.pricing import best_pattern
from logistics.domain.planning.master import Pool, Prices
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LowerBound
from logistics.domain.planning.shifts import SlotClass

ROUNDS = 80
DOUBT = 0.5
CLOSE = 1e-4
"""Stop when the bound is this near to the relaxation, as a share of it."""


def generate_patterns(pool: Pool, *, left_kg: int, elastic: float) -> LowerBound:
    """Add patterns to the pool until no pattern can improve the relaxation.

    Returns the best bound seen on the way; it is proven whether or not the end is reached.
    """
    best = 0.0
    quick = True
    for _ in range(ROUNDS):
        prices = pool.relax(left_kg=left_kg, elastic=elastic)
        answers = [
            best_pattern(
                group,
                slots,
                prices.rewards(pool.cover, group, len(pool.problem.hauls)),
                asked=prices.group[group] + DOUBT,
                quick=quick,
            )
            for group, slots in enumerate(pool.groups)
        ]
        # A list, because every pattern must be offered to the pool.
        added = any([pool.add(own) for answer in answers for own in answer.patterns])
        tops = [answer.top for answer in answers]
        if None not in tops:
            # A pattern's cost is rounded at two places: one unit of doubt for each slot.
            value = _asked(pool, prices, left_kg) - sum(
                len(slots.slots) * ((top or 0.0) + 2 * DOUBT)
                for slots, top in zip(pool.groups, tops, strict=True)
            )
            best = max(best, value)
            if not added or value >= prices.objective * (1 - CLOSE):
                break
        quick = added
    return LowerBound(
        max(0, math.ceil(best - 1e-6)), "column generation over shift patterns"
    )


def _asked(pool: Pool, prices: Prices, left_kg: int) -> float:
    """Worth of all that must be carried, less the dearest mass that may stay behind."""
    cover = pool.cover
    value = sum(
        price * need for price, need in zip(prices.cover, cover.need, strict=True)
    )
    dearest = max(
        (p for p, in_kg in zip(prices.cover, cover.in_kg, strict=True) if in_kg),
        default=0.0,
    )
    return value - left_kg * dearest


def empty_running_bound(
    problem: PlanProblem, groups: Sequence[SlotClass]
) -> LowerBound:
    """Cheapest rates times the least loaded and empty driving; all loads carried.

    Every load leaves its pickup and ends at its drop; what happens in between is a
    circulation in which each drop is followed by a pickup or a base and each base by a
    pickup. Costs are floored to whole minor units and arcs have tight capacities, because
    network simplex wants integers.
    """
    method = "least empty running (min-cost flow)"
    graph: nx.DiGraph = nx.DiGraph()
    loaded = 0
    total = 0
    per_m = min(g.truck.rates.per_km for g in groups) / 1000
    per_s = min(g.truck.rates.per_hour for g in groups) / 3600
    hauls = [
        (index, min(g.trips[index] for g in groups if g.trips[index]))
        for index, haul in enumerate(problem.hauls)
        if haul.mass_kg > 0 and any(g.trips[index] for g in groups)
    ]
    for index, trips in hauls:
        one = next(g for g in groups if g.trips[index])
        work = one.load_s[index] + one.ride_s[index] + one.unload_s[index]
        fee = min(g.fee[index] for g in groups if g.trips[index])
        loaded += trips * math.floor(one.ride_m[index] * per_m + work * per_s + fee)
        total += trips
        graph.add_node(("drop", index), demand=-trips)
        graph.add_node(("pickup", index), demand=trips)
    graph.add_node("base", demand=0)
    call_out = min(g.truck.rates.call_out for g in groups)
    for index, _ in hauls:
        one = next(g for g in groups if g.trips[index])
        out = min(g.out_m[index] * per_m + g.out_s[index] * per_s for g in groups)
        home = min(g.home_m[index] * per_m + g.home_s[index] * per_s for g in groups)
        graph.add_edge(
            "base", ("pickup", index), weight=math.floor(out) + call_out, capacity=total
        )
        graph.add_edge(("drop", index), "base", weight=math.floor(home), capacity=total)
        for other, _ in hauls:
            between = (
                one.link_m[index][other] * per_m + one.link_s[index][other] * per_s
            )
            graph.add_edge(
                ("drop", index),
                ("pickup", other),
                weight=math.floor(between),
                capacity=total,
            )
    if not hauls:
        return LowerBound(0, method)
    flow = nx.min_cost_flow_cost(graph)
    # Unlike a plan, a circulation need not touch a base at all; it is still a bound.
    return LowerBound(max(0, loaded + int(flow)), method)
