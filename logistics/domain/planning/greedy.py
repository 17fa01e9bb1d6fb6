"""Plans made shift by shift at the prices of the relaxation: a first whole answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from logistics.domain.planning.bounds import Generated, tariff_of
from logistics.domain.planning.master import Pool
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.pricing import Pricer, Tariff
from logistics.domain.planning.shifts import SlotClass

EAGER = 4.0
"""Prices are also tried raised by this, so that shifts are filled to the last minute."""


def add_greedy(
    pool: Pool, pricers: Sequence[Pricer], proof: Generated, *, paid: bool = True
) -> None:
    """Add the patterns of plans that take the shift of most worth again and again."""
    if proof.prices is None:
        return
    for eagerness in (1.0, EAGER) if paid else (1.0,):
        for pattern in _greedy(pool, pricers, proof, eagerness, paid=paid):
            pool.add(pattern)


def _greedy(
    pool: Pool,
    pricers: Sequence[Pricer],
    proof: Generated,
    eagerness: float,
    *,
    paid: bool,
) -> list[Pattern]:
    if proof.prices is None:
        return []
    free = [len(slots.slots) for slots in pool.groups]
    rest = [haul.mass_kg for haul in pool.problem.hauls]
    tariffs = []
    for group in range(len(free)):
        own = tariff_of(pool, proof.prices, group, paid=paid)
        tariffs.append(replace(own, reward=own.reward * eagerness))
    found: list[Pattern] = []
    while any(free) and any(rest):
        offers = [
            offer
            for group, pricer in enumerate(pricers)
            if free[group]
            and (offer := _offer(pricer, pool.groups[group], tariffs[group], rest))
        ]
        if not offers:
            break
        _, pattern = max(offers, key=lambda offer: offer[0])
        found.append(pattern)
        free[pattern.group] -= 1
        for haul in pattern.hauls:
            size = pool.groups[pattern.group].capacity[haul]
            rest[haul] = max(0, rest[haul] - size)
    return found


def _offer(
    pricer: Pricer, slots: SlotClass, tariff: Tariff, rest: Sequence[int]
) -> tuple[float, Pattern] | None:
    """The best shift for what is left to carry, with what it is worth."""
    most = np.array(
        [
            -(-rest[haul] // slots.capacity[haul])
            for haul in pricer.field.hauls.tolist()
        ],
        dtype=np.int16,
    )
    pattern = pricer.quick(tariff, most)
    if pattern is None:
        return None
    earned = sum(float(tariff.reward[haul]) for haul in pattern.hauls)
    return earned - (pattern.cost if tariff.paid else 0), pattern
