"""Choosing shifts from a pool of patterns: the set covering programme and its relaxation.

Variables: how often each pattern is driven, and how much of each haul stays behind.
Rows: every haul is carried or stays behind; a group of like slots is not used more often
than it has slots; no more than a given mass stays behind in all.

Where nothing stays behind, each haul gets rounding cuts as well: with g the size of a full
load of one truck, whole trips must make up ceil(mass / g) loads of size g, a trip of a
truck of capacity c counting ceil(c / g) (Chvatal-Gomory). They are what makes the
relaxation tight, because it can no longer drive 0.3 of a trip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, hstack, lil_array, vstack

from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.shifts import SlotClass

# A branch-and-bound node limit, not a time limit: the answer must not depend on the clock.
NODE_LIMIT = 4000


@dataclass(frozen=True)
class Cover:
    """The rows that carry the hauls: `need[r]` asked, `weight[r][group]` for each trip.

    `in_kg[r]` tells the mass rows, which count what stays behind, from the cuts.
    """

    haul: tuple[int, ...]
    in_kg: tuple[bool, ...]
    need: tuple[int, ...]
    weight: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Prices:
    """Shadow prices of the relaxation: for each cover row, each group, and the rest."""

    cover: tuple[float, ...]
    group: tuple[float, ...]
    left: float
    objective: float

    def rewards(self, cover: Cover, group: int, hauls: int) -> list[float]:
        """What one trip of each haul is worth to a truck of this group."""
        reward = [0.0] * hauls
        for row, haul in enumerate(cover.haul):
            reward[haul] += self.cover[row] * cover.weight[row][group]
        return reward


def cover_rows(
    problem: PlanProblem, groups: Sequence[SlotClass], *, left_kg: int
) -> Cover:
    """Mass rows for all hauls, and rounding cuts where nothing may stay behind."""
    rows: list[tuple[int, bool, int, tuple[int, ...]]] = []
    for index, haul in enumerate(problem.hauls):
        sizes = tuple(group.capacity[index] for group in groups)
        if haul.mass_kg <= 0:
            continue
        rows.append((index, True, haul.mass_kg, sizes))
        if left_kg == 0:
            for size in sorted({size for size in sizes if size}):
                cut = tuple(-(-own // size) for own in sizes)
                rows.append((index, False, -(-haul.mass_kg // size), cut))
    return Cover(
        haul=tuple(row[0] for row in rows),
        in_kg=tuple(row[1] for row in rows),
        need=tuple(row[2] for row in rows),
        weight=tuple(row[3] for row in rows),
    )


class Pool:
    """Patterns without repetition, and the programme over them."""

    def __init__(
        self, problem: PlanProblem, groups: Sequence[SlotClass], cover: Cover
    ) -> None:
        self.problem = problem
        self.groups = groups
        self.cover = cover
        self.patterns: list[Pattern] = []
        self._held: dict[tuple[int, tuple[int, ...]], int] = {}

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

    def matrix(self) -> tuple[csr_array, np.ndarray, np.ndarray]:  # type: ignore[type-arg]
        """Rows (cover, then groups, then the mass left) over patterns and masses left."""
        cover, hauls = self.cover, self.problem.hauls
        count, rows = len(self.patterns), len(cover.haul)
        table = lil_array((rows + len(self.groups) + 1, count + len(hauls)))
        lower = np.full(table.shape[0], -np.inf)
        upper = np.full(table.shape[0], np.inf)
        for row, haul in enumerate(cover.haul):
            lower[row] = cover.need[row]
            if cover.in_kg[row]:
                table[row, count + haul] = 1.0
        for column, pattern in enumerate(self.patterns):
            for haul in set(pattern.hauls):
                times = pattern.hauls.count(haul)
                for row in self._rows_of(haul):
                    table[row, column] = times * cover.weight[row][pattern.group]
            table[rows + pattern.group, column] = 1.0
        for group, slots in enumerate(self.groups):
            upper[rows + group] = len(slots.slots)
        table[-1, count:] = 1.0
        return table.tocsr(), lower, upper

    def _rows_of(self, haul: int) -> list[int]:
        return [row for row, own in enumerate(self.cover.haul) if own == haul]

    def relax(self, *, left_kg: int, elastic: float) -> Prices:
        """Solve the linear relaxation and return its shadow prices.

        `elastic` is what a unit of a cover row costs while no pattern can pay for it.
        """
        table, lower, upper = self.matrix()
        count, hauls = len(self.patterns), len(self.problem.hauls)
        rows = len(self.cover.haul)
        upper[-1] = left_kg
        cost = np.array([float(p.cost) for p in self.patterns] + [0.0] * hauls)
        slack = np.array([elastic / max(need, 1) for need in self.cover.need])
        spare = csr_array(
            (np.ones(rows), (np.arange(rows), np.arange(rows))),
            shape=(table.shape[0], rows),
        )
        cover_part, rest = table[:rows], table[rows:]
        result = linprog(
            np.concatenate([cost, slack]),
            A_ub=_stack(cover_part, spare[:rows], rest, rows),
            b_ub=np.concatenate([-lower[:rows], upper[rows:]]),
            bounds=(0, None),
            method="highs",
        )
        if result.status != 0:  # the slack makes every such programme feasible
            raise RuntimeError(f"relaxation not solved: {result.message}")
        dual = -np.asarray(result.ineqlin.marginals)
        return Prices(
            cover=tuple(float(max(0.0, price)) for price in dual[:rows]),
            group=tuple(float(max(0.0, price)) for price in dual[rows:-1]),
            left=float(max(0.0, dual[-1])) if count else 0.0,
            objective=float(result.fun),
        )

    def least_left(self) -> int:
        """The least mass, in kg, that stays behind with these patterns."""
        _, left = self._solve(
            cost=np.array([0.0] * len(self.patterns) + [1.0] * len(self.problem.hauls)),
            left_kg=sum(haul.mass_kg for haul in self.problem.hauls),
        )[:2]
        return sum(left)

    def choose(self, *, left_kg: int) -> tuple[list[int], list[int], bool]:
        """How often each pattern is driven, the kg left of each haul, and if it is proven.

        Raises RuntimeError if the programme has no answer (it always has one for a
        `left_kg` that `least_left` returned).
        """
        cost = np.array(
            [float(p.cost) for p in self.patterns] + [0.0] * len(self.problem.hauls)
        )
        return self._solve(cost=cost, left_kg=left_kg)

    def _solve(
        self,
        *,
        cost: np.ndarray,  # type: ignore[type-arg]
        left_kg: int,
    ) -> tuple[list[int], list[int], bool]:
        table, lower, upper = self.matrix()
        upper[-1] = left_kg
        count, hauls = len(self.patterns), self.problem.hauls
        most = [len(self.groups[p.group].slots) for p in self.patterns]
        result = milp(
            cost,
            constraints=LinearConstraint(table, lower, upper),
            integrality=np.ones(count + len(hauls)),
            bounds=Bounds(
                np.zeros(count + len(hauls)),
                np.array(most + [haul.mass_kg for haul in hauls], dtype=float),
            ),
            options={"node_limit": NODE_LIMIT, "mip_rel_gap": 0.0},
        )
        if result.x is None:
            raise RuntimeError(f"shift choice not solved: {result.message}")
        whole = [int(value) for value in np.rint(result.x)]
        return whole[:count], whole[count:], result.status == 0


def _stack(
    cover_part: csr_array, spare: csr_array, rest: csr_array, rows: int
) -> csr_array:
    """Less-than rows: minus the cover rows with their slack, then the others."""
    empty = csr_array((rest.shape[0], rows))
    return csr_array(
        vstack([hstack([-cover_part, -spare]), hstack([rest, empty])], format="csr")
    )
