"""The plan document: what goes out as JSON, on pages and, rendered, as text."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from api.documents.answer_parts import percents, ranged
from api.documents.match_answers import match_answers
from api.documents.plan_carbon import carbon_answer, tipping_avoided
from api.documents.plan_models import (
    BuildAnswer,
    DealAnswer,
    EndsAnswer,
    LaterAnswer,
    NeedAnswer,
    PlaceAnswer,
    PlanAnswer,
    SafetyAnswer,
    SavingAnswer,
)
from api.documents.plan_recipes import plan_recipe
from api.documents.shift_answers import (
    haul_cost_shares,
    left_answer,
    line_answer,
    shift_answer,
)
from api.documents.taken_off import take_off_answer
from api.documents.truck_checks import truck_checks
from logistics.domain.planning.result import LineKind
from matching.domain.builds import Build, Demand
from matching.domain.community import CommunityPlan
from matching.domain.materials import cargo
from matching.domain.scenario import Scenario

CAUTIONS = (
    "Figures are from declarations: make test bricks of the very mix first.",
    "Judge every load at the gate: the first can be clean and a later one not. Earth of"
    " unknown or suspect ground is never used; local rules decide whether it is waste.",
    "Weights and sizes were compared only with the limits that were given. No route is"
    " called legal: posted signs and the driver decide.",
    "Tip only where the ground is level, firm and clear overhead; nobody stands behind a"
    " tipping truck. Have buried services located before any digging.",
    "Walls that carry loads need a design by local code and a licensed professional.",
)


def plan_document(
    scenario: Scenario,
    plan: CommunityPlan,
    *,
    name: str,
    currency: str,
    zone: ZoneInfo,
) -> PlanAnswer:
    """The plan as a document; figures are rounded for reading, money never."""
    shifts = [shift_answer(plan.problem, own, zone) for own in plan.hauls.shifts]
    subtotals: dict[LineKind, int] = {}
    for line in plan.lines:
        subtotals[line.kind] = subtotals.get(line.kind, 0) + line.amount
    return PlanAnswer(
        status="planned" if plan.complete else "partly_planned",
        name=name,
        currency=currency,
        time_zone=str(zone),
        distance_basis=scenario.distances.basis,
        total_minor=plan.total,
        subtotals_minor=subtotals,
        certainty="likely" if scenario.plain is None else "safe",
        ends=_ends(plan),
        safety=_safety(plan),
        lower_bound_minor=plan.bound.amount,
        bound_method=plan.bound.method,
        gap_percent=round(plan.gap * 100, 3),
        proven_optimal=plan.proven_optimal,
        haul_cost_minor=plan.hauls.haul_cost,
        haul_bound_minor=plan.hauls.bound.amount,
        haul_bound_method=plan.hauls.bound.method,
        haul_gap_percent=round(plan.hauls.gap * 100, 3),
        allocation_gap_percent=round(max(0.0, plan.allocation.gap) * 100, 3),
        km=round(sum(s.km for s in shifts), 1),
        empty_km=round(sum(s.empty_km for s in shifts), 1),
        tonne_km=round(sum(s.tonne_km for s in shifts), 1),
        carbon=carbon_answer(scenario, plan),
        tipping_avoided_minor=tipping_avoided(plan),
        lines=[line_answer(line) for line in plan.lines],
        builds=_builds(scenario, plan),
        deals=_deals(scenario, plan),
        shifts=shifts,
        unplanned=[left_answer(own) for own in plan.hauls.unplanned],
        savings=_savings(scenario, plan),
        places=_places(scenario),
        truck_checks=truck_checks(plan.problem, plan.hauls),
        cautions=list(CAUTIONS),
    )


def _ends(plan: CommunityPlan) -> EndsAnswer:
    return EndsAnswer(
        low_minor=plan.ends.low,
        likely_minor=plan.ends.likely,
        high_minor=plan.ends.high,
        short_dry_kg=round(plan.ends.short_dry_kg, 1),
    )


def _safety(plan: CommunityPlan) -> SafetyAnswer | None:
    own = plan.safety
    if own is None:
        return None
    return SafetyAnswer(
        plain_total_minor=own.plain_total,
        price_minor=own.price,
        plain_complete=own.plain_complete,
    )


def _builds(scenario: Scenario, plan: CommunityPlan) -> list[BuildAnswer]:
    answers = []
    for number, build in enumerate(scenario.builds):
        takeoff = build.takeoff
        answers.append(
            BuildAnswer(
                build=build.key,
                name=build.name,
                place=scenario.places[build.place].key,
                takeoff=take_off_answer(takeoff) if takeoff else None,
                needs=[
                    _need(scenario, plan, index, demand)
                    for index, demand in enumerate(scenario.demands)
                    if demand.build == number
                ],
                storage_warning=_storage(scenario, plan, number),
                later=_later(build),
            )
        )
    return answers


def _later(build: Build) -> list[LaterAnswer]:
    return [
        LaterAnswer(
            need=f"{build.key}/{own.key}",
            dry_kg=ranged(own.dry_kg, 1),
            not_before=own.not_before,
            due=own.due,
        )
        for own in build.batches or ()
        if own.windows is None
    ]


def _storage(scenario: Scenario, plan: CommunityPlan, number: int) -> str | None:
    build = scenario.builds[number]
    kept = build.scheduled and build.scheduled.storage
    if build.batches is not None and kept:
        return None if kept.fits else kept.text
    loose = sum(
        _loose_m3(plan, index)
        for index, deal in enumerate(plan.deals)
        if scenario.demands[deal.demand].build == number
    )
    if build.storage_m3 is None or loose <= build.storage_m3:
        return None
    return (
        f"{loose:.1f} m3 (loose, bales included) come in all and there is room for"
        f" {build.storage_m3:g} m3: use up or clear away between the deliveries."
    )


def _loose_m3(plan: CommunityPlan, index: int) -> float:
    return plan.deals[index].kg / plan.problem.hauls[index].loose_kg_per_m3


def _need(
    scenario: Scenario, plan: CommunityPlan, index: int, demand: Demand
) -> NeedAnswer:
    blend = next((own for own in plan.blends if own.demand == index), None)
    short = next((own for own in plan.short if own.demand == index), None)
    edges = (demand.blend.clay_low, demand.blend.clay_high) if demand.blend else None
    window = [round(edge * 100, 2) for edge in edges] if edges else None
    clay = percents(blend.clay) if blend else None
    fines = percents(blend.fines) if blend else None
    return NeedAnswer(
        need=demand.key,
        materials=sorted(demand.cargoes),
        for_walls=demand.wall_m3 is not None,
        dry_kg=round(demand.dry_kg, 1),
        not_before=demand.days[0] if demand.days else None,
        due=demand.days[1] if demand.days else None,
        short_dry_kg=round(short.dry_kg, 1) if short else 0.0,
        short_reason=short.reason if short else None,
        help=list(short.help) if short else [],
        clay_window_percent=window,
        blend_clay_percent=clay,
        blend_fines_percent=fines,
        blend_in_doubt=blend.in_doubt if blend else False,
        recipe=plan_recipe(scenario, plan, index),
        matches=match_answers(scenario, plan.pairing, index),
    )


def _deals(scenario: Scenario, plan: CommunityPlan) -> list[DealAnswer]:
    answers = []
    haul_costs = haul_cost_shares(plan.hauls.shifts, len(plan.deals))
    for index, deal in enumerate(plan.deals):
        offer, demand = scenario.offers[deal.offer], scenario.demands[deal.demand]
        build = scenario.builds[demand.build]
        loads = sum(
            trip.load.haul == index
            for shift in plan.hauls.shifts
            for trip in shift.trips
        )
        answers.append(
            DealAnswer(
                offer=offer.key,
                offer_name=offer.name,
                build=build.key,
                build_name=build.name,
                need=demand.key,
                material=cargo(offer.material),
                moist_kg=deal.kg,
                left_over_kg=deal.kg - deal.used_kg,
                loose_m3=round(_loose_m3(plan, index), 2),
                pieces=deal.kg // offer.unit_kg if offer.unit_kg > 1 else None,
                loads=loads,
                road_km=round(
                    int(scenario.distances.metres[offer.place, build.place]) / 1000, 2
                ),
                haul_payer=offer.haul_payer,
                material_minor=deal.material_cost,
                haul_minor=haul_costs[index],
            )
        )
    return answers


def _savings(scenario: Scenario, plan: CommunityPlan) -> list[SavingAnswer]:
    return [
        SavingAnswer(
            offer=scenario.offers[own.offer].key,
            offer_name=scenario.offers[own.offer].name,
            avoided_minor=own.avoided,
            worth_minor=own.worth,
            payment_minor=own.payment,
            gain_each_minor=own.gain_each,
        )
        for own in plan.savings
    ]


def _places(scenario: Scenario) -> list[PlaceAnswer]:
    roles: dict[int, set[str]] = {}
    for offer in scenario.offers:
        roles.setdefault(offer.place, set()).add(cargo(offer.material))
    for build in scenario.builds:
        roles.setdefault(build.place, set()).add("build")
    for truck in scenario.trucks:
        roles.setdefault(truck.base, set()).add("base")
    return [
        PlaceAnswer(
            key=place.key,
            name=place.name,
            lat=place.point.lat,
            lon=place.point.lon,
            roles=sorted(roles.get(index, set())),
        )
        for index, place in enumerate(scenario.places)
    ]
