"""Ordering before the soil is known, and putting it right afterwards, as one programme.

First stage: dry kg of each part ordered now. Then the heap's clay share shows, and with it
the second stage: what is used, what more must be fetched at a surcharge, what is left over.
A mix outside its window is never built with: it is put right from the same parts. The
programme holds all states at once. Every state must leave some recipe; ArithmeticError
otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from logistics.domain.errors import refuse
from matching.domain.mix.blend import ROOM
from matching.domain.mix.ends import with_clay
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.rules import held_dry_kg, mix_rules
from matching.domain.takeoff import MixTarget

# Keeps a fetched kg dearer than one at hand where both are free.
_NUDGE = 1e-7


@dataclass(frozen=True, slots=True)
class Terms:
    """What a wrong order costs. `rush` is the surcharge on the delivered price of what is
    fetched later (0.5: half as much again; a guess, no source), `second_delivery` is paid
    once in minor units if anything is fetched, `leftover_per_dry_kg` for what is not used.

    A holder who pays does so for the first order only, and what of it stays unused costs at
    least as much again to be rid of. Raises Refused for negative figures.
    """

    rush: float = 0.5
    second_delivery: float = 0.0
    leftover_per_dry_kg: float = 0.0

    def __post_init__(self) -> None:
        for field in ("rush", "second_delivery", "leftover_per_dry_kg"):
            if not 0 <= getattr(self, field) < np.inf:
                raise refuse(
                    "term_below_zero",
                    field=f"terms.{field}",
                    given=getattr(self, field),
                    message="a surcharge cannot be negative",
                    remedy="Give 0 or more.",
                )


@dataclass(frozen=True, slots=True)
class Haul:
    """`dry_kg` of a mix from priced parts, one of which, `heap`, is not well known."""

    parts: tuple[Part, ...]
    heap: str
    mix: MixTarget
    limits: MixLimits
    dry_kg: float
    terms: Terms = Terms()
    target_first: bool = False

    def if_clay(self, share: float) -> tuple[Part, ...]:
        """The parts if the heap's clay were known."""
        return tuple(
            with_clay(part, share) if part.key == self.heap else part
            for part in self.parts
        )

    def prices(self) -> NDArray[np.float64]:
        """Minor units for a usable dry kg of each part. Raises Refused if one is missing."""
        for part in self.parts:
            if part.per_kg is None:
                raise refuse(
                    "price_missing",
                    field=f"parts.{part.key}.per_kg",
                    given="nothing",
                    message="knowing has a worth in money only where all parts have prices",
                    remedy="Give its delivered cost for a kg, 0 if it is free.",
                )
        return np.array([part.per_dry_kg or 0.0 for part in self.parts])


class Programme:
    """The two stages for a haul over states of the heap. Amounts are shares of `dry_kg`."""

    def __init__(self, haul: Haul, states: Sequence[float]) -> None:
        self.haul, self.states = haul, states
        self.width = len(haul.parts)
        price = haul.prices()
        self.price = price
        self.fetch = np.maximum(price, 0.0) * (1 + haul.terms.rush)
        self.left = np.maximum(haul.terms.leftover_per_dry_kg, -price)
        held = [held_dry_kg(part, safe=False) / haul.dry_kg for part in haul.parts]
        self.held = np.array(held)
        self.equal, self.table, self.limit = self._rows()

    def costs_of(self, order: NDArray[np.float64]) -> tuple[float, ...]:
        """Cost in minor units of an order in each state, put right as cheaply as can be."""
        found = self._solve(order)
        first = float(self.price @ order)
        costs = []
        for state in range(len(self.states)):
            used, more = self._stage(found, state)
            left = float(self.left @ np.maximum(order + more - used, 0.0))
            own = first + float(self.fetch @ more) + left
            fee = self.haul.terms.second_delivery if more.sum() > ROOM else 0.0
            costs.append(own * self.haul.dry_kg + fee)
        return tuple(costs)

    def _stage(
        self, found: NDArray[np.float64], state: int
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        at = self.width * (1 + 2 * state)
        return found[at : at + self.width], found[at + self.width : at + 2 * self.width]

    def _rows(
        self,
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        n = self.width
        columns = n * (1 + 2 * len(self.states))
        equal = np.zeros((len(self.states), columns))
        tables, limits = [], []
        one = np.eye(n)
        for state, share in enumerate(self.states):
            at = n * (1 + 2 * state)
            used, more = slice(at, at + n), slice(at + n, at + 2 * n)
            equal[state, used] = 1.0
            rules = mix_rules(
                self.haul.if_clay(share), self.haul.mix, self.haul.limits, safe=False
            )
            block = np.zeros((2 * n + len(rules), columns))
            block[:n, :n], block[:n, used], block[:n, more] = -one, one, -one
            block[n : 2 * n, :n], block[n : 2 * n, more] = one, one
            for row, rule in enumerate(rules):
                block[2 * n + row, used] = np.array(rule.row) - rule.limit
            tables.append(block)
            limits.append(
                np.concatenate([np.zeros(n), self.held, np.zeros(len(rules))])
            )
        return equal, np.vstack(tables), np.concatenate(limits)

    def _solve(self, order: NDArray[np.float64]) -> NDArray[np.float64]:
        scale = float(np.abs(self.price).max()) or 1.0
        cost = [self.price + self.left]
        bounds: list[tuple[float, float | None]] = [(own, own) for own in order]
        for _ in self.states:
            cost += [-self.left, self.fetch + self.left + _NUDGE * scale]
            bounds += [(0.0, None)] * (2 * self.width)
        finite = np.isfinite(self.limit)
        answer = linprog(
            np.concatenate(cost) / scale,
            A_ub=self.table[finite],
            b_ub=self.limit[finite],
            A_eq=self.equal,
            b_eq=np.ones(len(self.states)),
            bounds=bounds,
            method="highs",
        )
        if answer.status != 0 or answer.x is None:
            raise ArithmeticError("a state of the heap leaves no wall at all")
        return np.asarray(answer.x, dtype=np.float64)
