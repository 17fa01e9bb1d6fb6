"""What a plan does to the air and to the tip, as figures of their own."""

from __future__ import annotations

from collections.abc import Sequence

from api.documents.plan_models import CarbonAnswer
from logistics.domain.carbon import SOURCE, footprint
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LineKind, Shift
from matching.domain.builds import MINERAL
from matching.domain.community import CommunityPlan
from matching.domain.scenario import Scenario


def carbon_answer(scenario: Scenario, plan: CommunityPlan) -> CarbonAnswer:
    """kg CO2e of the shifts, also for a m3 of wall where all that comes is for walls."""
    problem = plan.problem
    own = footprint(
        (shift, problem.trucks[problem.slots[shift.slot].truck])
        for shift in plan.hauls.shifts
    )
    wall = wall_m3(scenario)
    work = own.grams_per_tonne_km
    return CarbonAnswer(
        kg_co2e=round(own.kg_co2e, 1),
        empty_kg_co2e=round(own.empty_kg_co2e, 1),
        grams_per_tonne_km=None if work is None else round(work, 1),
        kg_co2e_per_wall_m3=round(own.kg_co2e / wall, 2) if wall else None,
        source=SOURCE,
    )


def carbon_of(
    problem: PlanProblem, shifts: Sequence[Shift], before: CarbonAnswer
) -> CarbonAnswer:
    """The same of other shifts for the same walls."""
    own = footprint(
        (shift, problem.trucks[problem.slots[shift.slot].truck]) for shift in shifts
    )
    work, wall = own.grams_per_tonne_km, before.kg_co2e_per_wall_m3
    share = own.kg_co2e / before.kg_co2e if before.kg_co2e else 0.0
    return CarbonAnswer(
        kg_co2e=round(own.kg_co2e, 1),
        empty_kg_co2e=round(own.empty_kg_co2e, 1),
        grams_per_tonne_km=None if work is None else round(work, 1),
        kg_co2e_per_wall_m3=None if wall is None else round(wall * share, 2),
        source=SOURCE,
    )


def wall_m3(scenario: Scenario) -> float | None:
    """m3 of wall that the demands are for; None if some are for something else."""
    if any(own.wall_m3 is None for own in scenario.demands):
        return None
    # Straw is for the same wall as the blend.
    return sum(own.wall_m3 or 0.0 for own in scenario.demands if own.cargoes == MINERAL)


def tipping_avoided(plan: CommunityPlan) -> int:
    """Fees and haulage to a tip that holders do not pay, minor units; as far as the plan's
    objective counts them."""
    return -sum(
        own.amount for own in plan.lines if own.kind is LineKind.TIPPING_AVOIDED
    )
