"""Evidence from the very mix: bricks and boxes that were made, walls that stand."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from api.documents.samples import LabelledDoc
from matching.domain.soil.trials import (
    LEAST_STRENGTH_MPA,
    MOST_SAND_PARTS,
    Bricks,
    PartsBy,
    WallCondition,
)

Parts = Annotated[float, Field(ge=0, le=MOST_SAND_PARTS)]
_PARTS = "parts of sand to one part of this soil; 0: the soil alone (a factor)"
_PARTS_BY = "a part is loose_volume (a bucket of each, as it comes) or dry_mass"


class MixTrialDoc(LabelledDoc):
    """Bricks or a shrinkage box of the very mix. Mix soil, sand and straw as for the wall,
    fill a mould or a 610 mm box, dry it out of the sun for weeks, then break and drop it."""

    kind: Literal["mix_trial"] = Field(
        description="mix_trial: bricks or a box of a mix"
    )
    sand_parts: Parts = Field(description=_PARTS)
    parts_by: PartsBy = Field(
        default=PartsBy.LOOSE_VOLUME, strict=False, description=_PARTS_BY
    )
    box_mm: float | None = Field(
        default=None, ge=50, le=2000, description="inner length of the box, mm"
    )
    shrinkage_mm: float | None = Field(
        default=None,
        ge=0,
        le=800,
        description="how much shorter it dried, cracks pushed shut, mm; needs box_mm;"
        " 25 mm in 610 mm still passes",
    )
    box_cracked: bool | None = Field(
        default=None, description="true if the box dried with cracks across"
    )
    bricks: Bricks | None = Field(
        default=None,
        strict=False,
        description="dried bricks: strong, cracked (too much clay) or crumbly (too little)",
    )
    strength_mpa: float | None = Field(
        default=None,
        ge=0,
        le=20,
        description=f"crushing strength, MPa; {LEAST_STRENGTH_MPA:g} MPa is asked for",
    )
    strength_samples: int | None = Field(
        default=None, ge=1, le=1000, description="pieces that were crushed (a factor)"
    )


class StandingWallDoc(LabelledDoc):
    """A wall that stands and was built with this soil: the strongest evidence there is."""

    kind: Literal["standing_wall"] = Field(
        description="standing_wall: a wall built with this soil"
    )
    sand_parts: Parts = Field(description=_PARTS)
    parts_by: PartsBy = Field(
        default=PartsBy.LOOSE_VOLUME, strict=False, description=_PARTS_BY
    )
    years: float = Field(
        ge=0, le=1000, description="how long it has stood, years (a factor)"
    )
    condition: WallCondition = Field(
        strict=False, description="sound, cracked (too rich) or eroded (too lean)"
    )
