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

EAGER = (1.0, 1.2, 1.5, 2.0, 3.0, 5.0)
"""Prices are also tried raised by this, so that shifts are filled to the last minute."""
MANY, VERY_MANY = 150, 300
"""Tasks of all groups from which only two of these, or the first alone, are tried."""


def add_greedy(
    pool: Pool, pricers: Sequence[Pricer], proof: Generated, *, paid: bool = True
) -> list[Pattern]:
    """Add the patterns of plans that take the shift of most worth again and again."""
    work = sum(pricer.field.size for pricer in pricers)
    eager = EAGER if work < MANY else EAGER[::3] if work < VERY_MANY else EAGER[:1]
    found = [
        pattern
        for eagerness in (eager if paid else (1.0,))
        for pattern in _greedy(pool, pricers, proof, eagerness, paid=paid)
    ]
    for pattern in found:
        pool.add(pattern)
    return found


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
    sellers = []
    for group, pricer in enumerate(pricers):
        own = tariff_of(pool, proof.prices, group, paid=paid)
        sellers.append(_Seller(pricer, replace(own, reward=own.reward * eagerness)))
    found: list[Pattern] = []
    while any(free) and any(rest):
        offers = [
            offer
            for group, seller in enumerate(sellers)
            if free[group] and (offer := seller.offer(rest))
        ]
        if not offers:
            break
        _, pattern = max(offers, key=lambda offer: offer[0])
        found.append(pattern)
        free[pattern.group] -= 1
        for task in pattern.tasks:
            _carry(pool.groups[pattern.group], task, rest)
    return found


def _carry(slots: SlotClass, task: int, rest: list[int]) -> None:
    """Take what a task can carry off the rest; on a milk run first come, first served."""
    room = 1.0
    for haul in slots.tasks[task].hauls:
        size = slots.capacity[haul]
        taken = min(rest[haul], int(size * room))
        rest[haul] -= taken
        room -= taken / size


class _Seller:
    """Offers the best shift of one group, over and over."""

    def __init__(self, pricer: Pricer, tariff: Tariff) -> None:
        self.field, self.tariff = pricer.field, tariff
        self.find = pricer.quick(tariff)

    def offer(self, rest: Sequence[int]) -> tuple[float, Pattern] | None:
        """The best shift for what is left to carry, with what it is worth."""
        slots = self.field.slots
        most = [
            min(
                -(-rest[haul] // slots.capacity[haul])
                for haul in slots.tasks[task].hauls
            )
            for task in self.field.tasks.tolist()
        ]
        pattern = self.find(np.array(most, dtype=np.int16))
        if pattern is None:
            return None
        earned = sum(float(self.tariff.reward[task]) for task in pattern.tasks)
        return earned - (pattern.cost if self.tariff.paid else 0), pattern
