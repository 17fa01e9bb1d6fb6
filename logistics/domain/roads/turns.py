"""Turns that are forbidden, by the relations of OpenStreetMap.

The meaning is that of the OpenStreetMap wiki (Relation:restriction): `no_*` forbids the
turn from one way to another at a node, `only_*` forbids all others; `restriction:hgv` is
for heavy goods vehicles, `except` names vehicles it is not for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.limits import HGV_OVER_T

Ints = NDArray[np.int64]
_NOT_FOR_TRUCKS = frozenset({"hgv", "motor_vehicle", "vehicle", "goods"})


@dataclass(frozen=True, slots=True)
class Restriction:
    """Of `from_ways`, at node `via`, into `to_ways`; numbers as in the file.

    `only`: into nothing but these. `turning_back`: only the way itself, reversed, is meant.
    It holds for vehicles of more than `over_t` gross.
    """

    from_ways: tuple[int, ...]
    via: int
    to_ways: tuple[int, ...]
    only: bool
    turning_back: bool
    over_t: float


def sort_of(tags: Mapping[str, str]) -> tuple[str, float] | None:
    """The value of a restriction that binds trucks and the gross tonnes over which it
    does; None when it is for others, for certain hours, or not to be understood."""
    for key, over_t in (("restriction:hgv", HGV_OVER_T), ("restriction", 0.0)):
        value = tags.get(key, "").strip()
        if not value:
            continue
        if key == "restriction":
            spared = {part.strip() for part in tags.get("except", "").split(";")}
            if spared & _NOT_FOR_TRUCKS:
                return None
        known = value.startswith(("no_", "only_"))
        return (value, over_t) if known else None
    return None


@dataclass(frozen=True, eq=False)
class Junctions:
    """Roads as the resolution needs them: way, ends, and which directions are driven."""

    way: Ints  # (r,): number of the way in the file
    start: Ints  # (r,): number of the node in the file
    end: Ints  # (r,)
    driven: NDArray[np.bool_]  # (2 r,): by direction


def forbidden_turns(
    roads: Junctions, restrictions: Sequence[Restriction]
) -> tuple[list[tuple[int, int, float]], int]:
    """(direction from, direction to, tonnes), and how many restrictions fit no junction.

    Directions are numbered as in `RoadArrays`.
    """
    wanted = np.unique([own.via for own in restrictions]).astype(np.int64)
    into, out = _around(roads, wanted)
    way = roads.way
    found: dict[tuple[int, int], float] = {}
    unfit = 0
    for own in restrictions:
        arriving = [d for d in into.get(own.via, ()) if way[d // 2] in own.from_ways]
        leaving = out.get(own.via, [])
        named = [d for d in leaving if way[d // 2] in own.to_ways]
        if not arriving or not named:
            unfit += 1
            continue
        for start in arriving:
            for end in _forbidden(own, start, named, leaving):
                pair = (start, end)
                found[pair] = min(own.over_t, found.get(pair, own.over_t))
    return [(start, end, tonnes) for (start, end), tonnes in found.items()], unfit


def _around(
    roads: Junctions, nodes: Ints
) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
    """Directions that lead into each of the nodes, and out of it."""
    into: dict[int, list[int]] = {}
    out: dict[int, list[int]] = {}
    for at, forward_out in ((roads.start, True), (roads.end, False)):
        for road in np.flatnonzero(np.isin(at, nodes)).tolist():
            node = int(at[road])
            leaves, comes = (2 * road, 2 * road + 1)[:: 1 if forward_out else -1]
            if roads.driven[leaves]:
                out.setdefault(node, []).append(leaves)
            if roads.driven[comes]:
                into.setdefault(node, []).append(comes)
    return into, out


def _forbidden(
    own: Restriction, start: int, named: Sequence[int], leaving: Sequence[int]
) -> list[int]:
    if own.only:
        return [end for end in leaving if end not in named]
    if own.turning_back and own.from_ways == own.to_ways:
        return [end for end in named if end // 2 == start // 2]
    return [end for end in named if end // 2 != start // 2 or own.turning_back]
