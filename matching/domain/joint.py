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
from scipy.sparse import csr_array, vstack

from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.pricing import Pricer, Tariff
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sweep import Field
from matching.domain.allocation import Allocation, allocate
from matching.domain.pairing import Pairing, pattern_move
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
PROOFS = 3
"""Exact pricing rounds, each of which gives a bound."""
EXACT = 60_000
"""Partial shifts of an exact search; beyond it the bound is weaker, not wrong."""
WIDE, BEAM = 12, 3_000
"""Quick searches get narrower with the number of pairs and groups."""
DOUBT = 1.0
"""A shift's cost is rounded at two places, by at most a half each."""
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
    pool = {(p.group, tuple(sorted(p.hauls))): p for p in seeds}
    work = max(1, len(question.pairs) * len(groups))
    rounds = min(ROUNDS, WORK // work)
    if rounds < FEWEST:
        return Joint(None, -math.inf)
    pricers = [
        Pricer(Field(number, group), limit=EXACT, beam=max(1, min(WIDE, BEAM // work)))
        for number, group in enumerate(groups)
    ]
    best, proofs = -math.inf, 0
    for _ in range(rounds):
        asked = replace(question, moves=_moves(groups, pool.values()))
        prices = relax(asked)
        if prices is None:
            return Joint(None, -math.inf)
        tariffs = [
            _tariff(asked, prices, number, own) for number, own in enumerate(groups)
        ]
        if _generate(pricers, tariffs, prices, pool):
            continue
        proofs += 1
        answers = [
            pricer.best(tariff, floor=price + DOUBT / 2, quick=False, most=OFFERED)
            for pricer, tariff, price in zip(pricers, tariffs, prices.slot, strict=True)
        ]
        tops = [max(answer.top or 0.0, 0.0) for answer in answers]
        bound = _bound(asked, groups, prices, tops)
        best = max(best, bound)
        fresh = any([_take(pool, own) for answer in answers for own in answer.patterns])
        if not fresh or proofs == PROOFS:
            break
    asked = replace(question, moves=_moves(groups, pool.values()))
    return Joint(allocate(asked, nodes=NODES), best)


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


def _tariff(
    asked: AllocationProblem, prices: Prices, number: int, group: SlotClass
) -> Tariff:
    """The prices as one group sees them."""
    reward = np.array(
        [
            prices.reward(asked, pair, group.capacity[pair]) if trips else 0.0
            for pair, trips in enumerate(group.trips)
        ]
    )
    return Tariff(reward, prices.bonus(asked, number) - group.truck.rates.call_out)


def _generate(
    pricers: Sequence[Pricer], tariffs: Sequence[Tariff], prices: Prices, pool: _Pool
) -> bool:
    """Put patterns that pay, quickly found, into the pool. True if there were any."""
    fresh = False
    for pricer, tariff, price in zip(pricers, tariffs, prices.slot, strict=True):
        for own in pricer.quickly(tariff, floor=price + DOUBT / 2, most=OFFERED):
            fresh |= _take(pool, own)
    return fresh


def _take(pool: _Pool, pattern: Pattern) -> bool:
    key = (pattern.group, tuple(sorted(pattern.hauls)))
    if key in pool and pool[key].cost <= pattern.cost:
        return False
    pool[key] = pattern
    return True


def _bound(
    question: AllocationProblem,
    groups: Sequence[SlotClass],
    prices: Prices,
    tops: Sequence[float],
) -> float:
    """The cheapest allocation in whole loads at the prices, less what slots can earn."""
    priced: dict[tuple[int, int], float] = {}
    for group in groups:
        for pair, trips in enumerate(group.trips):
            if trips:
                kg = group.capacity[pair]
                priced[pair, kg] = prices.reward(question, pair, kg)
    moves = tuple(Move(cost, ((pair, 1, kg),)) for (pair, kg), cost in priced.items())
    free = replace(question, moves=moves, limits=(), fleets=())
    shifts = sum(
        price * least
        for price, (_, least) in zip(prices.fleet, question.fleets, strict=True)
    )
    return (
        allocate(free, nodes=NODES).bound
        + shifts
        - sum(
            len(group.slots) * (top + DOUBT)
            for group, top in zip(groups, tops, strict=True)
        )
    )


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
