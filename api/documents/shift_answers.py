"""Shifts, their loads and the lines of a bill as parts of the plan document."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from api.documents.plan_models import (
    LineAnswer,
    LoadAnswer,
    ShiftAnswer,
    StopAnswer,
    UnplannedAnswer,
)
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import CostLine, Shift, Stop, Unplanned
from logistics.domain.roads.fleets import known_sizes


def haul_cost_shares(shifts: Sequence[Shift], deals: int) -> list[int]:
    """Each deal's part of the shifts' cost, by the time of its trips; sums are exact.

    A shift without a load, of a truck that goes to where it must be next, is everybody's.
    """
    shares = [0] * deals
    every = [trip for shift in shifts for trip in shift.trips]
    for shift in shifts:
        cost = sum(line.amount for line in shift.costs)
        trips = shift.trips or every
        times = [
            trip.drop.end - trip.pickup.arrive + trip.pickup.leg_s for trip in trips
        ]
        passed, paid = 0, 0
        for trip, own in zip(trips, times, strict=True):
            passed += own
            until = cost * passed // max(sum(times), 1)
            shares[trip.load.haul] += until - paid
            paid = until
    return shares


def shift_answer(problem: PlanProblem, shift: Shift, zone: ZoneInfo) -> ShiftAnswer:
    """A shift with its stops and loads."""
    slot = problem.slots[shift.slot]
    truck = problem.trucks[slot.truck]
    loads = [
        LoadAnswer(
            deal=trip.load.haul,
            material=problem.hauls[trip.load.haul].cargo,
            moist_kg=trip.load.mass_kg,
            loose_m3=round(trip.load.loose_m3, 2),
            bound=trip.load.bound.value if trip.load.bound else None,
        )
        for trip in shift.trips
    ]
    stops = []
    for stop in shift.stops:
        text = None
        if stop.trip is not None:
            trip = shift.trips[stop.trip]
            haul = problem.hauls[trip.load.haul]
            text = f"{haul.cargo} {trip.load.mass_kg / 1000:.2f} t"
        stops.append(_stop(problem, stop, zone, text))
    return ShiftAnswer(
        truck=truck.key,
        truck_name=truck.name,
        day=slot.day,
        leave=local(shift.leave.begin, zone),
        back=local(shift.back.end, zone),
        km=round(shift.metres / 1000, 2),
        empty_km=round(shift.empty_metres / 1000, 2),
        tonne_km=round(shift.tonne_km, 1),
        paid_hours=round(shift.duration_s / 3600, 3),
        cost_minor=sum(line.amount for line in shift.costs),
        payload_kg=truck.payload_kg,
        body_m3=truck.body_m3,
        vehicle=known_sizes(truck),
        stops=stops,
        loads=loads,
    )


def _stop(
    problem: PlanProblem, stop: Stop, zone: ZoneInfo, text: str | None
) -> StopAnswer:
    place = problem.places[stop.place]
    return StopAnswer(
        kind=stop.kind,
        place=place.key,
        place_name=place.name,
        arrive=local(stop.arrive, zone),
        begin=local(stop.begin, zone),
        end=local(stop.end, zone),
        leg_km=round(stop.leg_m / 1000, 2),
        leg_minutes=round(stop.leg_s / 60, 1),
        load=text,
        trip=stop.trip,
    )


def local(moment: int, zone: ZoneInfo) -> datetime:
    """A moment in local time with its offset."""
    return datetime.fromtimestamp(moment, tz=UTC).astimezone(zone)


def line_answer(line: CostLine) -> LineAnswer:
    """A line of the bill."""
    return LineAnswer(
        kind=line.kind,
        subject=line.subject,
        amount_minor=line.amount,
        formula=line.formula,
    )


def left_answer(own: Unplanned) -> UnplannedAnswer:
    """What no shift carries, and why."""
    return UnplannedAnswer(
        deal=own.haul,
        moist_kg=own.mass_kg,
        code=own.code,
        reasons=list(own.reasons),
        remedy=own.remedy,
        proven=own.proven,
        adds_minor=own.adds,
    )
