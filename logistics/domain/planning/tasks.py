"""What a truck can do with one filling of its body: bring one haul, or parts of several.

Tasks are numbered: the first ones are the hauls themselves, in their order. Behind them
stand the milk runs, which load at several places before they tip at several places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, permutations

from logistics.domain.planning.problem import Haul, PlanProblem

MOST_TOGETHER = 5
"""Hauls that may ride together, up to which runs of all of them are looked at."""
MOST_RUNS, FEW_RUNS = 240, 40
"""Milk runs looked at. Where there are more, so few of two hauls each are, the shortest."""


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
    return (*alone, *_runs(problem)[0])


def has_every_run(problem: PlanProblem) -> bool:
    """Whether `tasks_of` names every milk run that could be worth driving."""
    return _runs(problem)[1]


def _runs(problem: PlanProblem) -> tuple[list[Task], bool]:
    """The milk runs looked at, and whether these are all."""
    able = [
        index
        for index, haul in enumerate(problem.hauls)
        if haul.shared and haul.mass_kg > 0
    ]
    cargoes = {problem.hauls[index].cargo for index in able}
    together = max(
        (sum(problem.hauls[i].cargo is cargo for i in able) for cargo in cargoes),
        default=0,
    )
    found: list[Task] = []
    if together > MOST_TOGETHER:
        return _nearest(problem, able), False
    for size in range(2, together + 1):
        found += _of_size(problem, able, size)
        if len(found) > MOST_RUNS:
            return _nearest(problem, able), False
    return found, True


def _nearest(problem: PlanProblem, able: Sequence[int]) -> list[Task]:
    """The shortest runs of two hauls."""
    pairs = _of_size(problem, able, 2)
    pairs.sort(key=lambda own: (_length(problem, own), own.hauls))
    return pairs[:FEW_RUNS]


def _of_size(problem: PlanProblem, able: Sequence[int], size: int) -> list[Task]:
    return [
        task
        for hauls in combinations(able, size)
        if len({problem.hauls[index].cargo for index in hauls}) == 1
        for task in _shortest(problem, hauls)
    ]


def _shortest(problem: PlanProblem, hauls: tuple[int, ...]) -> list[Task]:
    """The orders that may be worth driving.

    Where all pickups are open at the same times, and all drops, an order that begins and
    ends at the same places as another one and is no shorter is not.
    """
    orders = list(_orders(problem, hauls))
    own = [problem.hauls[index] for index in hauls]
    alike = (
        len({(haul.pickup_windows, haul.loader_windows) for haul in own}) == 1
        and len({haul.drop_windows for haul in own}) == 1
        and len({(haul.load_s, haul.unload_s) for haul in own}) == 1
        and not problem.own_ways
        and not any(truck.rest for truck in problem.trucks)
    )
    if not alike:
        return orders
    best: dict[tuple[int, int], list[tuple[int, int, Task]]] = {}
    for task in orders:
        ends = task.visits[0].haul, task.visits[-1].haul
        metres, seconds = _length(problem, task), _seconds(problem, task)
        held = best.setdefault(ends, [])
        if any(m <= metres and s <= seconds for m, s, _ in held):
            continue
        held[:] = [h for h in held if not (metres <= h[0] and seconds <= h[1])]
        held.append((metres, seconds, task))
    return [task for held in best.values() for _, _, task in held]


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


def _seconds(problem: PlanProblem, task: Task) -> int:
    places = [visit_place(problem, visit) for visit in task.visits]
    seconds = problem.distances.seconds
    return sum(int(seconds[a, b]) for a, b in pairwise(places))
