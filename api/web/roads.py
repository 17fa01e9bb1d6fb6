"""Lines to draw on the map, as GeoJSON: the roads, and the ways of a plan's shifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from django.conf import settings

from api.documents.plan_models import PlaceAnswer, PlanAnswer
from api.web.timeline import arrives_loaded
from logistics.domain.errors import Refused
from logistics.domain.places import Point
from logistics.domain.roads.network import RoadNetwork
from logistics.services.road_store import open_network

Line = Sequence[tuple[float, float]]
Geo = dict[str, Any]

TIERS = {
    "major": ("motorway", "trunk", "primary", "secondary"),
    "middle": ("tertiary", "unclassified"),
    "minor": ("residential", "living_street", "service", "track", "road", "ferry"),
}
# A point is about 17 bytes of GeoJSON; this keeps the answer under 300 kB.
MOST_POINTS = 16_000
# Tried in turn until the points are few enough: which roads, and how coarse in metres.
ATTEMPTS = (
    (("major", "middle", "minor"), 60.0),
    (("major", "middle"), 150.0),
    (("major",), 400.0),
)
MOST_IMPORTANT = ("motorway", "trunk", "motorway_link", "trunk_link")


def network() -> RoadNetwork | None:
    """The imported road network of this deployment, if there is one."""
    try:
        return open_network(settings.MARLPIT_NETWORK_ROOT, settings.MARLPIT_NETWORK)
    except Refused:
        return None


def road_credit(roads: RoadNetwork | None) -> str:
    """Whose roads these are."""
    return roads.facts.attribution if roads else ""


def roads_geojson(roads: RoadNetwork | None) -> Geo:
    """The roads by tier: three features at most, simplified until they are small."""
    tiers = _simplified(roads) if roads else {}
    return _collection(
        _lines(lines, {"tier": tier}, digits=4)
        for tier, lines in tiers.items()
        if lines
    )


def _simplified(roads: RoadNetwork) -> dict[str, list[Line]]:
    for names, coarse_m in ATTEMPTS:
        classes = [own for tier in names for own in _with_links(TIERS[tier])]
        found = _by_tier(roads, classes, coarse_m)
        if sum(len(line) for lines in found.values() for line in lines) <= MOST_POINTS:
            return found
    return _by_tier(roads, MOST_IMPORTANT, 800.0)


def _with_links(classes: Sequence[str]) -> list[str]:
    return [*classes, *(f"{own}_link" for own in classes)]


def _by_tier(
    roads: RoadNetwork, classes: Sequence[str], coarse_m: float
) -> dict[str, list[Line]]:
    tier_of = {own: tier for tier in TIERS for own in _with_links(TIERS[tier])}
    found: dict[str, list[Line]] = {tier: [] for tier in reversed(TIERS)}
    for name, line in roads.outline(classes=classes, coarse_m=coarse_m):
        found[tier_of[name]].append(line)
    return found


def routes_geojson(plan: PlanAnswer, roads: RoadNetwork | None) -> Geo:
    """Every way that the shifts drive, by road where there is a network, else straight."""
    at = {place.key: place for place in plan.places}
    ways: dict[tuple[str, str, RoadNetwork | None], Line] = {}
    features = []
    for number, shift in enumerate(plan.shifts):
        own = roads and roads.for_vehicle(replace(roads.vehicle, **shift.vehicle))
        loaded = list(arrives_loaded(shift.stops))
        for step, (before, stop) in enumerate(pairwise(shift.stops), start=1):
            ends = (before.place, stop.place, own)
            if ends not in ways:
                ways[ends] = _way(at[ends[0]], at[ends[1]], own)
            if len(ways[ends]) > 1:
                about = {
                    "shift": number,
                    "loaded": loaded[step],
                    "from": before.place_name,
                    "to": stop.place_name,
                    "km": stop.leg_km,
                }
                features.append(_lines([ways[ends]], about))
    return _collection(iter(features))


def _way(start: PlaceAnswer, end: PlaceAnswer, roads: RoadNetwork | None) -> Line:
    first, last = Point(start.lat, start.lon), Point(end.lat, end.lon)
    points: Sequence[Point] = (first, last)
    if roads is not None:
        try:
            points = roads.route(first, last).points
        except Refused:
            # A place off its roads: the plan was made with another network.
            points = (first, last)
    return [(point.lon, point.lat) for point in points]


def _lines(lines: Sequence[Line], about: dict[str, object], *, digits: int = 5) -> Geo:
    # Five digits are one metre on the ground, four are eleven.
    rounded = [
        [[round(lon, digits), round(lat, digits)] for lon, lat in line]
        for line in lines
    ]
    return {
        "type": "Feature",
        "properties": about,
        "geometry": {"type": "MultiLineString", "coordinates": rounded},
    }


def _collection(features: Iterator[Geo]) -> Geo:
    return {"type": "FeatureCollection", "features": list(features)}
