"""An empty plain on which `generate_roads` draws, and its file form.

Positions are kilometres east and north of the plain's south-western corner.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import osmium
from numpy.typing import NDArray
from osmium.osm import mutable

Spot = tuple[float, float]

SOUTH, WEST = 46.465, 2.94
KM_PER_LAT, KM_PER_LON = 111.16, 76.69
STEP_KM = 0.16


@dataclass
class Line:
    """A way to be: its nodes, its tags, its extent, and whether others join it."""

    nodes: list[int]
    tags: dict[str, str]
    box: tuple[float, float, float, float]
    joins: bool = True

    def meets(self, other: Line) -> bool:
        """Whether the extents overlap, without which two lines cannot cross."""
        west, south, east, north = self.box
        w, s, e, n = other.box
        return west <= e and w <= east and south <= n and s <= north


@dataclass
class Canvas:
    """Nodes, numbered from 1, and lines between them."""

    random: np.random.Generator
    spots: list[Spot] = field(default_factory=list)
    node_tags: dict[int, dict[str, str]] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)

    def node(self, spot: Spot, **tags: str) -> int:
        self.spots.append(spot)
        if tags:
            self.node_tags[len(self.spots)] = tags
        return len(self.spots)

    def spot(self, node: int) -> Spot:
        return self.spots[node - 1]

    def line(
        self, nodes: list[int], tags: dict[str, str], *, joins: bool = True
    ) -> Line:
        x, y = zip(*(self.spot(node) for node in nodes), strict=True)
        box = (min(x), min(y), max(x), max(y))
        self.lines.append(Line(nodes, tags, box, joins))
        return self.lines[-1]

    def between(self, low: float, high: float) -> float:
        return low + (high - low) * float(self.random.random())

    def chance(self, share: float) -> bool:
        return float(self.random.random()) < share

    def bend(self, start: Spot, end: Spot, sway: float) -> list[Spot]:
        """Points between two spots along a gently winding line, ends left out."""
        (x0, y0), (x1, y1) = start, end
        length = math.hypot(x1 - x0, y1 - y0)
        waves = [self.between(-1, 1) * sway / k for k in (1, 2, 3)]
        count = max(1, round(length / STEP_KM))
        points = []
        for i in range(1, count):
            t = i / count
            aside = sum(w * math.sin(k * math.pi * t) for k, w in enumerate(waves, 1))
            points.append(
                (
                    x0 + t * (x1 - x0) - aside * (y1 - y0),
                    y0 + t * (y1 - y0) + aside * (x1 - x0),
                )
            )
        return points

    def road(
        self, start: int, end: int, tags: dict[str, str], *, sway: float = 0.06
    ) -> Line:
        """A winding road between two nodes that joins every road it crosses."""
        inner = self.bend(self.spot(start), self.spot(end), sway)
        road = self.line([start, *(self.node(spot) for spot in inner), end], tags)
        self._join_crossed(road)
        return road

    def crosses(self, spots: list[Spot], line: Line) -> bool:
        """Whether a line through the spots would cross another line."""
        heads = np.array(spots)
        tails = np.array([self.spot(node) for node in line.nodes])
        return any(
            _crossings(a, b, tails[:-1], tails[1:])[0].size
            for a, b in itertools.pairwise(heads)
        )

    def _join_crossed(self, road: Line) -> None:
        others = (line for line in self.lines if line.joins and line.meets(road))
        pairs = [
            (line, a, b)
            for line in others
            if line is not road
            for a, b in itertools.pairwise(line.nodes)
        ]
        tails = np.array([self.spot(a) for _, a, _ in pairs]).reshape(-1, 2)
        tips = np.array([self.spot(b) for _, _, b in pairs]).reshape(-1, 2)
        whole = [road.nodes[0]]
        for a, b in itertools.pairwise(list(road.nodes)):
            start, end = np.array(self.spot(a)), np.array(self.spot(b))
            hits, shares = _crossings(start, end, tails, tips)
            for at in np.argsort(shares):
                line, left, right = pairs[int(hits[at])]
                if {left, right} & {a, b}:
                    continue
                x, y = start + shares[at] * (end - start)
                joint = self.node((float(x), float(y)))
                self._insert(line, left, right, joint)
                whole.append(joint)
            whole.append(b)
        road.nodes[:] = whole

    def _insert(self, line: Line, left: int, right: int, joint: int) -> None:
        """Put a node between two that were neighbours, at its place by distance."""
        first, last = line.nodes.index(left), line.nodes.index(right)
        lx, ly = self.spot(left)
        along = [
            math.hypot(self.spot(n)[0] - lx, self.spot(n)[1] - ly)
            for n in line.nodes[first : last + 1]
        ]
        jx, jy = self.spot(joint)
        away = math.hypot(jx - lx, jy - ly)
        after = sum(distance < away for distance in along)
        line.nodes.insert(first + after, joint)

    def write(self, file: Path, generator: str) -> None:
        """Write all nodes that are used and all lines, in the order of their numbers."""
        header = osmium.io.Header()
        header.set("generator", generator)
        used = {node for line in self.lines for node in line.nodes} | set(
            self.node_tags
        )
        with osmium.SimpleWriter(str(file), header=header, overwrite=True) as writer:
            for node in sorted(used):
                x, y = self.spot(node)
                place = (
                    round(WEST + x / KM_PER_LON, 6),
                    round(SOUTH + y / KM_PER_LAT, 6),
                )
                writer.add_node(
                    mutable.Node(
                        id=node, location=place, tags=self.node_tags.get(node, {})
                    )
                )
            for number, line in enumerate(self.lines, start=1):
                writer.add_way(mutable.Way(id=number, nodes=line.nodes, tags=line.tags))


def _crossings(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    tails: NDArray[np.float64],
    tips: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Which of the segments a segment crosses, and at which share of its own length."""
    way, other, gap = end - start, tips - tails, tails - start
    turn = way[0] * other[:, 1] - way[1] * other[:, 0]
    safe = np.where(turn == 0, 1.0, turn)
    share = (gap[:, 0] * other[:, 1] - gap[:, 1] * other[:, 0]) / safe
    theirs = (gap[:, 0] * way[1] - gap[:, 1] * way[0]) / safe
    inside = (share > 0) & (share < 1) & (theirs > 0) & (theirs < 1) & (turn != 0)
    hits = np.flatnonzero(inside)
    return hits, share[hits]
