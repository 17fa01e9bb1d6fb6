"""Checks the bill of a shift from its stops and loads."""

from __future__ import annotations

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal

from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LineKind, Shift, Trip
from logistics.domain.trucks import Truck

Due = Counter[LineKind]


def bill_faults(problem: PlanProblem, shift: Shift) -> list[str]:
    """Lines that are not what the rates and the stops come to."""
    truck = problem.trucks[problem.slots[shift.slot].truck]
    rates = truck.rates
    metres = sum(stop.leg_m for stop in shift.stops)
    seconds = shift.back.end - shift.leave.begin
    due: Due = Counter()
    due[LineKind.CALL_OUT] = rates.call_out
    due[LineKind.DRIVING_DISTANCE] = _rounded(rates.per_km * metres, 1000)
    paid = max(seconds, rates.minimum_hire_s)
    due[LineKind.DRIVING_TIME] = _rounded(rates.per_hour * paid, 3600)
    if rates.overtime_after_s is not None and seconds > rates.overtime_after_s:
        beyond = seconds - rates.overtime_after_s
        due[LineKind.OVERTIME] = _rounded(rates.overtime_per_hour * beyond, 3600)
    for trip in shift.trips:
        _add_trip(problem, truck, trip, due)
    billed: Due = Counter()
    for line in shift.costs:
        billed[line.kind] += line.amount
    return [
        f"{kind} is billed {billed[kind]}, due {due[kind]}"
        for kind in LineKind
        if billed[kind] != due[kind]
    ]


def _add_trip(problem: PlanProblem, truck: Truck, trip: Trip, due: Due) -> None:
    haul, kg = problem.hauls[trip.load.haul], trip.load.mass_kg
    rates = truck.rates
    due[LineKind.LOADING] += haul.loading_fee
    if kg < haul.part_load.below_kg:
        due[LineKind.PART_LOAD] += haul.part_load.charge
    due[LineKind.PER_LOAD] += rates.per_load
    due[LineKind.PER_TONNE] += _rounded(rates.per_tonne * kg, 1000)
    if rates.delivery is None:
        return
    ride = int(problem.ways(truck).metres[haul.origin, haul.destination])
    for band in rates.delivery.bands:
        if ride <= band.up_to_m:
            charged = max(kg, rates.delivery.minimum_kg)
            due[LineKind.DELIVERY] += band.per_load
            due[LineKind.DELIVERY] += _rounded(band.per_tonne * charged, 1000)
            break
    waited = max(0, haul.unload_s - rates.delivery.free_unload_s)
    due[LineKind.WAITING] += _rounded(rates.delivery.waiting_per_hour * waited, 3600)


def _rounded(product: int, divisor: int) -> int:
    return int(
        (Decimal(product) / divisor).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    )
