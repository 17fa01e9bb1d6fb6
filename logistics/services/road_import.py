"""Import of the roads of an OpenStreetMap extract into a network for trucks."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from logistics.domain.errors import Refused, refuse
from logistics.domain.roads.building import Losses, Prepared, prepare
from logistics.domain.roads.limits import DEFAULT_VEHICLE, HeavyVehicle
from logistics.domain.roads.network import NetworkFacts, RoadNetwork
from logistics.domain.roads.outlines import Box, extent
from logistics.domain.roads.tags import REASONS, Drivable
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
    """What an import read, kept and dropped, for the vehicle of the network.

    `left_out` holds (reason, in words, number of ways), the most frequent first; those
    left out by a limit are stored all the same, as `for_smaller` counts, for trucks that
    keep it. `nodes`, `roads`, `arcs` and `km` are what the vehicle may use of `losses`
    aside. `end_only` ways are open to destination traffic only; `conditional` ways have
    restrictions on a condition that was read, `unread` ones that were not.
    """

    facts: NetworkFacts
    file_moment: str
    ways_read: int
    ways_kept: int
    left_out: tuple[tuple[str, str, int], ...]
    for_smaller: int
    end_only: int
    conditional: int
    unread: int
    ways_clipped: int
    nodes_missing: int
    barriers: int
    gates: int
    turns: int
    turns_by_way: int
    turns_unread: int
    nodes: int
    roads: int
    arcs: int
    slower_parallels: int
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
            f"  ways read {self.ways_read}, kept {self.ways_kept}, "
            f"for smaller vehicles {self.for_smaller}",
        ]
        lines += [f"    left out {n:6d}: {words}" for _, words, n in self.left_out]
        lines += [
            f"  kept: {self.nodes} junctions, {self.roads} roads, {self.arcs} arcs, "
            f"{self.km:.1f} km",
            f"  lost since trucks cannot get there and back: {lost.roads} roads, "
            f"{lost.km:.1f} km, in {lost.components - 1} parts",
            f"  slower parallel arcs, used only by places on them: {self.slower_parallels}",
            f"  turns that are forbidden: {self.turns}",
            f"  extent: {box.south:.4f}, {box.west:.4f} to {box.north:.4f}, {box.east:.4f}",
        ]
        lines += [f"  note: {count} {words}" for count, words in self._notes() if count]
        lines.append(f"  {facts.attribution}")
        return lines

    def _notes(self) -> tuple[tuple[int, str], ...]:
        return (
            (self.barriers, "barriers in the file that stop trucks"),
            (self.gates, "barriers and low bars that stop some trucks"),
            (
                self.ways_clipped,
                "kept or tried ways are cut off at the edge of the file",
            ),
            (self.end_only, "kept ways may not be driven through, only to and from"),
            (self.conditional, "kept ways have conditional limits that were read"),
            (self.unread, "kept ways have conditional tags that are not read"),
            (self.turns_by_way, "turn restrictions over a way are not obeyed"),
            (self.turns_unread, "turn restrictions are for others or certain hours"),
            (self.losses.turns_unfit, "turn restrictions fit no junction that is kept"),
        )


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
    contents = read_osm(file, ferries=ferries)
    prepared = _prepared(file, contents)
    facts = NetworkFacts(
        name=name,
        imported_at=moment.isoformat(timespec="seconds"),
        source=file.name,
        attribution=_attribution(contents.generator),
        vehicle=vehicle,
        ferries=ferries,
    )
    network = RoadNetwork(prepared.arrays, facts)
    if not network.view.attached.any():
        raise _no_road(file, f"none of its roads is open to {vehicle.gross_t:g} t")
    save_network(root, name, network)
    return _report(network, contents, prepared.losses)


def _prepared(file: Path, contents: OsmContents) -> Prepared:
    prepared = prepare(contents.ways()) if contents.verdicts else None
    if prepared is not None and prepared.arrays.roads:
        return prepared
    if contents.ways_read == 0:
        raise _no_road(file, "the file holds no roads")
    if prepared is None:
        read = contents.ways_read
        raise _no_road(file, f"none of its {read} ways may be driven by a truck")
    raise _no_road(file, "no two junctions of its roads can be reached from each other")


def _no_road(file: Path, found: str) -> Refused:
    return refuse(
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
    network: RoadNetwork, contents: OsmContents, losses: Losses
) -> ImportReport:
    arrays, view, facts = network.arrays, network.view, network.facts
    words = REASONS | _MORE_REASONS
    left_out = Counter(contents.left_out)
    open_to = Counter[Drivable]()
    for verdict, count in contents.kept.items():
        reason = verdict.stops(facts.vehicle)
        if reason is None:
            open_to[verdict] = count
        else:
            left_out[reason] += count
    ways_kept = open_to.total()
    used = view.attached
    ends = [arrays.road_from[used], arrays.road_to[used]]
    ways = set(zip(view.way_tail.tolist(), view.way_head.tolist(), strict=True))
    return ImportReport(
        facts=facts,
        file_moment=contents.file_moment,
        ways_read=contents.ways_read,
        ways_kept=ways_kept,
        left_out=tuple(
            (reason, words[reason], count) for reason, count in left_out.most_common()
        ),
        for_smaller=contents.kept.total() - ways_kept,
        end_only=sum(n for own, n in open_to.items() if own.end_only),
        conditional=sum(n for own, n in open_to.items() if own.conditional),
        unread=sum(n for own, n in open_to.items() if own.unread),
        ways_clipped=contents.ways_clipped,
        nodes_missing=contents.nodes_missing,
        barriers=len(contents.blocked),
        gates=len(contents.gates),
        turns=len(arrays.turn_from),
        turns_by_way=contents.turns_by_way,
        turns_unread=contents.turns_unread,
        nodes=len(np.unique(np.concatenate(ends))),
        roads=int(used.sum()),
        arcs=int(used[view.direction[view.direction >= 0] // 2].sum()),
        slower_parallels=len(view.way_tail) - len(ways),
        km=float(arrays.road_metres[used].sum()) / 1000,
        extent=extent(arrays),
        losses=losses,
    )
