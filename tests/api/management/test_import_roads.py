"""The command line door to the road import."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from logistics.domain.places import Point
from logistics.services.road_store import open_network
from tests.osm_world import RING, ROAD, SQUARE, osm_xml, write_osm


@pytest.fixture
def root(tmp_path: Path, settings: Any) -> Path:
    settings.MARLPIT_NETWORK_ROOT = tmp_path / "networks"
    return tmp_path / "networks"


def run(*arguments: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    status = 0
    try:
        call_command("import_roads", *arguments, stdout=out, stderr=err)
    except SystemExit as leaving:
        status = int(str(leaving.code))
    return status, out.getvalue(), err.getvalue()


def test_a_good_file_becomes_the_default_network_and_is_reported(tmp_path, root):
    file = write_osm(tmp_path, osm_xml(SQUARE, [RING, ([1, 3], {**ROAD, "hgv": "no"})]))
    status, out, err = run(str(file))
    assert (status, err) == (0, "")
    assert "ways read 2, kept 1" in out
    assert "closed to trucks" in out
    assert "OpenStreetMap contributors" in out
    network = open_network(root, "default")
    assert network.snap(Point(46.0, 3.0)).distance_m == 0


def test_name_ferries_and_weight_are_taken_from_the_command_line(tmp_path, root):
    nodes = {1: (46.0, 3.0), 2: (46.01, 3.0), 3: (46.02, 3.0), 4: (46.03, 3.0)}
    light = {**ROAD, "maxweight": "12"}
    ways = [([1, 2], ROAD), ([2, 3], {"route": "ferry"}), ([3, 4], light)]
    file = write_osm(tmp_path, osm_xml(nodes, ways))
    status, out, _ = run(str(file), "--name", "lake", "--ferries", "--gross-t", "12")
    assert status == 0
    assert "Network 'lake'" in out
    network = open_network(root, "lake")
    assert network.arrays.nodes == 4
    assert network.facts.ferries
    assert network.facts.vehicle.gross_t == 12


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("absent.osm.pbf",), "file_missing"),
        (("absent.txt",), "wrong_suffix"),
        (("absent.osm.pbf", "--name", "../x"), "network_name"),
        (("absent.osm.pbf", "--gross-t", "-1"), "vehicle_size_not_positive"),
    ],
)
def test_a_refusal_goes_to_stderr_with_exit_status_two(root, arguments, code):
    status, out, err = run(*arguments)
    assert (status, out) == (2, "")
    assert err.startswith(f"{code}: ")
    assert not root.exists()


def test_a_place_that_cannot_be_written_is_told_and_not_a_traceback(tmp_path, settings):
    blocker = tmp_path / "a file, not a folder"
    blocker.write_text("")
    settings.MARLPIT_NETWORK_ROOT = blocker
    file = write_osm(tmp_path, osm_xml(SQUARE, [RING]))
    status, _, err = run(str(file))
    assert status == 2
    assert err.startswith("not_written: ")


def test_the_file_must_be_named():
    with pytest.raises(CommandError):
        call_command("import_roads")
