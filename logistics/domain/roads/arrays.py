"""The arrays that a road network consists of, in memory or on disk."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from logistics.domain.roads.limits import RULE_FIELDS, Rule

Floats = NDArray[np.float64]
Indexes = NDArray[np.int32]
Offsets = NDArray[np.int64]
Flags = NDArray[np.bool_]
Classes = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class RoadArrays:
    """The roads of an area with what they ask of a truck: n junctions, r roads, k rules.

    A road is a stretch between two junctions with its shape. Were there no rules, every
    junction could be reached from every other. Degrees are WGS 84, lengths metres, times
    seconds. A direction of a road is numbered 2 * road, plus 1 against its shape.
    """

    node_lat: Floats  # (n,)
    node_lon: Floats  # (n,)
    road_from: Indexes  # (r,)
    road_to: Indexes  # (r,)
    road_metres: Floats  # (r,)
    road_forward_s: Floats  # (r,): inf where no truck may drive in this direction
    road_backward_s: Floats  # (r,)
    road_forward_rule: Indexes  # (r,): row of `rules`
    road_backward_rule: Indexes  # (r,)
    road_name: Indexes  # (r,): number of its name, -1 without one
    road_class: Classes  # (r,): position in tags.ROAD_CLASSES
    rules: Floats  # (k * 7,): row by row in the order of limits.RULE_FIELDS
    name_text: Classes  # UTF-8 of all names
    name_starts: Offsets  # name i is name_text[name_starts[i]:name_starts[i + 1]]
    turn_from: Indexes  # (t,): the direction from which one may not turn ...
    turn_to: Indexes  # (t,): ... into this direction ...
    turn_over_t: Floats  # (t,): ... with a vehicle of more than so many tonnes
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

    def name(self, road: int) -> str:
        """Name or number of a road, "" if it has none."""
        number = int(self.road_name[road])
        if number < 0:
            return ""
        start, end = self.name_starts[number : number + 2].tolist()
        return self.name_text[start:end].tobytes().decode("utf-8")

    def rule(self, direction: int) -> Rule:
        """What a direction of a road asks."""
        road, backward = divmod(direction, 2)
        rules = (self.road_forward_rule, self.road_backward_rule)[backward]
        return Rule(*self.rules.reshape(-1, RULE_COLUMNS)[int(rules[road])].tolist())

    def whole_s(self, direction: int) -> float:
        """Seconds for the whole of a direction of a road."""
        road, backward = divmod(direction, 2)
        return float((self.road_forward_s, self.road_backward_s)[backward][road])

    def shape(self, road: int) -> slice:
        """Where the shape points of a road are in `lat`, `lon` and `along`."""
        return slice(int(self.offsets[road]), int(self.offsets[road + 1]))

    def road_of(self, segment: int) -> int:
        """The road that a segment belongs to."""
        return int(np.searchsorted(self.offsets, segment, side="right")) - 1


RULE_COLUMNS = len(RULE_FIELDS)


def dtypes_of(arrays: type) -> dict[str, np.dtype[np.generic]]:
    """The kind of each array of a dataclass of arrays."""
    kinds: dict[str, type[np.generic]] = {
        "Floats": np.float64,
        "Indexes": np.int32,
        "Offsets": np.int64,
        "Flags": np.bool_,
        "Classes": np.uint8,
    }
    return {own.name: np.dtype(kinds[str(own.type)]) for own in fields(arrays)}


def inconsistency(arrays: RoadArrays) -> str | None:
    """What does not fit together in the arrays, or None; looks at each road once.

    Meant for arrays that come from a disk. It does not read the shapes.
    """
    pointing: tuple[tuple[str, Offsets, int, int], ...] = (
        ("offsets", arrays.offsets, arrays.roads + 1, len(arrays.lat)),
        (
            "cell_starts",
            arrays.cell_starts,
            len(arrays.cells) + 1,
            len(arrays.cell_segments),
        ),
        (
            "name_starts",
            arrays.name_starts,
            len(arrays.name_starts),
            len(arrays.name_text),
        ),
    )
    for name, starts, length, last in pointing:
        if len(starts) != length or not length or int(starts[-1]) != last:
            return f"{name} does not fit the arrays it points into"
    roads = ("to", "metres", "forward_s", "backward_s", "name", "class")
    same_length = (
        (arrays.nodes, ("node_lon",)),
        (arrays.roads, tuple(f"road_{name}" for name in roads)),
        (arrays.roads, ("road_forward_rule", "road_backward_rule")),
        (len(arrays.turn_from), ("turn_to", "turn_over_t")),
        (len(arrays.lat), ("lon", "along")),
    )
    for length, names in same_length:
        for name in names:
            if len(getattr(arrays, name)) != length:
                return f"{name} has the wrong length"
    return _wild_index(arrays)


def _wild_index(arrays: RoadArrays) -> str | None:
    rules = len(arrays.rules) // RULE_COLUMNS
    for name, low, limit in (
        ("road_from", 0, arrays.nodes),
        ("road_to", 0, arrays.nodes),
        ("road_forward_rule", 0, rules),
        ("road_backward_rule", 0, rules),
        ("road_name", -1, len(arrays.name_starts) - 1),
        ("turn_from", 0, 2 * arrays.roads),
        ("turn_to", 0, 2 * arrays.roads),
    ):
        values = getattr(arrays, name)
        if len(values) and not low <= int(values.min()) <= int(values.max()) < limit:
            return f"{name} points outside the network"
    for seconds in (arrays.road_forward_s, arrays.road_backward_s):
        if not bool(np.all(seconds >= 0)):
            return "seconds has a value that is not a time"
    return None
