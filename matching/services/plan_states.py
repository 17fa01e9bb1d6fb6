"""Keeping with a plan what making it anew takes, and giving its loads their tickets."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from logistics.domain.errors import refuse
from logistics.domain.living.stored import (
    dump_plan,
    dump_problem,
    dump_shifts,
    load_plan,
    load_problem,
    load_shifts,
    used_places,
)
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, Shift
from logistics.services.tickets import Codes
from matching.domain.deal_terms import TERMS, DealTerms
from matching.models import PlanRun, PlanState


@dataclass(frozen=True)
class HeldState:
    """What is kept with a run, as values; `haul_ids` are rows, in the order of hauls."""

    problem: PlanProblem
    plan: HaulPlan
    past: tuple[Shift, ...]
    terms: tuple[DealTerms, ...]
    codes: Codes
    place_ids: tuple[int, ...]
    truck_ids: tuple[int, ...]
    haul_ids: tuple[int, ...]

    @property
    def shifts(self) -> tuple[Shift, ...]:
        """All shifts in the order of the run's document."""
        return (*self.past, *self.plan.shifts)


def keep_state(*, run: PlanRun, state: HeldState) -> None:
    """Keep it, without the places that nothing in it knows."""
    problem, plan = state.problem, state.plan
    kept = tuple(range(len(state.place_ids)))
    if not state.past:
        problem, plan, kept = used_places(problem, plan)
    PlanState.objects.create(
        run=run,
        problem=dump_problem(problem),
        plan=dump_plan(plan),
        past=dump_shifts(state.past),
        terms=TERMS.dump_python(state.terms, mode="json"),
        codes=state.codes,
        place_ids=[state.place_ids[at] for at in kept],
        truck_ids=list(state.truck_ids),
        haul_ids=list(state.haul_ids),
    )


def state_of(run: PlanRun) -> HeldState:
    """What is kept with a run. Raises Refused "plan_not_done" or, for a plan of an older
    version of this service, "plan_without_state"."""
    row = PlanState.objects.filter(run=run).first()
    if row is None:
        done = run.status == PlanRun.Status.DONE
        raise refuse(
            "plan_without_state" if done else "plan_not_done",
            field="plan",
            given=run.public_id,
            message="this plan was made before plans could be made anew"
            if done
            else "this plan is not done",
            remedy="Ask for a new plan." if done else "Wait until it is done.",
        )
    return HeldState(
        problem=load_problem(row.problem),
        plan=load_plan(row.plan),
        past=load_shifts(row.past),
        terms=TERMS.validate_python(row.terms),
        codes=row.codes,
        place_ids=tuple(row.place_ids),
        truck_ids=tuple(row.truck_ids),
        haul_ids=tuple(row.haul_ids),
    )


def ticketed(
    document: dict[str, Any], codes: Sequence[Sequence[str]]
) -> dict[str, Any]:
    """The document of a plan with the ticket of each of its loads."""
    told = copy.deepcopy(document)
    for shift, own in zip(told.get("shifts", []), codes, strict=False):
        for load, code in zip(shift["loads"], own, strict=True):
            load["ticket"] = code
    return told
