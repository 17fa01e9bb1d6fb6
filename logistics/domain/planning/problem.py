"""What the planner is asked: hauls, trucks and the days on which they can drive.

Everything is whole numbers: kg, metres, seconds and minor currency units. Moments are
seconds since 1970-01-01 00:00 UTC, so that no clock change can shift them.
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.distances import DistanceTable
from logistics.domain.loads import Capacity, PartLoadTerms, body_capacity
from logistics.domain.places import Place
from logistics.domain.trucks import CARRIES, Cargo, Truck, barred_from

Window = tuple[int, int]
"""Opening and closing moment; a service must begin and end inside it."""


@dataclass(frozen=True, slots=True)
class Haul:
    """An agreed quantity to move from one place to another.

    `mass_kg` is moist, as loaded; `loose_kg_per_m3` its density in the body; `unit_kg` the
    mass of a piece that cannot be cut. `pickup_windows` and `drop_windows` are sorted and
    do not overlap. Loading takes `load_s` at the origin, tipping `unload_s` at the
    destination, whatever the size of the load. `loading_fee` is charged for each load.
    """

    key: str
    cargo: Cargo
    origin: int
    destination: int
    mass_kg: int
    loose_kg_per_m3: float
    pickup_windows: tuple[Window, ...]
    drop_windows: tuple[Window, ...]
    load_s: int
    unload_s: int
    loading_fee: int = 0
    part_load: PartLoadTerms = PartLoadTerms()
    unit_kg: int = 1


@dataclass(frozen=True, slots=True)
class Slot:
    """One truck on one day: the earliest leaving and the latest return to its base."""

    truck: int
    day: str
    earliest: int
    latest: int


@dataclass(frozen=True)
class PlanProblem:
    """Hauls to carry, trucks to carry them, and the table of ways between the places.

    Indices in trucks (`base`) and hauls (`origin`, `destination`) count `places`, whose
    order is that of the rows of `distances`.
    """

    places: tuple[Place, ...]
    distances: DistanceTable
    trucks: tuple[Truck, ...]
    slots: tuple[Slot, ...]
    hauls: tuple[Haul, ...]

    def capacity(self, truck: Truck, haul: Haul) -> Capacity:
        """The largest load of this haul in this truck's body, if it may carry it at all.

        Where a weight limit is known at the pickup or the drop, the truck is loaded no
        heavier than it admits. A tare that is not known counts as nothing: the load alone
        must keep the limit in any case.
        """
        payload = truck.payload_kg
        for where in (haul.origin, haul.destination):
            limit = self.places[where].access.max_gross_kg
            if limit is not None:
                payload = min(payload, limit - (truck.tare_kg or 0))
        return body_capacity(
            payload_kg=max(payload, 0),
            body_m3=truck.body_m3,
            loose_kg_per_m3=haul.loose_kg_per_m3,
            unit_kg=haul.unit_kg,
        )

    def barrier(self, truck: Truck, haul: Haul) -> str | None:
        """Why this truck cannot carry this haul on any day, in words, or None."""
        if haul.cargo not in CARRIES[truck.body]:
            return f"a {truck.body.replace('_', ' ')} does not carry {haul.cargo}"
        load = haul.unit_kg
        for where, kg in (
            (haul.origin, load),
            (haul.destination, load),
            (truck.base, 0),
        ):
            reason = barred_from(truck, self.places[where].access, kg)
            if reason:
                return f"at {self.places[where].name} it {reason}"
        if self.capacity(truck, haul).kg <= 0:
            return f"not even one piece of {haul.unit_kg} kg fits its body"
        legs = (
            (truck.base, haul.origin),
            (haul.origin, haul.destination),
            (haul.destination, truck.base),
        )
        for start, end in legs:
            if not self.distances.reachable[start, end]:
                return (
                    f"no way was found from {self.places[start].name}"
                    f" to {self.places[end].name}"
                )
        return None
