"""What a truck can do with one filling of its body: bring one haul, or parts of several.

Tasks are numbered: the first ones are the hauls themselves, in their order. Behind them
stand the milk runs, which load at several places before they tip at several places.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise, permutations

from logistics.domain.planning.problem import Haul, PlanProblem

MOST_TOGETHER = 3
"""Hauls in one body (common practice, no source)."""
MOST_RUNS = 160
"""Milk runs looked at. Runs of three hauls, then the longest of two, are left out first."""


@dataclass(frozen=True, slots=True)
class Visit:
    """Loading (or else tipping) for one haul."""

    haul: int
    loads: bool


@dataclass(frozen=True, slots=True)
class Task:
    """The hauls whose parts ride together, and the order of loading and tipping."""

    hauls: tuple[int, ...]
    visits: tuple[Visit, ...]

    @property
    def shared(self) -> bool:
        """Whether several hauls ride in one body."""
        return len(self.hauls) > 1


def tasks_of(problem: PlanProblem) -> tuple[Task, ...]:
    """All tasks, each haul alone first."""
    alone = [
        Task((index,), (Visit(index, loads=True), Visit(index, loads=False)))
        for index in range(len(problem.hauls))
    ]
    return (*alone, *_runs(problem))


def _runs(problem: PlanProblem) -> list[Task]:
    able = [
        index
        for index, haul in enumerate(problem.hauls)
        if haul.shared and haul.mass_kg > 0
    ]
    found: list[Task] = []
    for size in range(2, MOST_TOGETHER + 1):
        more = [
            task
            for hauls in combinations(able, size)
            if len({problem.hauls[index].cargo for index in hauls}) == 1
            for task in _orders(problem, hauls)
        ]
        if len(found) + len(more) > MOST_RUNS:
            room = MOST_RUNS - len(found)
            shortest = sorted(more, key=lambda own: (_length(problem, own), own.hauls))
            return [*found, *shortest[:room]] if size == 2 else found
        found += more
    return found


def _orders(problem: PlanProblem, hauls: tuple[int, ...]) -> Iterator[Task]:
    """Every order of loading and of tipping; places that are the same are not swapped."""
    seen = set()
    for loading in permutations(hauls):
        for tipping in permutations(hauls):
            places = (
                tuple(_service(problem.hauls[h], loads=True) for h in loading),
                tuple(_service(problem.hauls[h], loads=False) for h in tipping),
            )
            if places not in seen:
                seen.add(places)
                visits = [Visit(h, loads=True) for h in loading]
                visits += [Visit(h, loads=False) for h in tipping]
                yield Task(hauls, tuple(visits))


def _service(haul: Haul, *, loads: bool) -> object:
    if loads:
        return haul.origin, haul.load_s, haul.pickup_windows, haul.loader_windows
    return haul.destination, haul.unload_s, haul.drop_windows


def visit_place(problem: PlanProblem, visit: Visit) -> int:
    """The place where a visit happens."""
    haul = problem.hauls[visit.haul]
    return haul.origin if visit.loads else haul.destination


def _length(problem: PlanProblem, task: Task) -> int:
    places = [visit_place(problem, visit) for visit in task.visits]
    metres = problem.distances.metres
    return sum(int(metres[a, b]) for a, b in pairwise(places))
