"""Reading the drivable ways out of an OpenStreetMap file."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import osmium

from logistics.domain.errors import Refused, refuse
from logistics.domain.roads.access import MODES, barrier_rule
from logistics.domain.roads.building import Ways
from logistics.domain.roads.limits import FREE, LIMIT_TAGS, Rule
from logistics.domain.roads.tags import ROAD_CLASSES, Drivable, LeftOut, read_way
from logistics.domain.roads.turns import Restriction, sort_of

SUFFIXES = (".osm", ".osm.pbf", ".osm.bz2", ".osm.gz", ".pbf")
_SUFFIX_WORDS = "an OpenStreetMap extract ending in .osm.pbf, .osm, .osm.bz2 or .osm.gz"
# pyosmium's mark for a location that was never set.
_UNSET = 2_147_483_647
_NAN = float("nan")

# Keys, without what follows a colon, on which access and speed depend: ways that agree in
# these share a verdict.
_RELEVANT = frozenset(
    {
        *(key.partition(":")[0] for key in LIMIT_TAGS),
        *MODES,
        *("4wd_only", "area", "construction", "duration", "highway", "junction"),
        *("maxspeed", "motorroad", "oneway", "route", "smoothness", "source"),
        *("surface", "tracktype", "zone"),
    }
)
_NODE_KEYS = ("barrier", *sorted(LIMIT_TAGS))


@dataclass(eq=False)
class OsmContents:
    """What a file holds of use, and what was passed over.

    `ways_read` counts roads and ferries, those left out included, `left_out` these by
    reason; `nodes_missing` counts references to nodes that the file lacks, as at the edge
    of an extract, in `ways_clipped` ways. `conditional` ways carry conditions that were
    read, `unread` ones that were not. `turns_by_way` are restrictions of turns over more
    than a node, `turns_unread` for certain hours or of a form that is not known.
    """

    file_moment: str = ""
    generator: str = ""
    ways_read: int = 0
    left_out: Counter[str] = field(default_factory=Counter)
    nodes_used: int = 0
    nodes_missing: int = 0
    ways_clipped: int = 0
    turns_by_way: int = 0
    turns_unread: int = 0
    blocked: set[int] = field(default_factory=set)
    gates: dict[int, Rule] = field(default_factory=dict)
    restrictions: list[Restriction] = field(default_factory=list)
    refs: array[int] = field(default_factory=lambda: array("q"))
    lats: array[float] = field(default_factory=lambda: array("d"))
    lons: array[float] = field(default_factory=lambda: array("d"))
    starts: array[int] = field(default_factory=lambda: array("q", [0]))
    numbers: array[int] = field(default_factory=lambda: array("q"))
    way_names: array[int] = field(default_factory=lambda: array("q"))
    names: dict[str, int] = field(default_factory=dict)
    verdicts: list[Drivable] = field(default_factory=list)
    kept: Counter[Drivable] = field(default_factory=Counter)

    def ways(self) -> Ways:
        """The drivable ways as arrays. There must be one at least."""
        distinct = list(dict.fromkeys(self.verdicts))
        number = {verdict: index for index, verdict in enumerate(distinct)}
        which = np.array([number[own] for own in self.verdicts], dtype=np.int64)
        rules: dict[Rule, int] = {FREE: 0}
        sides = [
            [rules.setdefault(rule, len(rules)) for rule in own]
            for own in ((v.forward_rule, v.backward_rule) for v in distinct)
        ]
        rule = np.array(sides, dtype=np.int64)[which]
        gates = {
            node: rules.setdefault(own, len(rules)) for node, own in self.gates.items()
        }
        classes = [ROAD_CLASSES.index(v.road_class) for v in distinct]
        return Ways(
            refs=np.array(self.refs, dtype=np.int64),
            lat=np.array(self.lats, dtype=np.float64),
            lon=np.array(self.lons, dtype=np.float64),
            offsets=np.array(self.starts, dtype=np.int64),
            forward_kmh=_numbers(v.forward_kmh for v in distinct)[which],
            backward_kmh=_numbers(v.backward_kmh for v in distinct)[which],
            crossing_s=_numbers(v.crossing_s for v in distinct)[which],
            road_class=np.array(classes, dtype=np.uint8)[which],
            may_stop=np.array([v.may_stop for v in distinct], dtype=np.bool_)[which],
            blocked=frozenset(self.blocked),
            gates=gates,
            number=np.array(self.numbers, dtype=np.int64),
            name=np.array(self.way_names, dtype=np.int64),
            forward_rule=rule[:, 0],
            backward_rule=rule[:, 1],
            rules=tuple(rules),
            names=tuple(self.names),
            restrictions=tuple(self.restrictions),
        )


def read_osm(file: Path, *, ferries: bool = False) -> OsmContents:
    """Read the ways that some truck may drive, the barriers on them, and the turns.

    Raises Refused for a file that is missing, has another suffix, is no OpenStreetMap
    data or is cut off, has nodes that are not on the earth, or lacks the nodes of most
    of its roads.
    """
    _check_name(file)
    contents = OsmContents()
    try:
        _read(file, contents, ferries=ferries)
    except osmium.InvalidLocationError as error:
        raise _off_earth(file, str(error)) from error
    # ValueError: a number or a text that no OpenStreetMap object can have.
    except (RuntimeError, ValueError) as error:
        raise refuse(
            "not_osm",
            field="file",
            given=file.name,
            message=f"this is not readable OpenStreetMap data, or it is cut off: {error}",
            remedy="Fetch the file again and compare its size or checksum.",
        ) from error
    _check_nodes(file, contents)
    return contents


def _check_name(file: Path) -> None:
    if not file.name.lower().endswith(SUFFIXES):
        raise refuse(
            "wrong_suffix",
            field="file",
            given=file.name,
            message="the name does not say which kind of OpenStreetMap file this is",
            remedy=f"Give {_SUFFIX_WORDS}.",
        )
    if not file.is_file():
        raise refuse(
            "file_missing",
            field="file",
            given=file,
            message="there is no such file",
            remedy=f"Give the path of {_SUFFIX_WORDS}.",
        )
    if file.stat().st_size == 0:
        raise refuse(
            "file_empty",
            field="file",
            given=file.name,
            message="the file is empty",
            remedy="Fetch the file again.",
        )


def _read(file: Path, contents: OsmContents, *, ferries: bool) -> None:
    reader = osmium.FileProcessor(str(file)).with_locations()
    contents.file_moment = reader.header.get("osmosis_replication_timestamp", "")
    contents.generator = reader.header.get("generator", "")
    judge = _Judge(ferries=ferries)
    # Most of a file is neither road nor barrier; that much is sorted out before Python.
    wanted = osmium.filter.KeyFilter("highway", "route", "type", *_NODE_KEYS)
    for thing in reader.with_filter(wanted):
        if getattr(thing, "deleted", False):
            continue
        if isinstance(thing, osmium.osm.Way):
            if "highway" in thing.tags or "route" in thing.tags:
                _take_way(file, contents, thing, judge)
        elif isinstance(thing, osmium.osm.Relation):
            if thing.tags.get("type") == "restriction":
                _take_relation(contents, thing)
        else:
            _take_node(contents, thing)


class _Judge:
    """Verdicts on ways, kept by the tags that they depend on."""

    def __init__(self, *, ferries: bool) -> None:
        self._ferries = ferries
        self._known: dict[tuple[tuple[str, str], ...], Drivable | LeftOut] = {}

    def verdict(self, tags: dict[str, str]) -> Drivable | LeftOut:
        """What trucks may do on a way with these tags."""
        key = tuple(
            sorted(own for own in tags.items() if own[0].partition(":")[0] in _RELEVANT)
        )
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = read_way(tags, ferries=self._ferries)
        return found


def _take_node(contents: OsmContents, node: Any) -> None:
    rule = barrier_rule(dict(node.tags))
    if rule is None:
        contents.blocked.add(node.id)
    elif rule != FREE:
        contents.gates[node.id] = rule


def _take_relation(contents: OsmContents, relation: Any) -> None:
    sort = sort_of(dict(relation.tags))
    members: dict[str, list[tuple[str, int]]] = {}
    for own in relation.members:
        members.setdefault(own.role, []).append((own.type, own.ref))
    via = members.get("via", [])
    if sort is None:
        contents.turns_unread += 1
    elif any(kind == "w" for kind, _ in via):
        contents.turns_by_way += 1
    elif len(via) != 1:
        contents.turns_unread += 1
    else:
        value, over_t = sort
        ends = {
            role: tuple(ref for kind, ref in members.get(role, []) if kind == "w")
            for role in ("from", "to")
        }
        contents.restrictions.append(
            Restriction(
                from_ways=ends["from"],
                via=via[0][1],
                to_ways=ends["to"],
                only=value.startswith("only_"),
                turning_back=value.endswith("_u_turn"),
                over_t=over_t,
            )
        )


def _take_way(
    file: Path, contents: OsmContents, way: osmium.osm.Way, judge: _Judge
) -> None:
    contents.ways_read += 1
    tags = dict(way.tags)
    verdict = judge.verdict(tags)
    if isinstance(verdict, LeftOut):
        contents.left_out[verdict.reason] += 1
        return
    runs = _runs(file, contents, way)
    if not runs:
        contents.left_out["no_nodes"] += 1
        return
    contents.kept[verdict] += 1
    name = tags.get("name") or tags.get("ref") or ""
    number = contents.names.setdefault(name, len(contents.names)) if name else -1
    for run in runs:
        for ref, lat, lon in run:
            contents.refs.append(ref)
            contents.lats.append(lat)
            contents.lons.append(lon)
        contents.starts.append(len(contents.refs))
        contents.numbers.append(way.id)
        contents.way_names.append(number)
        contents.verdicts.append(verdict)


def _runs(
    file: Path, contents: OsmContents, way: osmium.osm.Way
) -> list[list[tuple[int, float, float]]]:
    """The way's stretches of at least two known nodes; an extract may cut it up."""
    runs: list[list[tuple[int, float, float]]] = [[]]
    missing = 0
    for node in way.nodes:
        place = node.location
        if place.valid():
            contents.nodes_used += 1
            if not runs[-1] or runs[-1][-1][0] != node.ref:
                runs[-1].append((node.ref, place.lat, place.lon))
        elif place.x == _UNSET:
            missing += 1
            runs.append([])
        else:
            degrees = f"node {node.ref} at {place.y / 1e7:g}, {place.x / 1e7:g}"
            raise _off_earth(file, degrees)
    contents.nodes_missing += missing
    contents.ways_clipped += missing > 0
    return [run for run in runs if len(run) > 1]


def _check_nodes(file: Path, contents: OsmContents) -> None:
    if contents.nodes_missing <= contents.nodes_used:
        return
    raise refuse(
        "nodes_missing",
        field="file",
        given=file.name,
        message=(
            f"the roads refer to {contents.nodes_missing} nodes that the file lacks and to "
            f"{contents.nodes_used} that it has"
        ),
        remedy="Give an extract with complete ways, its nodes before its ways.",
    )


def _off_earth(file: Path, what: str) -> Refused:
    return refuse(
        "not_on_earth",
        field="file",
        given=file.name,
        message=f"a node is not on the earth: {what}",
        remedy="Coordinates must be WGS 84 degrees; repair or fetch the file again.",
    )


def _numbers(values: Iterable[float | None]) -> np.typing.NDArray[np.float64]:
    return np.array([_NAN if value is None else value for value in values])
