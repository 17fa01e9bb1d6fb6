"""Builds and the demands that they put to the market."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from logistics.domain.calendar import Window
from logistics.domain.errors import refuse
from logistics.domain.quantities import End, Spread
from logistics.domain.trucks import Cargo
from matching.domain.blends import BlendWindow
from matching.domain.lifts.batches import Batch
from matching.domain.lifts.pulses import Kind
from matching.domain.lifts.schedule import Schedule, ScheduledBuild, scheduled
from matching.domain.takeoff import MixTarget, TakeOff, take_off
from matching.domain.walls.wall import Wall


@dataclass(frozen=True, slots=True)
class TypedNeed:
    """A need that somebody typed instead of walls: one material, in dry kg (straw: as
    weighed). It is met by offers of that material alone, whatever their clay share."""

    key: str
    cargo: Cargo
    dry_kg: float


@dataclass(frozen=True, slots=True)
class Build:
    """A cob building: its site, and walls or typed needs.

    `windows` are the moments, in seconds UTC, when trucks may tip there. `schedule` is the
    calendar of its lifts; `batches` are the dated needs of a plan if that wants them by
    lift (`matching.domain.dated`). Raises Refused for needs of one key, and for a calendar
    without walls.
    """

    key: str
    name: str
    place: int
    walls: tuple[Wall, ...] = ()
    mix: MixTarget = MixTarget()
    needs: tuple[TypedNeed, ...] = ()
    unload_s: int = 600
    storage_m3: float | None = None
    windows: tuple[Window, ...] = ()
    schedule: Schedule | None = None
    batches: tuple[Batch, ...] | None = None

    def __post_init__(self) -> None:
        # Walls bring needs of these two keys along, and a number with each if dated.
        taken = {"mineral", "straw"} if self.walls else set()
        for index, need in enumerate(self.needs):
            numbered = self.schedule and re.fullmatch(r"(mineral|straw)-\d+", need.key)
            if need.key in taken or numbered:
                raise refuse(
                    "key_used_twice",
                    field=f"needs.{index}.key",
                    given=need.key,
                    message="this key stands for another need of the build already",
                    remedy='Give each need its own key; walls use "mineral" and "straw".',
                )
            taken.add(need.key)
        if self.schedule and not self.walls:
            raise refuse(
                "calendar_without_walls",
                field="calendar",
                given="no walls",
                message="a calendar is one of lifts, and there are no walls to raise",
                remedy="Add walls, or leave the calendar out.",
            )

    @property
    def takeoff(self) -> TakeOff | None:
        """What the walls swallow, None without walls."""
        return take_off(self.walls, self.mix) if self.walls else None

    @property
    def scheduled(self) -> ScheduledBuild | None:
        """Its lifts and what they want when, None without a calendar."""
        if self.schedule is None:
            return None
        return scheduled(self.walls, self.mix, self.schedule, self.storage_m3)


@dataclass(frozen=True, slots=True)
class WallNeeds:
    """What walls still want: soil and sand in dry kg, straw as weighed, and the m3 of wall
    that it is for."""

    mineral_dry_kg: Spread
    straw_kg: Spread
    placed_m3: float


def wall_needs(build: Build) -> WallNeeds | None:
    """What a build's walls want of the market, less what is built and what lies on site;
    None without walls."""
    own = build.scheduled
    if own is None or not (own.stock or (build.schedule and build.schedule.built)):
        takeoff = build.takeoff
        if takeoff is None:
            return None
        return WallNeeds(takeoff.mineral_dry_kg, takeoff.straw_kg, takeoff.placed_m3)
    return WallNeeds(
        own.dry_kg(Kind.SOIL, Kind.SAND),
        own.dry_kg(Kind.STRAW),
        own.takeoff.placed_m3,
    )


@dataclass(frozen=True, slots=True)
class Demand:
    """What one build wants of one group of materials, in usable dry kg.

    `blend` is the window for all that is used together, None if it does not matter.
    `wall_m3` is the wall that it is for, None for a typed need. `windows` are the moments
    in which it may be tipped, None for those of the build, and `days` the first and the
    last day on which it is wanted.
    """

    key: str
    build: int
    cargoes: frozenset[Cargo]
    dry_kg: float
    blend: BlendWindow | None
    wall_m3: float | None = None
    windows: tuple[Window, ...] | None = None
    days: tuple[date, date] | None = None


MINERAL = frozenset({Cargo.SUBSOIL, Cargo.SAND})


def demands(
    builds: tuple[Build, ...], *, at: End = End.LIKELY, safe: bool = False
) -> tuple[Demand, ...]:
    """The demands of all builds: a mineral blend and straw for walls, and typed needs.

    `at` chooses between the least and the most that walls may swallow; `safe` blends keep
    their window at both ends of what is known.
    """
    found = []
    for index, build in enumerate(builds):
        blend = BlendWindow.of(build.mix, safe=safe)
        if build.batches is None:
            found += _at_once(build, index, at, blend)
        else:
            found += [
                _dated(build, index, batch, at, blend)
                for batch in build.batches
                if batch.windows is not None
            ]
        found += [
            Demand(
                f"{build.key}/{need.key}",
                index,
                frozenset({need.cargo}),
                need.dry_kg,
                None,
            )
            for need in build.needs
        ]
    return tuple(found)


def _at_once(build: Build, index: int, at: End, blend: BlendWindow) -> list[Demand]:
    """All that the walls want, in the build's own time."""
    wants = wall_needs(build)
    if wants is None:
        return []
    mineral, straw = wants.mineral_dry_kg.at(at), wants.straw_kg.at(at)
    wall = wants.placed_m3
    return [
        Demand(f"{build.key}/mineral", index, MINERAL, mineral, blend, wall),
        Demand(
            f"{build.key}/straw", index, frozenset({Cargo.STRAW}), straw, None, wall
        ),
    ]


def _dated(
    build: Build, index: int, batch: Batch, at: End, blend: BlendWindow
) -> Demand:
    return Demand(
        f"{build.key}/{batch.key}",
        index,
        batch.cargoes,
        batch.dry_kg.at(at),
        blend if batch.cargoes == MINERAL else None,
        batch.placed_m3,
        batch.windows,
        (batch.not_before, batch.due),
    )
