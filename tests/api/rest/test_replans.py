"""Plans made anew over HTTP: tickets, claims, documents and refusals (property)."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime
from functools import partial
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from api.deployment import render_again, render_plan
from api.documents.plan_models import PlanAnswer
from logistics.domain.living.arrivals import Arrival
from logistics.models import Ticket
from logistics.services.tickets import record_ticket
from matching.domain.replan_requests import ReplanRequest
from matching.models import Claim, PlanRun, Replan
from matching.services.plans import Means, request_plan, run_plan
from matching.services.replan_requests import request_replan
from tests.matching.test_concurrency import together
from tests.worlds import AT, NO_ROADS, World, raw, store_truck, stored_world, tipper

ZONE = ZoneInfo("Europe/Brussels")
MEANS = Means(
    zone=ZONE,
    roads=NO_ROADS,
    clock=lambda: AT,
    render=render_plan,
    render_again=render_again,
)
EARLY = "2026-03-01T12:00:00+01:00"
"""The Sunday before the plan."""


@pytest.fixture
def world(db: Any) -> World:
    return stored_world()


def planned(world: World) -> UUID:
    run_id, public_id = request_plan(request=world.request, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    return public_id


def document(public_id: UUID | str) -> PlanAnswer:
    run = PlanRun.objects.get(public_id=public_id)
    assert run.status == "done", run.refusal
    return PlanAnswer.model_validate(run.document)


@pytest.fixture
def anew(client, django_capture_on_commit_callbacks):
    """Post what happened, run the job, and return its answer and the new plan."""

    def ask(public_id: UUID, *what: dict[str, Any], as_of: str = EARLY) -> Any:
        body = {"disruptions": list(what), "as_of": as_of}
        with django_capture_on_commit_callbacks(execute=True):
            answer = client.post(
                f"/api/v1/plans/{public_id}/replans/",
                raw(body),
                content_type="application/json",
            )
        return answer, (
            document(answer.json()["id"]) if answer.status_code == 202 else None
        )

    return ask


def tickets(plan: PlanAnswer) -> list[str]:
    return [str(load.ticket) for shift in plan.shifts for load in shift.loads]


def checked(plan: PlanAnswer) -> None:
    """Sums of a document, whatever it says."""
    assert sum(line.amount_minor for line in plan.lines) == plan.total_minor
    assert sum(plan.subtotals_minor.values()) == plan.total_minor
    assert plan.lower_bound_minor <= plan.total_minor
    assert plan.haul_bound_minor <= plan.haul_cost_minor
    assert sum(own.cost_minor for own in plan.shifts) == plan.haul_cost_minor
    assert sum(own.haul_minor for own in plan.deals) == plan.haul_cost_minor
    codes = tickets(plan)
    assert len(set(codes)) == len(codes)


def test_every_load_of_a_plan_has_a_ticket(world):
    plan = document(planned(world))
    codes = tickets(plan)
    assert len(set(codes)) == len(codes) == Ticket.objects.count() > 0


def test_nothing_happened_and_the_plan_stays_as_it_was(world, anew):
    public_id = planned(world)
    before = document(public_id)
    _, after = anew(public_id)
    assert after.shifts == before.shifts
    assert after.lines == before.lines
    assert after.replan.replaces == public_id
    assert (after.replan.moved, after.replan.added, after.replan.dropped) == (0, 0, 0)
    assert after.replan.extra_minor == 0
    checked(after)


def test_a_truck_that_is_out_on_monday_drives_on_tuesday(world, anew):
    public_id = planned(world)
    before = document(public_id)
    first = before.shifts[0]
    _, after = anew(
        public_id,
        {
            "kind": "truck_out",
            "truck": first.truck,
            "ends": f"{first.day}T23:00:00+01:00",
        },
    )
    assert all((own.truck, own.day) != (first.truck, first.day) for own in after.shifts)
    assert not after.unplanned
    assert after.replan.moved == len(first.loads)
    assert set(tickets(after)) == set(tickets(before))
    assert f"{first.truck_name} cannot drive" in after.replan.what[0]
    checked(after)


def test_a_place_that_closes_for_good_leaves_its_loads_behind_with_reasons(world, anew):
    public_id = planned(world)
    before = document(public_id)
    pit = next(own for own in before.places if own.name == "Ada's pit")
    _, after = anew(public_id, {"kind": "place_closed", "place": pit.key})
    assert after.status == "partly_planned"
    assert after.unplanned[0].reasons
    assert after.replan.dropped > 0
    gone = set(tickets(before)) - set(tickets(after))
    states = Ticket.objects.filter(code__in=gone).values_list("state", flat=True)
    assert set(states) == {"withdrawn"}
    checked(after)


def test_a_load_refused_by_ticket_is_charged_and_comes_again(world, anew):
    public_id = planned(world)
    before = document(public_id)
    shift = before.shifts[0]
    drop = next(own for own in shift.stops if own.kind == "tip")
    code = str(shift.loads[0].ticket)
    _, after = anew(
        public_id,
        {"kind": "load_refused", "ticket": code, "comes_again": True},
        as_of=drop.end.isoformat(),
    )
    mass = Counter[int]()
    for own in (load for shift in after.shifts for load in shift.loads):
        mass[own.deal] += own.moist_kg
    deal = shift.loads[0].deal
    assert mass[deal] == before.deals[deal].moist_kg + shift.loads[0].moist_kg
    assert after.deals[deal].moist_kg == before.deals[deal].moist_kg
    assert after.replan.extra_minor > 0
    material = {line.subject: line for line in after.lines if line.kind == "material"}
    for line in before.lines:
        if line.kind == "material":
            assert material[line.subject].amount_minor == line.amount_minor
    ticket = Ticket.objects.get(code=code)
    assert (ticket.state, ticket.settled) == ("refused", True)
    checked(after)
    # A second plan does not send it a third time.
    run = PlanRun.objects.get(replan__replaces__public_id=public_id)
    _, again = anew(run.public_id, as_of=drop.end.isoformat())
    assert again.shifts == after.shifts
    assert again.replan.extra_minor == 0
    checked(again)


def test_more_of_a_deal_and_a_truck_more(world, anew):
    public_id = planned(world)
    before = document(public_id)
    other = store_truck(tipper(name="Second tipper"))
    _, after = anew(
        public_id,
        {"kind": "mass_changed", "deal": 0, "percent": 100},
        {"kind": "truck_joins", "truck": other},
    )
    assert after.deals[0].moist_kg == 2 * before.deals[0].moist_kg
    assert not after.unplanned
    assert after.total_minor != before.total_minor
    checked(after)
    claim = Claim.objects.get(run__replan__current=True, haul__name=_haul(before, 0))
    assert claim.kg == after.deals[0].moist_kg


def _haul(plan: PlanAnswer, deal: int) -> str:
    own = plan.deals[deal]
    return f"{own.offer} > {own.need}"


def test_a_late_day_moves_times_and_keeps_tickets(world, anew):
    public_id = planned(world)
    before = document(public_id)
    shift = before.shifts[0]
    _, after = anew(
        public_id,
        {
            "kind": "runs_late",
            "truck": shift.truck,
            "day": shift.day,
            "minutes": 30,
        },
    )
    assert after.replan.moved == len(shift.loads)
    assert set(tickets(after)) == set(tickets(before))
    ticket = Ticket.objects.get(code=shift.loads[0].ticket)
    load = next(own for own in shift.stops if own.kind == "load")
    assert (ticket.loads_at - load.begin).total_seconds() == 1800


def test_claims_follow_into_the_new_plan(world, anew):
    public_id = planned(world)
    before = Claim.objects.count()
    _, after = anew(public_id)
    assert Claim.objects.count() == before == len(after.deals)
    assert not Claim.objects.filter(run__public_id=public_id).exists()


def test_a_plan_is_replaced_once(world, anew):
    public_id = planned(world)
    anew(public_id)
    answer, _ = anew(public_id)
    assert answer.status_code == 409
    assert answer.json()["problems"][0]["code"] == "plan_replaced"


@pytest.mark.parametrize(
    ("what", "code", "status"),
    [
        ({"kind": "truck_out", "truck": "truck-0"}, "unknown_truck", 404),
        ({"kind": "place_closed", "place": "place-0"}, "unknown_place", 404),
        ({"kind": "load_refused", "ticket": "nothing"}, "unknown_ticket", 404),
        ({"kind": "mass_changed", "deal": 99, "percent": 5}, "unknown_deal", 404),
        ({"kind": "truck_joins", "truck": 99}, "unknown_truck", 404),
        ({"kind": "mass_changed", "deal": 0, "percent": -200}, None, 400),
        ({"kind": "earthquake"}, None, 400),
    ],
)
def test_what_names_nothing_in_the_plan_is_refused_at_once(
    world, anew, what, code, status
):
    public_id = planned(world)
    rows = PlanRun.objects.count()
    answer, _ = anew(public_id, what)
    assert answer.status_code == status
    if code:
        assert answer.json()["problems"][0]["code"] == code
    assert PlanRun.objects.count() == rows


def test_a_plan_tells_which_plan_replaced_it(world, anew, client):
    public_id = planned(world)
    address = f"/api/v1/plans/{public_id}/replans/"
    assert client.get(address).json() == {"replaced_by": None, "replans": []}
    answer, _ = anew(public_id)
    told = client.get(address).json()
    assert told["replaced_by"] == answer.json()["id"]
    assert [own["id"] for own in told["replans"]] == [told["replaced_by"]]
    nowhere = client.get(f"/api/v1/plans/{UUID(int=0)}/replans/")
    assert nowhere.status_code == 404
    assert nowhere.json()["problems"][0]["code"] == "unknown_plan"


def test_a_plan_that_is_not_done_is_not_made_anew(world, anew):
    _, public_id = request_plan(request=world.request, at=AT)
    answer, _ = anew(public_id)
    assert answer.json()["problems"][0]["code"] == "plan_not_done"


def test_what_is_recorded_while_a_plan_is_made_is_in_it(world):
    """The first answer is thrown away, since a ticket came in between."""
    public_id = planned(world)
    code = tickets(document(public_id))[0]
    request = ReplanRequest(now=int(datetime(2026, 3, 1, tzinfo=UTC).timestamp()))
    run_id, new_id = request_replan(public_id=public_id, request=request, at=AT)
    drawn: list[int] = []

    def slow(old, made):
        if not drawn:
            came = Arrival(accepted=True, at=request.now, moist_kg=7777)
            record_ticket(code=code, arrival=came, at=AT)
        drawn.append(1)
        return render_again(old, made)

    means = Means(ZONE, NO_ROADS, lambda: AT, render_plan, slow)
    assert run_plan(run_id=run_id, means=means)
    assert len(drawn) == 2
    plan = document(new_id)
    assert plan.replan
    assert sum(balance.arrived_kg for balance in plan.replan.balances) == 7777


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_of_two_plans_that_replace_one_at_once_one_stands():
    public_id = planned(stored_world())
    request = ReplanRequest(now=int(datetime(2026, 3, 1, tzinfo=UTC).timestamp()))
    runs = [
        request_replan(public_id=public_id, request=request, at=AT)[0] for _ in range(3)
    ]
    calls: list[Any] = [partial(run_plan, run_id=run, means=MEANS) for run in runs]
    together(calls)
    states = Counter(
        PlanRun.objects.filter(pk__in=runs).values_list("status", flat=True)
    )
    assert states == {"done": 1, "failed": 2}
    assert Replan.objects.filter(current=True).count() == 1


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_of_many_records_of_one_load_one_is_kept():
    code = tickets(document(planned(stored_world())))[0]
    calls: list[Any] = [
        partial(
            record_ticket,
            code=code,
            arrival=Arrival(accepted=True, at=0, moist_kg=7000 + own),
            at=AT,
        )
        for own in range(8)
    ]
    answers = together(calls)
    assert answers.count("ticket_recorded") == 7
    (kept,) = [own for own in answers if own != "ticket_recorded"]
    assert Ticket.objects.get(code=code).moist_kg == kept.arrival.moist_kg
