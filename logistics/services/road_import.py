"""Import of the roads of an OpenStreetMap extract into a network for trucks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from logistics.domain.errors import refuse
from logistics.domain.roads.building import Losses, Prepared, prepare
from logistics.domain.roads.limits import DEFAULT_VEHICLE, HeavyVehicle
from logistics.domain.roads.network import NetworkFacts
from logistics.domain.roads.outlines import Box, extent
from logistics.domain.roads.tags import REASONS, blocks_trucks, judge_way
from logistics.services.osm_reading import OsmContents, read_osm
from logistics.services.road_store import checked_name, save_network

OSM_ATTRIBUTION = (
    "© OpenStreetMap contributors, Open Database License (ODbL) 1.0, "
    "https://www.openstreetmap.org/copyright"
)
# A file in this format that is no OpenStreetMap data says so in its header's generator.
INVENTED_MARK = "Invented map"
_MORE_REASONS = {"no_nodes": "fewer than two of its nodes are in the file"}


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import read, kept and dropped.

    `left_out` holds (reason, in words, number of ways), the most frequent first.
    `end_only` ways are open to destination traffic only and are kept as if open;
    `conditional` ways carry restrictions at certain times, which are not read.
    """

    facts: NetworkFacts
    file_moment: str
    ways_read: int
    ways_kept: int
    left_out: tuple[tuple[str, str, int], ...]
    end_only: int
    conditional: int
    ways_clipped: int
    nodes_missing: int
    barriers: int
    nodes: int
    roads: int
    arcs: int
    km: float
    extent: Box
    losses: Losses

    def lines(self) -> list[str]:
        """The report as lines of text."""
        facts, lost, box = self.facts, self.losses, self.extent
        vehicle = facts.vehicle
        moment = f", data of {self.file_moment}" if self.file_moment else ""
        lines = [
            f"Network '{facts.name}' from {facts.source}{moment}",
            f"  for vehicles of {vehicle.gross_t:g} t, {vehicle.height_m:g} m high, "
            f"{vehicle.width_m:g} m wide; ferries {'in' if facts.ferries else 'left out'}",
            f"  ways read {self.ways_read}, kept {self.ways_kept}",
        ]
        lines += [f"    left out {n:6d}: {words}" for _, words, n in self.left_out]
        lines += [
            f"  kept: {self.nodes} junctions, {self.roads} roads, {self.arcs} arcs, "
            f"{self.km:.1f} km",
            f"  lost since trucks cannot get there and back: {lost.roads} roads, "
            f"{lost.km:.1f} km, in {lost.components - 1} parts",
            f"  slower parallel arcs, used only by places on them: {lost.slower_parallels}",
            f"  extent: {box.south:.4f}, {box.west:.4f} to {box.north:.4f}, {box.east:.4f}",
        ]
        for count, words in (
            (self.barriers, "barriers in the file that stop trucks"),
            (
                self.ways_clipped,
                "kept or tried ways are cut off at the edge of the file",
            ),
            (self.end_only, "kept ways are for destination traffic only: check routes"),
            (self.conditional, "kept ways have conditional tags, which are not read"),
        ):
            if count:
                lines.append(f"  note: {count} {words}")
        lines.append(f"  {facts.attribution}")
        return lines


def import_roads(
    *,
    file: Path,
    name: str,
    root: Path,
    moment: datetime,
    ferries: bool = False,
    vehicle: HeavyVehicle = DEFAULT_VEHICLE,
) -> ImportReport:
    """Read an extract and store its roads as network `name` under `root`.

    Ways are split at shared nodes and lengths taken over the ellipsoid; the largest part
    in which every junction can reach every other is kept, and of parallel arcs the
    fastest is used. An older network of the same name is replaced at the very end.
    Raises Refused (see `read_osm`, `save_network`), also when no road is left.
    """
    checked_name(name)
    contents = read_osm(
        file,
        judge_way=lambda tags: judge_way(tags, ferries=ferries, vehicle=vehicle),
        blocks_trucks=lambda tags: blocks_trucks(tags, vehicle),
    )
    prepared = _prepared(file, contents)
    facts = NetworkFacts(
        name=name,
        imported_at=moment.isoformat(timespec="seconds"),
        source=file.name,
        attribution=_attribution(contents.generator),
        vehicle=vehicle,
        ferries=ferries,
    )
    save_network(root, name, prepared.arrays, facts)
    return _report(facts, contents, prepared)


def _prepared(file: Path, contents: OsmContents) -> Prepared:
    prepared = prepare(contents.ways()) if contents.verdicts else None
    if prepared is not None and prepared.arrays.arcs:
        return prepared
    if contents.ways_read == 0:
        found = "the file holds no ways"
    elif prepared is None:
        found = f"none of its {contents.ways_read} ways may be driven by a truck"
    else:
        found = "no two junctions of its roads can be reached from each other"
    raise refuse(
        "no_drivable_road",
        field="file",
        given=file.name,
        message=found,
        remedy="Give an extract of the area with its roads (ways tagged highway=...).",
    )


def _attribution(generator: str) -> str:
    """Whom to name: OpenStreetMap, unless the file says that it is not from there."""
    return generator if generator.startswith(INVENTED_MARK) else OSM_ATTRIBUTION


def _report(
    facts: NetworkFacts, contents: OsmContents, prepared: Prepared
) -> ImportReport:
    arrays = prepared.arrays
    words = REASONS | _MORE_REASONS
    return ImportReport(
        facts=facts,
        file_moment=contents.file_moment,
        ways_read=contents.ways_read,
        ways_kept=contents.ways_kept,
        left_out=tuple(
            (reason, words[reason], count)
            for reason, count in contents.left_out.most_common()
        ),
        end_only=contents.end_only,
        conditional=contents.conditional,
        ways_clipped=contents.ways_clipped,
        nodes_missing=contents.nodes_missing,
        barriers=len(contents.blocked),
        nodes=arrays.nodes,
        roads=arrays.roads,
        arcs=arrays.arcs,
        km=float(arrays.road_metres.sum()) / 1000,
        extent=extent(arrays),
        losses=prepared.losses,
    )
