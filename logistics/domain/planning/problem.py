"""What the planner is asked: hauls, trucks and the days on which they can drive.

Everything is whole numbers: kg, metres, seconds and minor currency units. Moments are
seconds since 1970-01-01 00:00 UTC, so that no clock change can shift them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from logistics.domain.distances import DistanceTable
from logistics.domain.loads import Capacity, PartLoadTerms, body_capacity
from logistics.domain.places import Place
from logistics.domain.trucks import CARRIES, Cargo, Truck, barred_from, load_admitted

Window = tuple[int, int]
"""Opening and closing moment; a service must begin and end inside it."""


@dataclass(frozen=True, slots=True)
class Haul:
    """An agreed quantity to move from one place to another.

    `mass_kg` is moist, as loaded; `loose_kg_per_m3` its density in the body; `unit_kg` the
    mass of a piece that cannot be cut. `pickup_windows` and `drop_windows` are sorted and
    do not overlap. Loading takes `load_s` at the origin, tipping `unload_s` at the
    destination, whatever the size of the load. `loading_fee` is charged for each load.
    A truck that cannot load itself is loaded inside `loader_windows` too, if there are
    any. Parts of hauls that are `shared` and of one cargo may ride in one body.
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
    loader_windows: tuple[Window, ...] | None = None
    shared: bool = False


@dataclass(frozen=True, slots=True)
class Slot:
    """One truck on one day: the earliest leaving and the latest return.

    A truck may have several slots on a day that differ in `start` and `end`, places where
    it stands in the morning and in the evening (None: its base); it drives one of them at
    most, and stands in the morning where it was left. It begins and ends the plan at its
    base.
    """

    truck: int
    day: str
    earliest: int
    latest: int
    start: int | None = None
    end: int | None = None


@dataclass(frozen=True, slots=True)
class Store:
    """Room for what some hauls bring: by the end of each day named, in the order of days,
    they have brought at most so many m3 in all (the room, and what was used up by then)."""

    name: str
    hauls: tuple[int, ...]
    room_m3: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class PlanProblem:
    """Hauls to carry, trucks to carry them, and the table of ways between the places.

    Indices in trucks (`base`) and hauls (`origin`, `destination`) count `places`, whose
    order is that of the rows of `distances`. `own_ways` has the tables of trucks, by key,
    that may not use the same roads.
    """

    places: tuple[Place, ...]
    distances: DistanceTable
    trucks: tuple[Truck, ...]
    slots: tuple[Slot, ...]
    hauls: tuple[Haul, ...]
    own_ways: Mapping[str, DistanceTable] = field(default_factory=dict)
    stores: tuple[Store, ...] = ()

    def ways(self, truck: Truck) -> DistanceTable:
        """The distances that this truck drives."""
        return self.own_ways.get(truck.key, self.distances)

    def start(self, slot: Slot) -> int:
        """Where the truck stands in the morning."""
        return self.trucks[slot.truck].base if slot.start is None else slot.start

    def end(self, slot: Slot) -> int:
        """Where the truck is left in the evening."""
        return self.trucks[slot.truck].base if slot.end is None else slot.end

    def payload_kg(self, truck: Truck, visited: Iterable[int]) -> int:
        """What a truck may have aboard where it comes to these places."""
        return min(
            (load_admitted(truck, self.places[where].access) for where in visited),
            default=truck.payload_kg,
        )

    def capacity(self, truck: Truck, haul: Haul) -> Capacity:
        """The largest load of this haul in this truck's body, if it may carry it at all.

        Where a weight limit is known at the pickup or the drop, the truck is loaded no
        heavier than it admits. A tare that is not known counts as nothing: the load alone
        must keep the limit in any case.
        """
        payload = self.payload_kg(truck, (haul.origin, haul.destination))
        return body_capacity(
            payload_kg=payload,
            body_m3=truck.volume_m3(haul.cargo),
            loose_kg_per_m3=haul.loose_kg_per_m3,
            unit_kg=haul.unit_kg,
        )

    def barrier(self, truck: Truck, haul: Haul) -> str | None:
        """Why this truck cannot carry this haul on any day, in words, or None."""
        if haul.cargo not in CARRIES[truck.body]:
            return f"a {truck.body.replace('_', ' ')} does not carry {haul.cargo}"
        if truck.only_from is not None and haul.origin not in truck.only_from:
            return f"it does not load at {self.places[haul.origin].name}"
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
        return self._no_way(truck, haul) or self._undelivered(truck, haul)

    def _no_way(self, truck: Truck, haul: Haul) -> str | None:
        ways = self.ways(truck)
        for start, end in (
            (truck.base, haul.origin),
            (haul.origin, haul.destination),
            (haul.destination, truck.base),
        ):
            if not ways.reachable[start, end]:
                return ways.why_not(start, end) or (
                    f"no way was found from {self.places[start].name}"
                    f" to {self.places[end].name}"
                )
        return None

    def _undelivered(self, truck: Truck, haul: Haul) -> str | None:
        tariff = truck.rates.delivery
        if tariff is None:
            return None
        metres = int(self.ways(truck).metres[haul.origin, haul.destination])
        if tariff.band(metres):
            return None
        most = max((own.up_to_m for own in tariff.bands), default=0)
        return f"it delivers up to {most / 1000:g} km, this is {metres / 1000:.1f} km"
