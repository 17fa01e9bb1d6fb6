"""Networks on disk: replaced at one stroke, never half there, refused when damaged."""

from __future__ import annotations

import datetime
import fcntl
import json
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from logistics.domain.errors import Refused
from logistics.domain.places import Point
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import RoadNetwork
from logistics.services import road_store
from logistics.services.road_import import import_roads
from logistics.services.road_store import open_network
from tests.osm_world import (
    MOMENT,
    RING,
    ROAD,
    SQUARE,
    import_file,
    imported,
    osm_xml,
    refused,
    write_osm,
)

Damage = Callable[[Path], object]
Array = NDArray[Any]


@pytest.mark.parametrize("name", ["", "..", "a/b", "Upper", "-x", "x" * 41, "a b"])
def test_a_name_that_is_no_folder_name_is_refused(tmp_path, name):
    file = write_osm(tmp_path, osm_xml(SQUARE, [RING]))
    root = tmp_path / "networks"
    code = refused(lambda: import_roads(file=file, name=name, root=root, moment=MOMENT))
    assert code == "network_name"
    assert refused(lambda: open_network(root, name)) == "network_name"


def test_opening_a_network_that_was_never_imported_says_how_to_import(tmp_path):
    with pytest.raises(Refused) as refusal:
        open_network(tmp_path, "demo")
    problem = refusal.value.problems[0]
    assert problem.code == "network_missing"
    assert "manage.py import_roads FILE" in problem.remedy


def test_a_second_import_is_picked_up_and_the_old_arrays_are_gone(tmp_path):
    _, first = imported(tmp_path, osm_xml(SQUARE, [RING]))
    root = tmp_path / "networks"
    assert open_network(root, "world") is first
    _, second = imported(tmp_path, osm_xml(SQUARE, [RING, ([1, 3], ROAD)]))
    assert second is not first
    assert second.arrays.roads == 3
    assert len(list((root / "world").glob("arrays-*"))) == 1
    # A reader that still holds the old network can go on with it.
    assert first.table([Point(46.0, 3.0), Point(46.01, 3.0)]).metres[0, 1] > 1_000


def test_a_refused_import_leaves_the_network_as_it_was(tmp_path):
    _, before = imported(tmp_path, osm_xml(SQUARE, [RING]))
    file = write_osm(tmp_path, "<osm", "broken.osm")
    assert refused(lambda: import_file(file)) == "not_osm"
    assert open_network(tmp_path / "networks", "world") is before


def test_a_write_that_fails_halfway_leaves_nothing_behind(tmp_path, monkeypatch):
    _, before = imported(tmp_path, osm_xml(SQUARE, [RING]))
    folder = tmp_path / "networks" / "world"
    listing = sorted(path.name for path in folder.iterdir())
    real, calls = np.save, []

    def full_disk(*args, **options):
        calls.append(args)
        if len(calls) > 5:
            raise OSError(28, "No space left on device")
        real(*args, **options)

    monkeypatch.setattr(np, "save", full_disk)
    with pytest.raises(OSError, match="No space left"):
        import_file(write_osm(tmp_path, osm_xml(SQUARE, [RING])))
    assert sorted(path.name for path in folder.iterdir()) == listing
    assert open_network(tmp_path / "networks", "world") is before


def test_what_a_killed_import_left_is_cleared_by_the_next(tmp_path):
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    stale = tmp_path / "networks" / "world" / "arrays-stale"
    stale.mkdir()
    (stale / "node_lat.npy").write_bytes(b"half")
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    assert not stale.exists()


def test_two_imports_of_one_name_at_a_time_are_refused(tmp_path):
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    with (tmp_path / "networks" / "world" / ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        code = refused(lambda: imported(tmp_path, osm_xml(SQUARE, [RING])))
    assert code == "import_running"


def rewrite(field: str, change: Callable[[Array], Array]) -> Damage:
    def damage(folder: Path) -> None:
        file = arrays_of(folder) / f"{field}.npy"
        np.save(file, change(np.load(file)))

    return damage


def arrays_of(folder: Path) -> Path:
    return folder / str(json.loads((folder / "meta.json").read_text())["arrays"])


def cut_off(folder: Path) -> None:
    file = arrays_of(folder) / "road_forward_s.npy"
    file.write_bytes(file.read_bytes()[:-8])


def edit_meta(change: Callable[[dict[str, Any]], object]) -> Damage:
    def damage(folder: Path) -> None:
        meta = json.loads((folder / "meta.json").read_text())
        change(meta)
        (folder / "meta.json").write_text(json.dumps(meta))

    return damage


DAMAGES: dict[str, Damage] = {
    "array missing": lambda folder: (arrays_of(folder) / "road_forward_s.npy").unlink(),
    "array cut off": cut_off,
    "array of another length": rewrite("road_forward_s", lambda _: np.zeros(99)),
    "array of another kind": rewrite("road_forward_s", lambda a: a.astype(np.int64)),
    "arc to nowhere": rewrite("road_to", lambda a: a + np.int32(1_000)),
    "time that is none": rewrite("road_forward_s", lambda a: a * np.nan),
    "starts that do not fit": rewrite("offsets", lambda a: a + 1),
    "another format": edit_meta(lambda meta: meta.update(format=99)),
    "no facts": edit_meta(lambda meta: meta.pop("facts")),
    "no JSON": lambda folder: (folder / "meta.json").write_text("{"),
}


@pytest.mark.parametrize("how", DAMAGES)
def test_a_damaged_network_is_refused_with_the_way_out(tmp_path, how):
    imported(tmp_path, osm_xml(SQUARE, [RING, ([1, 3], ROAD)]))
    root = tmp_path / "networks"
    DAMAGES[how](root / "world")
    # A later moment, as if the damage had been there when a worker started.
    later = (root / "world" / "meta.json").stat().st_mtime_ns + 1_000_000
    os.utime(root / "world" / "meta.json", ns=(later, later))
    with pytest.raises(Refused) as refusal:
        open_network(root, "world")
    problem = refusal.value.problems[0]
    assert problem.code == "network_damaged"
    assert "import_roads" in problem.remedy


def test_the_network_remembers_its_vehicle_and_its_moment(tmp_path):
    file = write_osm(tmp_path, osm_xml(SQUARE, [RING]))
    moment = datetime.datetime(2026, 5, 4, 3, 2, 1, tzinfo=datetime.UTC)
    import_roads(
        file=file,
        name="small",
        root=tmp_path,
        moment=moment,
        vehicle=HeavyVehicle(gross_t=7.5),
    )
    network = open_network(tmp_path, "small")
    assert network.facts.vehicle == HeavyVehicle(gross_t=7.5)
    assert network.facts.imported_at == "2026-05-04T03:02:01+00:00"
    assert "imported 2026-05-04" in network.basis
    assert "7.5 t" in network.basis


def view_of(root: Path, vehicle: HeavyVehicle) -> Path:
    """The folder in which the graph for a vehicle is kept."""
    network = open_network(root, "world").for_vehicle(vehicle)
    return next((root / "world").glob(f"arrays-*/view-{network.key}"))


LIGHT = HeavyVehicle(gross_t=3.5)
CUT = ([1, 3], {**ROAD, "maxweight": "7.5"})


def reopened(root: Path) -> RoadNetwork:
    """As another worker would open it."""
    road_store._open.cache_clear()
    return open_network(root, "world")


def test_the_graph_of_a_truck_is_kept_beside_the_network_for_all_workers(tmp_path):
    # property: made once, then read from the disk with the same figures
    _, network = imported(tmp_path, osm_xml(SQUARE, [RING, CUT]))
    root = tmp_path / "networks"
    points = [Point(46.0, 3.0), Point(46.01, 3.01)]
    first = network.for_vehicle(LIGHT).table(points)
    made = view_of(root, LIGHT)
    stamp = made.stat().st_mtime_ns
    again = reopened(root).for_vehicle(LIGHT)
    assert (again.table(points).seconds == first.seconds).all()
    assert made.stat().st_mtime_ns == stamp
    assert isinstance(again.view.seconds.base, np.memmap)
    assert len(list(made.parent.glob("view-*"))) == 2
    assert not list(made.parent.glob("draft-*"))


@pytest.mark.parametrize("file", ["seconds.npy", "hierarchy/head.npy", "lengths.json"])
@pytest.mark.parametrize("how", ["missing", "cut off"])
def test_a_damaged_graph_of_a_truck_is_made_anew(tmp_path, file, how):
    # property: it is a copy of what follows from the network
    imported(tmp_path, osm_xml(SQUARE, [RING, CUT]))
    root = tmp_path / "networks"
    points = [Point(46.0, 3.0), Point(46.01, 3.01)]
    whole = reopened(root).for_vehicle(LIGHT).table(points)
    damaged = view_of(root, LIGHT) / file
    if how == "missing":
        damaged.unlink()
    else:
        damaged.write_bytes(damaged.read_bytes()[:-8])
    again = reopened(root).for_vehicle(LIGHT).table(points)
    assert (again.seconds == whole.seconds).all()


def test_a_folder_that_cannot_be_written_to_costs_only_the_sharing(
    tmp_path, monkeypatch
):
    # property: a web worker may have no right to write there
    imported(tmp_path, osm_xml(SQUARE, [RING, CUT]))
    root = tmp_path / "networks"

    def forbidden(*_args: object, **_options: object) -> str:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(tempfile, "mkdtemp", forbidden)
    network = reopened(root).for_vehicle(LIGHT)
    assert network.table([Point(46.0, 3.0), Point(46.01, 3.01)]).reachable.all()
    assert len(list((root / "world").glob("arrays-*/view-*"))) == 1


def test_a_network_of_the_format_before_says_to_import_it_anew(tmp_path):
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    root = tmp_path / "networks"
    edit_meta(lambda meta: meta.update(format=1))(root / "world")
    road_store._open.cache_clear()
    with pytest.raises(Refused) as refusal:
        open_network(root, "world")
    problem = refusal.value.problems[0]
    assert "it has format 1, not 2" in problem.message
    assert "Import it again: manage.py import_roads FILE --name world" in problem.remedy
