"""The problem as classes of like slots see it, so that no search tries both of two."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from logistics.domain.planning.hire import load_fee, mass_rates
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Window
from logistics.domain.planning.shifts import NO_WAY, SlotClass, Step, in_both
from logistics.domain.planning.tasks import Task, Visit, tasks_of, visit_place
from logistics.domain.trucks import LOADS_ITSELF, Truck


def slot_classes(
    problem: PlanProblem, tasks: Sequence[Task] | None = None
) -> tuple[SlotClass, ...]:
    """Group the slots that cannot be told apart.

    Two days are the same day to a truck if every haul is open at the same times of day;
    not where a limit counts days, nor for a truck that may stay out overnight.
    """
    chosen = tuple(tasks_of(problem) if tasks is None else tasks)
    dated = _by_day(problem)
    several = _staying_out(problem)
    kinds: dict[object, int] = {}
    groups: dict[tuple[int, str | None, str | None], list[int]] = {}
    order = sorted(
        range(len(problem.slots)), key=lambda at: (problem.slots[at].earliest, at)
    )
    views: dict[object, _View] = {}
    for index in order:
        slot = problem.slots[index]
        truck = problem.trucks[slot.truck]
        alike = (
            slot.latest - slot.earliest,
            _opening(problem, truck, slot),
            replace(truck, key="", name=""),
            id(problem.ways(truck)),
            problem.start(slot),
            problem.end(slot),
        )
        kind = kinds.setdefault(alike, len(kinds))
        day = slot.day if dated or truck.key in several else None
        whose = truck.key if truck.key in several else None
        groups.setdefault((kind, day, whose), []).append(index)
    return tuple(
        replace(_class(problem, chosen, tuple(slots), views), kind=kind)
        for (kind, _, _), slots in groups.items()
    )


def slot_class(problem: PlanProblem, slots: tuple[int, ...]) -> SlotClass:
    """The view of the problem from slots that are alike."""
    return _class(problem, tasks_of(problem), slots, {})


def without_idle_limits(problem: PlanProblem) -> PlanProblem:
    """The same problem without stores that have room for everything."""
    binding = tuple(
        store
        for store in problem.stores
        if sum(
            problem.hauls[index].mass_kg / problem.hauls[index].loose_kg_per_m3
            for index in store.hauls
        )
        > min((room for _, room in store.room_m3), default=math.inf)
    )
    return replace(problem, stores=binding)


def _by_day(problem: PlanProblem) -> bool:
    if problem.stores:
        return True
    used = {haul.origin for haul in problem.hauls} | {
        haul.destination for haul in problem.hauls
    }
    return any(
        problem.places[at].at_once is not None
        or problem.places[at].loads_a_day is not None
        for at in used
    )


def _staying_out(problem: PlanProblem) -> set[str]:
    return {
        problem.trucks[slot.truck].key
        for slot in problem.slots
        if problem.start(slot) != problem.trucks[slot.truck].base
        or problem.end(slot) != problem.trucks[slot.truck].base
    }


def visit_windows(
    problem: PlanProblem, truck: Truck, visit: Visit
) -> tuple[Window, ...]:
    """When a truck may be loaded or tip: the place is open, and somebody loads."""
    haul = problem.hauls[visit.haul]
    if not visit.loads:
        return haul.drop_windows
    if haul.loader_windows is None or truck.body in LOADS_ITSELF:
        return haul.pickup_windows
    return in_both(haul.pickup_windows, haul.loader_windows)


def _inside(windows: Iterable[Window], slot: Slot) -> tuple[Window, ...]:
    clipped = (
        (max(opens, slot.earliest), min(closes, slot.latest))
        for opens, closes in windows
    )
    return tuple(
        (opens - slot.earliest, closes - slot.earliest)
        for opens, closes in clipped
        if opens <= closes
    )


def _opening(problem: PlanProblem, truck: Truck, slot: Slot) -> object:
    return tuple(
        _inside(visit_windows(problem, truck, Visit(index, loads=loads)), slot)
        for index in range(len(problem.hauls))
        for loads in (True, False)
    )


@dataclass(frozen=True)
class _View:
    """The ways of a truck between the visits of all tasks, and which tasks it may do."""

    problem: PlanProblem
    tasks: tuple[Task, ...]
    truck: Truck

    @cached_property
    def seconds(self) -> list[list[int]]:
        ways = self.problem.ways(self.truck)
        # The figures of a pair without a way must not be used, whatever they are.
        return np.where(ways.reachable, ways.seconds, NO_WAY).tolist()  # type: ignore[no-any-return]

    @cached_property
    def metres(self) -> list[list[int]]:
        ways = self.problem.ways(self.truck)
        return np.where(ways.reachable, ways.metres, 0).tolist()  # type: ignore[no-any-return]

    @cached_property
    def ends(self) -> list[tuple[int, int]]:
        """First and last place of each task."""
        return [
            (
                visit_place(self.problem, task.visits[0]),
                visit_place(self.problem, task.visits[-1]),
            )
            for task in self.tasks
        ]

    @cached_property
    def capacity(self) -> tuple[int, ...]:
        return tuple(
            0
            if self.problem.barrier(self.truck, haul)
            else self.problem.capacity(self.truck, haul).kg
            for haul in self.problem.hauls
        )

    @cached_property
    def trips(self) -> tuple[int, ...]:
        return tuple(self._most(task) for task in self.tasks)

    def _most(self, task: Task) -> int:
        """A task that is useful is not done more often than this."""
        sizes = [self.capacity[index] for index in task.hauls]
        if not all(sizes):
            return 0
        hauls = [self.problem.hauls[index] for index in task.hauls]
        if not task.shared:
            return -(-hauls[0].mass_kg // sizes[0])
        places = [visit_place(self.problem, visit) for visit in task.visits]
        if any(self.seconds[a][b] >= NO_WAY for a, b in pairwise(places)):
            return 0
        if not self._fit_together(hauls):
            return 0
        bodies = sum(h.mass_kg / size for h, size in zip(hauls, sizes, strict=True))
        return math.ceil(bodies - 1e-9)

    def _fit_together(self, hauls: Sequence[Haul]) -> bool:
        """Whether a piece of each fits into the body at once."""
        visited = {at for haul in hauls for at in (haul.origin, haul.destination)}
        volume = sum(haul.unit_kg / haul.loose_kg_per_m3 for haul in hauls)
        return (
            sum(haul.unit_kg for haul in hauls)
            <= self.problem.payload_kg(self.truck, visited)
            and volume <= self.truck.volume_m3(hauls[0].cargo) + 1e-9
        )

    @cached_property
    def fee(self) -> tuple[int, ...]:
        return tuple(
            sum(self._fee(index) for index in task.hauls) for task in self.tasks
        )

    def _fee(self, index: int) -> int:
        haul = self.problem.hauls[index]
        return load_fee(
            self.truck, haul, full_kg=self.capacity[index], ride_m=self._ride_m(index)
        )

    def _ride_m(self, index: int) -> int:
        haul = self.problem.hauls[index]
        return self.metres[haul.origin][haul.destination]

    @cached_property
    def mass_rates(self) -> tuple[tuple[float, float, int], ...]:
        return tuple(
            mass_rates(self.truck, self._ride_m(index))
            for index in range(len(self.problem.hauls))
        )

    @cached_property
    def links(self) -> tuple[tuple[tuple[int, ...], ...], ...]:
        """Seconds, metres and cleaning from the end of each task to the begin of each."""
        hauls = self.problem.hauls
        cargo = [hauls[task.hauls[0]].cargo for task in self.tasks]
        return (
            tuple(
                tuple(self.seconds[d][o] for o, _ in self.ends) for _, d in self.ends
            ),
            tuple(tuple(self.metres[d][o] for o, _ in self.ends) for _, d in self.ends),
            tuple(
                tuple(self.truck.cleaning_s * (a != b) for b in cargo) for a in cargo
            ),
        )

    def steps(self, slot: Slot, task: Task) -> tuple[Step, ...]:
        found: list[Step] = []
        before: int | None = None
        for visit in task.visits:
            haul = self.problem.hauls[visit.haul]
            place = visit_place(self.problem, visit)
            windows = _inside(visit_windows(self.problem, self.truck, visit), slot)
            found.append(
                Step(
                    0 if before is None else self.seconds[before][place],
                    0 if before is None else self.metres[before][place],
                    haul.load_s if visit.loads else haul.unload_s,
                    windows,
                )
            )
            before = place
        return tuple(found)


def _class(
    problem: PlanProblem,
    tasks: tuple[Task, ...],
    slots: tuple[int, ...],
    views: dict[object, _View],
) -> SlotClass:
    slot = problem.slots[slots[0]]
    truck = problem.trucks[slot.truck]
    view = views.setdefault(slot.truck, _View(problem, tasks, truck))
    start, end = problem.start(slot), problem.end(slot)
    steps = tuple(view.steps(slot, task) for task in tasks)
    link_s, link_m, clean_s = view.links
    return SlotClass(
        slots=slots,
        days=tuple(problem.slots[index].day for index in slots),
        truck=truck,
        start_place=start,
        end_place=end,
        latest=slot.latest - slot.earliest,
        tasks=tasks,
        capacity=view.capacity,
        mass_rates=view.mass_rates,
        trips=view.trips,
        fee=view.fee,
        out_s=tuple(view.seconds[start][first] for first, _ in view.ends),
        out_m=tuple(view.metres[start][first] for first, _ in view.ends),
        home_s=tuple(view.seconds[last][end] for _, last in view.ends),
        home_m=tuple(view.metres[last][end] for _, last in view.ends),
        link_s=link_s,
        link_m=link_m,
        clean_s=clean_s,
        steps=steps,
        ride_s=tuple(sum(step.drive_s for step in own) for own in steps),
        ride_m=tuple(sum(step.drive_m for step in own) for own in steps),
        work_s=tuple(sum(step.service_s for step in own) for own in steps),
        through_s=view.seconds[start][end],
        through_m=view.metres[start][end],
        kind=0,
    )
