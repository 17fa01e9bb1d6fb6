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
from dataclasses import dataclass

import networkx as nx
import numpy as np

from logistics.domain.planning.master import Floats, Pool, Prices
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.pricing import Pricer, Tariff
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LowerBound
from logistics.domain.planning.shifts import NO_WAY, SlotClass

ROUNDS = 120
DOUBT = 1.0
"""A shift's cost is rounded at two places, by at most a half each."""
CLOSE = 1e-5
"""Stop when the bound is this near to the relaxation, as a share of it."""
OFFERED = 40
"""Patterns taken from each pricing problem."""


@dataclass(frozen=True)
class Generated:
    """The best bound seen, with the prices and the tops that prove it."""

    value: float
    prices: Prices | None = None
    tops: Floats | None = None

    @property
    def amount(self) -> int:
        """Costs are whole: the bound may be rounded up, but for the solver's doubt."""
        return math.ceil(max(0.0, self.value - 1e-3))


def tariff_of(pool: Pool, prices: Prices, group: int, *, paid: bool) -> Tariff:
    """The prices as one group sees them."""
    reward, shift = pool.rewards(prices, group)
    call_out = pool.groups[group].truck.rates.call_out if paid else 0
    return Tariff(reward, shift - call_out, paid)


def generate_patterns(  # noqa: PLR0913
    pool: Pool,
    pricers: Sequence[Pricer],
    *,
    left_kg: int,
    elastic: float,
    paid: bool = True,
    enough: float = math.inf,
    rounds: int = ROUNDS,
) -> Generated:
    """Add patterns to the pool until no pattern can improve the relaxation.

    The bound is proven whether or not the end is reached; it stops early at `enough`, or
    after so many rounds, the last of which is exact.
    """
    best, quick = Generated(-math.inf), True
    doubt = DOUBT if paid else 0.0
    for round_ in range(rounds):
        prices = pool.relax(left_kg=left_kg, elastic=elastic, paid=paid)
        answers = [
            pricer.best(
                tariff_of(pool, prices, group, paid=paid),
                floor=float(prices.group[group]) + doubt / 2,
                quick=quick and round_ < rounds - 1,
                most=OFFERED,
            )
            for group, pricer in enumerate(pricers)
        ]
        added = sum(pool.add(own) for answer in answers for own in answer.patterns)
        tops = [answer.top for answer in answers]
        known = [top for top in tops if top is not None]
        if len(known) == len(tops):
            worth = np.array(known) + doubt
            value = pool.bound(prices, worth, left_kg=left_kg, paid=paid)
            if value > best.value:
                best = Generated(value, prices, worth)
            if not added or value >= min(enough, prices.objective * (1 - CLOSE)):
                break
        # Only exact rounds give a bound: some are needed where one is waited for.
        quick = added > 0 and (math.isinf(enough) or round_ % 4 != 3)
    return best


def patterns_within(
    pool: Pool,
    pricers: Sequence[Pricer],
    proof: Generated,
    *,
    gap: float,
    limit: int,
    paid: bool = True,
) -> list[Pattern] | None:
    """Every pattern of plans at most `gap` above the bound, nearest first; None if too many.

    A plan that drives a pattern worth less than the top of its group by d costs at least
    d more than the bound.
    """
    if proof.prices is None or proof.tops is None:
        return None
    doubt = DOUBT if paid else 1e-3
    found: list[tuple[float, Pattern]] = []
    for group, pricer in enumerate(pricers):
        tariff = tariff_of(pool, proof.prices, group, paid=paid)
        # The top may be negative: then a slot that stays at home is worth 0.
        top = max(float(proof.tops[group]), 0.0)
        own = pricer.within(tariff, floor=top - gap - doubt, limit=limit)
        if own is None:
            return None
        for pattern in own:
            earned = sum(float(tariff.reward[haul]) for haul in pattern.hauls)
            found.append((top - earned + (pattern.cost if paid else 0), pattern))
    found.sort(key=lambda pair: pair[0])
    return [pattern for _, pattern in found]


def empty_running_bound(
    problem: PlanProblem, groups: Sequence[SlotClass]
) -> LowerBound:
    """Cheapest rates times the least loaded and empty driving; all loads carried.

    Every load leaves its pickup and ends at its drop; what happens in between is a
    circulation in which each drop is followed by a pickup or a base and each base by a
    pickup. Costs are floored to whole minor units, because network simplex wants integers.
    """
    method = "least empty running (min-cost flow)"
    graph: nx.DiGraph[object] = nx.DiGraph()
    graph.add_node("base", demand=0)
    loaded = total = 0
    spare: list[tuple[int, int]] = []
    for index, haul in enumerate(problem.hauls):
        able = [g for g in groups if g.trips[index]]
        if haul.mass_kg <= 0 or not able:
            continue
        trips = min(g.trips[index] for g in able)
        cheapest = min(_loaded_cost(g, index) for g in able)
        loaded += trips * cheapest
        spare.append((index, cheapest))
        total += trips
        graph.add_node(("drop", index), demand=-trips)
        graph.add_node(("pickup", index), demand=trips)
    for index, cost in spare:  # more trips than needed, should they shorten the way
        graph.add_edge(("pickup", index), ("drop", index), weight=cost, capacity=total)
    for last, following, cost in _empty_legs(groups, problem):
        start = "base" if last is None else ("drop", last)
        end = "base" if following is None else ("pickup", following)
        graph.add_edge(start, end, weight=cost, capacity=total)
    if not total:
        return LowerBound(0, method)
    flow = nx.min_cost_flow_cost(graph)
    # Unlike a plan, a circulation need not touch a base at all; it is still a bound.
    return LowerBound(max(0, loaded + int(flow)), method)


def _loaded_cost(slots: SlotClass, index: int) -> int:
    rates = slots.truck.rates
    work = slots.load_s[index] + slots.ride_s[index] + slots.unload_s[index]
    return math.floor(
        slots.ride_m[index] * rates.per_km / 1000
        + work * rates.per_hour / 3600
        + slots.fee[index]
    )


def _empty_legs(
    groups: Sequence[SlotClass], problem: PlanProblem
) -> list[tuple[int | None, int | None, int]]:
    """(from drop, to pickup, cost) of the cheapest truck for each empty leg."""
    found: dict[tuple[int | None, int | None], int] = {}

    def offer(
        slots: SlotClass,
        ends: tuple[int | None, int | None],
        metres: int,
        seconds: int,
    ) -> None:
        rates = slots.truck.rates
        if seconds >= NO_WAY:
            return
        cost = metres * rates.per_km / 1000 + seconds * rates.per_hour / 3600
        cost += rates.call_out if ends[0] is None else 0
        found[ends] = min(math.floor(cost), found.get(ends, math.floor(cost)))

    for slots in groups:
        able = [h for h in range(len(problem.hauls)) if slots.trips[h]]
        for index in able:
            offer(slots, (None, index), slots.out_m[index], slots.out_s[index])
            offer(slots, (index, None), slots.home_m[index], slots.home_s[index])
            for other in able:
                if other == index and slots.trips[index] == 1:
                    continue
                offer(
                    slots,
                    (index, other),
                    slots.link_m[index][other],
                    slots.link_s[index][other],
                )
    return [(*ends, cost) for ends, cost in found.items()]
