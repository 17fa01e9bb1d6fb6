"""A proven lower bound on what any plan must cost, by column generation.

It holds for every plan that leaves at most `left_kg` behind: it prices what the rows ask
for and lets every slot take its best pattern at these prices (Lagrangian bound of the
column generation, Farley 1990 and Luebbecke and Desrosiers 2005).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from logistics.domain.planning.hire import rounding
from logistics.domain.planning.master import Pool, Prices
from logistics.domain.planning.patterns import Pattern, empty_pattern
from logistics.domain.planning.pricing import Priced, Pricer, Tariff
from logistics.domain.planning.rows import Floats

ROUNDS = 120
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
    doubts = np.array([rounding(own.truck.rates) * paid for own in pool.groups])
    for round_ in range(rounds):
        prices = pool.relax(left_kg=left_kg, elastic=elastic, paid=paid)
        floors = prices.group + doubts / 2
        fast = quick and round_ < rounds - 1
        answers = _answers(pool, pricers, prices, floors, quick=fast, paid=paid)
        added = sum(pool.add(own) for answer in answers for own in answer.patterns)
        tops = [
            _with_empty(pool, prices, group, answer.top, paid=paid)
            for group, answer in enumerate(answers)
        ]
        known = [top for top in tops if top is not None]
        if len(known) == len(tops):
            worth = np.array(known) + doubts
            value = pool.bound(prices, worth, left_kg=left_kg, paid=paid)
            if value > best.value:
                best = Generated(value, prices, worth)
            if not added or value >= min(enough, prices.objective * (1 - CLOSE)):
                break
        # Only exact rounds give a bound: some are needed where one is waited for.
        quick = added > 0 and (math.isinf(enough) or round_ % 4 != 3)
    return best


def _answers(
    pool: Pool,
    pricers: Sequence[Pricer],
    prices: Prices,
    floors: Floats,
    *,
    quick: bool,
    paid: bool,
) -> list[Priced]:
    """The pricing problem of each group; groups that ask the same are asked once."""
    known: dict[object, Priced] = {}
    found = []
    for group, pricer in enumerate(pricers):
        tariff = tariff_of(pool, prices, group, paid=paid)
        floor = float(floors[group])
        asked = (pool.groups[group].kind, tariff.reward.tobytes(), tariff.start, floor)
        if asked not in known:
            known[asked] = pricer.best(tariff, floor=floor, quick=quick, most=OFFERED)
        own = known[asked]
        patterns = [replace(pattern, group=group) for pattern in own.patterns]
        found.append(Priced(own.top, patterns))
    return found


def _with_empty(
    pool: Pool, prices: Prices, group: int, top: float | None, *, paid: bool
) -> float | None:
    """The top of a group, an empty shift included."""
    empty = empty_pattern(group, pool.groups[group])
    if empty is None or top is None:
        return top
    _, shift = pool.rewards(prices, group)
    return max(top, shift - empty.cost * paid)


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
    found: list[tuple[float, Pattern]] = []
    known: dict[object, list[Pattern] | None] = {}
    for group, pricer in enumerate(pricers):
        tariff = tariff_of(pool, proof.prices, group, paid=paid)
        doubt = rounding(pool.groups[group].truck.rates) if paid else 1e-3
        # The top may be negative: then a slot that stays at home is worth 0.
        top = max(float(proof.tops[group]), 0.0)
        floor = top - gap - doubt
        asked = (pool.groups[group].kind, tariff.reward.tobytes(), tariff.start, floor)
        if asked not in known:
            known[asked] = pricer.within(tariff, floor=floor, limit=limit)
        alike = known[asked]
        if alike is None:
            return None
        own = [replace(pattern, group=group) for pattern in alike]
        empty = empty_pattern(group, pool.groups[group])
        for pattern in [*own, empty] if empty else own:
            earned = sum(float(tariff.reward[task]) for task in pattern.tasks)
            found.append((top - earned + (pattern.cost if paid else 0), pattern))
    found.sort(key=lambda pair: pair[0])
    return [pattern for _, pattern in found]


def cheapest_at(pool: Pool, proof: Generated, most: int) -> list[Pattern]:
    """The patterns of the pool that come nearest to paying at the prices of a bound."""
    if proof.prices is None:
        return []
    lost = np.zeros(len(pool.patterns))
    tariffs = [
        tariff_of(pool, proof.prices, group, paid=False)
        for group in range(len(pool.groups))
    ]
    for number, pattern in enumerate(pool.patterns):
        own = tariffs[pattern.group]
        earned = sum(float(own.reward[task]) for task in pattern.tasks) + own.start
        slot = float(proof.prices.group[pattern.group])
        lost[number] = pattern.cost - earned + slot
    order = np.argsort(lost, kind="stable")[:most]
    return [pool.patterns[number] for number in order.tolist()]
