"""Making the plan of a scenario file anew: nothing of it is stored."""

from __future__ import annotations

from logistics.domain.errors import refuse
from matching.domain.community import CommunityPlan
from matching.domain.deal_terms import terms_of
from matching.domain.replan_requests import ReplanRequest, TruckJoins
from matching.domain.scenario import Scenario
from matching.services.joining import Joined
from matching.services.plan_states import HeldState
from matching.services.replan_requests import check_request
from matching.services.replans import Anew, anew_of


def replan_scenario(
    scenario: Scenario, plan: CommunityPlan, request: ReplanRequest
) -> Anew:
    """The plan of a scenario as it is after what happened.

    The ticket of a load is "SHIFT.LOAD", both counted from 0. Raises Refused for what names
    nothing in the plan, and "truck_without_fleet": no other truck is known.
    """
    for number, own in enumerate(request.events):
        if isinstance(own, TruckJoins):
            raise refuse(
                "truck_without_fleet",
                field=f"disruptions[{number}].truck",
                given=own.truck_id,
                message="a scenario file has no fleet beside its own trucks",
                remedy="Store the trucks and the plan, or plan with the truck in the file.",
            )
    shifts = plan.hauls.shifts
    state = HeldState(
        problem=plan.problem,
        plan=plan.hauls,
        past=(),
        terms=terms_of(scenario, plan.deals),
        codes=[
            [f"{at}.{trip}" for trip in range(len(own.trips))]
            for at, own in enumerate(shifts)
        ],
        place_ids=tuple(range(len(plan.problem.places))),
        truck_ids=tuple(range(len(plan.problem.trucks))),
        haul_ids=(),
    )
    check_request(state, request)
    joined = Joined(plan.problem, state.place_ids, state.truck_ids, ())
    return anew_of(request, state, joined, {})
