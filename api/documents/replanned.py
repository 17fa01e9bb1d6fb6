"""The document of a plan made anew: the old one with new shifts, bill and difference."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from api.documents.plan_carbon import carbon_of
from api.documents.plan_models import DealAnswer, LineAnswer, PlanAnswer
from api.documents.replan_models import (
    BalanceAnswer,
    ChangeAnswer,
    PlacedAnswer,
    ReplanAnswer,
)
from api.documents.shift_answers import (
    haul_cost_shares,
    left_answer,
    line_answer,
    local,
    shift_answer,
)
from api.documents.truck_checks import truck_checks
from logistics.domain.living.arrivals import Arrival, LoadAt
from logistics.domain.living.changes import Change, ChangeKind
from logistics.domain.living.disruptions import DigStopped, PlaceClosed, TruckOut
from logistics.domain.living.reconciling import reconcile
from logistics.domain.planning.result import LineKind, Shift, StopKind
from matching.domain.replan_requests import (
    DealChanged,
    Event,
    LoadRefused,
    TruckJoins,
)
from matching.services.replans import Anew

NOT_DRIVING = (LineKind.MATERIAL, LineKind.TIPPING_AVOIDED)


def replanned_document(old: PlanAnswer, anew: Anew, *, zone: ZoneInfo) -> PlanAnswer:
    """The whole plan as it is now. Needs, blends and savings are those agreed at first."""
    state = anew.new
    shifts = [shift_answer(state.problem, own, zone) for own in state.shifts]
    for number, own in enumerate(state.shifts):
        if own.back.kind is not StopKind.RETURN:
            shifts[number] = shifts[number].model_copy(update={"broke_off": True})
    lines = [line_answer(line) for line in anew.lines]
    hauled = sum(o.amount_minor for o in lines if o.kind not in NOT_DRIVING)
    whole = state.plan.bound.amount + hauled - state.plan.haul_cost
    paid = sum(own.amount_minor for own in lines if own.amount_minor > 0)
    short = any(need.short_reason for own in old.builds for need in own.needs)
    carbon = old.carbon and carbon_of(state.problem, state.shifts, old.carbon)
    changed = {
        "status": "partly_planned" if short or state.plan.unplanned else "planned",
        "total_minor": anew.total,
        "subtotals_minor": _subtotals(lines),
        "ends": None,
        "safety": None,
        "lower_bound_minor": anew.bound,
        "bound_method": f"deals as agreed; {state.plan.bound.method}",
        "gap_percent": _percent(anew.total - anew.bound, paid),
        "proven_optimal": False,
        "haul_cost_minor": hauled,
        "haul_bound_minor": whole,
        "haul_bound_method": state.plan.bound.method,
        "haul_gap_percent": _percent(hauled - whole, hauled),
        "km": round(sum(own.km for own in shifts), 1),
        "empty_km": round(sum(own.empty_km for own in shifts), 1),
        "tonne_km": round(sum(own.tonne_km for own in shifts), 1),
        "carbon": carbon,
        "tipping_avoided_minor": -sum(
            own.amount_minor for own in lines if own.kind is LineKind.TIPPING_AVOIDED
        ),
        "lines": lines,
        "deals": list(_deals(old, anew)),
        "shifts": shifts,
        "unplanned": [left_answer(own) for own in state.plan.unplanned],
        "truck_checks": truck_checks(state.problem, state.plan),
        "replan": _difference(anew, zone),
    }
    return old.model_copy(update=changed)


def _percent(part: int, whole: int) -> float:
    return round(100 * part / whole, 3) if whole else 0.0


def _subtotals(lines: list[LineAnswer]) -> dict[LineKind, int]:
    found: dict[LineKind, int] = {}
    for own in lines:
        found[own.kind] = found.get(own.kind, 0) + own.amount_minor
    return found


def _deals(old: PlanAnswer, anew: Anew) -> Iterator[DealAnswer]:
    """The deals with what is agreed now, and what their loads cost now."""
    state = anew.new
    costs = haul_cost_shares(state.shifts, len(old.deals))
    for index, own in enumerate(old.deals):
        terms, haul = state.terms[index], state.problem.hauls[index]
        kg = terms.agreed_kg
        loads = [
            trip
            for shift in state.shifts
            for trip in shift.trips
            if trip.load.haul == index
        ]
        yield own.model_copy(
            update={
                "moist_kg": kg,
                "left_over_kg": max(kg - terms.used_kg, 0),
                "loose_m3": round(kg / haul.loose_kg_per_m3, 2),
                "pieces": None if own.pieces is None else kg // haul.unit_kg,
                "loads": len(loads),
                "material_minor": sum(
                    line.amount
                    for line in terms.lines(kg)
                    if line.kind is LineKind.MATERIAL
                ),
                "haul_minor": costs[index],
            }
        )


def _difference(anew: Anew, zone: ZoneInfo) -> ReplanAnswer:
    own = anew.result
    gone = sum(line.amount for s in anew.old.past for line in s.costs)
    return ReplanAnswer(
        replaces=anew.replaces,
        as_of=local(anew.request.now, zone),
        what=list(_happened(anew, zone)),
        kept=own.count(ChangeKind.KEPT),
        moved=own.count(ChangeKind.MOVED),
        added=own.count(ChangeKind.ADDED),
        dropped=own.count(ChangeKind.DROPPED),
        changes=[_change(anew, change, zone) for change in own.changes],
        haul_before_minor=own.cost_before + gone,
        haul_after_minor=own.cost_after + gone,
        extra_minor=own.extra_cost,
        left_before_kg=own.left_before_kg,
        left_after_kg=own.left_after_kg,
        balances=_balances(anew),
    )


def _change(anew: Anew, own: Change, zone: ZoneInfo) -> ChangeAnswer:
    old, new = anew.old.plan.shifts, anew.result.shifts
    return ChangeAnswer(
        kind=own.kind,
        deal=own.haul,
        text=own.text,
        was=_placed(anew, old, own.old, zone) if own.old else None,
        now=_placed(anew, new, own.new, zone) if own.new else None,
    )


def _placed(
    anew: Anew, shifts: tuple[Shift, ...], at: LoadAt, zone: ZoneInfo
) -> PlacedAnswer:
    problem, shift = anew.new.problem, shifts[at.shift]
    slot, trip = problem.slots[shift.slot], shift.trips[at.trip]
    return PlacedAnswer(
        truck=problem.trucks[slot.truck].key,
        truck_name=problem.trucks[slot.truck].name,
        day=slot.day,
        loads_at=local(trip.pickup.begin, zone),
        tips_at=local(trip.drop.begin, zone),
        moist_kg=trip.load.mass_kg,
    )


def _balances(anew: Anew) -> list[BalanceAnswer]:
    """Of what the old plan was, with the refusals that were told."""
    at = {
        code: LoadAt(shift, trip)
        for shift, codes in enumerate(anew.old.codes)
        for trip, code in enumerate(codes)
    }
    came: dict[LoadAt, Arrival] = dict(anew.seen)
    refused = [at[code] for code in anew.refuses if at[code] not in came]
    agreed = [own.agreed_kg for own in anew.new.terms]
    found = reconcile(anew.old.problem, anew.old.shifts, came, agreed)
    again = [0] * len(agreed)
    for load in refused:
        trip = anew.old.shifts[load.shift].trips[load.trip]
        again[trip.load.haul] += trip.load.mass_kg
    return [
        BalanceAnswer(
            deal=own.haul,
            agreed_kg=own.agreed_kg,
            arrived_kg=own.arrived_kg,
            estimated_kg=own.estimated_kg,
            refused_kg=own.refused_kg + again[own.haul],
            given_up_kg=own.given_up_kg,
            to_come_kg=own.to_come_kg,
        )
        for own in found
    ]


def _happened(anew: Anew, zone: ZoneInfo) -> Iterator[str]:
    """What happened, one sentence each."""
    names = {own.key: own.name for own in anew.new.problem.trucks}
    names |= {own.key: own.name for own in anew.new.problem.places}
    for own in anew.request.events:
        yield _sentence(anew, own, names, zone)
    told = sum(not own.accepted for own in anew.seen.values())
    if told:
        loads = "1 load was" if told == 1 else f"{told} loads were"
        yield f"{loads} refused, say the tickets."


def _sentence(anew: Anew, own: Event, names: dict[str, str], zone: ZoneInfo) -> str:
    if isinstance(own, TruckOut | PlaceClosed | DigStopped):
        return _while(own, names, zone)
    if isinstance(own, LoadRefused):
        again = "is to come again" if own.comes_again else "is not wanted any more"
        return f"A load was refused and {again}."
    if isinstance(own, DealChanged):
        word = "more" if own.percent >= 0 else "less"
        key = anew.new.problem.hauls[own.deal].key
        return f"{abs(own.percent):g} % {word} comes of {key}."
    if isinstance(own, TruckJoins):
        joined = dict(zip(anew.new.truck_ids, anew.new.problem.trucks, strict=False))
        return f"{joined[own.truck_id].name} drives as well."
    return f"{names[own.truck]} runs {own.minutes} minutes late on {own.day}."


def _while(
    own: TruckOut | PlaceClosed | DigStopped, names: dict[str, str], zone: ZoneInfo
) -> str:
    what = (
        f"{names[own.truck]} cannot drive"
        if isinstance(own, TruckOut)
        else f"{names[own.place]} is closed"
        if isinstance(own, PlaceClosed)
        else f"Nothing is loaded at {names[own.place]}"
    )
    until = (
        "" if own.until is None else f" until {local(own.until, zone):%a %d %b %H:%M}"
    )
    return f"{what} from {local(own.start, zone):%a %d %b %H:%M}{until}."
