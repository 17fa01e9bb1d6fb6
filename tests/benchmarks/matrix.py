"""Road distance tables: ours against networkx, in one run on the same network.

    python -m tests.benchmarks.matrix [--side 331] [--places 40] [--rivals 4]

networkx runs one search per place for a few of the places, since it is slow; its time for
all of them is scaled up. Three of its functions are timed: one that only finds seconds, one
that also keeps predecessors, which is what metres along the way need, and the usual one,
which lists the path to each node.
"""

from __future__ import annotations

import argparse
import datetime
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TypeVar

import networkx as nx
import numpy as np

from logistics.domain.places import Point
from logistics.domain.roads.building import Ways, prepare
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import NetworkFacts, RoadNetwork
from logistics.domain.roads.tags import ROAD_CLASSES
from logistics.services.road_import import import_roads
from logistics.services.road_store import open_network, save_network

DEMO = Path(__file__).resolve().parents[2] / "demo_fixtures" / "roads.osm.pbf"
WANTED_RATIO = 20.0
RIVALS = (
    "single_source_dijkstra_path_length",
    "dijkstra_predecessor_and_distance",
    "single_source_dijkstra",
)

T = TypeVar("T")


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def grid_ways(side: int, seed: int) -> Ways:
    """A jittered grid of side * side junctions about 300 m apart, one street in seven missing.

    Each street has a bend; one in ten is one-way.
    """
    random = np.random.default_rng(seed)
    row, column = np.divmod(np.arange(side * side), side)
    lat = 46 + row * 0.0027 + random.uniform(-6e-4, 6e-4, side * side)
    lon = 3 + column * 0.0039 + random.uniform(-8e-4, 8e-4, side * side)
    number = np.arange(side * side).reshape(side, side)
    across = np.stack([number[:, :-1].ravel(), number[:, 1:].ravel()], axis=1)
    upward = np.stack([number[:-1].ravel(), number[1:].ravel()], axis=1)
    streets = np.concatenate([across, upward])
    streets = streets[random.random(len(streets)) > 1 / 7]
    bends = side * side + np.arange(len(streets))
    refs = np.stack([streets[:, 0], bends, streets[:, 1]], axis=1)
    middle_lat = lat[streets].mean(axis=1) + random.uniform(-3e-4, 3e-4, len(streets))
    middle_lon = lon[streets].mean(axis=1) + random.uniform(-4e-4, 4e-4, len(streets))
    all_lat = np.concatenate([lat, middle_lat])
    all_lon = np.concatenate([lon, middle_lon])
    kmh = random.choice([25.0, 35.0, 45.0, 60.0], len(streets))
    oneway = random.random(len(streets)) < 0.1
    flat = refs.ravel().astype(np.int64)
    return Ways(
        refs=flat,
        lat=all_lat[flat],
        lon=all_lon[flat],
        offsets=np.arange(len(streets) + 1, dtype=np.int64) * 3,
        forward_kmh=kmh,
        backward_kmh=np.where(oneway, np.nan, kmh),
        crossing_s=np.full(len(streets), np.nan),
        road_class=np.full(
            len(streets), ROAD_CLASSES.index("unclassified"), dtype=np.uint8
        ),
        may_stop=np.ones(len(streets), dtype=np.bool_),
    )


def grid_network(root: Path, side: int, seed: int) -> RoadNetwork:
    """The grid, prepared, stored and opened like an imported network."""
    prepared = prepare(grid_ways(side, seed))
    facts = NetworkFacts("grid", "2026-01-01", "grid", "invented", HeavyVehicle())
    save_network(root, "grid", RoadNetwork(prepared.arrays, facts))
    return timed("open the grid", lambda: open_network(root, "grid"))[0]


def timed(what: str, work: Callable[[], T]) -> tuple[T, float]:
    """Run once, print and return the time."""
    start = time.perf_counter()
    result = work()
    seconds = time.perf_counter() - start
    say(f"  {what}: {seconds * 1000:.1f} ms")
    return result, seconds


def scattered(network: RoadNetwork, count: int, seed: int) -> list[Point]:
    """Places some metres off random junctions."""
    random = np.random.default_rng(seed)
    arrays = network.arrays
    chosen = random.choice(arrays.nodes, count, replace=False)
    off = random.normal(0, 2e-4, (count, 2))
    return [
        Point(float(arrays.node_lat[node] + dy), float(arrays.node_lon[node] + dx))
        for node, (dy, dx) in zip(chosen, off, strict=True)
    ]


def compare(network: RoadNetwork, places: int, rivals: int) -> float:
    """Print the times of both; how many times faster the table is."""
    points = scattered(network, places, seed=7)
    timed("snap one place", lambda: network.snap(points[0]))
    timed("first table", lambda: network.table(points))
    times = [timed("table", lambda: network.table(points))[1] for _ in range(3)]
    ours = statistics.median(times)
    graph, _ = timed("networkx graph", lambda: network.graph)
    sources = [
        int(network.arrays.road_from[network.snap(point).road])
        for point in points[:rivals]
    ]
    ratios = {}
    for name in RIVALS:
        search: Callable[..., object] = getattr(nx, name)
        _, took = timed(
            f"networkx {name}, {len(sources)} places",
            partial(_search_all, search, graph, sources),
        )
        ratios[name] = took * places / len(sources) / ours
    for name, ratio in ratios.items():
        say(f"  {places} places: {ratio:.0f} times faster than networkx {name}")
    timed("one route with its line", lambda: network.route(points[0], points[1]))
    timed("outline", network.outline)
    return ratios["single_source_dijkstra"]


def _search_all(
    search: Callable[..., object], graph: nx.DiGraph[int], sources: list[int]
) -> None:
    for source in sources:
        search(graph, source, weight="seconds")


def main() -> int:
    """Exit status 1 when the bigger network is not fast enough."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--side", type=int, default=331)
    parser.add_argument("--places", type=int, default=40)
    parser.add_argument("--rivals", type=int, default=4)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        moment = datetime.datetime.now(datetime.UTC)
        import_roads(file=DEMO, name="demo", root=root, moment=moment)
        demo = open_network(root, "demo")
        say(f"demo: {demo.arrays.nodes} junctions, {demo.view.arcs} arcs")
        compare(demo, given.places, given.rivals)
        grid = grid_network(root, given.side, seed=1)
        say(f"grid: {grid.arrays.nodes} junctions, {grid.view.arcs} arcs")
        ratio = compare(grid, given.places, given.rivals)
    say(f"wanted on the grid: {WANTED_RATIO:.0f} times, got {ratio:.0f}")
    return 0 if ratio >= WANTED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
