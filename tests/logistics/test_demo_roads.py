"""The invented map in demo_fixtures/ is what its generator draws, and is of use."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import osmium
import pytest

from demo_fixtures.generate_places import choose_places
from demo_fixtures.generate_roads import SEED, TITLE, draw
from logistics.domain.places import Point
from logistics.domain.roads.network import RoadNetwork
from logistics.services.road_import import ImportReport, import_roads
from logistics.services.road_store import open_network
from tests.osm_world import MOMENT

DEMO = Path(__file__).resolve().parents[2] / "demo_fixtures"
ROADS = DEMO / "roads.osm.pbf"


def things_in(file: Path) -> Iterator[tuple[object, ...]]:
    for thing in osmium.FileProcessor(str(file)):
        tags = dict(thing.tags)
        if isinstance(thing, osmium.osm.Node):
            yield thing.id, thing.location.lat, thing.location.lon, tags
        elif isinstance(thing, osmium.osm.Way):
            yield thing.id, [node.ref for node in thing.nodes], tags


@pytest.fixture(scope="module")
def demo(
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[ImportReport, RoadNetwork]:
    root = tmp_path_factory.mktemp("networks")
    report = import_roads(file=ROADS, name="demo", root=root, moment=MOMENT)
    return report, open_network(root, "demo")


@pytest.mark.slow
def test_the_map_and_its_places_are_what_the_generator_draws(tmp_path):
    # property: same seed, same map
    file = tmp_path / "again.osm.pbf"
    draw().write(file, TITLE)
    assert list(things_in(file)) == list(things_in(ROADS))
    stored = json.loads((DEMO / "places.json").read_text(encoding="utf-8"))
    assert choose_places(file, SEED) == stored["places"]


def test_the_map_is_small_to_ship_and_large_enough_to_plan_on(demo):
    # what the scenario asks for
    report, network = demo
    assert ROADS.stat().st_size < 700_000
    assert 2_500 < report.nodes < 3_500
    box = network.extent
    corner, east = Point(box.south, box.west), Point(box.south, box.east)
    north = Point(box.north, box.west)
    table = network.table([corner, east, north], limit_m=20_000)
    assert table.metres.max() > 35_000


def test_the_map_gives_the_importer_something_to_leave_out_for_every_cause(demo):
    report, _ = demo
    reasons = {reason for reason, _, _ in report.left_out}
    assert reasons >= {
        "no_access",
        "not_for_trucks",
        "weight_limit",
        "ferry",
        "alternating",
        "not_built",
    }
    assert report.losses.components > 1
    assert report.barriers > 0


def test_the_map_names_itself_as_invented(demo):
    _, network = demo
    assert network.facts.attribution == TITLE


def test_every_place_is_a_short_way_off_a_road_of_its_kind(demo):
    _, network = demo
    places = json.loads((DEMO / "places.json").read_text(encoding="utf-8"))["places"]
    roles = [place["role"] for place in places]
    assert {role: roles.count(role) for role in sorted(set(roles))} == {
        "build": 1,
        "depot": 2,
        "farm": 4,
        "plot": 3,
        "sand": 2,
        "spoil": 10,
    }
    points = [Point(place["lat"], place["lon"]) for place in places]
    for point in points:
        assert 10 <= network.snap(point).distance_m <= 80
    table = network.table(points)
    for place, metres in zip(places, table.metres[0].tolist(), strict=True):
        assert place["road_km"] == round(metres / 1000, 1)
