"""Planning as a job: asked for, taken by one worker, answered once.

The row is the queue. A worker takes it by a conditional update, so a message that is
delivered twice does nothing the second time; a row whose worker died is taken again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F, Q

from logistics.domain.errors import Problem, Refused, refuse
from logistics.domain.planning.result import LineKind
from logistics.services.distances import Roads
from logistics.services.plans import PlanDraft, store_plan
from logistics.services.tickets import issue_tickets
from matching.domain.builds import demands
from matching.domain.community import CommunityPlan, plan_community
from matching.domain.deal_terms import DealTerms, terms_of
from matching.domain.requests import PlanRequest
from matching.domain.scenario import Scenario
from matching.domain.stored import dump_request, load_request
from matching.models import Claim, PlanRun, Replan
from matching.selectors.builds import get_builds
from matching.selectors.runs import waiting_runs
from matching.selectors.scenarios import Gathered, chosen_trucks, gather
from matching.services.distances import distances_of, own_distances_of
from matching.services.plan_states import HeldState, keep_state, ticketed
from matching.services.replans import Anew, RenderAgain, make_anew, save_anew

Render = Callable[[str, Scenario, CommunityPlan], dict[str, Any]]
"""Makes the document that people will read of a plan; the text is the plan's name."""

LOST_AFTER = timedelta(minutes=15)
"""When the worker of a run counts as dead: longer than a task may run."""
MOST_ATTEMPTS = 3

_NOT_DRIVING = (LineKind.MATERIAL, LineKind.TIPPING_AVOIDED)


@dataclass(frozen=True, slots=True)
class Means:
    """What a worker needs beside the run: local time, roads, the clock and a pen."""

    zone: ZoneInfo
    roads: Roads
    clock: Callable[[], datetime]
    render: Render
    render_again: RenderAgain | None = None


class _Superseded(Exception):
    """The run was cancelled, or another worker took it: whatever we have is not wanted."""


def request_plan(*, request: PlanRequest, at: datetime) -> tuple[int, UUID]:
    """Queue a plan run and return its row id and its public id.

    Raises Refused "unknown_build" or "unknown_truck". The caller sends the message to a
    worker once the transaction is committed.
    """
    get_builds(request.build_ids)
    chosen_trucks(request.truck_ids)
    run = PlanRun.objects.create(
        public_id=uuid4(), request=dump_request(request), created_at=at
    )
    return run.pk, run.public_id


def cancel_plan(*, public_id: UUID, at: datetime) -> None:
    """Give up a run that has not ended; its worker notices and stores nothing.

    Raises Refused "unknown_plan", or "plan_ended" if it is too late.
    """
    open_runs = PlanRun.objects.filter(
        public_id=public_id, status__in=[PlanRun.Status.QUEUED, PlanRun.Status.RUNNING]
    )
    if open_runs.update(status=PlanRun.Status.CANCELLED, finished_at=at):
        return
    known = PlanRun.objects.filter(public_id=public_id).exists()
    raise refuse(
        "plan_ended" if known else "unknown_plan",
        field="plan",
        given=public_id,
        message="this plan has ended already" if known else "there is no such plan",
        remedy="Nothing is left to cancel." if known else "Check the address.",
    )


def lost_runs(*, at: datetime) -> list[int]:
    """Ids of runs whose message or worker was lost, and that should be sent again."""
    return waiting_runs(lost_before=at - LOST_AFTER)


def run_plan(*, run_id: int, means: Means) -> bool:
    """Plan and store the answer, or the refusal; False if the run was not ours to take.

    Gathering and deciding hold no transaction; the answer is stored in one. A fault of
    our own is stored as "planner_fault" and raised.
    """
    attempt = _take(run_id, means.clock())
    if attempt is None:
        return False
    ours = _ours(run_id, attempt)
    try:
        if Replan.objects.filter(run_id=run_id).exists():
            _plan_anew(run_id, attempt, means)
        else:
            _plan(run_id, attempt, means)
    except _Superseded:
        return False
    except Refused as refused:
        _fail(ours, refused.problems, means.clock())
    except Exception as error:
        _fail(ours, (_fault(error),), means.clock())
        raise
    return True


def _take(run_id: int, at: datetime) -> int | None:
    """Make the run ours and return the number of the attempt, None if it is not free."""
    free = Q(status=PlanRun.Status.QUEUED) | Q(
        status=PlanRun.Status.RUNNING, started_at__lt=at - LOST_AFTER
    )
    with transaction.atomic():
        taken = PlanRun.objects.filter(free, pk=run_id).update(
            status=PlanRun.Status.RUNNING,
            attempt=F("attempt") + 1,
            started_at=at,
            progress=5,
        )
        if not taken:
            return None
        attempt = PlanRun.objects.values_list("attempt", flat=True).get(pk=run_id)
    if attempt > MOST_ATTEMPTS:
        _fail(_ours(run_id, attempt), (_given_up(),), at)
        return None
    return attempt


def _ours(run_id: int, attempt: int) -> Q:
    return Q(pk=run_id, attempt=attempt, status=PlanRun.Status.RUNNING)


def _plan(run_id: int, attempt: int, means: Means) -> None:
    ours = _ours(run_id, attempt)
    stored = PlanRun.objects.values_list("request", flat=True).get(pk=run_id)
    request = load_request(stored)
    gathered = gather(request, zone=means.zone)
    _advance(ours, 15)
    distances = distances_of(gathered.places, roads=means.roads)
    own = own_distances_of(gathered.places, gathered.trucks, roads=means.roads)
    _advance(ours, 30)
    scenario = gathered.scenario(distances, request, own)
    plan = plan_community(scenario)
    _advance(ours, 90)
    document = means.render(request.name, scenario, plan)
    terms = terms_of(scenario, plan.deals)
    _save(ours, gathered, plan, terms, document, means.clock())


def _plan_anew(run_id: int, attempt: int, means: Means) -> None:
    """Replace a plan. What is recorded while it is made makes it anew once more."""
    if means.render_again is None:
        raise ValueError("no pen for plans made anew")
    ours, saved = _ours(run_id, attempt), False
    while not saved:
        anew = make_anew(run_id=run_id, zone=means.zone, roads=means.roads)
        _advance(ours, 80)
        old = PlanRun.objects.get(replans__run_id=run_id).document or {}
        document = means.render_again(old, anew)
        saved = _save_anew(ours, anew, document, means.clock())


@transaction.atomic
def _save_anew(ours: Q, anew: Anew, document: dict[str, Any], at: datetime) -> bool:
    run = PlanRun.objects.select_for_update().filter(ours).first()
    if run is None:
        raise _Superseded
    fields = save_anew(run=run, anew=anew, document=document, at=at)
    if fields is None:
        return False
    done = {"status": PlanRun.Status.DONE, "progress": 100, "finished_at": at}
    PlanRun.objects.filter(ours).update(**done, **fields)
    return True


def _advance(ours: Q, percent: int) -> None:
    if not PlanRun.objects.filter(ours).update(progress=percent):
        raise _Superseded


@transaction.atomic
def _save(
    ours: Q,
    gathered: Gathered,
    plan: CommunityPlan,
    terms: tuple[DealTerms, ...],
    document: dict[str, Any],
    at: datetime,
) -> None:
    run = PlanRun.objects.select_for_update().filter(ours).first()
    if run is None:
        raise _Superseded
    draft = PlanDraft(
        problem=plan.problem,
        plan=plan.hauls,
        place_ids=tuple(own.id for own in gathered.places),
        truck_ids=gathered.truck_ids,
        other_lines=tuple(line for line in plan.lines if line.kind in _NOT_DRIVING),
    )
    stored = store_plan(draft=draft, at=at)
    codes = issue_tickets(plan_id=stored.id, shifts=plan.hauls.shifts)
    state = HeldState(
        problem=plan.problem,
        plan=plan.hauls,
        past=(),
        terms=terms,
        codes=codes,
        place_ids=draft.place_ids,
        truck_ids=draft.truck_ids,
        haul_ids=stored.haul_ids,
    )
    keep_state(run=run, state=state)
    demands = [gathered.need_ids[key] for key in _demand_keys(gathered)]
    Claim.objects.bulk_create(
        Claim(
            offer_id=gathered.offer_ids[deal.offer],
            need_id=demands[deal.demand],
            run=run,
            haul_id=haul_id,
            kg=deal.kg,
        )
        for deal, haul_id in zip(plan.deals, stored.haul_ids, strict=True)
    )
    PlanRun.objects.filter(ours).update(
        status=PlanRun.Status.DONE,
        progress=100,
        plan_id=stored.id,
        allocation_cost=plan.allocation.cost,
        allocation_bound=plan.allocation.bound,
        allocation_optimal=plan.allocation.optimal,
        total=plan.total,
        total_bound=plan.bound.amount,
        bound_method=plan.bound.method,
        proven_optimal=plan.proven_optimal,
        offers_left_out=gathered.left_out,
        document=ticketed(document, codes),
        finished_at=at,
    )


def _demand_keys(gathered: Gathered) -> list[str]:
    return [demand.key for demand in demands(gathered.builds)]


def _fail(ours: Q, problems: tuple[Problem, ...], at: datetime) -> None:
    PlanRun.objects.filter(ours).update(
        status=PlanRun.Status.FAILED,
        refusal=[asdict(problem) for problem in problems],
        finished_at=at,
    )


def _fault(error: Exception) -> Problem:
    return Problem(
        "planner_fault",
        "plan",
        type(error).__name__,
        "the planner failed; this is a fault of the service, not of the request",
        "Tell the people who run this service.",
    )


def _given_up() -> Problem:
    return Problem(
        "planner_lost",
        "plan",
        f"{MOST_ATTEMPTS} attempts",
        "every worker that tried this plan was lost",
        "Ask for fewer builds or days at once, or tell the people who run this service.",
    )
