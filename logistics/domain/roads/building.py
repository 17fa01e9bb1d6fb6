"""From ways to a network: split, connect, drop what no truck could reach and leave."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from logistics.domain.roads.arrays import Classes, Flags, Floats, Offsets, RoadArrays
from logistics.domain.roads.limits import FREE, RULE_FIELDS, Rule
from logistics.domain.roads.snapping import build_grid
from logistics.domain.roads.splitting import Pieces, split
from logistics.domain.roads.turns import Junctions, Restriction, forbidden_turns

Ints = NDArray[np.int64]


def _no_numbers() -> Ints:
    return np.empty(0, dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Ways:
    """Drivable ways: w ways with c shape points between them, one after the other.

    `forward_kmh` and `backward_kmh` are NaN where a direction is forbidden;
    `crossing_s` is NaN unless a ferry states its time. Nodes whose number is in
    `blocked` cannot be passed, those in `gates` as the rule of this number admits.
    `number` is that of the way in the file, `name` a position in `names` or -1, the
    rules are positions in `rules`; where these arrays are empty, no way has any.
    """

    refs: Ints  # (c,)
    lat: Floats  # (c,)
    lon: Floats  # (c,)
    offsets: Offsets  # (w + 1,), at least two points to a way
    forward_kmh: Floats  # (w,)
    backward_kmh: Floats  # (w,)
    crossing_s: Floats  # (w,)
    road_class: Classes  # (w,)
    may_stop: Flags  # (w,)
    blocked: frozenset[int] = frozenset()
    gates: Mapping[int, int] = field(default_factory=dict)
    number: Ints = field(default_factory=_no_numbers)
    name: Ints = field(default_factory=_no_numbers)
    forward_rule: Ints = field(default_factory=_no_numbers)
    backward_rule: Ints = field(default_factory=_no_numbers)
    rules: Sequence[Rule] = (FREE,)
    names: Sequence[str] = ()
    restrictions: Sequence[Restriction] = ()

    def of_ways(self, values: Ints, missing: int) -> Ints:
        """One value for each way, `missing` where none were given."""
        return values if len(values) else np.full(len(self.offsets) - 1, missing)


@dataclass(frozen=True, slots=True)
class Losses:
    """What the network lost because it cannot be reached from its largest part, and
    restrictions of turns that fit no junction of it."""

    components: int
    nodes: int
    roads: int
    km: float
    turns_unfit: int = 0


@dataclass(frozen=True, eq=False)
class Prepared:
    """The roads as arrays, and what was lost on the way."""

    arrays: RoadArrays
    losses: Losses


def prepare(ways: Ways) -> Prepared:
    """Split at shared nodes, keep the largest strongly connected part of all the roads.

    Connected is what would be if no rule stopped anybody. Ways without shape points are
    not allowed. The result may be empty of roads when no two junctions can reach each
    other.
    """
    pieces = split(
        ways,
        ways.of_ways(ways.forward_rule, 0),
        ways.of_ways(ways.backward_rule, 0),
    )
    part, components = _largest_part(pieces)
    labels = np.flatnonzero(part)
    inside = part[pieces.start] & part[pieces.end]
    kept, lost = np.flatnonzero(inside), np.flatnonzero(~inside)
    turns, unfit = _turns(ways, pieces, kept)
    losses = Losses(
        components=components,
        nodes=len(part) - len(labels),
        roads=len(lost),
        km=float(pieces.metres[lost].sum()) / 1000,
        turns_unfit=unfit,
    )
    return Prepared(_to_arrays(ways, pieces, labels, kept, turns), losses)


def _largest_part(pieces: Pieces) -> tuple[Flags, int]:
    """Which nodes are in the largest strongly connected part, and how many parts."""
    size = len(pieces.node_lat)
    forward, backward = pieces.forward_s < np.inf, pieces.backward_s < np.inf
    tails = np.concatenate([pieces.start[forward], pieces.end[backward]])
    heads = np.concatenate([pieces.end[forward], pieces.start[backward]])
    graph = csr_array((np.ones(len(tails)), (tails, heads)), shape=(size, size))
    count, part = connected_components(graph, directed=True, connection="strong")
    sizes = np.bincount(part, minlength=count)
    # Of equals the one with the first node, so that the same file gives the same roads.
    largest = part[int(np.argmax(sizes[part] == sizes.max()))]
    return part == largest, int(count)


def _turns(
    ways: Ways, pieces: Pieces, kept: Ints
) -> tuple[list[tuple[int, int, float]], int]:
    if not ways.restrictions:
        return [], 0
    driven = np.stack([pieces.forward_s[kept], pieces.backward_s[kept]], axis=1)
    roads = Junctions(
        way=np.where(
            pieces.gate[kept], -1, ways.of_ways(ways.number, -1)[pieces.way[kept]]
        ),
        start=pieces.start_ref[kept],
        end=pieces.end_ref[kept],
        driven=np.isfinite(driven).ravel(),
    )
    return forbidden_turns(roads, ways.restrictions)


def _to_arrays(
    ways: Ways,
    pieces: Pieces,
    labels: Ints,
    kept: Ints,
    turns: Sequence[tuple[int, int, float]],
) -> RoadArrays:
    shape, offsets = _shapes(pieces, kept)
    along = pieces.reach[shape] - np.repeat(
        pieces.reach[pieces.first[kept]], np.diff(offsets)
    )
    # A gate has the same point at both of its ends.
    along[np.repeat(pieces.gate[kept], np.diff(offsets))] = 0.0
    lat, lon = ways.lat[shape], ways.lon[shape]
    stops = ways.may_stop[pieces.way[kept]] & ~pieces.gate[kept]
    cells, cell_starts, cell_segments = build_grid(
        lat, lon, _stopping_segments(offsets, stops)
    )
    names = [name.encode("utf-8") for name in ways.names]
    return RoadArrays(
        node_lat=pieces.node_lat[labels],
        node_lon=pieces.node_lon[labels],
        road_from=np.searchsorted(labels, pieces.start[kept]).astype(np.int32),
        road_to=np.searchsorted(labels, pieces.end[kept]).astype(np.int32),
        road_metres=pieces.metres[kept],
        road_forward_s=pieces.forward_s[kept],
        road_backward_s=pieces.backward_s[kept],
        road_forward_rule=pieces.forward_rule[kept].astype(np.int32),
        road_backward_rule=pieces.backward_rule[kept].astype(np.int32),
        road_name=ways.of_ways(ways.name, -1)[pieces.way[kept]].astype(np.int32),
        road_class=ways.road_class[pieces.way[kept]],
        rules=_table_of(ways.rules),
        name_text=np.frombuffer(b"".join(names), dtype=np.uint8),
        name_starts=np.cumsum([0, *map(len, names)]).astype(np.int64),
        turn_from=np.array([own[0] for own in turns], dtype=np.int32),
        turn_to=np.array([own[1] for own in turns], dtype=np.int32),
        turn_over_t=np.array([own[2] for own in turns], dtype=np.float64),
        offsets=offsets,
        lat=lat,
        lon=lon,
        along=along,
        cells=cells,
        cell_starts=cell_starts,
        cell_segments=cell_segments,
    )


def _table_of(rules: Sequence[Rule]) -> Floats:
    rows = [[getattr(rule, name) for name in RULE_FIELDS] for rule in rules]
    return np.array(rows, dtype=np.float64).ravel()


def _shapes(pieces: Pieces, kept: Ints) -> tuple[Ints, Offsets]:
    """The shape points of the kept pieces, one after the other, and their offsets."""
    first, counts = pieces.first[kept], pieces.last[kept] - pieces.first[kept] + 1
    # A gate is two points at one place.
    counts = np.where(pieces.gate[kept], 2, counts)
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    within = np.arange(offsets[-1]) - np.repeat(offsets[:-1], counts)
    within[np.repeat(pieces.gate[kept], counts)] = 0
    return np.repeat(first, counts) + within, offsets


def _stopping_segments(offsets: Offsets, may_stop: Flags) -> Ints:
    is_segment = np.repeat(may_stop, np.diff(offsets))
    is_segment[offsets[1:] - 1] = False
    return np.flatnonzero(is_segment).astype(np.int64)
