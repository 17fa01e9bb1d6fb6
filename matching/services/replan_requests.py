"""Asking for a plan to be made anew, and what happened in the haul engine's words."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from uuid import UUID, uuid4

from logistics.domain.errors import refuse
from logistics.domain.living.arrivals import LoadAt
from logistics.domain.living.disruptions import (
    Disruption,
    MassChanged,
    RunsLate,
    TruckOut,
    TurnedAway,
    check_disruptions,
)
from matching.domain.replan_requests import (
    DealChanged,
    LoadRefused,
    ReplanRequest,
    TruckJoins,
    dump_replan,
)
from matching.models import PlanRun, Replan
from matching.selectors.scenarios import chosen_trucks
from matching.services.plan_states import HeldState, state_of


def request_replan(
    *, public_id: UUID, request: ReplanRequest, at: datetime
) -> tuple[int, UUID]:
    """Queue the run that makes a plan anew; its row id and its public id.

    Raises Refused "unknown_plan", "plan_not_done", "plan_replaced", and for what names
    nothing in the plan.
    """
    run = PlanRun.objects.filter(public_id=public_id).first()
    if run is None:
        raise refuse(
            "unknown_plan",
            field="plan",
            given=public_id,
            message="there is no such plan",
            remedy="Check the address.",
        )
    state = state_of(run)
    check_current(run)
    check_request(state, request)
    new = PlanRun.objects.create(public_id=uuid4(), request=run.request, created_at=at)
    Replan.objects.create(run=new, replaces=run, asked=dump_replan(request))
    return new.pk, new.public_id


def check_current(run: PlanRun) -> None:
    """Raises Refused "plan_replaced" if another plan stands in its place."""
    newer = Replan.objects.filter(replaces=run, current=True).first()
    if newer:
        raise refuse(
            "plan_replaced",
            field="plan",
            given=run.public_id,
            message="this plan was replaced already",
            remedy=f"Change the plan that replaced it: {newer.run.public_id}.",
        )


def check_request(state: HeldState, request: ReplanRequest) -> None:
    """Raises Refused for what names nothing in the plan."""
    codes = {code for shift in state.codes for code in shift}
    for number, own in enumerate(request.events):
        if isinstance(own, LoadRefused) and own.ticket not in codes:
            raise refuse(
                "unknown_ticket",
                field=f"disruptions[{number}].ticket",
                given=own.ticket,
                message="no load of this plan has this ticket",
                remedy="Give the code on the ticket of the load.",
            )
        if isinstance(own, DealChanged) and own.deal >= len(state.terms):
            raise refuse(
                "unknown_deal",
                field=f"disruptions[{number}].deal",
                given=own.deal,
                message="this plan has no such deal",
                remedy="Count the deals of the plan from 0.",
            )
        if isinstance(own, TruckJoins) and own.truck_id in state.truck_ids:
            raise refuse(
                "truck_in_plan",
                field=f"disruptions[{number}].truck",
                given=own.truck_id,
                message="this truck is in the plan already",
                remedy="Name a truck that the plan was made without.",
            )
    for number in request.pinned:
        if not 0 <= number < len(state.codes):
            raise refuse(
                "unknown_shift",
                field="pinned",
                given=number,
                message="this plan has no such shift",
                remedy="Count the shifts of the plan from 0.",
            )
    joining = [own.truck_id for own in request.events if isinstance(own, TruckJoins)]
    if joining:
        chosen_trucks(joining)
    check_disruptions(state.problem, plain(state, request))


def plain(state: HeldState, request: ReplanRequest) -> tuple[Disruption, ...]:
    """What happened in the words of the haul engine, but for trucks that join."""
    found: list[Disruption] = []
    at = {
        code: LoadAt(shift, trip)
        for shift, own in enumerate(state.codes)
        for trip, code in enumerate(own)
    }
    for own in request.events:
        if isinstance(own, LoadRefused):
            load = at[own.ticket]
            shift = load.shift - len(state.past)
            if shift >= 0:
                found.append(TurnedAway(shift, load.trip, own.comes_again))
        elif isinstance(own, DealChanged):
            key, agreed = state.problem.hauls[own.deal].key, state.terms[own.deal]
            found.append(MassChanged(key, own.percent, agreed.agreed_kg))
        elif isinstance(own, TruckOut | RunsLate):
            keys = _alike(state, own.truck)
            found += [replace(own, truck=key) for key in keys]
        elif not isinstance(own, TruckJoins):
            found.append(own)
    return tuple(found)


def _alike(state: HeldState, key: str) -> list[str]:
    """The keys of one truck: on weak roads it counts as another."""
    keys = [truck.key for truck in state.problem.trucks]
    if key not in keys:
        return [key]
    owner = state.truck_ids[keys.index(key)]
    same = [own for own, row in zip(keys, state.truck_ids, strict=True) if row == owner]
    return list(dict.fromkeys(same))
