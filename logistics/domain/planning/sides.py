"""Variables of the choice beside the patterns: what stays behind, what is charged, and how
a haul is shared out where it matters which trips carry it.

A haul is split into *portions* where its price depends on the truck, where its volume is
counted day by day, or where it may ride with others. A portion is what the trips of one
kind carry: those of one rate of charge and one day, or of one body that is shared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.shifts import SlotClass

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Portion:
    """A part of a haul: `column` counts its pieces. Trips of `groups` doing one of `tasks` carry
    it; all of them on `day`, if that is counted."""

    haul: int
    column: int
    groups: tuple[int, ...]
    tasks: tuple[int, ...]
    day: str | None


@dataclass
class Sides:
    """Columns: pieces left of each haul, loads of each that pay the part-load charge,
    portions in pieces, and kg beyond what is charged anyway. Bounds and costs of each."""

    hauls: int
    cost: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    portions: list[Portion] = field(default_factory=list)
    excess: dict[int, int] = field(default_factory=dict)
    """Column of the kg beyond the least charged, by the portion's column."""

    def add(self, cost: float, high: float, *, whole: bool = False) -> int:
        """A new column from 0 to `high`; its number."""
        self.cost.append(cost)
        self.low.append(0.0)
        self.high.append(high)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def left(self, haul: int) -> int:
        """The pieces of a haul that stay behind."""
        return haul

    def part(self, haul: int) -> int:
        """Loads of a haul that pay the part-load charge."""
        return self.hauls + haul

    def of(self, haul: int) -> list[Portion]:
        """The portions of a haul; none where it need not be split."""
        return [own for own in self.portions if own.haul == haul]


def sides_of(problem: PlanProblem, groups: Sequence[SlotClass]) -> Sides:
    """The columns for a problem."""
    sides = Sides(len(problem.hauls))
    for haul in problem.hauls:
        sides.add(0.0, float(haul.mass_kg // haul.unit_kg), whole=True)
    for haul in problem.hauls:
        charged = haul.part_load.charge > 0
        most = float(haul.mass_kg // haul.unit_kg) if charged else 0.0
        sides.add(float(haul.part_load.charge), most, whole=True)
    for index, haul in enumerate(problem.hauls):
        if haul.mass_kg > 0:
            _split(problem, groups, sides, index)
    return sides


@dataclass(frozen=True, slots=True)
class _Kind:
    """Trips of one kind: rates of charge by mass, day if it counts, body if it is shared."""

    every: float
    beyond: float
    least: int
    day: str | None
    body: tuple[int, tuple[int, ...]] | None

    @property
    def matters(self) -> bool:
        return bool(self.every or self.beyond or self.body)


def _split(
    problem: PlanProblem, groups: Sequence[SlotClass], sides: Sides, index: int
) -> None:
    stored = any(index in store.hauls for store in problem.stores)
    kinds: dict[_Kind, list[tuple[int, int]]] = {}
    for number, slots in enumerate(groups):
        for task, own in enumerate(slots.tasks):
            if index not in own.hauls or not slots.trips[task]:
                continue
            day = slots.days[0] if stored else None
            body = (number, own.hauls) if own.shared else None
            kind = _Kind(*slots.mass_rates[index], day, body)
            kinds.setdefault(kind, []).append((number, task))
    if not stored and not any(kind.matters for kind in kinds):
        return
    haul = problem.hauls[index]
    mass, unit = float(haul.mass_kg), haul.unit_kg
    for kind, members in sorted(kinds.items(), key=lambda own: own[1]):
        # Pieces of two sizes fill a body only as whole ones.
        whole = kind.body is not None and unit > 1
        column = sides.add(kind.every * unit, mass // unit, whole=whole)
        if kind.beyond:
            sides.excess[column] = sides.add(kind.beyond, mass)
        sides.portions.append(
            Portion(
                index,
                column,
                tuple(sorted({group for group, _ in members})),
                tuple(sorted({task for _, task in members})),
                kind.day,
            )
        )


def mass_rounding(problem: PlanProblem, groups: Sequence[SlotClass]) -> float:
    """Most that lines charged by mass lie below their price, in minor units: a half for
    each of two lines of each load that any sensible plan has."""
    total = 0.0
    for index, haul in enumerate(problem.hauls):
        able = [slots for slots in groups if slots.trips[index]]
        if any(any(slots.mass_rates[index][:2]) for slots in able):
            least = min(slots.capacity[index] for slots in able)
            loads = -(-haul.mass_kg // least)
            total += loads * (3 if haul.shared else 1)  # parts of up to three bodies
    return total
