"""The ways of single trucks, where they may not use the same roads as the others."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Point
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.roads.snapping import LIMIT_M
from logistics.domain.trucks import Truck


def known_sizes(truck: Truck) -> dict[str, float]:
    """What is known of a truck with its full load, by field of `HeavyVehicle`.

    The road is asked to bear the full load on the empty way too: no way is called open
    that is not when the truck comes back loaded.
    """
    axle_kg = truck.heaviest_axle_kg(truck.payload_kg)
    known = {
        "gross_t": (truck.tare_kg + truck.payload_kg) / 1000 if truck.tare_kg else None,
        "axle_t": axle_kg / 1000 if axle_kg else None,
        "height_m": truck.height_m,
        "width_m": truck.width_m,
        "length_m": truck.length_m,
    }
    return {name: value for name, value in known.items() if value}


def vehicle_of(truck: Truck, default: HeavyVehicle) -> HeavyVehicle:
    """The truck as the road sees it; what is not known of it is as in `default`."""
    return replace(default, **known_sizes(truck))


def own_ways(
    network: RoadNetwork,
    points: Sequence[Point],
    trucks: Iterable[Truck],
    *,
    limit_m: float = LIMIT_M,
) -> dict[str, DistanceTable]:
    """Tables, by key of the truck, of those to which other roads are open than to the
    network's own vehicle. Trucks that may use the same roads share their searches.

    Raises Refused "too_far_from_road".
    """
    tables = {}
    for truck in trucks:
        own = network.for_vehicle(vehicle_of(truck, network.facts.vehicle))
        if not own.same_roads(network):
            tables[truck.key] = own.table(points, limit_m=limit_m)
    return tables
