"""Builds and the demands that they put to the market."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.quantities import End
from logistics.domain.trucks import Cargo
from matching.domain.blends import BlendWindow
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
    """A cob building: its site, and walls or typed needs. Raises Refused for needs of one key. `windows` are the moments, in
    seconds UTC, when trucks may tip there."""

    key: str
    name: str
    place: int
    walls: tuple[Wall, ...] = ()
    mix: MixTarget = MixTarget()
    needs: tuple[TypedNeed, ...] = ()
    unload_s: int = 600
    storage_m3: float | None = None
    windows: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        # Walls bring needs of these two keys along.
        taken = {"mineral", "straw"} if self.walls else set()
        for index, need in enumerate(self.needs):
            if need.key in taken:
                raise refuse(
                    "key_used_twice",
                    field=f"needs.{index}.key",
                    given=need.key,
                    message="this key stands for another need of the build already",
                    remedy='Give each need its own key; walls use "mineral" and "straw".',
                )
            taken.add(need.key)

    @property
    def takeoff(self) -> TakeOff | None:
        """What the walls swallow, None without walls."""
        return take_off(self.walls, self.mix) if self.walls else None


@dataclass(frozen=True, slots=True)
class Demand:
    """What one build wants of one group of materials, in usable dry kg.

    `blend` is the window for all that is used together, None if it does not matter.
    `wall_m3` is the wall that it is for, None for a typed need.
    """

    key: str
    build: int
    cargoes: frozenset[Cargo]
    dry_kg: float
    blend: BlendWindow | None
    wall_m3: float | None = None


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
        takeoff = build.takeoff
        if takeoff:
            window = BlendWindow.of(build.mix, safe=safe)
            wall = takeoff.placed_m3
            mineral, straw = takeoff.mineral_dry_kg.at(at), takeoff.straw_kg.at(at)
            found += [
                Demand(f"{build.key}/mineral", index, MINERAL, mineral, window, wall),
                Demand(
                    f"{build.key}/straw",
                    index,
                    frozenset({Cargo.STRAW}),
                    straw,
                    None,
                    wall,
                ),
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
