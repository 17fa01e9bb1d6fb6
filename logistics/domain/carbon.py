"""Greenhouse gases of driving, kg CO2e, empty kilometres included.

Source: UK Government GHG Conversion Factors for Company Reporting 2025 (DESNZ), "Freighting
goods", HGV (all diesel), rigid, kg CO2e a km at 0 % and 100 % of the load; seen in a public
copy of the flat file, not at the department's own address. The figures at 50 % lie half
way between, so that a straight line is drawn. They are what leaves the exhaust of an
average British lorry: fuel's way to the tank, and the loader, are not counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from logistics.domain.planning.result import Shift, StopKind
from logistics.domain.trucks import Truck

SOURCE = (
    "UK Government GHG Conversion Factors 2025, rigid diesel HGV, by weight and load, from"
    " the exhaust alone"
)


@dataclass(frozen=True, slots=True)
class Factor:
    """kg CO2e a km of an empty and of a full truck."""

    name: str
    empty: float
    full: float

    def at(self, load_share: float) -> float:
        """kg CO2e a km at a share of the payload; more than full counts as full."""
        return self.empty + (self.full - self.empty) * min(1.0, max(0.0, load_share))


LIGHT = Factor("rigid, over 3.5 to 7.5 t", 0.46138, 0.54068)
MIDDLE = Factor("rigid, over 7.5 to 17 t", 0.55061, 0.70603)
HEAVY = Factor("rigid, over 17 t", 0.774, 1.10905)
ANY = Factor("all rigids", 0.67912, 0.93695)


def factor_of(truck: Truck) -> Factor:
    """The factor of a truck by its weight when full.

    A truck whose tare is not known counts as the average of all, unless its payload alone
    puts it among the heavy ones.
    """
    if truck.tare_kg is None:
        return HEAVY if truck.payload_kg > 17_000 else ANY
    gross = truck.tare_kg + truck.payload_kg
    if gross <= 7_500:
        return LIGHT
    return MIDDLE if gross <= 17_000 else HEAVY


@dataclass(frozen=True, slots=True)
class Footprint:
    """kg CO2e of driving, those of driving empty among them, and tonne-kilometres."""

    kg_co2e: float
    empty_kg_co2e: float
    tonne_km: float

    @property
    def grams_per_tonne_km(self) -> float | None:
        """g CO2e for a tonne carried a kilometre; None where nothing is carried."""
        return self.kg_co2e * 1000 / self.tonne_km if self.tonne_km else None


def footprint(driven: Iterable[tuple[Shift, Truck]]) -> Footprint:
    """The footprint of shifts with their trucks, leg by leg."""
    whole, empty, work = 0.0, 0.0, 0.0
    for shift, truck in driven:
        factor = factor_of(truck)
        aboard = 0
        for stop in shift.stops:
            kg = stop.leg_m / 1000 * factor.at(aboard / max(1, truck.payload_kg))
            whole += kg
            empty += kg if not aboard else 0.0
            if stop.trip is not None:
                load = shift.trips[stop.trip].load.mass_kg
                aboard += load if stop.kind is StopKind.LOAD else -load
        work += shift.tonne_km
    return Footprint(whole, empty, work)
