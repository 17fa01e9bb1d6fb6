"""Storing a plan with its hauls, shifts, stops and bill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.db import transaction

from logistics import models
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import CostLine, HaulPlan, Shift


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """A plan beside its problem, and the row ids of the problem's places and trucks.

    `other_lines` are the lines of the bill that pay for something else than driving.
    """

    problem: PlanProblem
    plan: HaulPlan
    place_ids: tuple[int, ...]
    truck_ids: tuple[int, ...]
    other_lines: tuple[CostLine, ...] = ()


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """Row ids: of the plan, and of the hauls in the order of the problem's hauls."""

    id: int
    haul_ids: tuple[int, ...]


@transaction.atomic
def store_plan(*, draft: PlanDraft, at: datetime) -> StoredPlan:
    """Store a plan that was verified by the planner, whole or not at all."""
    plan = draft.plan
    row = models.Plan.objects.create(
        haul_cost=plan.haul_cost,
        bound_amount=plan.bound.amount,
        bound_method=plan.bound.method,
        proven_optimal=plan.proven_optimal,
        basis=draft.problem.distances.basis,
        created_at=at,
    )
    hauls = _store_hauls(draft)
    models.UnplannedHaul.objects.bulk_create(
        models.UnplannedHaul(
            plan=row,
            haul_id=hauls[left.haul],
            mass_kg=left.mass_kg,
            code=left.code,
            reasons=list(left.reasons),
            remedy=left.remedy,
            proven=left.proven,
        )
        for left in plan.unplanned
    )
    shifts = [_store_shift(draft, row.pk, hauls, shift) for shift in plan.shifts]
    _store_lines(draft, row.pk, shifts)
    return StoredPlan(row.pk, tuple(hauls))


def _store_hauls(draft: PlanDraft) -> list[int]:
    # One by one: ids of bulk inserts are not promised on every database.
    return [
        models.Haul.objects.create(
            name=haul.key[:250],
            origin_id=draft.place_ids[haul.origin],
            destination_id=draft.place_ids[haul.destination],
            cargo=haul.cargo,
            mass_kg=haul.mass_kg,
            loose_kg_per_m3=haul.loose_kg_per_m3,
            unit_kg=haul.unit_kg,
            load_s=haul.load_s,
            unload_s=haul.unload_s,
            loading_fee=haul.loading_fee,
            part_charge=haul.part_load.charge,
            part_below_kg=haul.part_load.below_kg,
        ).pk
        for haul in draft.problem.hauls
    ]


def _store_shift(
    draft: PlanDraft, plan_id: int, hauls: Sequence[int], shift: Shift
) -> int:
    slot = draft.problem.slots[shift.slot]
    row = models.Shift.objects.create(
        plan_id=plan_id,
        truck_id=draft.truck_ids[slot.truck],
        day=date.fromisoformat(slot.day),
        leave_at=_utc(shift.leave.begin),
        return_at=_utc(shift.back.end),
    )
    payload = draft.problem.trucks[slot.truck].payload_kg
    for position, trip in enumerate(shift.trips):
        stored = models.Trip.objects.create(shift=row, position=position)
        models.Load.objects.create(
            trip=stored,
            haul_id=hauls[trip.load.haul],
            mass_kg=trip.load.mass_kg,
            payload_kg=payload,
            loose_m3=trip.load.loose_m3,
            bound=trip.load.bound or "",
        )
    models.Stop.objects.bulk_create(
        models.Stop(
            shift=row,
            position=position,
            kind=stop.kind,
            place_id=draft.place_ids[stop.place],
            arrive_at=_utc(stop.arrive),
            begin_at=_utc(stop.begin),
            end_at=_utc(stop.end),
            leg_m=stop.leg_m,
            leg_s=stop.leg_s,
        )
        for position, stop in enumerate(shift.stops)
    )
    return row.pk


def _store_lines(draft: PlanDraft, plan_id: int, shifts: Sequence[int]) -> None:
    owned: list[tuple[int | None, CostLine]] = [
        (None, line) for line in draft.other_lines
    ]
    for shift_id, shift in zip(shifts, draft.plan.shifts, strict=True):
        owned += [(shift_id, line) for line in shift.costs]
    models.CostLine.objects.bulk_create(
        models.CostLine(
            plan_id=plan_id,
            shift_id=shift_id,
            position=position,
            kind=line.kind,
            subject=line.subject[:250],
            amount=line.amount,
            formula=line.formula[:250],
        )
        for position, (shift_id, line) in enumerate(owned)
    )


def _utc(moment: int) -> datetime:
    return datetime.fromtimestamp(moment, tz=UTC)
