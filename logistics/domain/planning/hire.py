"""What a shift and its loads cost, apart from what depends on the mass carried."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from logistics.domain.planning.problem import Haul
from logistics.domain.quantities import round_half_up
from logistics.domain.trucks import DeliveryBand, Truck, TruckRates

Floats = NDArray[np.float64]


def distance_cost(per_km: int, metres: int) -> int:
    """Price of a distance, rounded to the minor unit, halves up."""
    return round_half_up(per_km * metres / 1000)


def time_cost(per_hour: int, seconds: int) -> int:
    """Price of a time, rounded to the minor unit, halves up."""
    return round_half_up(per_hour * seconds / 3600)


def hired_s(rates: TruckRates, seconds: int) -> int:
    """The time that is paid: never less than the minimum hire."""
    return max(seconds, rates.minimum_hire_s)


def overtime_s(rates: TruckRates, seconds: int) -> int:
    """The time that is paid extra."""
    after = rates.overtime_after_s
    return 0 if after is None else max(0, seconds - after)


def tonne_cost(per_tonne: int, kg: int) -> int:
    """Price of a mass, rounded to the minor unit, halves up."""
    return round_half_up(per_tonne * kg / 1000)


def shift_cost(rates: TruckRates, *, seconds: int, metres: int) -> int:
    """Call-out, kilometres, hours and overtime of a shift."""
    return (
        rates.call_out
        + distance_cost(rates.per_km, metres)
        + time_cost(rates.per_hour, hired_s(rates, seconds))
        + time_cost(rates.overtime_per_hour, overtime_s(rates, seconds))
    )


def time_price(rates: TruckRates, seconds: NDArray[np.int64]) -> Floats:
    """Price of many times, not rounded. Never less than `per_hour` for each."""
    paid = np.maximum(seconds, rates.minimum_hire_s)
    price = paid * (rates.per_hour / 3600)
    if rates.overtime_after_s is not None and rates.overtime_per_hour:
        beyond = np.maximum(seconds - rates.overtime_after_s, 0)
        price = price + beyond * (rates.overtime_per_hour / 3600)
    return np.asarray(price, dtype=np.float64)


def least_price_s(rates: TruckRates) -> float:
    """What one second less always saves, at least."""
    return 0.0 if rates.minimum_hire_s else rates.per_hour / 3600


def band_of(truck: Truck, metres: int) -> DeliveryBand | None:
    """The band of a supplier's tariff that a ride falls into."""
    tariff = truck.rates.delivery
    return tariff.band(metres) if tariff else None


def waiting_cost(truck: Truck, unload_s: int) -> int:
    """What a supplier charges for unloading that takes longer than is free."""
    tariff = truck.rates.delivery
    if tariff is None:
        return 0
    return time_cost(tariff.waiting_per_hour, max(0, unload_s - tariff.free_unload_s))


def load_fee(truck: Truck, haul: Haul, *, full_kg: int, ride_m: int) -> int:
    """What each load costs beside driving and beside what its mass adds.

    `full_kg` is the largest load: a truck that is too small for it pays the part-load
    charge always.
    """
    fee = haul.loading_fee + haul.part_load.due(full_kg) + truck.rates.per_load
    band, tariff = band_of(truck, ride_m), truck.rates.delivery
    if band and tariff:
        least = min(tariff.minimum_kg, full_kg)
        fee += band.per_load + tonne_cost(band.per_tonne, least)
        # What even a full load is charged beyond its mass.
        fee += tonne_cost(band.per_tonne, tariff.minimum_kg - least)
    return fee + waiting_cost(truck, haul.unload_s)


def mass_rates(truck: Truck, ride_m: int) -> tuple[float, float, int]:
    """Minor units for each kg; for each kg beyond a mass; that mass."""
    band, tariff = band_of(truck, ride_m), truck.rates.delivery
    beyond = band.per_tonne / 1000 if band else 0.0
    least = tariff.minimum_kg if tariff and beyond else 0
    every = truck.rates.per_tonne / 1000
    return (every, beyond, least) if least else (every + beyond, 0.0, 0)


def rounding(rates: TruckRates) -> float:
    """Most that the rounded cost of a shift lies below its price: a half for each line."""
    lines = 2 + bool(rates.overtime_per_hour)
    return 0.5 * lines


def floor_unit(value: float) -> int:
    """Rounded down, but for the doubt of the solver."""
    return math.floor(value + 1e-6)
