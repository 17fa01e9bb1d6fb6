"""Making a plan anew: the run as it was, what came and what happened, and the new run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from logistics.domain.living.arrivals import Arrival, Facts, LoadAt, Reason
from logistics.domain.living.changes import ChangeKind
from logistics.domain.living.replanning import Replanned, replan
from logistics.domain.planning.result import CostLine
from logistics.services.distances import Roads
from logistics.services.plans import PlanDraft, store_plan
from logistics.services.tickets import (
    issue_tickets,
    plan_arrivals,
    record_refusal,
    settle_tickets,
    unsettled,
    withdraw_tickets,
)
from matching.domain.deal_terms import DealTerms
from matching.domain.replan_requests import (
    DealChanged,
    LoadRefused,
    ReplanRequest,
    TruckJoins,
    load_replan,
)
from matching.domain.stored import load_request
from matching.models import Claim, PlanRun, Replan
from matching.services.joining import Joined, join_trucks
from matching.services.plan_states import HeldState, keep_state, state_of, ticketed
from matching.services.replan_requests import check_current, plain


@dataclass(frozen=True)
class Anew:
    """A plan made anew beside the one that it replaces, ready to be told and stored.

    `lines` are the whole bill. `shifts` are all of the new plan, in the order of its
    document; `carried` says which tickets go on with them. One that was never stored
    `replaces` none.
    """

    replaces: UUID | None
    request: ReplanRequest
    old: HeldState
    new: HeldState
    result: Replanned
    lines: tuple[CostLine, ...]
    carried: dict[LoadAt, str]
    seen: dict[LoadAt, Arrival]
    settles: tuple[str, ...]
    refuses: dict[str, bool]

    @property
    def total(self) -> int:
        """Sum of all cost lines."""
        return sum(line.amount for line in self.lines)

    @property
    def bound(self) -> int:
        """What any plan of these deals costs that keeps what has begun."""
        if self.result.plan.unplanned:
            return min(0, self.total)
        saved = self.result.plan.haul_cost - self.result.plan.bound.amount
        return self.total - saved


RenderAgain = Callable[[dict[str, Any], Anew], dict[str, Any]]
"""Makes the document of a plan made anew from that of the plan that it replaces."""


def make_anew(*, run_id: int, zone: ZoneInfo, roads: Roads) -> Anew:
    """Everything of a replanning but its storing; reads alone."""
    row = Replan.objects.select_related("replaces", "run").get(run_id=run_id)
    check_current(row.replaces)
    request = load_replan(row.asked)
    old = state_of(row.replaces)
    joined = join_trucks(
        state=old,
        truck_ids=[o.truck_id for o in request.events if isinstance(o, TruckJoins)],
        days=load_request(row.run.request).days,
        zone=zone,
        roads=roads,
    )
    return anew_of(
        request,
        old,
        joined,
        plan_arrivals(old.codes),
        replaces=row.replaces.public_id,
        settles=unsettled([code for shift in old.codes for code in shift]),
    )


def anew_of(
    request: ReplanRequest,
    old: HeldState,
    joined: Joined,
    seen: dict[LoadAt, Arrival],
    *,
    replaces: UUID | None = None,
    settles: Sequence[str] = (),
) -> Anew:
    """A plan made anew with the trucks that join and what is recorded of its loads."""
    result = _replanned(request, old, joined, seen)
    carried = _carried(old, result)
    told = {
        own.ticket: own.comes_again
        for own in request.events
        if isinstance(own, LoadRefused)
    }
    refused = set(told) | {
        old.codes[at.shift][at.trip] for at, own in seen.items() if not own.accepted
    }
    new = HeldState(
        problem=result.problem,
        plan=result.plan,
        past=(*old.past, *result.past),
        terms=_terms(old, request),
        codes=[],
        place_ids=joined.place_ids,
        truck_ids=joined.truck_ids,
        haul_ids=(),
    )
    return Anew(
        replaces=replaces,
        request=request,
        old=old,
        new=new,
        result=result,
        lines=_lines(new, carried, refused),
        carried=carried,
        seen=seen,
        settles=tuple(settles),
        refuses=told,
    )


def _replanned(
    request: ReplanRequest, old: HeldState, joined: Joined, seen: dict[LoadAt, Arrival]
) -> Replanned:
    past = len(old.past)
    return replan(
        joined.problem,
        old.plan,
        done=Facts(
            {
                LoadAt(at.shift - past, at.trip): own
                for at, own in seen.items()
                if at.shift >= past
            },
            frozenset(n - past for n in request.pinned if n >= past),
        ),
        now=request.now,
        disruptions=(*plain(old, request), *joined.disruptions),
    )


def _carried(old: HeldState, result: Replanned) -> dict[LoadAt, str]:
    """Tickets that go on: where loads stay or move, and of what is long past."""
    past = len(old.past)
    found = {
        LoadAt(at, trip): code
        for at, own in enumerate(old.codes[:past])
        for trip, code in enumerate(own)
    }
    for change in result.changes:
        if change.kind in (ChangeKind.KEPT, ChangeKind.MOVED):
            assert change.old is not None
            assert change.new is not None
            code = old.codes[change.old.shift + past][change.old.trip]
            found[LoadAt(change.new.shift + past, change.new.trip)] = code
    return found


def _terms(old: HeldState, request: ReplanRequest) -> tuple[DealTerms, ...]:
    """The deals with what is agreed now."""
    more: Counter[int] = Counter()
    for own in request.events:
        if isinstance(own, DealChanged):
            unit = old.problem.hauls[own.deal].unit_kg
            pieces = old.terms[own.deal].agreed_kg * own.percent / 100 / unit
            more[own.deal] += round(pieces) * unit
    return tuple(
        replace(terms, agreed_kg=max(terms.agreed_kg + more[deal], 0))
        for deal, terms in enumerate(old.terms)
    )


def _lines(
    new: HeldState, carried: dict[LoadAt, str], refused: set[str]
) -> tuple[CostLine, ...]:
    """The bill: what comes and was not turned away, and every shift."""
    kg: Counter[int] = Counter()
    for at, shift in enumerate(new.shifts):
        for number, trip in enumerate(shift.trips):
            if carried.get(LoadAt(at, number)) not in refused:
                kg[trip.load.haul] += trip.load.mass_kg
    lines = [line for haul, own in enumerate(new.terms) for line in own.lines(kg[haul])]
    lines += [line for shift in new.shifts for line in shift.costs]
    return tuple(lines)


def save_anew(
    *, run: PlanRun, anew: Anew, document: dict[str, Any], at: datetime
) -> dict[str, Any] | None:
    """Store the new plan in the caller's transaction; the fields of the run that it fills.

    None, with nothing stored, if a ticket was recorded meanwhile: it has to be made once
    more. Raises Refused "plan_replaced".
    """
    row = Replan.objects.select_for_update().select_related("replaces").get(run=run)
    check_current(row.replaces)
    if plan_arrivals(anew.old.codes) != anew.seen:
        return None
    state = anew.new
    plan, cost = state.plan, sum(line.amount for s in state.shifts for line in s.costs)
    whole = replace(
        plan,
        shifts=state.shifts,
        haul_cost=cost,
        bound=replace(plan.bound, amount=plan.bound.amount + cost - plan.haul_cost),
    )
    kinds = {line.kind for s in state.shifts for line in s.costs}
    stored = store_plan(
        draft=PlanDraft(
            problem=state.problem,
            plan=whole,
            place_ids=state.place_ids,
            truck_ids=state.truck_ids,
            other_lines=tuple(own for own in anew.lines if own.kind not in kinds),
        ),
        at=at,
    )
    for code, again in anew.refuses.items():
        record_refusal(
            code=code, reason=Reason.OTHER, comes_again=again, at=_moment(anew)
        )
    codes = issue_tickets(plan_id=stored.id, shifts=state.shifts, carried=anew.carried)
    _retire(anew, codes)
    keep_state(run=run, state=replace(state, codes=codes, haul_ids=stored.haul_ids))
    _move_claims(row.replaces, run, anew, stored.haul_ids)
    Replan.objects.filter(pk=row.pk).update(current=True)
    return {
        "plan_id": stored.id,
        "allocation_cost": row.replaces.allocation_cost,
        "allocation_bound": row.replaces.allocation_bound,
        "allocation_optimal": row.replaces.allocation_optimal,
        "total": anew.total,
        "total_bound": anew.bound,
        "bound_method": f"deals as agreed; {plan.bound.method}"[:200],
        "proven_optimal": False,
        "offers_left_out": row.replaces.offers_left_out,
        "document": ticketed(document, codes),
    }


def _moment(anew: Anew) -> datetime:
    return datetime.fromtimestamp(anew.request.now, tz=UTC)


def _retire(anew: Anew, codes: Sequence[Sequence[str]]) -> None:
    """Tickets of loads that are gone, and refusals that this plan has dealt with."""
    going = {code for shift in codes for code in shift}
    before = [code for shift in anew.old.codes for code in shift]
    withdraw_tickets(codes=[code for code in before if code not in going])
    settle_tickets(codes=[*anew.settles, *anew.refuses])


def _move_claims(
    old: PlanRun, new: PlanRun, anew: Anew, haul_ids: Sequence[int]
) -> None:
    """Claims follow their hauls; a proposal asks for what is agreed now, a promise stays
    as it was given."""
    for was, now, terms in zip(
        anew.old.haul_ids, haul_ids, anew.new.terms, strict=True
    ):
        own = Claim.objects.filter(run=old, haul_id=was)
        if terms.agreed_kg:
            own.filter(status=Claim.Status.PROPOSED).update(kg=terms.agreed_kg)
        own.update(run=new, haul_id=now)
