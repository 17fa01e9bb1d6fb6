"""Plausible spots beside the roads of the invented map, by role."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import osmium

from logistics.domain.errors import Refused
from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads.building import prepare
from logistics.domain.roads.limits import DEFAULT_VEHICLE
from logistics.domain.roads.network import NetworkFacts, RoadNetwork
from logistics.domain.roads.tags import ROAD_CLASSES
from logistics.services.osm_reading import read_osm

Places = list[dict[str, str | float]]

STREET = ("residential", "service")
LANE = ("unclassified", "tertiary", "service")
YARD = ("track", "service")


@dataclass(frozen=True)
class Wish:
    """One place to find: its role and name, beside which roads, how far from the build."""

    key: str
    role: str
    name: str
    beside: Sequence[str]
    near_km: float
    far_km: float

    @property
    def apart_m(self) -> float:
        """How far from every other place it must be."""
        return 60.0 if self.role == "plot" else 1_200.0


WISHES = (
    Wish("plot-1", "plot", "Plot by the green", STREET, 0.06, 0.5),
    Wish("plot-2", "plot", "Mill corner plot", STREET, 0.06, 0.5),
    Wish("plot-3", "plot", "Orchard plot", STREET, 0.06, 0.5),
    Wish("spoil-1", "spoil", "Cellar dig", STREET, 1.0, 6.0),
    Wish("spoil-2", "spoil", "Pond dig", LANE, 2.0, 7.0),
    Wish("spoil-3", "spoil", "Barn footings", LANE, 3.0, 8.0),
    Wish("spoil-4", "spoil", "Pool dig", STREET, 4.0, 9.0),
    Wish("spoil-5", "spoil", "School footings", STREET, 8.0, 16.0),
    Wish("spoil-6", "spoil", "Culvert works", LANE, 9.0, 15.0),
    Wish("spoil-7", "spoil", "Road widening", ("tertiary", "secondary"), 10, 18),
    Wish("spoil-8", "spoil", "House plots", STREET, 18.0, 25.0),
    Wish("spoil-9", "spoil", "Cart shed dig", YARD, 19.0, 26.0),
    Wish("spoil-10", "spoil", "Basement dig", STREET, 22.0, 28.0),
    Wish("farm-1", "farm", "Rook Farm", YARD, 2.0, 6.0),
    Wish("farm-2", "farm", "Upper Farm", YARD, 4.0, 9.0),
    Wish("farm-3", "farm", "Thorn Farm", YARD, 8.0, 14.0),
    Wish("farm-4", "farm", "Outwood Farm", YARD, 14.0, 22.0),
    Wish("sand-1", "sand", "Sand yard", ("service", "unclassified"), 6.0, 14.0),
    Wish("sand-2", "sand", "Gritstone quarry", ("track", "unclassified"), 16.0, 26.0),
    Wish("depot-1", "depot", "Truck depot", ("service", "tertiary"), 8.0, 16.0),
    Wish("depot-2", "depot", "Haulier's yard", ("secondary", "tertiary"), 6.0, 18.0),
)
BUILD_AT_VILLAGE = "Sallowby"


def choose_places(roads: Path, seed: int) -> Places:
    """Places as JSON objects, the build site first, each 10 to 80 m off its road.

    `road_km` is the way by road from the build site.
    """
    random = np.random.default_rng(seed)
    centres, network = _read(roads)
    centre = centres[BUILD_AT_VILLAGE]
    build = _beside(network, random, STREET, lambda p: geodesic_m(p, centre) < 250)
    found = [build]
    for wish in WISHES:
        fits = partial(_fits, wish, build, tuple(found))
        found.append(_beside(network, random, wish.beside, fits))
    site = Wish("build-1", "build", "Community room", STREET, 0, 0)
    metres = network.table(found).metres[0]
    return [
        _as_json(network, centres, wish, point, float(way))
        for wish, point, way in zip((site, *WISHES), found, metres, strict=True)
    ]


def _fits(wish: Wish, build: Point, found: Sequence[Point], point: Point) -> bool:
    near = wish.near_km <= geodesic_m(point, build) / 1000 <= wish.far_km
    return near and all(geodesic_m(point, other) > wish.apart_m for other in found)


def _read(roads: Path) -> tuple[dict[str, Point], RoadNetwork]:
    centres: dict[str, Point] = {}
    contents = read_osm(roads)
    for node in osmium.FileProcessor(str(roads), osmium.osm.NODE):
        if isinstance(node, osmium.osm.Node) and "place" in node.tags:
            centres[node.tags["name"]] = Point(node.location.lat, node.location.lon)
    facts = NetworkFacts("demo", "", roads.name, "", DEFAULT_VEHICLE)
    return centres, RoadNetwork(prepare(contents.ways()).arrays, facts)


def _beside(
    network: RoadNetwork,
    random: np.random.Generator,
    classes: Sequence[str],
    fits: Callable[[Point], bool],
) -> Point:
    arrays = network.arrays
    usable = np.repeat(network.view.attached, np.diff(arrays.offsets))
    lat, lon = arrays.lat[usable], arrays.lon[usable]
    wanted = {ROAD_CLASSES.index(name) for name in classes}
    while True:
        at = int(random.random() * len(lat))
        aside = (random.random(2) - 0.5) * 2 * (0.0006, 0.0009)
        point = Point(
            round(float(lat[at] + aside[0]), 5),
            round(float(lon[at] + aside[1]), 5),
        )
        if not fits(point):
            continue
        try:
            snap = network.snap(point, 80.0)
        except Refused:
            continue
        if snap.distance_m >= 10 and int(arrays.road_class[snap.road]) in wanted:
            return point


def _as_json(
    network: RoadNetwork,
    centres: dict[str, Point],
    wish: Wish,
    point: Point,
    metres: float,
) -> dict[str, str | float]:
    snap = network.snap(point)
    nearest = min(centres, key=lambda name: geodesic_m(point, centres[name]))
    return {
        "key": wish.key,
        "role": wish.role,
        "name": f"{wish.name}, {nearest}",
        "lat": point.lat,
        "lon": point.lon,
        "off_road_m": round(snap.distance_m),
        "road_class": ROAD_CLASSES[int(network.arrays.road_class[snap.road])],
        "road_km": round(metres / 1000, 1),
    }
