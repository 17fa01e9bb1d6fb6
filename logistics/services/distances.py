"""Distances from the imported road network, or along straight lines without one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from logistics.domain.distances import DistanceTable, geodesic_table
from logistics.domain.errors import Refused
from logistics.domain.places import Point
from logistics.domain.roads.fleets import own_ways
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.trucks import Truck
from logistics.services.road_store import open_network

SNAP_LIMIT_M = 500.0


@dataclass(frozen=True, slots=True)
class Roads:
    """Where road networks are stored, and which of them is in use."""

    root: Path
    network: str


def distances_for(
    points: Sequence[Point], *, network_root: Path, network: str
) -> DistanceTable:
    """Ways between places by the network of that name, or by straight lines when none was
    imported; the table's `basis` says which.

    Raises Refused "too_far_from_road" with `points[i]` as the field, and "network_damaged".
    """
    roads = _network(network_root, network)
    if roads is None:
        return geodesic_table(points)
    return roads.table(points, limit_m=SNAP_LIMIT_M)


def own_distances_for(
    points: Sequence[Point],
    trucks: Sequence[Truck],
    *,
    network_root: Path,
    network: str,
) -> dict[str, DistanceTable]:
    """Ways of the trucks, by key, to which other roads are open than the network's own
    vehicle may use; none when no network was imported.

    Raises Refused as `distances_for`.
    """
    roads = _network(network_root, network)
    if roads is None:
        return {}
    # A truck that carries less on some days has its key twice: the heavier comes first.
    first = {truck.key: truck for truck in reversed(trucks)}
    return own_ways(roads, points, first.values(), limit_m=SNAP_LIMIT_M)


def check_near_road(point: Point, *, roads: Roads) -> None:
    """Raise Refused "too_far_from_road" for a place that the network in use cannot reach.

    Without an imported network every place will do.
    """
    network = _network(roads.root, roads.network)
    if network is not None:
        network.snap(point, limit_m=SNAP_LIMIT_M)


def _network(root: Path, name: str) -> RoadNetwork | None:
    try:
        return open_network(root, name)
    except Refused as refused:
        if refused.problems[0].code == "network_missing":
            return None
        raise
