"""Choosing shifts from a pool of patterns: the set covering programme and its relaxation.

Variables: how often each pattern is driven, how much of each haul stays behind, and how
many loads of each haul pay the part-load charge.
Rows: every haul is carried or stays behind (see `rows.py`); a group of like slots is not
used more often than it has slots; no more than a given mass stays behind in all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, hstack, vstack

from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.rows import Row, cover_rows, fewest_part_loads
from logistics.domain.planning.shifts import SlotClass

Floats = NDArray[np.float64]

# Branch-and-bound nodes, not seconds: the answer must not depend on the clock.
NODE_LIMIT = 400
NOTHING = 10**15
"""Value of no choice at all, dearer than any."""


@dataclass(frozen=True)
class Prices:
    """Shadow prices of the relaxation: `worth` of rows, `group` of the groups' slots.

    The rows are kept because the pool's own may have changed since.
    """

    rows: tuple[Row, ...]
    worth: Floats
    group: Floats
    objective: float
    used: Floats
    """How often each pattern is driven in the relaxation."""


@dataclass(frozen=True)
class Chosen:
    """The patterns driven, with repetitions, and the kg left of each haul.

    `value` is the objective, `floor` what no choice of these patterns comes below; `exact`
    if they are the same.
    """

    driven: list[Pattern]
    left: list[int]
    value: int
    floor: int
    exact: bool


class Pool:
    """Patterns without repetition, and the programme over them."""

    def __init__(self, problem: PlanProblem, groups: Sequence[SlotClass]) -> None:
        self.problem = problem
        self.groups = groups
        self.rows = cover_rows(problem, groups, cuts=True)
        self.patterns: list[Pattern] = []
        self._held: dict[tuple[int, tuple[int, ...]], int] = {}
        self.masses = np.array([float(haul.mass_kg) for haul in problem.hauls])
        self.slots = np.array([float(len(group.slots)) for group in groups])
        self.charges = np.array([float(h.part_load.charge) for h in problem.hauls])
        self.least_part = self._fewest()
        self.most_part = np.array(
            [
                float(h.mass_kg // h.unit_kg) if h.part_load.charge > 0 else 0.0
                for h in problem.hauls
            ]
        )

    def _fewest(self) -> Floats:
        hauls = enumerate(self.problem.hauls)
        found = [fewest_part_loads(index, haul, self.groups) for index, haul in hauls]
        return np.array(found, dtype=np.float64)

    def add(self, pattern: Pattern) -> bool:
        """Take a pattern in, unless one with the same trips is as cheap. True if new."""
        key = (pattern.group, tuple(sorted(pattern.hauls)))
        at = self._held.get(key)
        if at is None:
            self._held[key] = len(self.patterns)
            self.patterns.append(pattern)
            return True
        if pattern.cost < self.patterns[at].cost:
            self.patterns[at] = pattern
            return True
        return False

    def allow_left(self) -> None:
        """Use rows that hold when a part of the hauls stays behind."""
        self.rows = cover_rows(self.problem, self.groups, cuts=False)
        self.least_part = np.zeros_like(self.least_part)

    def tighten(self) -> None:
        """Use rows for plans that leave nothing behind."""
        self.rows = cover_rows(self.problem, self.groups, cuts=True)
        self.least_part = self._fewest()

    def trips(self) -> Floats:
        """Trips of each haul (row) in each pattern (column)."""
        table = np.zeros((len(self.problem.hauls), len(self.patterns)))
        for column, pattern in enumerate(self.patterns):
            for haul in pattern.hauls:
                table[haul, column] += 1
        return table

    def _sides(self) -> Floats:
        """Coefficients of the kg left and of the charged loads of each haul."""
        count = len(self.problem.hauls)
        table = np.zeros((len(self.rows), 2 * count))
        for at, row in enumerate(self.rows):
            if row.haul is not None:
                table[at, row.haul] = row.left
                table[at, count + row.haul] = row.part
        return table

    def matrix(self) -> csr_array:
        """Rows over patterns, masses left and charged loads."""
        trips = self.trips()
        group = np.array([p.group for p in self.patterns], dtype=np.int64)
        body = np.zeros((len(self.rows), len(self.patterns)))
        for at, row in enumerate(self.rows):
            weight = np.array(row.weight)[group] if len(group) else np.zeros(0)
            body[at] = weight * trips[row.haul] if row.haul is not None else weight
        return csr_array(np.hstack([body, self._sides()]))

    def _group_rows(self) -> csr_array:
        count = len(self.patterns)
        group = [p.group for p in self.patterns]
        shape = (len(self.groups), count + 2 * len(self.problem.hauls))
        return csr_array((np.ones(count), (group, range(count))), shape=shape)

    def _left_row(self) -> csr_array:
        row = np.zeros((1, len(self.patterns) + 2 * len(self.problem.hauls)))
        row[0, len(self.patterns) : len(self.patterns) + len(self.problem.hauls)] = 1.0
        return csr_array(row)

    def _costs(self, *, paid: bool) -> Floats:
        hauls = len(self.problem.hauls)
        if not paid:
            return np.concatenate(
                [np.zeros(len(self.patterns)), np.ones(hauls), np.zeros(hauls)]
            )
        own = np.array([float(p.cost) for p in self.patterns])
        return np.concatenate([own, np.zeros(hauls), self.charges])

    def _limits(self) -> tuple[Floats, Floats]:
        count = len(self.patterns)
        most = np.array([self.slots[p.group] for p in self.patterns])
        zero = np.zeros(count + len(self.masses))
        return (
            np.concatenate([zero, self.least_part]),
            np.concatenate([most, self.masses, self.most_part]),
        )

    def relax(self, *, left_kg: int, elastic: float, paid: bool = True) -> Prices:
        """Solve the linear relaxation and return its shadow prices.

        `elastic` is what the whole of a row costs while no pattern can pay for it.
        """
        need = np.array([row.need for row in self.rows])
        spare = csr_array(np.eye(len(self.rows)))
        low = vstack([self._group_rows(), self._left_row()])
        table = vstack(
            [
                hstack([-self.matrix(), -spare]),
                hstack([low, csr_array((low.shape[0], len(self.rows)))]),
            ],
            format="csr",
        )
        least, most = self._limits()
        slack = elastic / np.maximum(np.abs(need), 1)
        most[: len(self.patterns)] = np.inf  # the group rows say it already
        result = linprog(  # type: ignore[call-overload]  # stubs know no sparse A_ub
            np.concatenate([self._costs(paid=paid), slack]),
            A_ub=table,
            b_ub=np.concatenate([-need, self.slots, [float(left_kg)]]),
            bounds=np.column_stack(
                [
                    np.concatenate([least, np.zeros(len(slack))]),
                    np.concatenate([most, np.full(len(slack), np.inf)]),
                ]
            ),
            method="highs",
        )
        if result.status != 0:  # the slack makes every such programme feasible
            raise RuntimeError(f"relaxation not solved: {result.message}")
        dual = np.maximum(-np.asarray(result.ineqlin.marginals), 0.0)
        count = len(self.rows)
        used = np.asarray(result.x[: len(self.patterns)], dtype=np.float64)
        return Prices(
            tuple(self.rows), dual[:count], dual[count:-1], float(result.fun), used
        )

    def rewards(self, prices: Prices, group: int) -> tuple[Floats, float]:
        """What a trip of each haul, and a shift as such, is worth to a group."""
        reward, shift = np.zeros(len(self.problem.hauls)), 0.0
        for price, row in zip(prices.worth, prices.rows, strict=True):
            if row.haul is None:
                shift += price * row.weight[group]
            else:
                reward[row.haul] += price * row.weight[group]
        return reward, shift

    def bound(
        self, prices: Prices, tops: Floats, *, left_kg: int, paid: bool = True
    ) -> float:
        """Lagrangian bound: true if no pattern of group g is worth more than `tops[g]`."""
        need = np.array([row.need for row in self.rows])
        sides = (
            self._costs(paid=paid)[len(self.patterns) :] - prices.worth @ self._sides()
        )
        left, part = np.split(sides, 2)
        value = float(prices.worth @ need)
        value += float(np.minimum(part * self.least_part, part * self.most_part).sum())
        value += left_kg * min(0.0, float(left.min(initial=0.0)))
        return value - float(self.slots @ np.maximum(tops, 0.0))

    def least_left(self) -> tuple[int, bool]:
        """The least mass, in kg, that stays behind with these patterns; if it is proven."""
        kept = self.rows, self.least_part
        self.allow_left()
        found = self._solved(
            paid=False, left_kg=int(self.masses.sum()), nodes=NODE_LIMIT
        )
        self.rows, self.least_part = kept
        return sum(found.left), found.exact

    def only(self, patterns: Iterable[Pattern]) -> Pool:
        """A pool with the same rows and nothing but these patterns."""
        own = Pool(self.problem, self.groups)
        own.rows, own.least_part = self.rows, self.least_part
        for pattern in patterns:
            own.add(pattern)
        return own

    def choose(self, *, left_kg: int, nodes: int = NODE_LIMIT) -> Chosen:
        """The cheapest choice that leaves no more than `left_kg` behind.

        Raises RuntimeError if there is none (there always is one for a `left_kg` that
        `least_left` returned).
        """
        return self._solved(paid=True, left_kg=left_kg, nodes=nodes)

    def _solved(self, *, paid: bool, left_kg: int, nodes: int) -> Chosen:
        while True:
            found = self._solve(paid=paid, left_kg=left_kg, nodes=nodes)
            if found.value < NOTHING:
                return found
            if found.exact:
                raise RuntimeError("no choice of shifts leaves so little behind")
            nodes *= 10

    def attempt(self, *, left_kg: int, nodes: int) -> Chosen:
        """Like `choose`, but of the value NOTHING if no choice is found."""
        return self._solve(paid=True, left_kg=left_kg, nodes=nodes)

    def _solve(self, *, paid: bool, left_kg: int, nodes: int) -> Chosen:
        count, hauls = len(self.patterns), len(self.problem.hauls)
        low = vstack([self._group_rows(), self._left_row()])
        most = np.concatenate([self.slots, [float(left_kg)]])
        least, largest = self._limits()
        cost = self._costs(paid=paid)
        constraints = [
            LinearConstraint(self.matrix(), [row.need for row in self.rows], np.inf),
            LinearConstraint(low, -np.inf, most),
            *self._no_empty_trips(),
        ]
        result = milp(
            cost,
            constraints=constraints,
            integrality=np.ones(count + 2 * hauls, dtype=np.int64),
            bounds=Bounds(least, largest),
            options={"node_limit": nodes, "mip_rel_gap": 0.0},
        )
        # The solver's bound is trusted to its own tolerance of a millionth.
        floor = math.ceil((result.mip_dual_bound or 0.0) * (1 - 1e-6) - 1e-3)
        if result.x is None:
            none = int(result.status) == 2
            return Chosen([], [], NOTHING, NOTHING if none else floor, none)
        whole = np.rint(result.x)
        exact = int(result.status) == 0
        value = int(np.rint(cost @ whole))
        return Chosen(
            [
                pattern
                for pattern, times in zip(self.patterns, whole[:count], strict=True)
                for _ in range(int(times))
            ],
            [int(value) for value in whole[count : count + hauls]],
            value,
            value if exact else floor,
            exact,
        )

    def _no_empty_trips(self) -> list[LinearConstraint]:
        """Every trip takes a piece: charged loads <= trips, pieces of all trips <= mass."""
        hauls, trips = self.problem.hauls, self.trips()
        piece = np.array([float(haul.unit_kg) for haul in hauls])
        carried = np.hstack(
            [trips * piece[:, None], np.eye(len(hauls)), np.zeros((len(hauls),) * 2)]
        )
        return [LinearConstraint(csr_array(carried), -np.inf, self.masses)]
