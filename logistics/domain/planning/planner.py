"""The haul engine's front door: `plan_hauls(problem) -> HaulPlan`.

Small problems are enumerated and solved to proven optimality. Larger ones get patterns
from a local search and from column generation, and the best plan made of them, with a
proven lower bound. Nothing depends on the clock or on chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from logistics.domain.loads import cut_into_loads
from logistics.domain.planning.bounds import empty_running_bound, generate_patterns
from logistics.domain.planning.patterns import Pattern, all_patterns, pattern_of
from logistics.domain.planning.explain import impossible_alone, left_behind
from logistics.domain.planning.master import Cover, Pool, cover_rows
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, LowerBound, Unplanned
from logistics.domain.planning.search import cut_loads, search_sequences
from logistics.domain.planning.shifts import SlotClass, slot_classes
from logistics.domain.planning.timeline import (
    Chosen,
    build_shift,
    share_loads,
    without_empty_trips,
)
from logistics.domain.planning.verify import verify_plan


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try. `partial_shifts` limits the enumeration, for each group of slots;
    `solutions` ends the local search; `patterns` is the largest pool solved exactly."""

    partial_shifts: int = 20_000
    patterns: int = 20_000
    solutions: int = 400


@dataclass(frozen=True)
class _Choice:
    counts: list[int]
    left: list[int]
    bound: LowerBound
    proven: bool


def plan_hauls(problem: PlanProblem, effort: Effort = Effort()) -> HaulPlan:  # noqa: B008
    """The cheapest shifts found that carry as much as possible, verified before return.

    Raises PlanBroken if the plan fails its own check (a fault of the planner).
    """
    groups = slot_classes(problem)
    hopeless = [
        reason
        for index in range(len(problem.hauls))
        if (reason := impossible_alone(problem, groups, index))
    ]
    gone = {unplanned.haul for unplanned in hopeless}
    hauls = tuple(
        replace(haul, mass_kg=0) if index in gone else haul
        for index, haul in enumerate(problem.hauls)
    )
    rest = replace(problem, hauls=hauls)
    groups = slot_classes(rest)
    if not any(haul.mass_kg for haul in hauls):
        plan = HaulPlan((), tuple(hopeless), 0, LowerBound(0, "nothing to carry"), True)
    else:
        plan = _plan(rest, groups, hopeless, effort)
    verify_plan(problem, plan)
    return plan


def _plan(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    hopeless: list[Unplanned],
    effort: Effort,
) -> HaulPlan:
    every = _enumerate(groups, effort)
    pool = Pool(problem, groups, cover_rows(problem, groups, left_kg=0))
    if every is not None:
        for pattern in every:
            pool.add(pattern)
        choice = _choose_from_all(pool)
    else:
        choice = _choose_by_search(pool, effort)
    chosen = _assign(pool, choice.counts)
    masses = share_loads(problem, groups, chosen, choice.left)
    chosen, masses = without_empty_trips(groups, chosen, masses)
    shifts = tuple(
        sorted(
            (
                build_shift(problem, slot, pattern, row)
                for (slot, pattern), row in zip(chosen, masses, strict=True)
            ),
            key=lambda shift: (shift.leave.begin, shift.slot),
        )
    )
    cost = sum(line.amount for shift in shifts for line in shift.costs)
    floor = _part_load_floor(problem, groups, choice.left)
    bound = LowerBound(min(cost, choice.bound.amount + floor), choice.bound.method)
    return HaulPlan(
        shifts=shifts,
        unplanned=(
            *hopeless,
            *left_behind(problem, groups, choice.left, proven=choice.proven),
        ),
        haul_cost=cost,
        bound=bound,
        proven_optimal=choice.proven and bound.amount == cost,
    )


def _enumerate(groups: Sequence[SlotClass], effort: Effort) -> list[Pattern] | None:
    found: list[Pattern] = []
    for number, slots in enumerate(groups):
        patterns = all_patterns(number, slots, limit=effort.partial_shifts)
        if patterns is None or len(found) + len(patterns) > effort.patterns:
            return None
        found += patterns
    return found


def _choose_from_all(pool: Pool) -> _Choice:
    left_kg, least_proven = _least_left(pool)
    counts, left, proven = pool.choose(left_kg=left_kg)
    cost = _cost(pool, counts)
    if proven and least_proven:
        bound = LowerBound(
            cost, "every shift pattern tried, choice solved to optimality"
        )
        return _Choice(counts, left, bound, True)
    elastic = 10.0 * max(cost, 1)
    bound = generate_patterns(pool, left_kg=sum(left), elastic=elastic)
    return _Choice(counts, left, bound, False)


def _choose_by_search(pool: Pool, effort: Effort) -> _Choice:
    problem, groups = pool.problem, pool.groups
    for number, slots in enumerate(groups):
        for haul, trips in enumerate(slots.trips):
            repeat = 1
            while repeat <= trips and (
                pattern := pattern_of(number, slots, (haul,) * repeat)
            ):
                pool.add(pattern)
                repeat += 1
    for largest in (True, False):
        loads = cut_loads(problem, groups, largest=largest)
        for number, hauls in search_sequences(
            problem, groups, loads, solutions=effort.solutions
        ):
            pattern = pattern_of(number, groups[number], hauls)
            if pattern:
                pool.add(pattern)
    left_kg, _ = _least_left(pool)
    counts, _, _ = pool.choose(left_kg=left_kg)
    elastic = 10.0 * max(_cost(pool, counts), 1)
    bound = generate_patterns(pool, left_kg=left_kg, elastic=elastic)
    fewer, _ = _least_left(pool)
    if fewer < left_kg:  # the new patterns carry more, and the bound must be about that
        left_kg = fewer
        pool.cover = cover_rows(problem, groups, left_kg=left_kg)
        bound = generate_patterns(pool, left_kg=left_kg, elastic=elastic)
    counts, left, _ = pool.choose(left_kg=left_kg)
    if not left_kg:
        bound = max(
            (bound, empty_running_bound(problem, groups)), key=lambda own: own.amount
        )
    cost = _cost(pool, counts)
    return _Choice(counts, left, bound, left_kg == 0 and bound.amount >= cost)


def _least_left(pool: Pool) -> tuple[int, bool]:
    """The least mass that must stay behind; the pool's rows are set up for it."""
    left_kg = pool.least_left()
    if left_kg:
        pool.cover = cover_rows(pool.problem, pool.groups, left_kg=left_kg)
    return left_kg, True


def _cost(pool: Pool, counts: Sequence[int]) -> int:
    return sum(
        pattern.cost * times
        for pattern, times in zip(pool.patterns, counts, strict=True)
    )


def _assign(pool: Pool, counts: Sequence[int]) -> Chosen:
    free = [list(slots.slots) for slots in pool.groups]
    chosen: Chosen = []
    for pattern, times in zip(pool.patterns, counts, strict=True):
        chosen += [(free[pattern.group].pop(0), pattern) for _ in range(times)]
    return chosen


def _part_load_floor(
    problem: PlanProblem, groups: Sequence[SlotClass], left: Sequence[int]
) -> int:
    """Part-load charges that no plan escapes and that no pattern's cost contains.

    Known only where all trucks take the same load of a haul: then fewer trips never cost
    more in charges, because every additional load makes all of them lighter.
    """
    total = 0
    for index, haul in enumerate(problem.hauls):
        able = [slots for slots in groups if slots.trips[index]]
        sizes = {slots.capacity[index] for slots in able}
        paid = {problem.capacity(slots.truck, haul).kg for slots in able}
        if len(sizes) != 1 or left[index] or min(paid) < haul.part_load.below_kg:
            continue
        size = sizes.pop()
        loads = cut_into_loads(
            haul.mass_kg,
            [size] * -(-haul.mass_kg // size),
            unit_kg=haul.unit_kg,
            terms=haul.part_load,
        )
        total += sum(haul.part_load.due(kg) for kg in loads)
    return total
