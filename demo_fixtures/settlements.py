"""Streets of the invented town, villages and hamlets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demo_fixtures.canvas import Canvas, Line, Spot

RESIDENTIAL = {"highway": "residential", "maxspeed": "30"}
LIVING_STREET = {"highway": "living_street", "maxspeed": "walk"}


@dataclass(frozen=True)
class Settlement:
    """Where people live; roads from elsewhere end at one of the `gates`."""

    name: str
    centre: Spot
    gates: list[int]
    rank: int  # 0 town, 1 large village, 2 village, 3 hamlet


def draw_grid(
    canvas: Canvas, centre: Spot, size: tuple[int, int], rank: int
) -> list[int]:
    """Streets of a settlement; its outermost nodes, where roads may come in."""
    wide, high = size
    turn, block = canvas.between(0, math.pi), canvas.between(0.085, 0.125)
    node: dict[tuple[int, int], int] = {}
    for i in range(wide):
        for j in range(high):
            x = (i - (wide - 1) / 2 + canvas.between(-0.14, 0.14)) * block
            y = (j - (high - 1) / 2 + canvas.between(-0.14, 0.14)) * block
            node[i, j] = canvas.node(
                (
                    centre[0] + x * math.cos(turn) - y * math.sin(turn),
                    centre[1] + x * math.sin(turn) + y * math.cos(turn),
                )
            )
    for j in range(high):
        draw_street(
            canvas, [node[i, j] for i in range(wide)], rank, main=j == high // 2
        )
    for i in range(wide):
        draw_street(
            canvas, [node[i, j] for j in range(high)], rank, main=i == wide // 2
        )
    draw_yards(canvas, list(node.values()), rank)
    edge = [n for (i, j), n in node.items() if i in (0, wide - 1) or j in (0, high - 1)]
    middle = [n for (i, j), n in node.items() if i == wide // 2 or j == high // 2]
    return [n for n in edge if n in middle] if rank < 3 else edge


def draw_street(canvas: Canvas, nodes: list[int], rank: int, *, main: bool) -> None:
    """One line of the grid: a through road, or residential streets with gaps."""
    if main and rank < 3:
        tags = {"highway": "tertiary" if rank else "secondary", "maxspeed": "50"}
        canvas.line(nodes, tags)
    elif rank == 3:
        canvas.line(nodes, {"highway": "unclassified"})
    elif canvas.chance(0.14):
        # No gap here: it would strand who is in the one-way street.
        oneway = "yes" if canvas.chance(0.7) else "-1"
        canvas.line(nodes, {**RESIDENTIAL, "oneway": oneway})
    else:
        quiet = canvas.chance(0.06)
        for stretch in _with_gaps(canvas, nodes):
            canvas.line(stretch, dict(LIVING_STREET if quiet else RESIDENTIAL))


def _with_gaps(canvas: Canvas, nodes: list[int]) -> list[list[int]]:
    stretches = [[nodes[0]]]
    for node in nodes[1:]:
        if canvas.chance(0.16):
            stretches.append([])
        stretches[-1].append(node)
    return [stretch for stretch in stretches if len(stretch) > 1]


def draw_yards(canvas: Canvas, nodes: list[int], rank: int) -> None:
    """Short dead ends: drives, yards and alleys, a few of them private."""
    for node in nodes:
        if not canvas.chance(0.16 if rank < 3 else 0.3):
            continue
        x, y = canvas.spot(node)
        turn, far = canvas.between(0, 2 * math.pi), canvas.between(0.025, 0.045)
        end = canvas.node((x + far * math.cos(turn), y + far * math.sin(turn)))
        tags = {"highway": "service"}
        if canvas.chance(0.15):
            tags["access"] = "private"
        elif canvas.chance(0.2):
            tags["access"] = "customers"
        canvas.line([node, end], tags, joins=False)


def gate(canvas: Canvas, settlement: Settlement, toward: Spot) -> int:
    """The outer node of a settlement that is nearest to where a road comes from."""
    return min(settlement.gates, key=lambda node: math.dist(canvas.spot(node), toward))


def nearest(
    settlements: list[Settlement], spot: Spot, river: Line, canvas: Canvas
) -> Settlement:
    """The settlement nearest to a spot on the same side of the river."""
    dry = [s for s in settlements if not canvas.crosses([spot, s.centre], river)]
    return min(dry, key=lambda s: math.dist(s.centre, spot))
