"""The arrays that a road network consists of, in memory or on disk."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indexes = NDArray[np.int32]
Offsets = NDArray[np.int64]
Flags = NDArray[np.bool_]
Classes = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class RoadArrays:
    """A strongly connected road network of n junctions, m arcs and r roads.

    A road is a stretch between two junctions with its shape; an arc is one direction of
    a road. Degrees are WGS 84, lengths metres, times seconds. Of several arcs between
    the same two junctions only the fastest is in the arc arrays; its slower
    rivals stay among the roads, since places may lie on them.
    """

    node_lat: Floats  # (n,)
    node_lon: Floats  # (n,)
    indptr: Indexes  # (n + 1,): arcs of junction i are indptr[i]:indptr[i + 1]
    indices: Indexes  # (m,): the junction an arc leads to, ascending within a junction
    seconds: Floats  # (m,)
    metres: Floats  # (m,)
    arc_road: Indexes  # (m,)
    arc_backward: Flags  # (m,): the arc runs against the shape of its road
    road_from: Indexes  # (r,)
    road_to: Indexes  # (r,)
    road_metres: Floats  # (r,)
    road_forward_s: Floats  # (r,): inf where the direction is forbidden
    road_backward_s: Floats  # (r,)
    road_class: Classes  # (r,): position in tags.ROAD_CLASSES
    offsets: Offsets  # (r + 1,): the shape of road i is offsets[i]:offsets[i + 1]
    lat: Floats  # (c,): shape points, both junctions included
    lon: Floats  # (c,)
    along: Floats  # (c,): metres from the start of the road
    cells: Offsets  # (g,): ascending keys of the grid cells that hold a segment
    cell_starts: Offsets  # (g + 1,)
    cell_segments: Indexes  # (s,): segment i runs from shape point i to i + 1

    @property
    def nodes(self) -> int:
        """Number of junctions."""
        return int(self.node_lat.shape[0])

    @property
    def roads(self) -> int:
        """Number of roads."""
        return int(self.road_from.shape[0])

    @property
    def arcs(self) -> int:
        """Number of arcs that routes use."""
        return int(self.indices.shape[0])

    def shape(self, road: int) -> slice:
        """Where the shape points of a road are in `lat`, `lon` and `along`."""
        return slice(int(self.offsets[road]), int(self.offsets[road + 1]))

    def road_of(self, segment: int) -> int:
        """The road that a segment belongs to."""
        return int(np.searchsorted(self.offsets, segment, side="right")) - 1


DTYPES: dict[str, np.dtype[np.generic]] = {
    field.name: np.dtype(
        {
            "Floats": np.float64,
            "Indexes": np.int32,
            "Offsets": np.int64,
            "Flags": np.bool_,
            "Classes": np.uint8,
        }[str(field.type)]
    )
    for field in fields(RoadArrays)
}


def inconsistency(arrays: RoadArrays) -> str | None:
    """What does not fit together in the arrays, or None; looks at each arc once.

    Meant for arrays that come from a disk. It does not read the shapes.
    """
    pointing: tuple[tuple[str, NDArray[np.signedinteger], int, int], ...] = (
        ("indptr", arrays.indptr, arrays.nodes + 1, arrays.arcs),
        ("offsets", arrays.offsets, arrays.roads + 1, len(arrays.lat)),
        (
            "cell_starts",
            arrays.cell_starts,
            len(arrays.cells) + 1,
            len(arrays.cell_segments),
        ),
    )
    for name, starts, length, last in pointing:
        if len(starts) != length or int(starts[-1]) != last:
            return f"{name} does not fit the arrays it points into"
    same_length = (
        (arrays.nodes, ("node_lon",)),
        (arrays.arcs, ("seconds", "metres", "arc_road", "arc_backward")),
        (
            arrays.roads,
            (
                "road_to",
                "road_metres",
                "road_forward_s",
                "road_backward_s",
                "road_class",
            ),
        ),
        (len(arrays.lat), ("lon", "along")),
    )
    for length, names in same_length:
        for name in names:
            if len(getattr(arrays, name)) != length:
                return f"{name} has the wrong length"
    return _wild_index(arrays)


def _wild_index(arrays: RoadArrays) -> str | None:
    for name, limit in (
        ("indices", arrays.nodes),
        ("arc_road", arrays.roads),
        ("road_from", arrays.nodes),
        ("road_to", arrays.nodes),
    ):
        values = getattr(arrays, name)
        if len(values) and not 0 <= int(values.min()) <= int(values.max()) < limit:
            return f"{name} points outside the network"
    if not bool(np.all(arrays.seconds >= 0)):
        return "seconds has a value that is not a time"
    return None
