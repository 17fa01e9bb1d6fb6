"""Road distance tables: ours against other libraries, in one run on the same network.

    python -m tests.benchmarks.matrix [--side 331] [--wide 560] [--places 40] [--rivals 2]

Networks: the demo's, a grid of --side * --side junctions and one of --wide * --wide, which
has about a million arcs. Rivals search the whole graph from every place: SciPy's compiled
Dijkstra with predecessors and without, igraph (distances alone), rustworkx where it is
installed, and networkx for a few of the places, its time for all of them scaled up: one of
its functions only finds seconds, one also keeps predecessors, which is what metres along the
way need, and the usual one lists the path to each node. The figures of the table are held
against SciPy's in the same run.
"""

from __future__ import annotations

import argparse
import datetime
import importlib
import importlib.util
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TypeVar

import igraph
import networkx as nx
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from logistics.domain.places import Point
from logistics.domain.roads.building import Ways, prepare
from logistics.domain.roads.limits import HeavyVehicle
from logistics.domain.roads.network import (
    ACCESS_KMH,
    Ground,
    Made,
    NetworkFacts,
    RoadNetwork,
)
from logistics.domain.roads.tags import ROAD_CLASSES
from logistics.domain.roads.views import ViewArrays
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
    ways = grid_ways(side, seed)
    prepared, _ = timed("split and connect", lambda: prepare(ways))
    facts = NetworkFacts("grid", "2026-01-01", "grid", "invented", HeavyVehicle())
    made = RoadNetwork(prepared.arrays, facts)
    timed("graph and hierarchy", lambda: made.view)
    save_network(root, "grid", made)
    return timed("open", lambda: open_network(root, "grid"))[0]


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
    """Print the times of all; how many times faster than networkx the table is."""
    view, hierarchy = network.graphs
    say(
        f"  {network.arrays.nodes} junctions, {view.arcs} arcs; "
        f"core of {len(hierarchy.core)} nodes, {len(hierarchy.core_arcs)} arcs"
    )
    points = scattered(network, places, seed=7)
    timed("snap one place", lambda: network.snap(points[0]))
    timed("first table", lambda: network.table(points))
    times = [_table_s(network, points) for _ in range(3)]
    ours = statistics.median(times)
    timed("the same table again", lambda: network.table(points))
    sources = [
        view.at(int(network.arrays.road_from[network.snap(point).road]))[0]
        for point in points
    ]
    took = compiled(view, sources) | python(network, sources[:rivals], places)
    _hold(network, points)
    for name, seconds in took.items():
        say(f"  {places} places: {seconds / ours:.1f} times faster than {name}")
    timed("one route with its line", lambda: network.route(points[0], points[1]))
    timed("outline", network.outline)
    return took[f"networkx {RIVALS[-1]}"] / ours


def _table_s(network: RoadNetwork, points: list[Point]) -> float:
    """The time of a table of places that were snapped before, but not in a table."""

    def keep(_key: str, _make: Callable[[], Made]) -> Made:
        return network.graphs

    ground = Ground(network.arrays, keep)
    own = RoadNetwork(network.arrays, network.facts, ground=ground)
    for point in points:
        own.snap(point)
    return timed("table", lambda: own.table(points))[1]


def compiled(view: ViewArrays, sources: list[int]) -> dict[str, float]:
    """Seconds that compiled libraries take for all sources."""
    graph = graph_in_scipy(view)
    tails = np.repeat(np.arange(view.nodes), np.diff(view.indptr))
    arcs = np.stack([tails, view.indices], axis=1)
    other = igraph.Graph(n=view.nodes, edges=arcs, directed=True)
    weights = view.seconds.tolist()
    works: dict[str, Callable[[], object]] = {
        "SciPy with predecessors": lambda: [
            dijkstra(graph, indices=np.array([own]), return_predecessors=True)
            for own in sources
        ],
        "SciPy, seconds only": lambda: [
            dijkstra(graph, indices=np.array([own])) for own in sources
        ],
        "igraph, seconds only": lambda: other.distances(
            sources, sources, weights=weights, mode="out"
        ),
    }
    if importlib.util.find_spec("rustworkx"):
        works["rustworkx, seconds only"] = _rustworkx(view, arcs, sources)
    return {name: timed(name, work)[1] for name, work in works.items()}


def graph_in_scipy(view: ViewArrays) -> csr_array:
    """The whole graph of a view, without its hierarchy."""
    return csr_array(
        (view.seconds, view.indices, view.indptr), shape=(view.nodes, view.nodes)
    )


def _rustworkx(
    view: ViewArrays, arcs: NDArray[np.int64], sources: list[int]
) -> Callable[[], object]:
    library = importlib.import_module("rustworkx")
    graph = library.PyDiGraph()
    graph.add_nodes_from(range(view.nodes))
    triples = zip(*arcs.T.tolist(), view.seconds.tolist(), strict=True)
    graph.add_edges_from(list(triples))
    return lambda: [
        library.dijkstra_shortest_path_lengths(graph, own, float) for own in sources
    ]


def python(network: RoadNetwork, sources: list[int], places: int) -> dict[str, float]:
    """Seconds that networkx would take for all places."""
    graph, _ = timed("networkx graph", lambda: network.graph)
    took = {}
    for name in RIVALS:
        search: Callable[..., object] = getattr(nx, name)
        _, seconds = timed(
            f"networkx {name}, {len(sources)} places",
            partial(_search_all, search, graph, sources),
        )
        took[f"networkx {name}"] = seconds * places / len(sources)
    return took


def _search_all(
    search: Callable[..., object], graph: nx.DiGraph[int], sources: list[int]
) -> None:
    for source in sources:
        search(graph, source, weight="seconds")


def _hold(network: RoadNetwork, points: list[Point]) -> None:
    """Between junctions the table must have SciPy's seconds."""
    view, arrays = network.view, network.arrays
    nodes = [int(arrays.road_from[network.snap(point).road]) for point in points[:12]]
    places = [
        Point(float(arrays.node_lat[node]), float(arrays.node_lon[node]))
        for node in nodes
    ]
    at = [view.at(node)[0] for node in nodes]
    plain = dijkstra(graph_in_scipy(view), indices=np.array(at))[:, at]
    access = np.array([network.snap(place).distance_m for place in places])
    plain += (access[:, None] + access[None, :]) * (3.6 / ACCESS_KMH)
    np.fill_diagonal(plain, 0.0)
    wrong = network.table(places).seconds != np.ceil(np.round(plain, 6))
    say(f"  of {plain.size} pairs of junctions {int(wrong.sum())} differ from SciPy")


def main() -> int:
    """Exit status 1 when the bigger network is not fast enough."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--side", type=int, default=331)
    parser.add_argument("--wide", type=int, default=560)
    parser.add_argument("--places", type=int, default=40)
    parser.add_argument("--rivals", type=int, default=2)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        moment = datetime.datetime.now(datetime.UTC)
        import_roads(file=DEMO, name="demo", root=root, moment=moment)
        say("demo")
        compare(open_network(root, "demo"), given.places, given.rivals)
        ratio = 0.0
        for name, side in (("grid", given.side), ("wide grid", given.wide)):
            say(name)
            network = grid_network(root, side, seed=1)
            ratio = compare(network, given.places, given.rivals)
    say(f"wanted on the grid: {WANTED_RATIO:.0f} times, got {ratio:.0f}")
    return 0 if ratio >= WANTED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
