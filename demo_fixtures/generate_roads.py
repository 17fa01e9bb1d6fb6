"""Draw the invented country of Aldermoor and write its roads and places.

    python -m demo_fixtures.generate_roads

writes `roads.osm.pbf` and `places.json` beside this file. Nothing on this map exists: a
plain of 40 by 30 km with a market town, villages with street grids, hamlets, county roads
between them, a trunk road with separate carriageways and three interchanges, a river with
few bridges (one of them weak), farm tracks, and things that trucks cannot use. The same
seed gives the same map.
"""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from demo_fixtures.canvas import Canvas, Line, Spot
from demo_fixtures.generate_places import choose_places
from demo_fixtures.settlements import RESIDENTIAL, Settlement, draw_grid, gate, nearest

HERE = Path(__file__).resolve().parent
TITLE = "Invented map of the Aldermoor country; no place on it exists"
SEED = 46
WIDE_KM, HIGH_KM = 40.0, 30.0
VILLAGES = (
    *("Sallowby", "Brindlewick", "Tarrenholt", "Ossingfen", "Merlicote", "Quenby Hay"),
    *("Hobbleton", "Fennimoor", "Garrowdale", "Yarlsey", "Pottersfold", "Withymere"),
    *("Cressing Dun", "Lapwold", "Nethershaw", "Rushpool", "Skellby", "Thistlecombe"),
    *("Umberleaze", "Vixenden", "Larkrow", "Ibbotsham"),
)
BIG = 5  # so many of the villages are large
HAMLET_STARTS = (
    "Ash",
    "Bram",
    "Cold",
    "Dun",
    "Elm",
    "Fern",
    "Gors",
    "Hay",
    "Ivel",
    "Knap",
)
HAMLET_ENDS = ("barrow", "stead", "fold", "hanger", "mere End")
BRIDGES = {4.5: "tertiary", 18.3: "primary", 21.6: "unclassified", 26.5: "tertiary"}
WEAK_BRIDGE = 21.6
INTERCHANGES_KM = (7.5, 17.0, 31.0)
GATE_SWAY = 0.05


def river_at(y: float) -> float:
    """East of the corner, where the river is at that height."""
    return 21.0 + 1.1 * math.sin(y / 3.1) + 0.5 * math.sin(y / 1.1)


def trunk_at(x: float) -> float:
    """North of the corner, where the middle of the trunk road is."""
    return 6.0 + 0.22 * x + 0.7 * math.sin(x / 6.0)


def draw() -> Canvas:
    """The whole country."""
    canvas = Canvas(np.random.default_rng(SEED))
    river = canvas.line(
        [canvas.node((river_at(y), y)) for y in np.arange(0, HIGH_KM + 0.1, 0.25)],
        {"waterway": "river", "name": "River Sallow"},
        joins=False,
    )
    roundabouts = draw_trunk(canvas)
    settlements = draw_settlements(canvas)
    draw_bridges(canvas, settlements)
    for x, y, arm in roundabouts:
        side = [
            s
            for s in settlements
            if (s.centre[1] > trunk_at(s.centre[0])) == (y > trunk_at(x))
        ]
        target = nearest([s for s in side if s.rank < 3], (x, y), river, canvas)
        canvas.road(
            arm, gate(canvas, target, (x, y)), {"highway": "secondary"}, sway=GATE_SWAY
        )
    draw_county_roads(canvas, settlements, river)
    county = [line for line in canvas.lines if is_county(line)]
    draw_lanes(canvas, county, river)
    draw_tracks(canvas, county)
    draw_oddities(canvas, settlements, county)
    return canvas


def is_county(line: Line) -> bool:
    """Whether this is a road across country, not a street or a bridge."""
    classes = {"secondary", "tertiary", "unclassified"}
    return line.tags.get("highway") in classes and len(line.nodes) > 6


def draw_trunk(canvas: Canvas) -> list[tuple[float, float, int]]:
    """Two carriageways and the interchanges; an arm to join at each roundabout."""
    stations = sorted(
        {round(0.5 * i, 2) for i in range(int(2 * WIDE_KM) + 1)}
        | {round(x + d, 2) for x in INTERCHANGES_KM for d in (-0.4, 0.4)}
    )
    tags = {"highway": "trunk", "oneway": "yes", "ref": "A 46", "lanes": "2"}
    east = {x: canvas.node((x, trunk_at(x) - 0.012)) for x in stations}
    west = {x: canvas.node((x, trunk_at(x) + 0.012)) for x in stations}
    limit = {"maxspeed": "90"}
    canvas.line([east[x] for x in stations], tags | limit, joins=False)
    canvas.line([west[x] for x in reversed(stations)], tags | limit, joins=False)
    arms = []
    for x in INTERCHANGES_KM:
        before, after = round(x - 0.4, 2), round(x + 0.4, 2)
        south = draw_roundabout(canvas, (x, trunk_at(x) - 0.14))
        north = draw_roundabout(canvas, (x, trunk_at(x) + 0.14))
        bridge = {"highway": "secondary", "bridge": "yes", "layer": "1"}
        canvas.line([south[2], north[6]], bridge, joins=False)
        for start, end in (
            (east[before], south[4]),
            (south[0], east[after]),
            (west[after], north[0]),
            (north[4], west[before]),
        ):
            link = {"highway": "trunk_link", "oneway": "yes", "ref": "A 46"}
            canvas.line([start, end], link, joins=False)
        arms += [(x, trunk_at(x) - 0.14, south[6]), (x, trunk_at(x) + 0.14, north[2])]
    return arms


def draw_roundabout(canvas: Canvas, centre: Spot) -> list[int]:
    """Eight nodes, counterclockwise from the east; traffic keeps to the right."""
    corners = [k * math.pi / 4 for k in range(8)]
    x, y = centre
    ring = [
        canvas.node((x + 0.025 * math.cos(a), y + 0.025 * math.sin(a))) for a in corners
    ]
    tags = {"highway": "secondary", "junction": "roundabout"}
    canvas.line([*ring, ring[0]], tags, joins=False)
    return ring


def draw_settlements(canvas: Canvas) -> list[Settlement]:
    """The town, the villages and the hamlets, each with its streets."""
    plans = [("Aldermoor", (17.0, 18.0), 0), (VILLAGES[0], (26.0, 15.5), 1)]
    for number, name in enumerate(VILLAGES[1:], start=1):
        rank = 1 if number < BIG else 2
        plans.append((name, free_spot(canvas, plans, 4.0), rank))
    for end in HAMLET_ENDS:
        for start in HAMLET_STARTS:
            plans.append((start + end, free_spot(canvas, plans, 1.8), 3))
    sizes = {0: (17, 15), 1: (9, 8), 2: (6, 5), 3: (3, 2)}
    settlements = []
    for name, centre, rank in plans:
        gates = draw_grid(canvas, centre, sizes[rank], rank)
        settlements.append(Settlement(name, centre, gates, rank))
        kind = ("town", "village", "village", "hamlet")[rank]
        canvas.node(centre, place=kind, name=name)
    return settlements


def free_spot(
    canvas: Canvas, plans: list[tuple[str, Spot, int]], apart_km: float
) -> Spot:
    """A random spot away from the others, the river, the trunk road and the edge."""
    while True:
        x, y = canvas.between(1.2, WIDE_KM - 1.2), canvas.between(1.2, HIGH_KM - 1.2)
        others = min(math.hypot(x - a, y - b) for _, (a, b), _ in plans)
        town = math.hypot(x - plans[0][1][0], y - plans[0][1][1])
        if (
            others > apart_km
            and town > 3.2
            and abs(x - river_at(y)) > 0.9
            and abs(y - trunk_at(x)) > 0.9
        ):
            return x, y


def draw_bridges(canvas: Canvas, settlements: list[Settlement]) -> None:
    """The few bridges, each with a road to the next settlement on either bank."""
    for y, road_class in BRIDGES.items():
        x = river_at(y)
        left, right = canvas.node((x - 0.06, y)), canvas.node((x + 0.06, y))
        tags = {"highway": road_class, "bridge": "yes", "layer": "1"}
        if y == WEAK_BRIDGE:
            tags |= {"maxweight": "7.5", "name": "Old Reed Bridge"}
        canvas.line([left, right], tags, joins=False)
        for end, sign in ((left, -1), (right, 1)):
            bank = [
                s
                for s in settlements
                if sign * (s.centre[0] - river_at(s.centre[1])) > 0
            ]
            target = min(bank, key=lambda s: math.dist(s.centre, (x, y)))
            canvas.road(
                end, gate(canvas, target, (x, y)), {"highway": road_class}, sway=0.03
            )


def draw_county_roads(
    canvas: Canvas, settlements: list[Settlement], river: Line
) -> None:
    """Main roads from village to village, then lesser ones that reach the hamlets too."""
    villages = [settlement for settlement in settlements if settlement.rank < 3]
    for one, two in neighbours(villages, 7.0):
        if not canvas.crosses([one.centre, two.centre], river):
            main = max(one.rank, two.rank) < 2 or one.rank == 0
            tags = {"highway": "secondary" if main else "tertiary"}
            if canvas.chance(0.5):
                tags["maxspeed"] = "80"
            join(canvas, one, two, tags)
    for one, two in neighbours(settlements, 4.5):
        hamlet = max(one.rank, two.rank) == 3
        if hamlet and not canvas.crosses([one.centre, two.centre], river):
            join(canvas, one, two, {"highway": "unclassified"})


def neighbours(
    settlements: list[Settlement], reach_km: float
) -> Iterator[tuple[Settlement, Settlement]]:
    """Pairs with no third settlement between them (the Gabriel graph)."""
    for one, two in itertools.combinations(settlements, 2):
        (x0, y0), (x1, y1) = one.centre, two.centre
        middle, reach = (
            ((x0 + x1) / 2, (y0 + y1) / 2),
            math.dist(one.centre, two.centre),
        )
        others = (s for s in settlements if s not in (one, two))
        empty = all(math.dist(other.centre, middle) >= reach / 2 for other in others)
        if empty and reach / 2 <= reach_km:
            yield one, two


def join(
    canvas: Canvas, one: Settlement, two: Settlement, tags: dict[str, str]
) -> None:
    """A road from gate to gate."""
    start, end = gate(canvas, one, two.centre), gate(canvas, two, one.centre)
    canvas.road(start, end, tags)


def draw_lanes(canvas: Canvas, county: list[Line], river: Line) -> None:
    """Narrow roads that cut across from one county road to another."""
    ends = [node for line in county for node in line.nodes[2:-2]]
    drawn = 0
    while drawn < 150:
        start, end = (ends[int(canvas.between(0, len(ends)))] for _ in range(2))
        a, b = canvas.spot(start), canvas.spot(end)
        if not 0.7 < math.dist(a, b) < 2.6 or canvas.crosses([a, b], river):
            continue
        tags = {"highway": "unclassified"}
        if canvas.chance(0.25):
            tags["surface"] = "gravel" if canvas.chance(0.5) else "compacted"
        canvas.road(start, end, tags, sway=0.05)
        drawn += 1


def draw_tracks(canvas: Canvas, county: list[Line]) -> None:
    """Dead-end tracks to fields and farmyards, of every grade, some of them closed."""
    starts = [node for line in county for node in line.nodes[2:-2]]
    for _ in range(420):
        start = starts[int(canvas.between(0, len(starts)))]
        x, y = canvas.spot(start)
        turn, far = canvas.between(0, 2 * math.pi), canvas.between(0.15, 0.7)
        end = (x + far * math.cos(turn), y + far * math.sin(turn))
        if abs(end[0] - river_at(end[1])) < 0.2 or abs(end[1] - trunk_at(end[0])) < 0.2:
            continue
        tags = {
            "highway": "track",
            "tracktype": f"grade{1 + int(canvas.between(0, 5))}",
        }
        if canvas.chance(0.3):
            tags = {"highway": "service", "service": "driveway"}
        if canvas.chance(0.12):
            tags["access"] = "private" if canvas.chance(0.5) else "agricultural"
        canvas.road(start, canvas.node(end), tags, sway=0.1)


def draw_oddities(
    canvas: Canvas, settlements: list[Settlement], county: list[Line]
) -> None:
    """What an importer must leave out: footways, an island, works, a bollard, an area."""
    for settlement in settlements[:8]:
        first, second = settlement.gates[0], settlement.gates[-1]
        canvas.line([first, second], {"highway": "footway"}, joins=False)
    for line in county[:6]:
        a, b = line.nodes[1], line.nodes[4]
        canvas.line([a, b], {"highway": "path", "bicycle": "yes"}, joins=False)
    x, y = river_at(12.0) + 0.02, 12.0
    islet = [canvas.node((x + dx, y + dy)) for dx, dy in ((0, 0), (0.1, 0.2), (0, 0.4))]
    canvas.line(islet, {"highway": "unclassified", "name": "Eyot Lane"}, joins=False)
    shore = min(
        (node for line in county for node in line.nodes),
        key=lambda node: math.dist(canvas.spot(node), (x, y)),
    )
    ferry = {"route": "ferry", "duration": "00:06", "motor_vehicle": "yes"}
    canvas.line([shore, islet[0]], ferry, joins=False)
    town = settlements[0]
    works = {"highway": "construction", "construction": "secondary"}
    canvas.line([town.gates[0], town.gates[1]], works, joins=False)
    lane = {"highway": "unclassified", "oneway": "alternating", "lanes": "1"}
    canvas.line([county[9].nodes[3], county[9].nodes[5]], lane, joins=False)
    square = [
        canvas.node((town.centre[0] + dx, town.centre[1] + dy))
        for dx, dy in ((0, 0), (0.05, 0), (0.05, 0.05))
    ]
    area = {"highway": "pedestrian", "area": "yes"}
    canvas.line([*square, square[0]], area, joins=False)
    streets = [line for line in canvas.lines if line.tags == RESIDENTIAL]
    for line in streets[5:60:11]:
        canvas.node_tags[line.nodes[-1]] = {"barrier": "bollard"}


def main() -> None:
    """Write both files."""
    roads = HERE / "roads.osm.pbf"
    draw().write(roads, TITLE)
    places = choose_places(roads, SEED)
    (HERE / "places.json").write_text(
        json.dumps({"map": TITLE, "places": places}, indent=1, ensure_ascii=False)
        + "\n",
        encoding="utf-8",
    )


if __name__ == "__main__":
    main()
