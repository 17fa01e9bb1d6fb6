"""Small hand-made OpenStreetMap files and the networks made from them."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from xml.sax.saxutils import quoteattr

import pytest

from logistics.domain.errors import Refused
from logistics.domain.roads.network import RoadNetwork
from logistics.services.road_import import ImportReport, import_roads
from logistics.services.road_store import open_network

MOMENT = datetime.datetime(2026, 3, 1, 8, 30, tzinfo=datetime.UTC)
Nodes = Mapping[int, tuple[float, float]]
Tags = Mapping[str, str]
Way = tuple[Sequence[int], Tags]
Relation = tuple[Sequence[tuple[str, str, int]], Tags]

ROAD: Tags = {"highway": "unclassified"}

# A square of about 760 m x 1.1 km, its junctions 1 to 4 counted clockwise from the south-west.
SQUARE = {1: (46.0, 3.0), 2: (46.01, 3.0), 3: (46.01, 3.01), 4: (46.0, 3.01)}
RING: Way = ([1, 2, 3, 4, 1], ROAD)


def osm_xml(
    nodes: Nodes,
    ways: Sequence[Way],
    *,
    node_tags: Mapping[int, Tags] | None = None,
    relations: Sequence[Relation] = (),
    generator: str = "by hand",
) -> str:
    """An OpenStreetMap XML file; ways and relations are numbered from 1."""
    lines = [f'<osm version="0.6" generator={quoteattr(generator)}>']
    for number, (lat, lon) in nodes.items():
        tags = _tags((node_tags or {}).get(number, {}))
        lines.append(f'<node id="{number}" lat="{lat}" lon="{lon}">{tags}</node>')
    for number, (refs, meaning) in enumerate(ways, start=1):
        inside = "".join(f'<nd ref="{ref}"/>' for ref in refs) + _tags(meaning)
        lines.append(f'<way id="{number}">{inside}</way>')
    for number, (members, meaning) in enumerate(relations, start=1):
        inside = "".join(
            f'<member type="{kind}" ref="{ref}" role="{role}"/>'
            for role, kind, ref in members
        )
        lines.append(f'<relation id="{number}">{inside}{_tags(meaning)}</relation>')
    return "\n".join([*lines, "</osm>", ""])


def write_osm(folder: Path, text: str, name: str = "world.osm") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


def imported(
    folder: Path, text: str, *, ferries: bool = False
) -> tuple[ImportReport, RoadNetwork]:
    """Import the text as network "world" and open it."""
    file = write_osm(folder, text)
    root = folder / "networks"
    report = import_roads(
        file=file, name="world", root=root, moment=MOMENT, ferries=ferries
    )
    return report, open_network(root, "world")


def _tags(tags: Tags) -> str:
    return "".join(
        f"<tag k={quoteattr(key)} v={quoteattr(value)}/>" for key, value in tags.items()
    )


def refused(call: Callable[[], object]) -> str:
    """The code of the one refusal that the call ends in."""
    with pytest.raises(Refused) as refusal:
        call()
    problem = refusal.value.problems[0]
    assert problem.remedy
    return problem.code


def import_file(file: Path) -> ImportReport:
    return import_roads(
        file=file, name="world", root=file.parent / "networks", moment=MOMENT
    )
