"""The front door of living plans: `replan(problem, plan, ...) -> Replanned`.

What is done is a fact. Shifts that have begun, or that somebody pinned, stay, and so does
every load that can, at its truck, day and moments. What is affected goes first into free
slots, into bodies that are not full and into free hours of shifts that stay; if that
leaves more behind than a plan in which everything may move, loads are let go of, as few as
do. Nothing depends on the clock or on chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from logistics.domain.living.arrivals import Facts
from logistics.domain.living.changes import Change, ChangeKind, changes
from logistics.domain.living.disruptions import Disruption, check_disruptions
from logistics.domain.living.releasing import (
    Choice,
    Released,
    choices,
    everything,
    realised,
)
from logistics.domain.living.standing import Standing, standing
from logistics.domain.living.surgery import cost_of
from logistics.domain.planning.planner import Effort
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, LowerBound, Shift


@dataclass(frozen=True)
class Replanned:
    """The plan from now on, with the shifts driven so far, and what is different in it.

    `problem` asks what `plan` carries or leaves: a load that is to come once more counts
    twice. `past` are shifts that broke off; they cost what was driven. Changes count the
    new loads in `shifts`. Money in minor units.
    """

    problem: PlanProblem
    plan: HaulPlan
    past: tuple[Shift, ...]
    changes: tuple[Change, ...]
    cost_before: int
    left_before_kg: int

    @property
    def shifts(self) -> tuple[Shift, ...]:
        """All shifts: those that broke off, then those of the plan."""
        return (*self.past, *self.plan.shifts)

    @property
    def cost_after(self) -> int:
        """Haulage in all, with what was driven in vain."""
        return sum(map(cost_of, self.shifts))

    @property
    def extra_cost(self) -> int:
        """What the disruption costs; less than nothing where less is carried."""
        return self.cost_after - self.cost_before

    @property
    def left_after_kg(self) -> int:
        """What no shift carries now."""
        return sum(own.mass_kg for own in self.plan.unplanned)

    def count(self, kind: ChangeKind) -> int:
        """How many loads this became of."""
        return sum(own.kind is kind for own in self.changes)


def replan(
    problem: PlanProblem,
    plan: HaulPlan,
    *,
    done: Facts,
    now: int,
    disruptions: Sequence[Disruption],
    effort: Effort = Effort(),
) -> Replanned:
    """Plan what is left anew, changing as little as needed.

    Least is left behind, then fewest loads are changed, then it is cheap. Raises Refused
    for a disruption that names nothing in the plan.
    """
    given = tuple(disruptions)
    check_disruptions(problem, given)
    own = standing(problem, plan, done, now, given)
    best, free = _best(own, plan.shifts, now, effort)
    bound, proven = _bound(own, best, free)
    new = replace(best.plan, bound=bound, proven_optimal=proven)
    return Replanned(
        problem=best.problem,
        plan=new,
        past=own.past,
        changes=changes(best.problem, plan.shifts, (*own.past, *new.shifts)),
        cost_before=plan.haul_cost,
        left_before_kg=sum(left.mass_kg for left in plan.unplanned),
    )


def _best(
    own: Standing, old: Sequence[Shift], now: int, effort: Effort
) -> tuple[Choice, Choice | None]:
    """The best choice, and the one in which everything may move.

    Choices are compared by plans that are not closed, which is quick; the one that is taken
    is planned with all the effort.
    """
    quick = replace(effort, close=False)
    free = realised(own, everything(own), old, now, effort)
    least = free.left if free else None
    best: Choice | None = None
    taken: Released = frozenset()
    size = 0
    for released in choices(own):
        if best and len(released) > size and (least is None or best.left <= least):
            break
        size = len(released)
        found = realised(own, released, old, now, quick)
        if found and (best is None or found.rank < best.rank):
            best, taken = found, released
    closed = realised(own, taken, old, now, effort) if best else None
    options = [choice for choice in (closed, best, free) if choice]
    if not options:
        raise AssertionError("what stays put is no plan: a fault of replanning")
    return min(options, key=lambda choice: choice.rank), free


def _bound(own: Standing, best: Choice, free: Choice | None) -> tuple[LowerBound, bool]:
    """What any plan costs that carries as much and adds nothing to shifts begun."""
    fixed = sum(cost_of(held.shift) for held in own.held if held.fixed)
    amount, method = fixed, "shifts begun or pinned alone"
    narrow = any(
        place.loads_a_day is not None or (place.at_once or 1) > 1
        for place in own.world.places
    )
    if free and not narrow and _left(free) == _left(best):
        amount = fixed + free.rest.bound.amount
        method = f"shifts begun or pinned as they are; {free.rest.bound.method}"
    cost = best.plan.haul_cost
    return LowerBound(min(cost, amount), method[:200]), amount == cost


def _left(choice: Choice) -> dict[int, int]:
    return {own.haul: own.mass_kg for own in choice.plan.unplanned}
