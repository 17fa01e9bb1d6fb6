"""The haul engine's front door: `plan_hauls(problem) -> HaulPlan`.

Small problems are enumerated and solved to proven optimality. Larger ones get patterns
from an insertion heuristic and from column generation; where few enough patterns can be
part of a better plan, all of them are enumerated and the best choice is proven, else the
plan comes with a proven lower bound. Nothing depends on the clock or on chance.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from logistics.domain.errors import Problem, Refused
from logistics.domain.planning.choice import Effort, Outcome, choose_shifts
from logistics.domain.planning.coupling import Spare
from logistics.domain.planning.explain import impossible_alone, left_behind
from logistics.domain.planning.groups import slot_classes, without_idle_limits
from logistics.domain.planning.loading import Chosen, share_loads, without_empty_trips
from logistics.domain.planning.patterns import Pattern
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, LowerBound, Shift, Unplanned
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.timeline import build_shift
from logistics.domain.planning.timetable import Clash, begins_of
from logistics.domain.planning.verify import verify_plan

__all__ = ["Effort", "plan_hauls"]


def plan_hauls(problem: PlanProblem, effort: Effort = Effort()) -> HaulPlan:  # noqa: B008
    """The cheapest shifts found that carry as much as possible, verified before return.

    A trip that a haul does not need is never driven. Raises Refused for a quantity that is
    not a whole number of pieces, PlanBroken if the plan fails its own check (a fault of
    the planner).
    """
    _check(problem)
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
    if not any(haul.mass_kg for haul in hauls):
        bound = LowerBound(0, "nothing to carry")
        plan = HaulPlan((), tuple(hopeless), 0, bound, proven_optimal=True)
    else:
        plan = _plan(replace(problem, hauls=hauls), hopeless, effort)
    verify_plan(problem, plan)
    return plan


def _check(problem: PlanProblem) -> None:
    found = []
    for index, haul in enumerate(problem.hauls):
        field = f"hauls[{index}].mass_kg"
        if haul.mass_kg < 0:
            found.append(
                Problem(
                    "mass_negative",
                    field,
                    str(haul.mass_kg),
                    "a quantity is never negative",
                    "Give 0 or more kg.",
                )
            )
        elif haul.unit_kg < 1 or haul.mass_kg % haul.unit_kg:
            found.append(
                Problem(
                    "mass_cuts_a_piece",
                    field,
                    str(haul.mass_kg),
                    f"not a whole number of pieces of {haul.unit_kg} kg",
                    f"Give a multiple of {haul.unit_kg} kg.",
                )
            )
    if found:
        raise Refused(*found)


def _plan(
    problem: PlanProblem,
    hopeless: Sequence[Unplanned],
    effort: Effort,
    *,
    explained: bool = True,
) -> HaulPlan:
    problem = without_idle_limits(problem)
    groups = slot_classes(problem)
    outcome = choose_shifts(problem, groups, effort)
    laid = _laid_out(problem, groups, outcome)
    if laid.fell_short:
        # Gates were too busy, or pieces of two sizes did not fit as their sum does.
        outcome = choose_shifts(problem, groups, effort, sum(laid.left))
        other = _laid_out(problem, groups, outcome)
        laid = min(laid, other, key=lambda own: (sum(own.left), own.cost))
    shifts, left, outcome, cost = laid.shifts, laid.left, laid.outcome, laid.cost
    least = outcome.least_proven and not laid.fell_short and left == outcome.left
    bound = LowerBound(min(cost, outcome.bound.amount), outcome.bound.method)
    if laid.fell_short:
        bound = LowerBound(0, "none: less can be carried than the choice allows for")
    again = _again if explained else None
    return HaulPlan(
        shifts=shifts,
        unplanned=(
            *hopeless,
            *left_behind(problem, groups, laid.chosen, left, cost, again, proven=least),
        ),
        haul_cost=cost,
        bound=bound,
        proven_optimal=least and bound.amount == cost,
    )


@dataclass(frozen=True)
class _Laid:
    """A choice with its shifts as they are driven, and the kg of each haul left behind.

    `asked_kg` is what the choice would have left, before it was laid out.
    """

    outcome: Outcome
    chosen: Chosen
    shifts: tuple[Shift, ...]
    left: list[int]
    asked_kg: int

    @property
    def fell_short(self) -> bool:
        """Whether more stays behind than was asked for: a bound says nothing then."""
        return sum(self.left) > self.asked_kg

    @property
    def cost(self) -> int:
        return sum(line.amount for shift in self.shifts for line in shift.costs)


def _laid_out(
    problem: PlanProblem, groups: Sequence[SlotClass], outcome: Outcome
) -> _Laid:
    spare: Spare = {}
    asked_kg = sum(outcome.left)
    while isinstance(laid := _shifts(problem, groups, outcome), Clash):
        # One load fewer for the busiest gate of that day, and another choice.
        spare[laid.place, laid.day] = max(0, laid.asked_s - 1)
        outcome = outcome.again(spare)
    shifts, chosen = laid
    return _Laid(outcome, chosen, shifts, _left(problem, shifts), asked_kg)


def _left(problem: PlanProblem, shifts: Sequence[Shift]) -> list[int]:
    """The kg of each haul that no shift carries."""
    carried = Counter[int]()
    for shift in shifts:
        for trip in shift.trips:
            carried[trip.load.haul] += trip.load.mass_kg
    return [haul.mass_kg - carried[at] for at, haul in enumerate(problem.hauls)]


def _again(problem: PlanProblem) -> tuple[tuple[int, ...], int]:
    """What a plan without much effort leaves behind of each haul, and what it costs."""
    plan = _plan(problem, (), Effort(close=False), explained=False)
    return tuple(_left(problem, plan.shifts)), plan.haul_cost


def _shifts(
    problem: PlanProblem, groups: Sequence[SlotClass], outcome: Outcome
) -> tuple[tuple[Shift, ...], Chosen] | Clash:
    chosen = _assign(groups, outcome.patterns)
    masses = share_loads(problem, groups, chosen, outcome.left)
    fewer = without_empty_trips(groups, chosen, masses)
    if fewer is None:
        masses = share_loads(problem, groups, chosen, outcome.left, use_all=True)
    else:
        chosen, masses = fewer
    begins = begins_of(problem, groups, chosen)
    if isinstance(begins, Clash):
        return begins
    shifts = [
        build_shift(
            problem, groups[pattern.group], slot, pattern, row, begins.get(slot)
        )
        for (slot, pattern), row in zip(chosen, masses, strict=True)
    ]
    return tuple(sorted(shifts, key=lambda own: (own.leave.begin, own.slot))), chosen


def _assign(groups: Sequence[SlotClass], patterns: Sequence[Pattern]) -> Chosen:
    """Give each pattern the earliest free slot of its group."""
    free = [list(slots.slots) for slots in groups]
    return [(free[pattern.group].pop(0), pattern) for pattern in patterns]
