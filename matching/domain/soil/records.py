"""Evidence on the soil itself: one record for each kind, as it was measured.

Lengths in mm, times in s, shares as fractions. Absurd figures are refused here, so that
the readings need not doubt them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from logistics.domain.errors import refuse
from matching.domain.grading import Grading, SizeSystem
from matching.domain.soil.samples import Sample, check, check_given
from matching.domain.soil.settling import COLDEST_C, HOTTEST_C
from matching.domain.soil.texture import Texture

THINNEST_JAR_MM = 10.0
# Sheets round to whole percents: three or four of them add up to 98-102.
ROUNDING = 0.02


@dataclass(frozen=True, slots=True)
class JarTest:
    """Soil shaken in water. Heights are of each layer; with `cumulative` they are marks
    from the bottom: after the sand, after the silt, after all had come down.

    Times are from setting the jar down; `fall_mm` is the height of the water above the
    settled soil. None: not noted.
    Raises Refused: a height negative or over 1 m, all zero, under 10 mm in all, marks or
    times that go backwards, water outside 0-40 C.
    """

    sample: Sample
    sand_mm: float
    silt_mm: float
    clay_mm: float
    cumulative: bool = False
    sand_read_s: float | None = None
    silt_read_s: float | None = None
    clay_read_s: float | None = None
    fall_mm: float | None = None
    water_c: float | None = None
    cleared: bool = True
    dispersant: bool = False
    kind: Literal["jar"] = "jar"

    def __post_init__(self) -> None:
        for name in ("sand_mm", "silt_mm", "clay_mm"):
            check(f"jar.{name}", getattr(self, name), 0, 1000, "mm")
        _ascending("jar.clay_mm", self._marks())
        total = sum(self.layers_mm)
        if total < THINNEST_JAR_MM:
            raise refuse(
                "jar_too_thin",
                field="jar.sand_mm, silt_mm, clay_mm",
                given=f"{total:g} mm in all",
                message="less than 10 mm of soil cannot be read in layers",
                remedy="Fill a third of a straight jar with soil and shake again.",
            )
        times = (self.sand_read_s, self.silt_read_s, self.clay_read_s)
        given = [time for time in times if time is not None]
        for time in given:
            check("jar.read_s", time, 1, 60 * 86_400, "s")
        _ascending("jar.read_s", given)
        if self.fall_mm is not None:
            check("jar.fall_mm", self.fall_mm, 10, 1000, "mm")
        if self.water_c is not None:
            check("jar.water_c", self.water_c, COLDEST_C, HOTTEST_C, "C")

    @property
    def layers_mm(self) -> tuple[float, float, float]:
        """Thickness of the sand, silt and clay layers."""
        if not self.cumulative:
            return self.sand_mm, self.silt_mm, self.clay_mm
        return self.sand_mm, self.silt_mm - self.sand_mm, self.clay_mm - self.silt_mm

    def _marks(self) -> list[float]:
        return [self.sand_mm, self.silt_mm, self.clay_mm] if self.cumulative else []


class LabMethod(StrEnum):
    """How the grains below the sieves were measured."""

    PIPETTE = "pipette"
    HYDROMETER = "hydrometer"
    SIEVE_ONLY = "sieve_only"
    NOT_STATED = "not_stated"


@dataclass(frozen=True, slots=True)
class LabGrading:
    """A laboratory's sheet: the curve as `points` (size in mm, share passing), or named
    shares with the system whose limits they follow.

    Without gravel the shares are of what passes the upper limit of sand. Unified knows no
    clay of its own: `clay` there is the hydrometer's 0.002 mm, `silt` the rest of the
    fines. Raises Refused: both or neither, shares that do not add up to 1 (2 % allowed for
    rounding), a curve that the grading refuses or that starts above 2 mm.
    """

    sample: Sample
    points: tuple[tuple[float, float], ...] = ()
    clay: float | None = None
    silt: float | None = None
    sand: float | None = None
    gravel: float | None = None
    system: SizeSystem = SizeSystem.USDA
    method: LabMethod = LabMethod.NOT_STATED
    kind: Literal["laboratory"] = "laboratory"

    def __post_init__(self) -> None:
        named = (self.clay, self.silt, self.sand)
        if self.points:
            if any(share is not None for share in named):
                raise refuse(
                    "curve_and_shares",
                    field="laboratory.points",
                    given="a curve and named shares",
                    message="two descriptions of one soil",
                    remedy="Give the curve alone, it says more.",
                )
            check(
                "laboratory.points", Grading(self.points).finest_mm, 0, 2, "mm at most"
            )
            return
        if any(share is None for share in named):
            raise refuse(
                "shares_incomplete",
                field="laboratory.clay, silt, sand",
                given=f"{self.clay}, {self.silt}, {self.sand}",
                message="clay, silt and sand belong together",
                remedy="Give all three as fractions, or the points of the curve.",
            )
        self._check_sum()

    def _check_sum(self) -> None:
        for name in ("clay", "silt", "sand", "gravel"):
            check(f"laboratory.{name}", getattr(self, name) or 0.0, 0, 1, "of dry mass")
        if abs(self.total - 1) > ROUNDING + 1e-9:
            raise refuse(
                "shares_do_not_add_up",
                field="laboratory.clay, silt, sand, gravel",
                given=f"{self.total:.3f}",
                message="the shares must add up to 1",
                remedy="Give fractions, not percents, and the gravel if it is counted.",
            )

    @property
    def total(self) -> float:
        """Sum of the named shares; 0 for a curve."""
        return math.fsum(
            share or 0.0 for share in (self.clay, self.silt, self.sand, self.gravel)
        )


@dataclass(frozen=True, slots=True)
class ShrinkageBox:
    """A box of the raw soil, wetted until it can be thrown, and dried: how much shorter
    it grew, cracks pushed shut. Raises Refused: box under 50 mm or over 2 m, shrinkage
    negative or over 40 % of the length."""

    sample: Sample
    length_mm: float
    shrinkage_mm: float
    kind: Literal["shrinkage_box"] = "shrinkage_box"

    def __post_init__(self) -> None:
        check_box("shrinkage_box", self.length_mm, self.shrinkage_mm)


class Feel(StrEnum):
    """What a wet pinch feels like between the fingers."""

    GRITTY = "gritty"
    SMOOTH = "smooth"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class Ribbon:
    """Moist soil pressed out between thumb and finger until it breaks; 0 mm: no ribbon.
    `practised`: the tester has checked their hands against known samples.
    Raises Refused for a length negative or over 300 mm."""

    sample: Sample
    length_mm: float
    feel: Feel | None = None
    practised: bool = False
    kind: Literal["ribbon"] = "ribbon"

    def __post_init__(self) -> None:
        check("ribbon.length_mm", self.length_mm, 0, 300, "mm")


class BallFall(StrEnum):
    """What a moist ball, dropped from the shoulder, does on hard ground."""

    FLATTENS = "flattens"
    HOLDS = "holds"
    SHATTERS = "shatters"


@dataclass(frozen=True, slots=True)
class BallDrop:
    """A moist ball dropped; `holds`: keeps its shape with a few cracks."""

    sample: Sample
    fall: BallFall
    kind: Literal["ball_drop"] = "ball_drop"


# The thread of the plastic limit test (BS 1377, from memory).
THREAD_MM = 3.0


@dataclass(frozen=True, slots=True)
class Roll:
    """A thread rolled by hand: the diameter at which it broke, or the length to which a
    3 mm thread hung together. Raises Refused: neither, or a figure out of range."""

    sample: Sample
    breaks_at_mm: float | None = None
    unbroken_mm: float | None = None
    kind: Literal["roll"] = "roll"

    def __post_init__(self) -> None:
        check_given(
            "roll.breaks_at_mm, unbroken_mm", self.breaks_at_mm, self.unbroken_mm
        )
        if self.breaks_at_mm is not None:
            check("roll.breaks_at_mm", self.breaks_at_mm, 0.5, 50, "mm")
        if self.unbroken_mm is not None:
            check("roll.unbroken_mm", self.unbroken_mm, 0, 1000, "mm")
        if self.unbroken_mm and (self.breaks_at_mm or 0) > THREAD_MM:
            raise refuse(
                "roll_contradicts_itself",
                field="roll.breaks_at_mm, unbroken_mm",
                given=f"{self.breaks_at_mm:g} mm, {self.unbroken_mm:g} mm",
                message="a thread that breaks thicker than 3 mm has no length at 3 mm",
                remedy="Give the one that was seen.",
            )


class Smell(StrEnum):
    """What freshly broken moist soil smells of."""

    MUSTY = "musty"
    EARTHY = "earthy"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class SmellAndColour:
    """What nose and eye say of humus. `roots`: roots or leaves in sight."""

    sample: Sample
    smell: Smell
    dark: bool
    roots: bool = False
    kind: Literal["smell_and_colour"] = "smell_and_colour"


@dataclass(frozen=True, slots=True)
class StoneScreen:
    """What a mesh kept of a screened bucket; `kept` and `total` in one unit, any, by mass
    or by loose volume. Raises Refused: mesh under 2 or over 150 mm, no soil, or more kept
    than screened."""

    sample: Sample
    mesh_mm: float
    kept: float
    total: float
    by_mass: bool = True
    kind: Literal["stone_screen"] = "stone_screen"

    def __post_init__(self) -> None:
        check("stone_screen.mesh_mm", self.mesh_mm, 2, 150, "mm")
        check("stone_screen.total", self.total, 1e-6, 1e6, "kg or litres")
        check("stone_screen.kept", self.kept, 0, self.total, "of the total")


class PlainTexture(StrEnum):
    """Words for people who do not know the classes."""

    SANDY = "sandy"
    LOAMY = "loamy"
    SILTY = "silty"
    CLAYEY = "clayey"
    HEAVY_CLAY = "heavy_clay"


@dataclass(frozen=True, slots=True)
class TickedTexture:
    """What the holder believes: a class or a plain word. Raises Refused unless exactly
    one of them is given."""

    sample: Sample
    texture: Texture | None = None
    words: PlainTexture | None = None
    kind: Literal["ticked"] = "ticked"

    def __post_init__(self) -> None:
        if (self.texture is None) is (self.words is None):
            raise refuse(
                "one_texture",
                field="ticked.texture, words",
                given=f"{self.texture}, {self.words}",
                message="tick a class or a plain word, one of them",
                remedy="Leave the other empty.",
            )


@dataclass(frozen=True, slots=True)
class SoilMap:
    """What a soil map prints for the place, and which map. Raises Refused without one."""

    sample: Sample
    texture: Texture
    map_name: str
    kind: Literal["soil_map"] = "soil_map"

    def __post_init__(self) -> None:
        if not self.map_name.strip():
            raise refuse(
                "map_not_named",
                field="soil_map.map_name",
                given="nothing",
                message="which map says so must be known",
                remedy="Give the map's or the survey's name and year.",
            )


def check_box(field: str, length_mm: float, shrinkage_mm: float) -> None:
    """Raise Refused for a box or a shrinkage that nobody can have measured."""
    check(f"{field}.length_mm", length_mm, 50, 2000, "mm")
    check(f"{field}.shrinkage_mm", shrinkage_mm, 0, 0.4 * length_mm, "mm")


def _ascending(field: str, values: list[float]) -> None:
    if values != sorted(values):
        raise refuse(
            "goes_backwards",
            field=field,
            given=", ".join(f"{value:g}" for value in values),
            message="each must be at least the one before: sand, silt, clay",
            remedy="Give them in the order in which the layers came down.",
        )
