"""From a scenario document to the scenario that is computed with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time
from pathlib import Path

import numpy as np

from api.documents.reading import read_build
from api.documents.reading_offers import read_offer
from api.documents.reading_parts import read_hours, read_place
from api.documents.reading_trucks import read_chassis, read_truck, read_weak_roads
from api.documents.scenario import (
    GeodesicRoads,
    MatrixRoads,
    NetworkRoads,
    ScenarioDoc,
)
from logistics.domain.calendar import (
    days_between,
    moment,
    windows,
)
from logistics.domain.distances import DistanceTable, geodesic_table
from logistics.domain.errors import Refused, refuse
from logistics.domain.places import Place
from logistics.domain.roads.fleets import own_ways
from logistics.domain.roads.network import RoadNetwork
from logistics.domain.slots import OwnedTruck, WorkDay, fleet
from logistics.services.road_store import open_network
from matching.domain.dated import dated
from matching.domain.ends import safely
from matching.domain.lifts.batches import Gate
from matching.domain.scenario import Scenario


def read_scenario(doc: ScenarioDoc, *, network_root: Path) -> Scenario:
    """Resolve keys, days and roads. Raises Refused naming what does not fit together."""
    _unique(doc)
    places = tuple(read_place(place, place.key) for place in doc.places)
    at = {place.key: index for index, place in enumerate(places)}
    hours = [read_hours(place.hours) for place in doc.places]
    days = days_between(doc.first_day, doc.last_day)
    own_fleet = fleet(_trucks(doc, at, days), read_weak_roads(doc.weak_roads))
    offers = []
    for index, offer in enumerate(doc.offers):
        where = _place(at, offer.place, f"offers.{index}.place")
        open_at = windows(
            hours[where],
            days,
            doc.zone,
            first=offer.available_from,
            last=offer.available_until,
        )
        own = read_offer(offer, offer.key, where, open_at, field=f"offers.{index}")
        loaders = (
            windows(read_hours(offer.loader_hours), days, doc.zone)
            if offer.loader_hours
            else None
        )
        offers.append(replace(own, loader_windows=loaders))
    builds = []
    for index, build in enumerate(doc.builds):
        where = _place(at, build.place, f"builds.{index}.place")
        built = read_build(build, build.key, where, field=f"builds.{index}")
        gate = Gate(hours[where], doc.zone, build.deliver_from, build.deliver_until)
        builds.append(dated(built, gate, days))
    scenario = Scenario(
        places=places,
        distances=_distances(doc, places, network_root),
        offers=tuple(offers),
        builds=tuple(builds),
        trucks=own_fleet.trucks,
        slots=own_fleet.slots,
        reach_m=round(doc.reach_km * 1000),
        count_disposal=doc.objective == "everyone",
    )
    if isinstance(doc.roads, NetworkRoads):
        ways = own_ways(
            _network(network_root, doc.roads.name),
            [place.point for place in places],
            # Not what they are on weak roads: roads must bear the heavier.
            scenario.trucks[: len(doc.trucks)],
            limit_m=doc.roads.snap_limit_m,
        )
        scenario = replace(scenario, own_ways=ways)
    return safely(scenario) if doc.certainty == "safe" else scenario


def _unique(doc: ScenarioDoc) -> None:
    for field in ("places", "offers", "builds", "trucks"):
        seen: set[str] = set()
        for index, own in enumerate(getattr(doc, field)):
            if own.key in seen:
                raise refuse(
                    "key_used_twice",
                    field=f"{field}.{index}.key",
                    given=own.key,
                    message="this key stands for two things",
                    remedy="Give each its own key.",
                )
            seen.add(own.key)


def _place(at: dict[str, int], key: str, field: str) -> int:
    if key not in at:
        raise refuse(
            "unknown_place",
            field=field,
            given=key,
            message="no place has this key",
            remedy="Use the key of one of the places.",
        )
    return at[key]


def _trucks(
    doc: ScenarioDoc, at: dict[str, int], days: Sequence[date]
) -> list[OwnedTruck]:
    found = []
    for index, own in enumerate(doc.trucks):
        field = f"trucks.{index}"
        only = own.only_from
        truck = read_truck(
            own,
            own.key,
            _place(at, own.base, f"{field}.base"),
            only_from=None
            if only is None
            else frozenset(
                _place(at, key, f"{field}.only_from.{number}")
                for number, key in enumerate(only)
            ),
            field=field,
        )
        opens, closes = time.fromisoformat(own.opens), time.fromisoformat(own.closes)
        open_days = tuple(
            WorkDay(day, moment(day, opens, doc.zone), moment(day, closes, doc.zone))
            for day in days
            if own.days is None or day in own.days
        )
        away = (
            _place(at, own.overnight, f"{field}.overnight") if own.overnight else None
        )
        if away == truck.base:
            away = None
        found.append(OwnedTruck(truck, read_chassis(own), open_days, away, field))
    return found


def _distances(doc: ScenarioDoc, places: Sequence[Place], root: Path) -> DistanceTable:
    points = [place.point for place in places]
    roads = doc.roads
    if isinstance(roads, GeodesicRoads):
        return geodesic_table(
            points, detour_factor=roads.detour_factor, speed_kmh=roads.speed_kmh
        )
    if isinstance(roads, NetworkRoads):
        network = _network(root, roads.name)
        for index, place in enumerate(places):
            _snaps(network, place, index, roads.snap_limit_m)
        return network.table(points, limit_m=roads.snap_limit_m)
    return _matrix(roads, len(places))


def _network(root: Path, name: str) -> RoadNetwork:
    try:
        return open_network(root, name)
    except Refused as refused:
        raise Refused(
            *(replace(own, field="roads.name") for own in refused.problems)
        ) from None


def _snaps(network: RoadNetwork, place: Place, index: int, limit_m: float) -> None:
    try:
        network.snap(place.point, limit_m=limit_m)
    except Refused as refused:
        raise Refused(
            *(
                replace(own, field=f"places.{index} ({place.key})")
                for own in refused.problems
            )
        ) from None


def _matrix(roads: MatrixRoads, size: int) -> DistanceTable:
    for name, table in (("metres", roads.metres), ("seconds", roads.seconds)):
        if len(table) != size or any(len(row) != size for row in table):
            raise refuse(
                "matrix_shape",
                field=f"roads.{name}",
                given=f"{len(table)} rows",
                message=f"the table must have {size} rows of {size} figures, as many as places",
                remedy="Give a row and a column for each place, in their order.",
            )
    reachable = np.array(
        [
            [a is not None and b is not None for a, b in zip(ra, rb, strict=True)]
            for ra, rb in zip(roads.metres, roads.seconds, strict=True)
        ],
        dtype=np.bool_,
    )
    return DistanceTable(
        metres=np.array(
            [[v or 0 for v in row] for row in roads.metres], dtype=np.int64
        ),
        seconds=np.array(
            [[v or 0 for v in row] for row in roads.seconds], dtype=np.int64
        ),
        reachable=reachable,
        basis="table given in the scenario",
    )
