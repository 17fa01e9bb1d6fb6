"""Supply and haulage decided together by column generation, with a bound on the total.

The relaxation of the allocation programme is solved over shift patterns. Its prices say
what a tonne brought is worth; the pricing problem of the haul engine answers with shifts
that pay at these prices, until none does. Then

* the programme is solved in whole numbers over the patterns found: a better allocation
  than the one by estimated haul costs, because it knows which loads share a shift;
* at the prices, the cheapest allocation in whole loads less the best that every slot can
  earn is a bound on the total of any allocation with any plan (Lagrangian bound).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import vstack

from logistics.domain.planning.field import Field
from logistics.domain.planning.hire import rounding
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.pricing import Priced, Pricer, Tariff
from logistics.domain.planning.shifts import SlotClass
from matching.domain.allocation import Allocation, allocate
from matching.domain.pairing import Pairing, divisible, pattern_move
from matching.domain.programme import (
    TONNE,
    AllocationProblem,
    Layout,
    Move,
    build_rows,
    costs,
    variable_bounds,
)

ROUNDS, FEWEST, WORK = 80, 4, 16_000
"""Most and fewest rounds of pricing, and rounds times pairs times groups in between: a
large question gets fewer rounds, and no bound from here unless the last found nothing."""
PROOFS, PROVEN = 4, 500
"""Steps uphill for the bound; just one where pairs times groups are more than this."""
STEP, ROUGH = 0.5, 0.004
NEAR, ENRICHED = 0.1, 120
"""How far below paying a shift may be, as a share of the cost, to be taken in at the end,
and how many of each group."""
EXACT = 20_000
"""Partial shifts of an exact search; beyond it the bound is weaker, not wrong."""
WIDE, BEAM = 12, 3_000
"""Quick searches get narrower with the number of pairs and groups."""
OFFERED = 25
NODES = 600
"""Branch and bound nodes: the answer must come soon, and the same on every machine."""


_Pool = dict[tuple[int, tuple[int, ...]], Pattern]


@dataclass(frozen=True)
class Prices:
    """Of the relaxation: a tonne carried for each pair, a part load escaped, a trip to each
    demand, a slot, a shift of each fleet."""

    tonne: tuple[float, ...]
    part: tuple[float, ...]
    trip: tuple[float, ...]
    slot: tuple[float, ...]
    fleet: tuple[float, ...]
    objective: float

    def bonus(self, problem: AllocationProblem, group: int) -> float:
        """What a shift of this group is worth before its first trip."""
        return sum(
            price
            for price, (groups, _) in zip(self.fleet, problem.fleets, strict=True)
            if group in groups
        )

    def reward(self, problem: AllocationProblem, pair: int, kg: int) -> float:
        """What one trip with `kg` is worth, never less than nothing.

        Any rewards prove a bound, as long as pricing and allocation use the same ones.
        """
        below = problem.offers[problem.pairs[pair].offer].part_load.below_kg
        escaped = self.part[pair] if kg >= below else 0.0
        trip = self.trip[problem.pairs[pair].demand]
        return max(0.0, self.tonne[pair] * kg / TONNE + trip - escaped)


@dataclass(frozen=True)
class Joint:
    """The best allocation over the patterns found, None if none was found, and a bound on
    the total of any allocation and plan, in minor units."""

    allocation: Allocation | None
    bound: float


def decide_together(
    question: AllocationProblem, pairing: Pairing, seeds: Sequence[Pattern]
) -> Joint:
    """Generate patterns from `seeds`, which must carry what nobody need leave short."""
    groups = pairing.groups
    limits = tuple(len(group.slots) for group in groups)
    question = replace(question, limits=limits, fleets=_fleets(question, groups))
    pool = {(p.group, tuple(sorted(p.tasks))): p for p in seeds}
    # Groups that differ in their days alone are mostly asked the same, once.
    work = max(1, len(question.pairs) * len({group.kind for group in groups}))
    rounds = min(ROUNDS, WORK // work)
    if rounds < FEWEST:
        return Joint(None, -math.inf)
    pricers = [
        Pricer(Field(number, group), limit=EXACT, beam=max(1, min(WIDE, BEAM // work)))
        for number, group in enumerate(groups)
    ]
    asked, prices = question, None
    for _ in range(rounds):
        asked = replace(question, moves=_moves(groups, pool.values()))
        prices = relax(asked)
        if prices is None:
            return Joint(None, -math.inf)
        floors = [
            price + rounding(group.truck.rates) / 2
            for price, group in zip(prices.slot, groups, strict=True)
        ]
        if not _generate(asked, pricers, prices, pool, floors, OFFERED):
            break
    if prices is None:
        return Joint(None, -math.inf)
    # Shifts that nearly pay: whole numbers need more choice than the relaxation.
    near = NEAR * abs(prices.objective)
    _generate(asked, pricers, prices, pool, [-near] * len(groups), ENRICHED)
    asked = replace(question, moves=_moves(groups, pool.values()))
    allocation = allocate(asked, nodes=NODES)
    proofs = PROOFS if work <= PROVEN else 1
    # What drivers could do without rests bounds what they can do.
    bare = [
        Pricer(Field(number, group, rested=False), limit=EXACT)
        for number, group in enumerate(groups)
    ]
    return Joint(
        allocation,
        best_bound(asked, pairing, bare, prices, allocation.cost, rounds=proofs),
    )


def _fleets(
    question: AllocationProblem, groups: Sequence[SlotClass]
) -> tuple[tuple[frozenset[int], int], ...]:
    """For each demand the groups that can serve it must drive one shift between them.

    Implied by whole shifts: without it the relaxation hires a third of a truck.
    """
    found = set()
    for number, demand in enumerate(question.demands):
        own = [i for i, pair in enumerate(question.pairs) if pair.demand == number]
        able = frozenset(
            index
            for index, group in enumerate(groups)
            if any(group.trips[pair] for pair in own)
        )
        if able and demand.dry_kg > 1:
            found.add(able)
    return tuple((able, 1) for able in sorted(found, key=sorted))


def _moves(
    groups: Sequence[SlotClass], patterns: Iterable[Pattern]
) -> tuple[Move, ...]:
    return tuple(
        pattern_move(pattern.group, groups[pattern.group], pattern)
        for pattern in patterns
    )


def _generate(
    asked: AllocationProblem,
    pricers: Sequence[Pricer],
    prices: Prices,
    pool: _Pool,
    floors: Sequence[float],
    most: int,
) -> bool:
    """Put patterns worth more than the floors into the pool. True if any was new."""
    fresh = False
    known: dict[object, list[Pattern]] = {}
    for number, (pricer, floor) in enumerate(zip(pricers, floors, strict=True)):
        group = pricer.field.slots
        reward = np.array(
            [
                prices.reward(asked, pair, group.capacity[pair]) if trips else 0.0
                for pair, trips in enumerate(group.trips)
            ]
        )
        start = prices.bonus(asked, number) - group.truck.rates.call_out
        same = (group.kind, reward.tobytes(), start, floor)
        if same not in known:
            tariff = Tariff(reward, start)
            known[same] = pricer.quickly(tariff, floor=floor, most=most)
        for found in known[same]:
            own = replace(found, group=number)
            key = (number, tuple(sorted(own.tasks)))
            if key not in pool or pool[key].cost > own.cost:
                pool[key] = own
                fresh = True
    return fresh


def best_bound(
    asked: AllocationProblem,
    pairing: Pairing,
    pricers: Sequence[Pricer],
    prices: Prices,
    target: float,
    *,
    rounds: int,
) -> float:
    """The best Lagrangian bound on the way uphill from the prices of the relaxation.

    At any prices for a trip of each pair and size: the cheapest allocation in whole loads
    that pays them, less the most that every slot can earn with them. Trips that the
    allocation wants and no slot makes get dearer, others cheaper (Polyak's step towards
    the cost of a known answer).
    """
    kinds = sorted(
        {
            (pair, pricer.field.slots.capacity[pair])
            for pricer in pricers
            for pair, trips in enumerate(pricer.field.slots.trips)
            if trips
        }
    )
    price = np.array([prices.reward(asked, pair, kg) for pair, kg in kinds])
    fixed = sum(
        own * least for own, (_, least) in zip(prices.fleet, asked.fleets, strict=True)
    )
    best = -math.inf
    for _ in range(rounds):
        moves = tuple(
            Move(float(cost), ((pair, 1, kg),))
            for (pair, kg), cost in zip(kinds, price, strict=True)
        )
        free = replace(asked, moves=divisible(moves, pairing), limits=(), fleets=())
        cheapest = allocate(free, nodes=NODES, gap=ROUGH)
        earned, made = _earnings(asked, pricers, prices, kinds, price)
        value = cheapest.bound + fixed - earned
        best = max(best, value)
        slope = np.array(cheapest.made, dtype=np.float64) - made
        steep = float(slope @ slope)
        if steep < 0.5 or value >= target:
            break
        price = np.maximum(0.0, price + slope * STEP * (target - value) / steep)
    return best


def _earnings(
    asked: AllocationProblem,
    pricers: Sequence[Pricer],
    prices: Prices,
    kinds: Sequence[tuple[int, int]],
    price: NDArray[np.float64],
) -> tuple[float, NDArray[np.float64]]:
    """An upper bound on what all slots can earn, and the trips they would make."""
    at = {kind: index for index, kind in enumerate(kinds)}
    earned, made = 0.0, np.zeros(len(kinds))
    known: dict[object, Priced] = {}
    for number, pricer in enumerate(pricers):
        group = pricer.field.slots
        reward = np.array(
            [
                price[at[pair, group.capacity[pair]]] if trips else 0.0
                for pair, trips in enumerate(group.trips)
            ]
        )
        start = prices.bonus(asked, number) - group.truck.rates.call_out
        same = (group.kind, reward.tobytes(), start)
        if same not in known:
            tariff = Tariff(reward, start)
            known[same] = pricer.best(tariff, floor=0.0, quick=False, most=1)
        answer = known[same]
        top = max(answer.top or 0.0, 0.0)
        doubt = rounding(group.truck.rates)
        earned += len(group.slots) * (top + doubt)
        if top > doubt and answer.patterns:
            for pair in answer.patterns[0].tasks:
                made[at[pair, group.capacity[pair]]] += len(group.slots)
    return earned, made


def relax(problem: AllocationProblem) -> Prices | None:
    """Prices of the linear relaxation in which nothing is short; None if it has none."""
    layout = Layout(problem)
    rows = build_rows(problem, layout)
    table, low, high = rows.table(), np.array(rows.low), np.array(rows.high)
    above, under = np.isfinite(high), np.isfinite(low)
    bounds = variable_bounds(problem, layout)
    upper = bounds.ub.copy()
    upper[list(layout.short)] = 0.0
    result = linprog(  # type: ignore[call-overload]  # stubs know no sparse A_ub
        costs(problem, layout),
        A_ub=vstack([table[above], -table[under]], format="csr"),
        b_ub=np.concatenate([high[above], -low[under]]),
        bounds=np.column_stack([np.zeros(layout.width), upper]),
        method="highs",
    )
    if result.status != 0:
        return None
    marginal = np.asarray(result.ineqlin.marginals)
    split = int(above.sum())
    dual = np.zeros(table.shape[0])
    dual[above] += marginal[:split]
    dual[under] -= marginal[split:]
    return Prices(
        tonne=_of(rows.role, dual, "carry", len(problem.pairs)),
        part=_of(rows.role, dual, "part", len(problem.pairs)),
        trip=_of(rows.role, dual, "trips", len(problem.demands)),
        slot=tuple(-v for v in _of(rows.role, dual, "group", len(problem.limits))),
        fleet=tuple(
            max(0.0, v) for v in _of(rows.role, dual, "fleet", len(problem.fleets))
        ),
        objective=float(result.fun),
    )


def _of(
    role: dict[tuple[str, int], int], dual: NDArray[np.float64], kind: str, count: int
) -> tuple[float, ...]:
    return tuple(
        float(dual[role[kind, index]]) if (kind, index) in role else 0.0
        for index in range(count)
    )
