"""A scenario in which one of two trucks may use a road that the other may not."""

from __future__ import annotations

import json
from pathlib import Path
from zoneinfo import ZoneInfo

from api.documents.answers import plan_document
from api.documents.plan_models import PlanAnswer
from api.documents.problems import read_document
from api.documents.scenario import ScenarioDoc
from api.documents.scenario_reading import read_scenario
from api.web.roads import routes_geojson
from logistics.services.distances import distances_for, own_distances_for
from logistics.services.road_store import open_network
from matching.domain.community import plan_community
from matching.domain.scenario import Scenario
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    needing,
    sand,
    tipper,
)
from tests.osm_world import ROAD, Way, imported, osm_xml

# A main road west to east, from its middle Mill Lane to the north, and a long way round
# from the lane's far end to the main road, which is not there in every test.
NODES = {1: (46.0, 2.99), 2: (46.0, 3.0), 3: (46.0, 3.01), 4: (46.01, 3.0)}
NODES |= {5: (46.02, 3.03)}
LANE = {**ROAD, "name": "Mill Lane", "maxweight": "7.5"}
MAIN, MILL, ROUND = ([1, 2, 3], ROAD), ([2, 4], LANE), ([3, 5, 4], ROAD)
WHERE = {"depot": (46.0, 2.992), "pit": (46.0, 3.008), "site": (46.01, 3.0)}
BIG = tipper("big", tare_kg=12_500)
LIGHT = tipper("light", tare_kg=3_000, payload_kg=3_000)


def world(folder: Path, *ways: Way) -> Path:
    imported(folder, osm_xml(NODES, ways))
    return folder / "networks"


def read(root: Path, *trucks: Doc) -> Scenario:
    doc = document(
        dict.fromkeys(WHERE, (0, 0)),
        offers=[sand("heap", "pit", 900)],
        builds=[build("hut", "site", needs=[needing("sand", 8)])],
        trucks=list(trucks),
        roads={"kind": "network", "name": "world"},
    )
    for place in doc["places"]:
        place["lat"], place["lon"] = WHERE[place["key"]]
    raw = json.dumps(doc).encode()
    return read_scenario(read_document(ScenarioDoc, raw), network_root=root)


def planned(root: Path, *trucks: Doc) -> PlanAnswer:
    scenario = read(root, *trucks)
    return plan_document(
        scenario,
        plan_community(scenario),
        name="small",
        currency="EUR",
        zone=ZoneInfo("Europe/Brussels"),
    )


def test_a_truck_that_may_use_another_road_has_distances_of_its_own(tmp_path):
    # 12.5 t empty are over 7.5 t; 3 t empty and 3 t of load are not.
    scenario = read(world(tmp_path, MAIN, MILL), BIG, LIGHT)
    assert set(scenario.own_ways) == {"light"}
    assert "limited to 7.5 t on Mill Lane" in scenario.distances.barred[2]
    assert not scenario.distances.reachable[1, 2]
    assert scenario.own_ways["light"].reachable.all()


def test_a_plan_drives_each_truck_on_its_own_roads_and_the_map_draws_them(tmp_path):
    root = world(tmp_path, MAIN, MILL, ROUND)
    light, big = planned(root, LIGHT), planned(root, BIG)
    assert light.shifts[0].vehicle == {"gross_t": 6.0}
    assert big.shifts[0].vehicle == {"gross_t": 22.5}
    assert max(own.leg_km for own in light.shifts[0].stops) < 2
    assert min(own.leg_km for own in big.shifts[0].stops[1:] if own.kind == "tip") > 4
    roads = open_network(root, "world")
    for answer, corner in ((light, [3.0, 46.0]), (big, [3.03, 46.02])):
        ways = routes_geojson(answer, roads)["features"]
        loaded = [own for own in ways if own["properties"]["loaded"]]
        assert loaded
        for own in loaded:
            assert corner in own["geometry"]["coordinates"][0]


def test_without_a_network_no_truck_has_ways_of_its_own(tmp_path):
    root = world(tmp_path, MAIN, MILL)
    scenario = read(root, BIG, LIGHT)
    points = [place.point for place in scenario.places]
    none = own_distances_for(
        points, scenario.trucks, network_root=tmp_path, network="absent"
    )
    assert none == {}
    own = own_distances_for(points, scenario.trucks, network_root=root, network="world")
    assert (own["light"].metres == scenario.own_ways["light"].metres).all()
    table = distances_for(points, network_root=root, network="world")
    assert table.barred == scenario.distances.barred
