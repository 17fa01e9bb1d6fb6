"""Reading the drivable ways out of an OpenStreetMap file."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import osmium

from logistics.domain.errors import Refused, refuse
from logistics.domain.roads.building import Ways
from logistics.domain.roads.tags import ROAD_CLASSES, Drivable, LeftOut

SUFFIXES = (".osm", ".osm.pbf", ".osm.bz2", ".osm.gz", ".pbf")
_SUFFIX_WORDS = "an OpenStreetMap extract ending in .osm.pbf, .osm, .osm.bz2 or .osm.gz"
# pyosmium's mark for a location that was never set.
_UNSET = 2_147_483_647
_NAN = float("nan")

WayJudge = Callable[[Mapping[str, str]], Drivable | LeftOut]
NodeJudge = Callable[[Mapping[str, str]], bool]


@dataclass(eq=False)
class OsmContents:
    """What a file holds of use, and what was passed over.

    `left_out` counts ways by reason; `nodes_missing` counts references to nodes that the
    file lacks, as at the edge of an extract, in `ways_clipped` ways.
    """

    file_moment: str = ""
    generator: str = ""
    ways_read: int = 0
    ways_kept: int = 0
    left_out: Counter[str] = field(default_factory=Counter)
    end_only: int = 0
    conditional: int = 0
    nodes_used: int = 0
    nodes_missing: int = 0
    ways_clipped: int = 0
    blocked: set[int] = field(default_factory=set)
    refs: array[int] = field(default_factory=lambda: array("q"))
    lats: array[float] = field(default_factory=lambda: array("d"))
    lons: array[float] = field(default_factory=lambda: array("d"))
    starts: array[int] = field(default_factory=lambda: array("q", [0]))
    verdicts: list[Drivable] = field(default_factory=list)

    def ways(self) -> Ways:
        """The drivable ways as arrays. There must be one at least."""
        verdicts = self.verdicts
        return Ways(
            refs=np.array(self.refs, dtype=np.int64),
            lat=np.array(self.lats, dtype=np.float64),
            lon=np.array(self.lons, dtype=np.float64),
            offsets=np.array(self.starts, dtype=np.int64),
            forward_kmh=_numbers(v.forward_kmh for v in verdicts),
            backward_kmh=_numbers(v.backward_kmh for v in verdicts),
            crossing_s=_numbers(v.crossing_s for v in verdicts),
            road_class=np.array(
                [ROAD_CLASSES.index(v.road_class) for v in verdicts], dtype=np.uint8
            ),
            may_stop=np.array([v.may_stop for v in verdicts], dtype=np.bool_),
            blocked=frozenset(self.blocked),
        )


def read_osm(
    file: Path, *, judge_way: WayJudge, blocks_trucks: NodeJudge
) -> OsmContents:
    """Read the ways that `judge_way` admits and the barriers on them.

    Raises Refused for a file that is missing, has another suffix, is no OpenStreetMap
    data or is cut off, has nodes that are not on the earth, or lacks the nodes of most
    of its roads.
    """
    _check_name(file)
    contents = OsmContents()
    try:
        _read(file, contents, judge_way, blocks_trucks)
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


def _read(
    file: Path, contents: OsmContents, judge_way: WayJudge, blocks_trucks: NodeJudge
) -> None:
    wanted = osmium.osm.NODE | osmium.osm.WAY
    reader = osmium.FileProcessor(str(file), wanted).with_locations()
    contents.file_moment = reader.header.get("osmosis_replication_timestamp", "")
    contents.generator = reader.header.get("generator", "")
    for thing in reader.with_filter(osmium.filter.EmptyTagFilter()):
        if getattr(thing, "deleted", False):
            continue
        if isinstance(thing, osmium.osm.Way):
            _take_way(file, contents, thing, judge_way)
        elif "barrier" in thing.tags and blocks_trucks(dict(thing.tags)):
            contents.blocked.add(thing.id)


def _take_way(
    file: Path, contents: OsmContents, way: osmium.osm.Way, judge: WayJudge
) -> None:
    contents.ways_read += 1
    tags = dict(way.tags)
    verdict = judge(tags)
    if isinstance(verdict, LeftOut):
        contents.left_out[verdict.reason] += 1
        return
    runs = _runs(file, contents, way)
    if not runs:
        contents.left_out["no_nodes"] += 1
        return
    contents.ways_kept += 1
    contents.end_only += verdict.end_only
    contents.conditional += any(key.endswith(":conditional") for key in tags)
    for run in runs:
        for ref, lat, lon in run:
            contents.refs.append(ref)
            contents.lats.append(lat)
            contents.lons.append(lon)
        contents.starts.append(len(contents.refs))
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
