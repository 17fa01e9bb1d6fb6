"""Rows of the choice of shifts: what patterns and side variables must make up.

A haul may be shared among the trips in any way that respects each trip's capacity, so
sum(capacity of each trip) + left behind >= mass is all there is to it: whole pieces fit
into the trips exactly when they fit in sum, because they are laid in piece by piece. So
one row for each haul prices it, and mixed fleets are exact too. Where it matters which
trips carry it, the row counts the haul's portions instead (see `sides`).

Where nothing stays behind, each haul gets rounding cuts as well: with g the size of a full
load of one truck, whole trips must make up ceil(mass / g) loads of size g, a trip of a
truck of capacity c counting ceil(c / g) (Chvatal-Gomory). They are what makes the
relaxation tight, because it can no longer drive 0.3 of a trip.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sides import Portion, Sides
from logistics.domain.planning.tasks import has_every_run

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Row:
    """sum(trips[group, task] each time) + sum(shifts[group] for each shift) + sum(sides)
    >= need. `trips` of shape (groups, tasks), `shifts` of shape (groups,)."""

    need: float
    trips: Floats
    shifts: Floats
    sides: tuple[tuple[int, float], ...] = ()


def least_chargeless(haul: Haul) -> int:
    """The lightest load in whole pieces that pays no part-load charge."""
    return -(-haul.part_load.below_kg // haul.unit_kg) * haul.unit_kg


class RowMaker:
    """Makes rows over the tasks of some groups."""

    def __init__(
        self, problem: PlanProblem, groups: Sequence[SlotClass], sides: Sides
    ) -> None:
        self.problem, self.groups, self.sides = problem, groups, sides
        self.complete = has_every_run(problem)
        tasks = groups[0].tasks if groups else ()
        self.shape = (len(groups), len(tasks))
        self.able = np.array(
            [[bool(n) for n in slots.trips] for slots in groups], dtype=np.bool_
        ).reshape(self.shape)
        self.serves = [
            np.array([index in task.hauls for task in tasks], dtype=np.bool_)
            for index in range(len(problem.hauls))
        ]

    def row(
        self,
        need: float,
        trips: Floats | None = None,
        shifts: Floats | None = None,
        sides: Iterable[tuple[int, float]] = (),
    ) -> Row:
        """A row with nothing where nothing is given."""
        return Row(
            need,
            np.zeros(self.shape) if trips is None else trips,
            np.zeros(self.shape[0]) if shifts is None else shifts,
            tuple(sides),
        )

    def per_trip(self, index: int, weight: Sequence[float]) -> Floats:
        """`weight[group]` for each task that serves a haul."""
        table = np.array(weight, dtype=np.float64)[:, None] * self.serves[index]
        return np.asarray(table * self.able)

    def all(self, *, cuts: bool) -> list[Row]:
        """Rows that carry the hauls; `cuts` only where nothing may stay behind."""
        found: list[Row] = []
        for index, haul in enumerate(self.problem.hauls):
            if haul.mass_kg <= 0:
                continue
            found += self._carried(index, haul)
            # A run of more hauls than are looked at counts in more of them at once.
            if cuts and (self.complete or not haul.shared):
                found += self._rounded(index, haul)
            found += self._charged(index, haul)
        return found + self._bodies()

    def _sizes(self, index: int) -> list[int]:
        mass = self.problem.hauls[index].mass_kg
        return [min(slots.capacity[index], mass) for slots in self.groups]

    def _carried(self, index: int, haul: Haul) -> list[Row]:
        unit = float(haul.unit_kg)
        left = (self.sides.left(index), unit)
        portions = self.sides.of(index)
        if not portions:
            trips = self.per_trip(index, self._sizes(index))
            return [self.row(haul.mass_kg, trips, sides=[left])]
        rows = [
            self.row(
                haul.mass_kg, sides=[left, *((own.column, unit) for own in portions)]
            )
        ]
        for own in portions:
            rows += self._portion(own)
        return rows

    def _portion(self, own: Portion) -> list[Row]:
        """What the trips of a portion can carry, and what they are charged beyond."""
        index = own.haul
        member = np.zeros(self.shape)
        member[np.ix_(own.groups, own.tasks)] = 1.0
        trips = self.per_trip(index, self._sizes(index)) * member
        unit = float(self.problem.hauls[index].unit_kg)
        rows = [self.row(0.0, trips, sides=[(own.column, -unit)])]
        excess = self.sides.excess.get(own.column)
        if excess is not None:
            least = self.groups[own.groups[0]].mass_rates[index][2]
            free = self.per_trip(index, [least] * self.shape[0]) * member
            rows.append(self.row(0.0, free, sides=[(excess, 1.0), (own.column, -unit)]))
        return rows

    def _rounded(self, index: int, haul: Haul) -> list[Row]:
        sizes = self._sizes(index)
        return [
            self.row(
                -(-haul.mass_kg // size),
                self.per_trip(index, [float(-(-own // size)) for own in sizes]),
            )
            for size in sorted({size for size in sizes if size})
        ]

    def _charged(self, index: int, haul: Haul) -> list[Row]:
        enough, piece = least_chargeless(haul), haul.unit_kg
        if haul.part_load.charge <= 0 or enough <= piece:
            return []
        weight = [
            -float(enough if slots.capacity[index] >= enough else piece)
            for slots in self.groups
        ]
        return [
            self.row(
                -haul.mass_kg,
                self.per_trip(index, weight),
                sides=[
                    (self.sides.left(index), -float(haul.unit_kg)),
                    (self.sides.part(index), float(enough - piece)),
                ],
            )
        ]

    def _bodies(self) -> list[Row]:
        """What rides together fits into the bodies, by mass and by volume."""
        shared: dict[tuple[int, tuple[int, ...]], list[int]] = {}
        for number, slots in enumerate(self.groups):
            for task, own in enumerate(slots.tasks):
                if own.shared and slots.trips[task]:
                    shared.setdefault((number, own.hauls), []).append(task)
        rows = []
        for (number, hauls), tasks in shared.items():
            columns = [
                (own.column, index)
                for index in hauls
                for own in self.sides.of(index)
                if own.groups == (number,) and tasks[0] in own.tasks
            ]
            rows += self._body(number, tasks, columns)
        return rows

    def _body(
        self, number: int, tasks: list[int], columns: list[tuple[int, int]]
    ) -> list[Row]:
        slots = self.groups[number]
        hauls = self.problem.hauls
        kg = np.zeros(self.shape)
        m3 = np.zeros(self.shape)
        for task in tasks:
            kg[number, task], m3[number, task] = body_limits(self.problem, slots, task)
        return [
            self.row(
                0.0,
                kg,
                sides=[
                    (column, -float(hauls[index].unit_kg)) for column, index in columns
                ],
            ),
            self.row(
                0.0,
                m3,
                sides=[
                    (column, -hauls[index].unit_kg / hauls[index].loose_kg_per_m3)
                    for column, index in columns
                ],
            ),
        ]


def body_limits(
    problem: PlanProblem, slots: SlotClass, task: int
) -> tuple[float, float]:
    """The kg and the m3 that may be aboard on a milk run.

    The weight limits of all its places bind all that is aboard.
    """
    hauls = [problem.hauls[index] for index in slots.tasks[task].hauls]
    visited = {at for haul in hauls for at in (haul.origin, haul.destination)}
    kg = problem.payload_kg(slots.truck, visited)
    m3 = slots.truck.volume_m3(hauls[0].cargo) + 1e-9
    densities = {haul.loose_kg_per_m3 for haul in hauls}
    if len(densities) == 1:
        kg = min(kg, math.floor(m3 * densities.pop() + 1e-6))
    # Whole pieces together weigh a multiple of what divides them all.
    step = math.gcd(*(haul.unit_kg for haul in hauls))
    return float(kg // step * step), m3


def fewest_part_loads(index: int, haul: Haul, groups: Sequence[SlotClass]) -> int:
    """Charged loads, of trucks that could avoid the charge, in any way to carry it all."""
    enough, piece = least_chargeless(haul), haul.unit_kg
    if haul.part_load.charge <= 0 or enough <= piece:
        return 0
    large = max((g.capacity[index] for g in groups if g.trips[index]), default=0)
    if large < enough:
        return 0
    # A smaller truck's trip only takes room from the others, unless it helps them.
    small = max(
        (g.capacity[index] for g in groups if 0 < g.capacity[index] < enough), default=0
    )
    fewest = None
    for trips in range(-(-haul.mass_kg // large) + 1):
        rest = max(0, haul.mass_kg - trips * large)
        if rest and not small:
            continue
        others = -(-rest // small) if rest else 0
        over = trips * enough + others * piece - haul.mass_kg
        paying = max(0, -(-over // (enough - piece)))
        fewest = paying if fewest is None else min(fewest, paying)
    return fewest or 0
