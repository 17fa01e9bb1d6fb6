"""Use cases of the market, with a database."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from api.deployment import render_plan
from logistics.domain.errors import Refused
from logistics.domain.loads import PartLoadTerms
from logistics.domain.trucks import Cargo
from logistics.models import CostLine, Haul, Load, Plan, Shift, Stop, UnplannedHaul
from logistics.selectors import list_trucks
from logistics.services.distances import Roads
from matching.domain.materials import Disposal, Straw, Subsoil
from matching.domain.requests import PlanRequest
from matching.models import Claim, Offer, PlanRun
from matching.selectors.builds import get_build, get_need
from matching.selectors.offers import get_offer
from matching.selectors.runs import get_run
from matching.selectors.scenarios import gather
from matching.services.claims import agree_claim
from matching.services.matches import view_need
from matching.services.plans import (
    LOST_AFTER,
    MOST_ATTEMPTS,
    Means,
    cancel_plan,
    lost_runs,
    request_plan,
    run_plan,
)
from tests.osm_world import RING, SQUARE, imported, osm_xml
from tests.worlds import (
    AT,
    MONDAY,
    NO_ROADS,
    WEDNESDAY,
    adas_soil,
    bens_build,
    dots_sand,
    eves_straw,
    place,
    row_counts,
    store_build,
    store_offer,
    store_truck,
    stored_world,
    tipper,
)

pytestmark = pytest.mark.django_db

ZONE = ZoneInfo("Europe/Brussels")
MEANS = Means(zone=ZONE, roads=NO_ROADS, clock=lambda: AT, render=render_plan)


def code_of(call: Callable[[], object]) -> str:
    with pytest.raises(Refused) as refusal:
        call()
    return refusal.value.problems[0].code


def test_an_offer_is_read_back_as_it_was_given():
    """Property: what is stored and read is what was read from the body."""
    terms = {"part_load": {"charge_minor": 900, "below_kg": 3000}}
    stored = get_offer(
        store_offer(adas_soil(**terms, available_from="2026-03-01", whole_loads=True))
    )
    own = stored.offer
    assert isinstance(own.material, Subsoil)
    assert own.material.clay.low == 0.28
    assert own.material.clay.high == 0.36
    assert own.quantity_kg == 40_000
    assert own.disposal == Disposal(1200, 600)
    assert own.part_load == PartLoadTerms(900, 3000)
    assert own.whole_loads
    assert str(stored.available_from) == "2026-03-01"
    assert stored.place.place.name == "Ada's pit"
    assert [len(day) for day in stored.place.hours.days] == [1, 1, 1, 1, 1, 0, 0]


def test_straw_is_stored_in_whole_bales():
    """200 bales of 16 kg: the arithmetic of the body."""
    own = get_offer(store_offer(eves_straw())).offer
    assert isinstance(own.material, Straw)
    assert own.quantity_kg == 200 * 16


def test_a_build_stores_the_needs_that_its_walls_have():
    """The stored needs are those of the take-off, whose sources its own tests name."""
    stored = get_build(store_build(bens_build()))
    takeoff = stored.build.takeoff
    assert takeoff is not None
    assert takeoff.placed_m3 == pytest.approx(7.2)
    mineral, straw = stored.needs
    assert mineral.dry_kg == takeoff.mineral_dry_kg
    assert mineral.clay == (0.15, 0.25)
    assert straw.dry_kg == takeoff.straw_kg
    assert straw.clay is None
    assert mineral.computed


def test_typed_needs_are_stored_beside_computed_ones():
    need = {
        "key": "plaster",
        "material": "sand",
        "quantity": {"amount": 2, "unit": "t", "basis": "dry"},
    }
    stored = get_build(store_build(bens_build(needs=[need])))
    plaster = stored.needs[-1]
    assert (plaster.key, plaster.cargo, plaster.computed) == ("plaster", "sand", False)
    assert plaster.dry_kg.likely == pytest.approx(2000)
    assert [need.key for need in stored.build.needs] == ["plaster"]


@pytest.mark.parametrize(
    ("needs", "code"),
    [
        (["straw"], "key_used_twice"),
        (["a", "a"], "key_used_twice"),
    ],
)
def test_needs_of_one_key_are_refused_and_nothing_is_stored(needs, code):
    typed = [
        {
            "key": key,
            "material": "sand",
            "quantity": {"amount": 2, "unit": "t", "basis": "dry"},
        }
        for key in needs
    ]
    assert code_of(lambda: store_build(bens_build(needs=typed))) == code
    assert not any(row_counts().values())


def test_an_offer_of_less_than_a_kilogram_is_refused():
    tiny = {"amount": 0.5, "unit": "kg", "basis": "moist"}
    assert code_of(lambda: store_offer(adas_soil(quantity=tiny))) == "nothing_offered"
    assert not any(row_counts().values())


def test_a_plan_is_stored_whole_with_claims_that_promise_nothing():
    """Property: kilograms carried are kilograms claimed; the bill adds up to the total."""
    world = stored_world()
    run_id, public_id = request_plan(request=world.request, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    run = PlanRun.objects.get(pk=run_id)
    assert (run.status, run.progress) == ("done", 100)
    assert run.plan_id is not None
    assert not UnplannedHaul.objects.exists()
    for claim in Claim.objects.all():
        assert claim.haul_id is not None
        loads = Load.objects.filter(haul_id=claim.haul_id)
        assert sum(load.mass_kg for load in loads) == claim.kg
        assert claim.status == "proposed"
    assert {claim.offer_id for claim in Claim.objects.all()} >= {
        world.soil,
        world.straw,
    }
    assert not Offer.objects.exclude(reserved_kg=0).exists()
    lines = CostLine.objects.filter(plan_id=run.plan_id)
    assert sum(line.amount for line in lines) == run.total
    driven = lines.filter(shift__isnull=False)
    assert (
        sum(line.amount for line in driven)
        == Plan.objects.get(pk=run.plan_id).haul_cost
    )
    stored = get_run(public_id)
    assert stored.document is not None
    assert stored.document["total_minor"] == run.total
    assert stored.document["name"] == "Plan for Ben's wall"
    assert len(stored.claims) == Claim.objects.count()


def test_stops_of_a_stored_shift_follow_each_other():
    """Property: a stop begins after the one before it ends and the leg is driven."""
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    run_plan(run_id=run_id, means=MEANS)
    assert Shift.objects.exists()
    for shift in Shift.objects.all():
        stops = list(Stop.objects.filter(shift=shift).order_by("position"))
        assert stops[0].begin_at == shift.leave_at
        assert stops[-1].end_at == shift.return_at
        for before, after in pairwise(stops):
            assert after.arrive_at - before.end_at >= timedelta(seconds=after.leg_s)


def test_a_second_worker_does_nothing():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    before = row_counts()
    assert not run_plan(run_id=run_id, means=MEANS)
    assert row_counts() == before


def test_a_run_that_a_dead_worker_left_is_taken_again():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    PlanRun.objects.filter(pk=run_id).update(status="running", started_at=AT, attempt=1)
    assert not run_plan(run_id=run_id, means=MEANS)
    assert lost_runs(at=AT + LOST_AFTER) == []
    later = AT + LOST_AFTER + timedelta(seconds=1)
    assert lost_runs(at=later) == [run_id]
    assert run_plan(run_id=run_id, means=replace(MEANS, clock=lambda: later))
    assert PlanRun.objects.get(pk=run_id).status == "done"
    assert lost_runs(at=later + LOST_AFTER * 2) == []


def test_a_queued_run_whose_message_was_lost_is_found():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    assert lost_runs(at=AT + timedelta(minutes=1)) == []
    assert lost_runs(at=AT + LOST_AFTER * 2) == [run_id]


def test_a_run_that_kills_its_workers_is_given_up():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    PlanRun.objects.filter(pk=run_id).update(
        status="running", started_at=AT - LOST_AFTER * 2, attempt=MOST_ATTEMPTS
    )
    assert not run_plan(run_id=run_id, means=MEANS)
    run = PlanRun.objects.get(pk=run_id)
    assert run.status == "failed"
    assert run.refusal is not None
    assert run.refusal[0]["code"] == "planner_lost"


def test_a_cancelled_run_is_not_started():
    run_id, public_id = request_plan(request=stored_world().request, at=AT)
    cancel_plan(public_id=public_id, at=AT)
    assert not run_plan(run_id=run_id, means=MEANS)
    assert code_of(lambda: cancel_plan(public_id=public_id, at=AT)) == "plan_ended"


def test_a_run_that_is_cancelled_while_it_is_planned_stores_nothing():
    run_id, public_id = request_plan(request=stored_world().request, at=AT)

    def slow(name, scenario, plan):
        cancel_plan(public_id=public_id, at=AT)
        return render_plan(name, scenario, plan)

    assert not run_plan(run_id=run_id, means=replace(MEANS, render=slow))
    assert PlanRun.objects.get(pk=run_id).status == "cancelled"
    assert not Plan.objects.exists()
    assert not Claim.objects.exists()


def test_a_worker_that_was_taken_for_dead_does_not_overwrite_the_answer():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    later = AT + LOST_AFTER * 2

    def slow(name, scenario, plan):
        assert run_plan(run_id=run_id, means=replace(MEANS, clock=lambda: later))
        return {"late": True}

    assert not run_plan(run_id=run_id, means=replace(MEANS, render=slow))
    run = PlanRun.objects.get(pk=run_id)
    assert (run.status, run.attempt) == ("done", 2)
    assert run.document is not None
    assert "late" not in run.document
    assert Plan.objects.count() == 1


def test_a_fault_while_saving_leaves_nothing_half_written():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    means = replace(MEANS, render=lambda *_: {"not": {"json"}})
    with pytest.raises(TypeError):
        run_plan(run_id=run_id, means=means)
    run = PlanRun.objects.get(pk=run_id)
    assert run.status == "failed"
    assert run.refusal is not None
    assert run.refusal[0]["code"] == "planner_fault"
    assert not Plan.objects.exists()
    assert not Haul.objects.exists()
    assert not Claim.objects.exists()


def test_a_place_far_from_the_roads_fails_the_run_by_name(tmp_path):
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    roads = Roads(tmp_path / "networks", "world")
    assert run_plan(run_id=run_id, means=replace(MEANS, roads=roads))
    run = PlanRun.objects.get(pk=run_id)
    assert run.status == "failed"
    assert run.refusal is not None
    assert {own["code"] for own in run.refusal} == {"too_far_from_road"}
    assert any("Ada's pit" in own["field"] for own in run.refusal)


def test_a_build_that_wants_no_straw_is_planned_without():
    """Earth walls without straw exist; nothing is to be carried for a need of 0 kg."""
    world = stored_world()
    bare = {"straw_percent": {"likely": 0, "low": 0, "high": 0}}
    build = store_build(bens_build(mix=bare))
    asked = replace(world.request, build_ids=(build,))
    run_id, public_id = request_plan(request=asked, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    run = get_run(public_id)
    assert run.status == "done"
    assert world.straw not in {claim.offer_id for claim in run.claims}


def test_a_plan_without_trucks_says_what_is_left_out():
    world = stored_world()
    asked = replace(world.request, truck_ids=(world.flat_bed,))
    run_id, public_id = request_plan(request=asked, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    document = get_run(public_id).document
    assert document is not None
    assert document["status"] == "partly_planned"


@pytest.mark.parametrize(
    ("change", "code"),
    [({"build_ids": (99,)}, "unknown_build"), ({"truck_ids": (99,)}, "unknown_truck")],
)
def test_a_plan_for_what_is_not_there_is_refused(change, code):
    world = stored_world()
    asked = replace(world.request, **change)
    assert code_of(lambda: request_plan(request=asked, at=AT)) == code
    assert not PlanRun.objects.exists()


def test_only_free_supply_in_reach_and_in_time_is_gathered():
    world = stored_world()
    Offer.objects.filter(pk=world.soil).update(reserved_kg=30_000)
    gone = store_offer(adas_soil(name="Sold"))
    Offer.objects.filter(pk=gone).update(reserved_kg=40_000)
    store_offer(dots_sand(name="Too late", available_from="2026-03-05"))
    store_offer(dots_sand(name="Over", available_until="2026-03-01"))
    store_offer(dots_sand(name="Far", place=place("Far", 46.9, 3.0)))
    gathered = gather(world.request, zone=ZONE)
    assert {offer.name for offer in gathered.offers} == {
        "Ada's heap",
        "Dot's sand",
        "Eve's straw",
    }
    soil = gathered.offers[gathered.offer_ids.index(world.soil)]
    assert soil.quantity_kg == 10_000
    assert gathered.left_out == 0


def test_the_nearest_of_each_kind_are_kept_when_there_are_too_many():
    """Straw next door must not crowd out the only sand; what is left out is counted."""
    world = stored_world()
    for number in range(4):
        near = place(f"Barn {number}", 46.001, 3.001)
        store_offer(eves_straw(name=f"Straw {number}", place=near))
    gathered = gather(world.request, zone=ZONE, most_offers=6)
    kept = [offer.name for offer in gathered.offers]
    assert kept == ["Ada's heap", "Dot's sand", "Straw 0", "Straw 1"]
    assert gathered.left_out == 3
    only = gather(world.request, zone=ZONE, kinds=frozenset({Cargo.SAND}))
    assert [offer.name for offer in only.offers] == ["Dot's sand"]


def test_gathering_takes_as_many_queries_for_many_offers_as_for_few(
    django_assert_num_queries,
):
    world = stored_world()
    for number in range(5):
        store_offer(dots_sand(name=f"Sand {number}"))
    with django_assert_num_queries(6):
        gather(world.request, zone=ZONE)


def test_matches_of_a_need_are_ranked_by_the_cost_of_the_wall():
    """The cheapest comes first; what cannot be used comes last (the ranking's promise)."""
    world = stored_world()
    store_offer(dots_sand(name="Beach", material={"kind": "sand", "sand": "beach"}))
    need = get_build(world.build).needs[0]
    asked = PlanRequest((), MONDAY, WEDNESDAY)
    view = view_need(need_id=need.id, request=asked, zone=ZONE, roads=NO_ROADS)
    costs = [match.cost_per_m3 for match in view.matches]
    usable = [cost for cost in costs if cost is not None]
    assert usable == sorted(usable)
    assert usable
    assert costs[-1] is None
    assert view.matches[-1].verdict.reasons
    assert get_need(need.id) == need


def test_agreeing_sets_supply_aside_once():
    world = stored_world()
    need = get_build(world.build).needs[0]
    claim = Claim.objects.create(offer_id=world.soil, need_id=need.id, kg=15_000)
    agree_claim(claim_id=claim.pk, at=AT)
    assert get_offer(world.soil).free_kg == 25_000
    assert code_of(lambda: agree_claim(claim_id=claim.pk, at=AT)) == "claim_not_open"
    assert get_offer(world.soil).free_kg == 25_000
    assert code_of(lambda: agree_claim(claim_id=0, at=AT)) == "unknown_claim"


def test_agreeing_more_than_is_left_changes_nothing():
    world = stored_world()
    need = get_build(world.build).needs[0]
    claim = Claim.objects.create(offer_id=world.soil, need_id=need.id, kg=40_001)
    assert code_of(lambda: agree_claim(claim_id=claim.pk, at=AT)) == "offer_exhausted"
    assert get_offer(world.soil).free_kg == 40_000
    assert Claim.objects.get().status == "proposed"


def test_days_out_of_order_and_doubles_are_refused():
    assert code_of(lambda: PlanRequest((1,), WEDNESDAY, MONDAY)) == (
        "window_ends_before_it_begins"
    )
    assert code_of(lambda: PlanRequest((1, 1), MONDAY, MONDAY)) == "named_twice"


def test_a_truck_is_stored_with_its_base():
    truck_id = store_truck(tipper(height_m=3.2))
    (stored,) = list_trucks([truck_id])
    assert stored.truck.height_m == 3.2
    assert stored.truck.max_shift_s == 36_000
    assert stored.base.place.name == "Depot"
