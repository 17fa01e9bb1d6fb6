"""Planned against arrived of a plan, as its tickets say at this moment."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from logistics.domain.living.reconciling import Balance, reconcile
from logistics.services.tickets import plan_arrivals
from matching.models import PlanRun, PlanState, Replan
from matching.services.plan_states import state_of


@dataclass(frozen=True, slots=True)
class Followed:
    """What became of a plan: the plan that replaced it, how many of its loads are recorded,
    and the balance of each deal (none where nothing is). `changeable`: it can be made
    anew."""

    replaced_by: UUID | None
    changeable: bool
    recorded: int
    balances: tuple[Balance, ...]


def follow(public_id: UUID) -> Followed:
    """What became of a plan. Raises nothing for a plan without tickets."""
    newer = (
        Replan.objects.filter(replaces__public_id=public_id, current=True)
        .select_related("run")
        .first()
    )
    run = PlanRun.objects.filter(public_id=public_id).first()
    kept = run is not None and PlanState.objects.filter(run=run).exists()
    if newer or run is None or not kept:
        replaced = newer.run.public_id if newer else None
        return Followed(replaced, changeable=False, recorded=0, balances=())
    codes = PlanState.objects.values_list("codes", flat=True).get(run=run)
    came = plan_arrivals(codes)
    if not came:
        return Followed(None, changeable=True, recorded=0, balances=())
    state = state_of(run)
    asked = [haul.mass_kg for haul in state.problem.hauls]
    found = reconcile(state.problem, state.shifts, came, asked)
    return Followed(None, changeable=True, recorded=len(came), balances=found)
