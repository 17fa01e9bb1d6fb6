"""How much each trip carries: cutting hauls into the loads of the shifts chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from logistics.domain.loads import cut_into_loads
from logistics.domain.planning.patterns import Pattern, empty_pattern, pattern_of
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.rows import body_limits
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sides import sides_of

Chosen = list[tuple[int, Pattern]]
"""Slots with the pattern that each of them drives."""
Masses = list[list[list[int]]]
"""The kg of each haul of each task of each chosen shift."""
BEHIND = 1e7
"""What a piece left behind counts, in minor units: more than any load costs."""


@dataclass(frozen=True, slots=True)
class Berth:
    """Room for a haul in one filling of a body: shift, task and haul by their positions."""

    shift: int
    position: int
    place: int
    haul: int
    capacity: int


def share_loads(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    chosen: Chosen,
    left: Sequence[int],
    *,
    use_all: bool = False,
) -> Masses:
    """The kg of each trip, filled in the order of loading days.

    Where it matters which trip carries what (charges by mass, room by the day, milk runs)
    the cheapest way is taken; then a piece may stay behind that fits nowhere.
    """
    masses = [
        [[0] * len(groups[own.group].tasks[task].hauls) for task in own.tasks]
        for _, own in chosen
    ]
    berths = _berths(problem, groups, chosen)
    split = {own.haul for own in sides_of(problem, groups).portions}
    for index, haul in enumerate(problem.hauls):
        own = [berth for berth in berths if berth.haul == index]
        if not own or index in split:
            continue
        loads = cut_into_loads(
            haul.mass_kg - left[index],
            [berth.capacity for berth in own],
            unit_kg=haul.unit_kg,
            terms=haul.part_load,
            use_all=use_all,
        )
        for berth, kg in zip(own, loads, strict=True):
            masses[berth.shift][berth.position][berth.place] = kg
    shared_out = [berth for berth in berths if berth.haul in split]
    if shared_out:
        programme = _Loading(problem, groups, chosen, shared_out)
        for berth, kg in zip(
            shared_out, programme.solve(left, use_all=use_all), strict=True
        ):
            masses[berth.shift][berth.position][berth.place] = kg
    return masses


def _berths(
    problem: PlanProblem, groups: Sequence[SlotClass], chosen: Chosen
) -> list[Berth]:
    order = sorted(
        range(len(chosen)),
        key=lambda at: (
            problem.slots[chosen[at][0]].earliest + chosen[at][1].early,
            chosen[at][0],
        ),
    )
    return [
        Berth(at, position, place, haul, groups[chosen[at][1].group].capacity[haul])
        for at in order
        for position, task in enumerate(chosen[at][1].tasks)
        for place, haul in enumerate(groups[chosen[at][1].group].tasks[task].hauls)
    ]


class _Loading:
    """The programme over pieces in berths; columns: pieces, kg beyond what is charged
    anyway, part loads, pieces left behind of each haul."""

    def __init__(
        self,
        problem: PlanProblem,
        groups: Sequence[SlotClass],
        chosen: Chosen,
        berths: Sequence[Berth],
    ) -> None:
        self.problem, self.groups = problem, groups
        self.chosen, self.berths = chosen, berths
        self.hauls = sorted({berth.haul for berth in berths})
        count = len(berths)
        self.width = 3 * count + len(self.hauls)
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def solve(self, left: Sequence[int], *, use_all: bool) -> list[int]:
        count = len(self.berths)
        cost, high = np.zeros(self.width), np.full(self.width, np.inf)
        low = np.zeros(self.width)
        for at, berth in enumerate(self.berths):
            haul = self.problem.hauls[berth.haul]
            every, beyond, least = self._group(berth).mass_rates[berth.haul]
            # Earlier berths first, where nothing else tells them apart.
            cost[at] = every * haul.unit_kg + 1e-6 * at
            cost[count + at] = beyond
            cost[2 * count + at] = haul.part_load.charge
            high[at] = berth.capacity // haul.unit_kg
            high[2 * count + at] = 1.0
            low[at] = 1.0 if use_all else 0.0
            self._row({count + at: 1.0, at: -float(haul.unit_kg)}, -float(least))
            below = float(min(haul.part_load.below_kg, berth.capacity))
            if haul.part_load.charge > 0:
                self._row({at: float(haul.unit_kg), 2 * count + at: below}, below)
        for number, index in enumerate(self.hauls):
            haul = self.problem.hauls[index]
            column = 3 * count + number
            cost[column] = BEHIND
            terms = {a: 1.0 for a, b in enumerate(self.berths) if b.haul == index}
            pieces = (haul.mass_kg - left[index]) // haul.unit_kg
            self._row({**terms, column: 1.0}, pieces, pieces)
        self._bodies()
        self._stores()
        return self._solved(cost, low, high)

    def _group(self, berth: Berth) -> SlotClass:
        return self.groups[self.chosen[berth.shift][1].group]

    def _row(self, terms: dict[int, float], low: float, high: float = np.inf) -> None:
        self.rows.append((terms, low, high))

    def _bodies(self) -> None:
        bodies: dict[tuple[int, int], list[int]] = {}
        for at, berth in enumerate(self.berths):
            bodies.setdefault((berth.shift, berth.position), []).append(at)
        for (shift, position), own in bodies.items():
            if len(own) < 2:
                continue
            pattern = self.chosen[shift][1]
            slots = self.groups[pattern.group]
            kg, m3 = body_limits(self.problem, slots, pattern.tasks[position])
            hauls = [self.problem.hauls[self.berths[at].haul] for at in own]
            mass = {at: float(h.unit_kg) for at, h in zip(own, hauls, strict=True)}
            volume = {
                at: h.unit_kg / h.loose_kg_per_m3
                for at, h in zip(own, hauls, strict=True)
            }
            self._row(mass, -np.inf, kg)
            self._row(volume, -np.inf, m3)

    def _stores(self) -> None:
        for store in self.problem.stores:
            for day, room in store.room_m3:
                terms = {}
                for at, berth in enumerate(self.berths):
                    on = self.problem.slots[self.chosen[berth.shift][0]].day
                    if berth.haul in store.hauls and on <= day:
                        haul = self.problem.hauls[berth.haul]
                        terms[at] = haul.unit_kg / haul.loose_kg_per_m3
                if terms:
                    self._row(terms, -np.inf, room)

    def _solved(
        self,
        cost: np.typing.NDArray[np.float64],
        low: np.typing.NDArray[np.float64],
        high: np.typing.NDArray[np.float64],
    ) -> list[int]:
        count = len(self.berths)
        table = np.zeros((len(self.rows), self.width))
        for number, (terms, _, _) in enumerate(self.rows):
            for column, value in terms.items():
                table[number, column] = value
        whole = np.ones(self.width, dtype=np.int64)
        whole[count : 2 * count] = 0
        for lowest in (low, np.zeros(self.width)):
            result = milp(
                cost,
                constraints=LinearConstraint(
                    table,
                    np.array([own[1] for own in self.rows]),
                    np.array([own[2] for own in self.rows]),
                ),
                integrality=whole,
                bounds=Bounds(lowest, high),
                options={"node_limit": 2_000},
            )
            if result.x is not None:
                pieces = np.rint(result.x[:count]).astype(int)
                return [
                    int(n) * self.problem.hauls[berth.haul].unit_kg
                    for n, berth in zip(pieces, self.berths, strict=True)
                ]
        raise RuntimeError("the loads could not be cut")  # a piece may stay behind


def without_empty_trips(
    groups: Sequence[SlotClass],
    chosen: Chosen,
    masses: Masses,
) -> tuple[Chosen, Masses] | None:
    """Drop trips that nothing was left for, and shifts that have no trip any more.

    None where a shift would be dearer for it: some tables have a shorter way with a stop.
    """
    kept: Chosen = []
    loads: Masses = []
    for (slot, pattern), row in zip(chosen, masses, strict=True):
        slots = groups[pattern.group]
        tasks, rest = [], []
        for task, kilograms in zip(pattern.tasks, row, strict=True):
            fewer = _fewer(slots, task, kilograms)
            if fewer is None:
                return None
            if fewer >= 0:
                tasks.append(fewer)
                rest.append([kg for kg in kilograms if kg])
        if not tasks and slots.start_place == slots.end_place:
            continue
        shorter = pattern
        if tuple(tasks) != pattern.tasks:
            found = (
                pattern_of(pattern.group, slots, tasks)
                if tasks
                else empty_pattern(pattern.group, slots)
            )
            if not found or found.cost > pattern.cost:
                return None
            shorter = found
        kept.append((slot, shorter))
        loads.append(rest)
    return kept, loads


def _fewer(slots: SlotClass, task: int, kilograms: Sequence[int]) -> int | None:
    """The task without the hauls of which nothing is carried: -1 if that is nothing, None
    if there is no such task."""
    if all(kilograms):
        return task
    own = slots.tasks[task]
    kept = {h for h, kg in zip(own.hauls, kilograms, strict=True) if kg}
    if not kept:
        return -1
    visits = tuple(visit for visit in own.visits if visit.haul in kept)
    for number, other in enumerate(slots.tasks):
        if other.visits == visits:
            return number
    return None
