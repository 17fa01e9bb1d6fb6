"""Choosing shifts from a pool of patterns: the set covering programme and its relaxation.

Variables: how often each pattern is driven, and the columns of `sides`. Rows: every haul is
carried or stays behind (`rows`), what binds shifts to one another (`coupling`); a group of
like slots is not used more often than it has slots; no more than a given mass stays behind.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, hstack, vstack

from logistics.domain.planning.coupling import Spare, coupling_rows
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.rows import Floats, Row, RowMaker, fewest_part_loads
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sides import sides_of

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

    def __init__(
        self,
        problem: PlanProblem,
        groups: Sequence[SlotClass],
        spare: Spare | None = None,
    ) -> None:
        self.problem = problem
        self.groups = groups
        self.spare: Spare = spare if spare is not None else {}
        self.sides = sides_of(problem, groups)
        self.maker = RowMaker(problem, groups, self.sides)
        self.coupling = coupling_rows(self.maker, self.spare)
        self.rows = self._rows(cuts=True)
        self.patterns: list[Pattern] = []
        self._held: dict[tuple[int, tuple[int, ...]], int] = {}
        self.masses = np.array([float(haul.mass_kg) for haul in problem.hauls])
        self.units = np.array([float(haul.unit_kg) for haul in problem.hauls])
        self.slots = np.array([float(len(group.slots)) for group in groups])
        self.least_part = self._fewest()

    def _rows(self, *, cuts: bool) -> list[Row]:
        return self.maker.all(cuts=cuts) + self.coupling

    def _fewest(self) -> Floats:
        hauls = enumerate(self.problem.hauls)
        found = [fewest_part_loads(index, haul, self.groups) for index, haul in hauls]
        return np.array(found, dtype=np.float64)

    def add(self, pattern: Pattern) -> bool:
        """Take a pattern in, unless one with the same tasks is as cheap. True if new."""
        key = (pattern.group, tuple(sorted(pattern.tasks)))
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
        self.rows = self._rows(cuts=False)
        self.least_part = np.zeros_like(self.least_part)

    def tighten(self) -> None:
        """Use rows for plans that leave nothing behind."""
        self.rows = self._rows(cuts=True)
        self.least_part = self._fewest()

    def made(self) -> Floats:
        """How often each pattern (row) does each task (column)."""
        table = np.zeros((len(self.patterns), self.maker.shape[1]))
        for row, pattern in enumerate(self.patterns):
            for task in pattern.tasks:
                table[row, task] += 1
        return table

    def _side_table(self) -> csr_array:
        data, at, columns = [], [], []
        for number, row in enumerate(self.rows):
            for column, value in row.sides:
                data.append(value)
                at.append(number)
                columns.append(column)
        shape = (len(self.rows), len(self.sides.cost))
        return csr_array((data, (at, columns)), shape=shape)

    def matrix(self) -> csr_array:
        """Rows over patterns and side columns."""
        made = self.made()
        group = np.array([p.group for p in self.patterns], dtype=np.int64)
        body = np.zeros((len(self.rows), len(self.patterns)))
        trips = np.array([row.trips for row in self.rows]).reshape(
            len(self.rows), *self.maker.shape
        )
        shifts = np.array([row.shifts for row in self.rows]).reshape(
            len(self.rows), self.maker.shape[0]
        )
        for number in np.unique(group):
            own = group == number
            body[:, own] = (
                trips[:, number, :] @ made[own].T + shifts[:, number][:, None]
            )
        return csr_array(hstack([csr_array(body), self._side_table()]))

    def _group_rows(self) -> csr_array:
        count = len(self.patterns)
        group = [p.group for p in self.patterns]
        shape = (len(self.groups), count + len(self.sides.cost))
        return csr_array((np.ones(count), (group, range(count))), shape=shape)

    def _left_row(self) -> csr_array:
        row = np.zeros((1, len(self.patterns) + len(self.sides.cost)))
        row[0, len(self.patterns) : len(self.patterns) + len(self.masses)] = self.units
        return csr_array(row)

    def _side_costs(self, *, paid: bool) -> Floats:
        if paid:
            return np.array(self.sides.cost, dtype=np.float64)
        cost = np.zeros(len(self.sides.cost))
        cost[: len(self.masses)] = self.units
        return cost

    def _costs(self, *, paid: bool) -> Floats:
        own = [float(p.cost) if paid else 0.0 for p in self.patterns]
        return np.concatenate([np.array(own), self._side_costs(paid=paid)])

    def _side_limits(self) -> tuple[Floats, Floats]:
        low, high = np.array(self.sides.low), np.array(self.sides.high)
        first = len(self.masses)
        low[first : 2 * first] = self.least_part
        return low, high

    def _limits(self) -> tuple[Floats, Floats]:
        most = np.array([self.slots[p.group] for p in self.patterns])
        low, high = self._side_limits()
        return np.concatenate([np.zeros(len(most)), low]), np.concatenate([most, high])

    def relax(self, *, left_kg: int, elastic: float, paid: bool = True) -> Prices:
        """Solve the linear relaxation and return its shadow prices.

        `elastic` is what the whole of a row costs while no pattern can pay for it.
        """
        need = np.array([row.need for row in self.rows])
        short = np.flatnonzero(need > 0)  # the others hold with nothing driven
        spare = csr_array(
            (np.ones(len(short)), (short, range(len(short)))),
            shape=(len(self.rows), len(short)),
        )
        low = vstack([self._group_rows(), self._left_row()])
        table = vstack(
            [
                hstack([-self.matrix(), -spare]),
                hstack([low, csr_array((low.shape[0], len(short)))]),
            ],
            format="csr",
        )
        least, most = self._limits()
        slack = elastic / np.maximum(need[short], 1)
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
        """What each task, and a shift as such, is worth to a group."""
        reward, shift = np.zeros(self.maker.shape[1]), 0.0
        for price, row in zip(prices.worth, prices.rows, strict=True):
            if price:
                reward += price * row.trips[group]
                shift += price * row.shifts[group]
        return reward, float(shift)

    def bound(
        self, prices: Prices, tops: Floats, *, left_kg: int, paid: bool = True
    ) -> float:
        """Lagrangian bound: true if no pattern of group g is worth more than `tops[g]`."""
        need = np.array([row.need for row in self.rows])
        sides = self._side_costs(paid=paid) - prices.worth @ self._side_table()
        low, high = self._side_limits()
        count = len(self.masses)
        value = float(prices.worth @ need)
        others = np.minimum(sides * low, sides * high)[count:]
        value += float(others.sum())
        left = sides[:count] / self.units
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
        own = Pool(self.problem, self.groups, self.spare)
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
        whole = np.concatenate([np.ones(count), np.array(self.sides.whole)])
        constraints = [
            LinearConstraint(self.matrix(), [row.need for row in self.rows], np.inf),
            LinearConstraint(low, -np.inf, most),
            *self._no_empty_trips(),
        ]
        result = milp(
            cost,
            constraints=constraints,
            integrality=whole,
            bounds=Bounds(least, largest),
            options={"node_limit": nodes, "mip_rel_gap": 0.0},
        )
        # The solver's bound is trusted to its own tolerance of a millionth.
        floor = math.ceil((result.mip_dual_bound or 0.0) * (1 - 1e-6) - 1e-3)
        if result.x is None:
            none = int(result.status) == 2
            return Chosen([], [], NOTHING, NOTHING if none else floor, none)
        found = np.where(whole > 0, np.rint(result.x), result.x)
        exact = int(result.status) == 0
        value = math.floor(float(cost @ found) + 1e-3)
        return Chosen(
            [
                pattern
                for pattern, times in zip(self.patterns, found[:count], strict=True)
                for _ in range(int(times))
            ],
            [int(own) for own in found[count : count + hauls] * self.units],
            value,
            value if exact else floor,
            exact,
        )

    def _no_empty_trips(self) -> list[LinearConstraint]:
        """Every trip takes a piece: pieces of all trips <= mass that is carried."""
        hauls = self.problem.hauls
        if not self.patterns:
            return []
        made = self.made()
        table = np.zeros((len(hauls), len(self.patterns) + len(self.sides.cost)))
        for index, haul in enumerate(hauls):
            trips = made @ self.maker.serves[index]
            table[index, : len(self.patterns)] = trips * haul.unit_kg
            table[index, len(self.patterns) + index] = haul.unit_kg
        return [LinearConstraint(csr_array(table), -np.inf, self.masses)]
