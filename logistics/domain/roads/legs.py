"""The way from a place on a road into the graph of a view, and back."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.roads.arrays import RoadArrays
from logistics.domain.roads.snapping import Snap
from logistics.domain.roads.views import BEGINNING, END, THROUGH, ViewArrays


@dataclass(frozen=True, slots=True)
class Leg:
    """Part of one road, driven from fraction `start` to fraction `end`.

    `node` is that of the view at the far side from the place, or -1 between two places.
    """

    node: int
    road: int
    start: float
    end: float
    seconds: float
    metres: float


def exits(arrays: RoadArrays, view: ViewArrays, snap: Snap) -> list[Leg]:
    """From the place to each node that its road lets it reach, the fastest each."""
    if snap.fraction in (0.0, 1.0):
        return _on_the_spot(arrays, view, snap)[0]
    legs = [
        _leg(arrays, snap.road, (snap.fraction, end), node)
        for backward, end in ((0, 1.0), (1, 0.0))
        for node in view.heads(2 * snap.road + backward)
    ]
    return _fastest_to_each_node(legs)


def entries(arrays: RoadArrays, view: ViewArrays, snap: Snap) -> list[Leg]:
    """To the place from each node that it can be reached from over its road alone."""
    if snap.fraction in (0.0, 1.0):
        return _on_the_spot(arrays, view, snap)[1]
    legs = [
        _leg(arrays, snap.road, (start, snap.fraction), node)
        for backward, start in ((0, 0.0), (1, 1.0))
        for node in view.tails(2 * snap.road + backward)
    ]
    return _fastest_to_each_node(legs)


def attached(arrays: RoadArrays, view: ViewArrays, snap: Snap) -> bool:
    """Whether the place can be reached from the open roads, and left for them."""
    if snap.fraction not in (0.0, 1.0):
        return bool(view.attached[snap.road])
    away, home = _on_the_spot(arrays, view, snap)
    return any(view.reaching[leg.node] for leg in away) and any(
        view.reached[leg.node] for leg in home
    )


def direct(arrays: RoadArrays, view: ViewArrays, start: Snap, end: Snap) -> Leg | None:
    """Between two places on one road without leaving it, where its direction admits.

    The whole of a road is in the graph, if it may be driven so.
    """
    if start.road != end.road or {start.fraction, end.fraction} == {0.0, 1.0}:
        return None
    share = (start.fraction, end.fraction)
    direction = 2 * start.road + (end.fraction < start.fraction)
    if start.fraction != end.fraction and not view.open(direction):
        return None
    return _leg(arrays, start.road, share, -1)


def _on_the_spot(
    arrays: RoadArrays, view: ViewArrays, snap: Snap
) -> tuple[list[Leg], list[Leg]]:
    """From and to a place at the very end of its road: no direction of it is driven.

    Where an open road ends there too, the place is at that one: it has no business on a
    road that is not driven through.
    """
    ends = arrays.road_to if snap.fraction else arrays.road_from
    nodes = view.at(int(ends[snap.road]))
    layers = {node: int(view.layer[node]) for node in nodes}
    is_open = THROUGH in layers.values()
    first, last = (THROUGH, BEGINNING) if is_open else (BEGINNING, END)
    at = snap.fraction
    legs = {node: Leg(node, snap.road, at, at, 0.0, 0.0) for node in nodes}
    return (
        [legs[node] for node in nodes if layers[node] in (THROUGH, first)],
        [legs[node] for node in nodes if layers[node] in (THROUGH, BEGINNING, last)],
    )


def _leg(arrays: RoadArrays, road: int, share: tuple[float, float], node: int) -> Leg:
    start, end = share
    part = abs(end - start)
    whole_s = arrays.whole_s(2 * road + (end < start))
    seconds = part * whole_s if part else 0.0
    return Leg(node, road, start, end, seconds, part * float(arrays.road_metres[road]))


def _fastest_to_each_node(legs: list[Leg]) -> list[Leg]:
    """At most one leg to a node, since a loop road has the same one twice."""
    best: dict[int, Leg] = {}
    for leg in legs:
        if leg.node not in best or leg.seconds < best[leg.node].seconds:
            best[leg.node] = leg
    return [best[node] for node in sorted(best)]
