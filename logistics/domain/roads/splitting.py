"""Ways cut into pieces at the nodes that they share, and at what bars the way."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.arrays import Flags, Floats, Offsets
from logistics.domain.roads.geodesics import lengths_m

Ints = NDArray[np.int64]


class WaysToSplit(Protocol):
    """What splitting needs of `building.Ways`."""

    @property
    def refs(self) -> Ints: ...
    @property
    def lat(self) -> Floats: ...
    @property
    def lon(self) -> Floats: ...
    @property
    def offsets(self) -> Offsets: ...
    @property
    def forward_kmh(self) -> Floats: ...
    @property
    def backward_kmh(self) -> Floats: ...
    @property
    def crossing_s(self) -> Floats: ...
    @property
    def blocked(self) -> frozenset[int]: ...
    @property
    def gates(self) -> Mapping[int, int]: ...


@dataclass(frozen=True, eq=False)
class Pieces:
    """Stretches between junctions (p of them), the gates last.

    A gate has no length: it joins the two sides of a barrier that some trucks may pass.
    `start_ref` and `end_ref` are numbers of nodes in the file.
    """

    first: Ints  # (p,): where a piece starts in the shape points
    last: Ints  # (p,): where it ends, inclusive
    start: Ints  # (p,): node label
    end: Ints  # (p,)
    start_ref: Ints  # (p,)
    end_ref: Ints  # (p,)
    metres: Floats
    forward_s: Floats
    backward_s: Floats
    forward_rule: Ints
    backward_rule: Ints
    way: Ints
    gate: Flags
    node_lat: Floats  # (labels,)
    node_lon: Floats
    reach: Floats  # (c,): running metres over all shape points


def split(ways: WaysToSplit, forward_rule: Ints, backward_rule: Ints) -> Pieces:
    """Cut at shared nodes and at barriers; the rules are those of each way."""
    way_first, way_last = ways.offsets[:-1], ways.offsets[1:] - 1
    numbers, inverse, counts = np.unique(
        ways.refs, return_inverse=True, return_counts=True
    )
    barred = np.isin(numbers, _array(ways.blocked)) | np.isin(
        numbers, _array(ways.gates)
    )
    cut = (counts[inverse] > 1) | barred[inverse]
    cut[way_first] = cut[way_last] = True
    cuts = np.flatnonzero(cut)
    way_of_point = np.repeat(np.arange(len(way_first)), np.diff(ways.offsets))
    inside = way_of_point[cuts[:-1]] == way_of_point[cuts[1:]]
    first, last = cuts[:-1][inside], cuts[1:][inside]
    label, node_lat, node_lon = _label_nodes(ways, inverse, barred, first, last)
    steps = lengths_m(ways.lat[:-1], ways.lon[:-1], ways.lat[1:], ways.lon[1:])
    # The leap from way to way is no road, and would only cost the sum its last digits.
    steps[way_first[1:] - 1] = 0.0
    reach = np.concatenate([[0.0], np.cumsum(steps)])
    metres = reach[last] - reach[first]
    way = way_of_point[first]
    forward_s, backward_s = _times(ways, way, metres)
    half = len(first)
    pieces = Pieces(
        first=first,
        last=last,
        start=label[:half],
        end=label[half:],
        start_ref=ways.refs[first],
        end_ref=ways.refs[last],
        metres=metres,
        forward_s=forward_s,
        backward_s=backward_s,
        forward_rule=forward_rule[way],
        backward_rule=backward_rule[way],
        way=way,
        gate=np.zeros(half, dtype=np.bool_),
        node_lat=node_lat,
        node_lon=node_lon,
        reach=reach,
    )
    return _with_gates(pieces, ways.gates) if ways.gates else pieces


def _array(numbers: Collection[int]) -> Ints:
    return np.fromiter(numbers, np.int64, len(numbers))


def _label_nodes(
    ways: WaysToSplit, inverse: Ints, barred: Flags, first: Ints, last: Ints
) -> tuple[Ints, Floats, Floats]:
    """Labels of all starts and then all ends, and where each label is.

    Neighbours on the ground get neighbouring labels, which makes searches a fifth faster.
    A barred node becomes a separate dead end for each piece that touches it.
    """
    points = np.concatenate([first, last])
    node = inverse[points].astype(np.int64)
    alone = np.flatnonzero(barred[node])
    node[alone] = len(barred) + np.arange(len(alone))
    _, where, label = np.unique(node, return_index=True, return_inverse=True)
    lat, lon = ways.lat[points[where]], ways.lon[points[where]]
    order = np.argsort(_curve(lat, lon), kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return rank[label].astype(np.int64), lat[order], lon[order]


def _curve(lat: Floats, lon: Floats) -> NDArray[np.uint64]:
    """Position on a Z-order curve over the whole earth."""
    key = np.zeros(len(lat), dtype=np.uint64)
    scaled = ((lat + 90) / 180 * (2**31), (lon + 180) / 360 * (2**31))
    for shift, values in enumerate(scaled):
        key |= _spread(values.astype(np.uint64)) << np.uint64(shift)
    return key


def _spread(value: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """The 32 low bits, a zero between each two."""
    for shift, mask in (
        (16, 0x0000FFFF0000FFFF),
        (8, 0x00FF00FF00FF00FF),
        (4, 0x0F0F0F0F0F0F0F0F),
        (2, 0x3333333333333333),
        (1, 0x5555555555555555),
    ):
        value = (value | (value << np.uint64(shift))) & np.uint64(mask)
    return value


def _times(ways: WaysToSplit, way: Ints, metres: Floats) -> tuple[Floats, Floats]:
    total = np.bincount(way, weights=metres, minlength=len(ways.offsets) - 1)
    share = metres / np.where(total[way] > 0, total[way], 1.0)
    stated = share * ways.crossing_s[way]
    both = []
    for kmh in (ways.forward_kmh[way], ways.backward_kmh[way]):
        seconds = np.where(np.isnan(stated), metres * 3.6 / kmh, stated)
        both.append(np.where(np.isnan(kmh), np.inf, seconds))
    return both[0], both[1]


def _with_gates(pieces: Pieces, gates: Mapping[int, int]) -> Pieces:
    """Joins the dead ends at each barrier that some trucks may pass, with its rule."""
    labels = np.concatenate([pieces.start, pieces.end])
    refs = np.concatenate([pieces.start_ref, pieces.end_ref])
    points = np.concatenate([pieces.first, pieces.last])
    count = len(pieces.first)
    ends = np.flatnonzero(np.isin(refs, _array(gates)))
    ends = ends[np.argsort(refs[ends], kind="stable")]
    # Each end but the first at a barrier gets a gate to the first.
    _, first, which = np.unique(refs[ends], return_index=True, return_inverse=True)
    hub, other = ends[first[which]], ends
    hub, other = hub[hub != other], other[hub != other]
    rule = np.array([gates[int(ref)] for ref in refs[other]], dtype=np.int64)
    none = np.zeros(len(other))
    more = {
        "first": points[hub],
        "last": points[hub],
        "start": labels[hub],
        "end": labels[other],
        "start_ref": refs[hub],
        "end_ref": refs[other],
        "metres": none,
        "forward_s": none,
        "backward_s": none,
        "forward_rule": rule,
        "backward_rule": rule,
        "way": pieces.way[other % count],
        "gate": np.ones(len(other), dtype=np.bool_),
    }
    joined = {
        name: np.concatenate([getattr(pieces, name), values])
        for name, values in more.items()
    }
    return Pieces(
        **joined,
        node_lat=pieces.node_lat,
        node_lon=pieces.node_lon,
        reach=pieces.reach,
    )
