"""Evidence on a soil as documents, one for each kind of test that people make."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, RootModel, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Percent
from api.documents.quantity import Name
from api.documents.samples import LabelledDoc
from api.documents.sieves import Curve
from api.documents.trials import MixTrialDoc, StandingWallDoc
from matching.domain.grading import SizeSystem
from matching.domain.soil.records import (
    ROUNDING,
    BallFall,
    Feel,
    LabMethod,
    PlainTexture,
    Smell,
)
from matching.domain.soil.texture import Texture

# A soil is what passes 2 mm (USDA).
SAND_MM = 2.0

LayerMm = Annotated[float, Field(ge=0, le=1000)]
ReadS = Annotated[float, Field(ge=1, le=60 * 86_400)]


class JarDoc(LabelledDoc):
    """Soil shaken with water in a straight jar and left to settle; the clock tells sand
    (about a minute) from silt (hours) from clay (a day)."""

    kind: Literal["jar"] = Field(
        description="jar: soil shaken in water and left to settle"
    )
    sand_mm: LayerMm = Field(description="height of the sand layer, mm")
    silt_mm: LayerMm = Field(description="height of the silt layer, mm")
    clay_mm: LayerMm = Field(description="height of the clay layer, mm")
    cumulative: bool = Field(
        default=False,
        description="true if the heights are marks from the bottom: after the sand, after"
        " the silt, after all had come down",
    )
    sand_read_s: ReadS | None = Field(
        default=None, description="when the sand was marked, seconds after setting down"
    )
    silt_read_s: ReadS | None = Field(
        default=None, description="when the silt was marked, seconds after setting down"
    )
    clay_read_s: ReadS | None = Field(
        default=None, description="when the clay was marked, seconds after setting down"
    )
    fall_mm: float | None = Field(
        default=None,
        ge=10,
        le=1000,
        description="height of the water above the settled soil, mm",
    )
    water_c: float | None = Field(
        default=None, ge=0, le=40, description="temperature of the water, degrees C"
    )
    cleared: bool = Field(
        default=True, description="true if the water was clear at the last reading"
    )
    dispersant: bool = Field(
        default=False, description="true if washing soda or the like was shaken in"
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        marks = (self.sand_mm, self.silt_mm, self.clay_mm) if self.cumulative else ()
        times = (self.sand_read_s, self.silt_read_s, self.clay_read_s)
        for fields, values in (("mm", marks), ("read_s", times)):
            given = [value for value in values if value is not None]
            if given != sorted(given):
                raise PydanticCustomError(
                    "goes_backwards",
                    "each must be at least the one before: sand, silt, clay",
                    {
                        "field": f"clay_{fields}",
                        "given": ", ".join(f"{value:g}" for value in given),
                        "remedy": "Give them in the order in which the layers came down.",
                    },
                )
        return self


class LaboratoryDoc(LabelledDoc):
    """A laboratory's sheet: the whole curve in `sieves`, or clay, silt and sand (and
    gravel, if it is counted) with the size limits that they follow."""

    kind: Literal["laboratory"] = Field(description="laboratory: sieves and hydrometer")
    sieves: Curve | None = Field(
        default=None,
        description="the curve, down to 2 mm or finer, hydrometer readings as sizes",
    )
    clay_percent: Percent | None = Field(
        default=None, description="clay, percent of dry mass"
    )
    silt_percent: Percent | None = Field(
        default=None, description="silt, percent of dry mass"
    )
    sand_percent: Percent | None = Field(
        default=None, description="sand, percent of dry mass"
    )
    gravel_percent: Percent | None = Field(
        default=None, description="gravel, percent of dry mass; left out: not counted"
    )
    system: SizeSystem = Field(
        default=SizeSystem.USDA,
        strict=False,
        description="silt ends at 0.05 mm (usda), 0.063 (iso_14688) or 0.075 (unified)",
    )
    method: LabMethod = Field(
        default=LabMethod.NOT_STATED,
        strict=False,
        description="for the fines: pipette, hydrometer, sieve_only or not_stated",
    )

    @model_validator(mode="after")
    def _one_description(self) -> Self:
        named = (self.clay_percent, self.silt_percent, self.sand_percent)
        if self.sieves is not None:
            if any(share is not None for share in (*named, self.gravel_percent)):
                raise PydanticCustomError(
                    "curve_and_shares",
                    "a curve and named shares are two descriptions of one soil",
                    {
                        "field": "sieves",
                        "remedy": "Give the curve alone, it says more.",
                    },
                )
            if min(own.size_mm for own in self.sieves) > SAND_MM:
                raise PydanticCustomError(
                    "curve_too_coarse",
                    "a curve that begins above 2 mm says nothing of the soil",
                    {"field": "sieves", "remedy": "Add finer sieves or a hydrometer."},
                )
            return self
        told = [share for share in named if share is not None]
        if len(told) < len(named):
            raise PydanticCustomError(
                "shares_incomplete",
                "clay, silt and sand belong together",
                {"remedy": "Give all three in percent, or the sieves of the curve."},
            )
        total = sum(told) + (self.gravel_percent or 0)
        if abs(total - 100) > 100 * ROUNDING + 1e-6:
            raise PydanticCustomError(
                "shares_do_not_add_up",
                "clay, silt, sand and gravel must add up to 100 percent",
                {
                    "given": f"{total:g} %",
                    "remedy": "Check the sheet; give the gravel if it is counted there.",
                },
            )
        return self


class ShrinkageBoxDoc(LabelledDoc):
    """Raw soil as stiff mud in a long box, dried for a week or two."""

    kind: Literal["shrinkage_box"] = Field(
        description="shrinkage_box: the raw soil dried in a box"
    )
    length_mm: float = Field(
        ge=50, le=2000, description="inner length of the box, mm; 610 is usual"
    )
    shrinkage_mm: float = Field(
        ge=0, le=800, description="how much shorter it dried, cracks pushed shut, mm"
    )


class RibbonDoc(LabelledDoc):
    """Moist soil pressed out between thumb and finger until the ribbon breaks."""

    kind: Literal["ribbon"] = Field(
        description="ribbon: pressed out by thumb and finger"
    )
    length_mm: float = Field(
        ge=0, le=300, description="length at which it broke, mm; 0: no ribbon forms"
    )
    feel: Feel | None = Field(
        default=None,
        strict=False,
        description="a wet pinch feels gritty (sand), smooth (silt) or neither",
    )
    practised: bool = Field(
        default=False, description="true if the tester's hands know checked samples"
    )


class BallDropDoc(LabelledDoc):
    """A moist ball dropped from the shoulder on hard ground."""

    kind: Literal["ball_drop"] = Field(description="ball_drop: a moist ball dropped")
    fall: BallFall = Field(
        strict=False,
        description="it flattens (wet or rich), holds with few cracks, or shatters (lean)",
    )


class RollDoc(LabelledDoc):
    """A thread rolled by hand on a board: how thin, or how long, before it breaks."""

    kind: Literal["roll"] = Field(description="roll: a thread rolled by hand")
    breaks_at_mm: float | None = Field(
        default=None, ge=0.5, le=50, description="diameter at which it broke, mm"
    )
    unbroken_mm: float | None = Field(
        default=None,
        ge=0,
        le=1000,
        description="length to which a thread of 3 mm hung together, mm",
    )


class SmellDoc(LabelledDoc):
    """Nose and eye on fresh moist soil: humus smells musty and is dark."""

    kind: Literal["smell_and_colour"] = Field(
        description="smell_and_colour: for roots and humus"
    )
    smell: Smell = Field(strict=False, description="musty, earthy or none")
    dark: bool = Field(description="true if it is dark brown or black when moist")
    roots: bool = Field(
        default=False, description="true if roots or leaves are in sight"
    )


class StoneScreenDoc(LabelledDoc):
    """A bucket of soil through a mesh, and what the mesh kept."""

    kind: Literal["stone_screen"] = Field(description="stone_screen: a screened bucket")
    mesh_mm: float = Field(ge=2, le=150, description="opening of the mesh, mm")
    kept: float = Field(
        ge=0, le=1e6, description="kept by the mesh, kg or litres as total"
    )
    total: float = Field(gt=0, le=1e6, description="screened in all, kg or litres")
    by_mass: bool = Field(
        default=True, description="true: both in kg; false: both in litres, loose"
    )


class TickedDoc(LabelledDoc):
    """What the holder believes, without a test."""

    kind: Literal["ticked"] = Field(description="ticked: what the holder believes")
    texture: Texture | None = Field(
        default=None, strict=False, description="a class of the USDA triangle"
    )
    words: PlainTexture | None = Field(
        default=None,
        strict=False,
        description="or in plain words: sandy, loamy, silty, clayey or heavy_clay",
    )


class SoilMapDoc(LabelledDoc):
    """What a soil map prints for the place."""

    kind: Literal["soil_map"] = Field(description="soil_map: printed for the place")
    texture: Texture = Field(strict=False, description="a class of the USDA triangle")
    map_name: Name = Field(description="which map or survey, and its year")


EvidenceDoc = Annotated[
    JarDoc
    | LaboratoryDoc
    | ShrinkageBoxDoc
    | RibbonDoc
    | BallDropDoc
    | RollDoc
    | SmellDoc
    | StoneScreenDoc
    | MixTrialDoc
    | StandingWallDoc
    | TickedDoc
    | SoilMapDoc,
    Field(discriminator="kind"),
]
# Kinds that say nothing of clay, so that a declared share may stand beside them.
WITHOUT_CLAY = (SmellDoc, StoneScreenDoc)


class OneTest(RootModel[EvidenceDoc]):
    """One test of a soil, by its `kind`."""
