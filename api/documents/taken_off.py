"""Take-offs: what is asked, and what walls hold and swallow, wall by wall."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import BaseModel, Field

from api.documents.answer_parts import ranged
from api.documents.calendars import BaleDoc
from api.documents.plan_models import RangeAnswer, TakeOffAnswer
from api.documents.quantity import Document
from api.documents.reading import read_mix
from api.documents.reading_walls import read_walls
from api.documents.scenario import MixDoc
from api.documents.walls import WallDoc
from logistics.domain.materials import Bale
from logistics.domain.quantities import Spread
from matching.domain.takeoff import TakeOff, take_off
from matching.domain.walls.cautions import Remark, code_remarks
from matching.domain.walls.volumes import overlap_m3, placed_m3
from matching.domain.walls.wall import Wall


class TakeOffIn(Document):
    """Walls to take off; nothing is stored."""

    walls: list[WallDoc] = Field(
        min_length=1, max_length=200, description="what they swallow is computed"
    )
    mix: MixDoc = Field(default=MixDoc(), description="the mix for the walls")
    bale: BaleDoc | None = Field(
        default=None, description="bales to count the straw in; null: by mass alone"
    )


class OpeningAnswer(BaseModel):
    """A door or window; `at_m` null: it has no place yet."""

    width_m: float
    height_m: float
    at_m: float | None
    sill_m: float | None
    area_m2: float


class WallAnswer(BaseModel):
    """One wall alone: what it shares with others is not taken off."""

    number: int = Field(description="counts from 1")
    name: str
    kind: Literal["outer", "inner", "bench"]
    length_m: float = Field(description="of the centre line")
    height_m: float = Field(description="the greatest, above the plinth")
    thickness_m: float
    top_thickness_m: float
    gross_face_m2: float = Field(description="one face, openings and all")
    face_m2: float = Field(description="one face of cob, less openings and lintels")
    placed_m3: float
    openings: list[OpeningAnswer]


class WallCautionAnswer(BaseModel):
    """What the sizes of walls call for; `wall` counts from 1, null for all of them."""

    code: str
    wall: int | None
    name: str | None
    found: float | None = Field(description="metres, or a ratio for slenderness")
    limit: float | None
    source: str
    text: str


class WallsAnswer(BaseModel):
    """Walls one by one and together. The sum of all walls less `overlap_m3` is
    `placed_m3`."""

    walls: list[WallAnswer]
    overlap_m3: float = Field(
        description="counted by two walls where they meet, taken off once; a little below 0"
        " where an arc meets another wall at a corner"
    )
    placed_m3: float
    cautions: list[WallCautionAnswer]


class TakeOffSheet(BaseModel):
    """A take-off of walls that are not stored."""

    walls: WallsAnswer
    takeoff: TakeOffAnswer
    bales: RangeAnswer | None = Field(
        description="whole bales; null: no bale was given"
    )


def take_off_sheet(doc: TakeOffIn) -> TakeOffSheet:
    """The take-off of walls. Raises Refused for walls and mixes that cannot be."""
    walls, mix = read_walls(doc.walls), read_mix(doc.mix)
    takeoff = take_off(walls, mix)
    bale = doc.bale and Bale(doc.bale.bale_kg, doc.bale.bale_m3)
    return TakeOffSheet(
        walls=walls_answer(walls),
        takeoff=take_off_answer(takeoff),
        bales=whole_bales(takeoff.straw_kg, bale) if bale else None,
    )


def take_off_answer(takeoff: TakeOff) -> TakeOffAnswer:
    """A take-off as a document."""
    return TakeOffAnswer(
        placed_m3=round(takeoff.placed_m3, 3),
        mineral_dry_kg=ranged(takeoff.mineral_dry_kg, 0),
        soil_moist_kg=ranged(takeoff.soil_moist_kg, 0),
        soil_bank_m3=ranged(takeoff.soil_bank_m3, 2),
        soil_loose_m3=ranged(takeoff.soil_loose_m3, 2),
        sand_moist_kg=ranged(takeoff.sand_moist_kg, 0),
        sand_loose_m3=ranged(takeoff.sand_loose_m3, 2),
        straw_kg=ranged(takeoff.straw_kg, 0),
        water_l=ranged(takeoff.water_l, 0),
    )


def whole_bales(straw_kg: Spread, bale: Bale) -> RangeAnswer:
    """Bales for a mass of straw, the last one whole."""
    ends = (straw_kg.low, straw_kg.likely, straw_kg.high)
    low, likely, high = (math.ceil(kg / bale.kg - 1e-9) for kg in ends)
    return RangeAnswer(low=low, likely=likely, high=high)


def walls_answer(walls: tuple[Wall, ...]) -> WallsAnswer:
    """Walls as a document."""
    return WallsAnswer(
        walls=[_wall(number, wall) for number, wall in enumerate(walls, start=1)],
        overlap_m3=round(overlap_m3(walls), 4),
        placed_m3=round(placed_m3(walls), 4),
        cautions=[_caution(own, walls) for own in code_remarks(walls)],
    )


def _wall(number: int, wall: Wall) -> WallAnswer:
    return WallAnswer(
        number=number,
        name=wall.name or f"Wall {number}",
        kind=wall.kind.value,
        length_m=round(wall.length_m, 4),
        height_m=wall.height_m,
        thickness_m=wall.thickness_m,
        top_thickness_m=round(wall.thickness_at(wall.height_m), 4),
        gross_face_m2=round(wall.gross_face_m2, 4),
        face_m2=round(wall.face_m2, 4),
        placed_m3=round(wall.placed_m3, 4),
        openings=[
            OpeningAnswer(
                width_m=own.width_m,
                height_m=own.height_m,
                at_m=own.at_m,
                sill_m=own.foot_m,
                area_m2=round(own.width_m * own.height_m, 4),
            )
            for own in wall.openings
        ],
    )


def _caution(own: Remark, walls: tuple[Wall, ...]) -> WallCautionAnswer:
    return WallCautionAnswer(
        code=own.code,
        wall=None if own.wall is None else own.wall + 1,
        name=None if own.wall is None else walls[own.wall].name or None,
        found=None if own.found is None else round(own.found, 3),
        limit=own.limit,
        source=own.source,
        text=own.words,
    )
