"""Distances between stored places, refusals in their names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.distances import DistanceTable
from logistics.domain.errors import Problem, Refused
from logistics.domain.trucks import Truck
from logistics.selectors import StoredPlace
from logistics.services.distances import Roads, distances_for, own_distances_for

_POINT = re.compile(r"points\[(\d+)\]")


def distances_of(places: Sequence[StoredPlace], *, roads: Roads) -> DistanceTable:
    """The table of ways between the places.

    Raises Refused "too_far_from_road", naming each place that no road reaches.
    """
    points = [own.place.point for own in places]
    try:
        return distances_for(points, network_root=roads.root, network=roads.network)
    except Refused as refused:
        named = [_named(problem, places) for problem in refused.problems]
        raise Refused(*named) from None


def own_distances_of(
    places: Sequence[StoredPlace], trucks: Sequence[Truck], *, roads: Roads
) -> dict[str, DistanceTable]:
    """The tables of trucks, by key, to which other roads are open.

    For places for which `distances_of` gave a table.
    """
    return own_distances_for(
        [own.place.point for own in places],
        trucks,
        network_root=roads.root,
        network=roads.network,
    )


def _named(problem: Problem, places: Sequence[StoredPlace]) -> Problem:
    at = _POINT.fullmatch(problem.field)
    if at is None:
        return problem
    own = places[int(at.group(1))]
    return replace(problem, field=f"place {own.place.name} ({own.place.key})")
