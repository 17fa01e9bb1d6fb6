"""The bill of a shift, line by line, each with its formula."""

from __future__ import annotations

from logistics.domain.planning.hire import (
    band_of,
    distance_cost,
    hired_s,
    overtime_s,
    time_cost,
    tonne_cost,
    waiting_cost,
)
from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.planning.result import CostLine, LineKind, Load, Shift
from logistics.domain.trucks import Truck


def shift_costs(problem: PlanProblem, shift: Shift) -> tuple[CostLine, ...]:
    """The bill of one shift; lines of nothing are left out."""
    truck = problem.trucks[problem.slots[shift.slot].truck]
    lines = _driving(truck, shift)
    for trip in shift.trips:
        haul = problem.hauls[trip.load.haul]
        ways = problem.ways(truck)
        ride_m = int(ways.metres[haul.origin, haul.destination])
        lines += _load_costs(haul, trip.load)
        lines += _carrying(truck, haul, trip.load, ride_m)
    return tuple(line for line in lines if line.amount)


def _driving(truck: Truck, shift: Shift) -> list[CostLine]:
    rates = truck.rates
    paid = hired_s(rates, shift.duration_s)
    beyond = overtime_s(rates, shift.duration_s)
    least = " (minimum hire)" if paid > shift.duration_s else ""
    return [
        CostLine(LineKind.CALL_OUT, truck.name, rates.call_out, "once a shift"),
        CostLine(
            LineKind.DRIVING_DISTANCE,
            truck.name,
            distance_cost(rates.per_km, shift.metres),
            f"{shift.metres / 1000:.3f} km x {rates.per_km}",
        ),
        CostLine(
            LineKind.DRIVING_TIME,
            truck.name,
            time_cost(rates.per_hour, paid),
            f"{paid / 3600:.4f} h{least} x {rates.per_hour}",
        ),
        CostLine(
            LineKind.OVERTIME,
            truck.name,
            time_cost(rates.overtime_per_hour, beyond),
            f"{beyond / 3600:.4f} h x {rates.overtime_per_hour} on top",
        ),
    ]


def _carrying(truck: Truck, haul: Haul, load: Load, ride_m: int) -> list[CostLine]:
    """What the truck's owner charges for a load, beside the driving."""
    rates, name = truck.rates, truck.name
    lines = [
        CostLine(LineKind.PER_LOAD, name, rates.per_load, "for one load"),
        CostLine(
            LineKind.PER_TONNE,
            name,
            tonne_cost(rates.per_tonne, load.mass_kg),
            f"{load.mass_kg} kg x {rates.per_tonne} per 1000 kg",
        ),
    ]
    band, tariff = band_of(truck, ride_m), rates.delivery
    if band is None or tariff is None:
        return lines
    charged = max(load.mass_kg, tariff.minimum_kg)
    formula = (
        f"{ride_m / 1000:.1f} km, up to {band.up_to_m / 1000:g} km: {band.per_load}"
    )
    if band.per_tonne:
        formula += f" + {charged} kg x {band.per_tonne} per 1000 kg"
    amount = band.per_load + tonne_cost(band.per_tonne, charged)
    over = max(0, haul.unload_s - tariff.free_unload_s)
    return [
        *lines,
        CostLine(LineKind.DELIVERY, name, amount, formula),
        CostLine(
            LineKind.WAITING,
            name,
            waiting_cost(truck, haul.unload_s),
            f"{over / 60:g} min beyond {tariff.free_unload_s / 60:g} min",
        ),
    ]


def _load_costs(haul: Haul, load: Load) -> list[CostLine]:
    lines = [CostLine(LineKind.LOADING, haul.key, haul.loading_fee, "for one load")]
    due = haul.part_load.due(load.mass_kg)
    if due:
        formula = f"load of {load.mass_kg} kg is under {haul.part_load.below_kg} kg"
        lines.append(CostLine(LineKind.PART_LOAD, haul.key, due, formula))
    return lines
