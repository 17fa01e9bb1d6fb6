"""The way from a place on a road to the junctions at its ends, and back."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.roads.arrays import RoadArrays
from logistics.domain.roads.snapping import Snap


@dataclass(frozen=True, slots=True)
class Leg:
    """Part of one road, driven from fraction `start` to fraction `end`.

    `node` is the junction at the far side from the place, or -1 between two places.
    """

    node: int
    road: int
    start: float
    end: float
    seconds: float
    metres: float


def exits(arrays: RoadArrays, snap: Snap) -> list[Leg]:
    """From the place to each junction that the road lets it reach."""
    ends = ((1.0, arrays.road_to), (0.0, arrays.road_from))
    legs = [
        _leg(arrays, snap.road, snap.fraction, end, int(nodes[snap.road]))
        for end, nodes in ends
    ]
    return _fastest_to_each_node(legs)


def entries(arrays: RoadArrays, snap: Snap) -> list[Leg]:
    """To the place from each junction that the road lets it be reached from."""
    starts = ((0.0, arrays.road_from), (1.0, arrays.road_to))
    legs = [
        _leg(arrays, snap.road, start, snap.fraction, int(nodes[snap.road]))
        for start, nodes in starts
    ]
    return _fastest_to_each_node(legs)


def direct(arrays: RoadArrays, start: Snap, end: Snap) -> Leg | None:
    """Between two places on one road without leaving it, where its direction admits."""
    if start.road != end.road:
        return None
    return _leg(arrays, start.road, start.fraction, end.fraction, -1)


def _leg(
    arrays: RoadArrays, road: int, start: float, end: float, node: int
) -> Leg | None:
    share = abs(end - start)
    whole_s = float(
        (arrays.road_forward_s if end >= start else arrays.road_backward_s)[road]
    )
    if share == 0:
        # On the spot, or at the very end of the road: no direction is driven.
        seconds = 0.0
    elif whole_s == float("inf"):
        return None
    else:
        seconds = share * whole_s
    metres = share * float(arrays.road_metres[road])
    return Leg(node, road, start, end, seconds, metres)


def _fastest_to_each_node(legs: list[Leg | None]) -> list[Leg]:
    """At most one leg to a junction, since a loop road has the same one twice."""
    best: dict[int, Leg] = {}
    for leg in legs:
        if leg is not None and (
            leg.node not in best or leg.seconds < best[leg.node].seconds
        ):
            best[leg.node] = leg
    return [best[node] for node in sorted(best)]
