"""What is known of a material, as an answer."""

from __future__ import annotations

from pydantic import BaseModel, Field

from api.documents.answer_parts import percents
from api.documents.evidence_answers import EstimateSummary
from api.documents.evidence_document import estimate_summary
from api.documents.plan_models import RangeAnswer
from api.documents.sieves import SieveDoc
from logistics.domain.trucks import Cargo
from matching.domain.grounds import Known
from matching.domain.materials import (
    History,
    Material,
    Sand,
    Straw,
    Subsoil,
    cargo,
)
from matching.domain.sands.records import Called, Shape
from matching.domain.straws.bales import BaleForm
from matching.domain.straws.records import Herbicide, Plant, Smell, Storage


class MaterialAnswer(BaseModel):
    """What is known of a material; fields that its kind does not have are null."""

    kind: Cargo
    clay_percent: RangeAnswer | None = None
    silt_percent: RangeAnswer | None = None
    stones_percent: float | None = None
    organic_percent: float | None = None
    topsoil: bool | None = None
    history: History | None = None
    salty: Known | None = None
    frozen: bool | None = None
    rained_since: bool | None = None
    depth_from_m: float | None = None
    depth_to_m: float | None = None
    estimate: EstimateSummary | None = Field(
        default=None, description="how well a soil is known; null for sand and straw"
    )
    sand: Called | None = None
    shape: Shape | None = None
    sieves: list[SieveDoc] | None = None
    fines_percent: float | None = None
    clayey: Known | None = None
    salt: Known | None = None
    chloride_percent: float | None = None
    shells: Known | None = None
    sold_by_volume: Known | None = None
    fibre: Plant | None = None
    strand_mm: float | None = None
    storage: Storage | None = None
    mould: Known | None = None
    smell: Smell | None = None
    herbicide: Herbicide | None = None
    harvested_year: int | None = None
    bale: BaleForm | None = None
    bale_kg: int | None = None
    bale_m3: float | None = None
    moisture_percent: float | None = Field(
        description="over dry mass; of straw over total mass, null if not measured"
    )


def material_answer(material: Material) -> MaterialAnswer:
    """A material as a document; percent are rounded to hide binary fractions only."""
    if isinstance(material, Straw):
        return _straw(material)
    return _sand(material) if isinstance(material, Sand) else _soil(material)


def _straw(material: Straw) -> MaterialAnswer:
    own = material.record
    return MaterialAnswer(
        kind=cargo(material),
        fibre=own.plant,
        strand_mm=own.strand_mm,
        storage=own.storage,
        mould=own.mould,
        smell=own.smell,
        herbicide=own.herbicide,
        harvested_year=own.harvested_year,
        bale=own.form,
        bale_kg=material.bale.kg,
        bale_m3=material.bale.m3,
        moisture_percent=_percent(own.moisture),
    )


def _sand(material: Sand) -> MaterialAnswer:
    own = material.record
    return MaterialAnswer(
        kind=cargo(material),
        sand=own.called,
        shape=own.shape,
        sieves=None
        if own.grading is None
        else [
            SieveDoc(size_mm=size, passing_percent=round(share * 100, 6))
            for size, share in own.grading.points
        ],
        fines_percent=_percent(own.fines),
        clayey=own.clayey,
        salt=own.salt,
        chloride_percent=_percent(own.chloride),
        shells=own.shells,
        sold_by_volume=own.sold_by_volume,
        clay_percent=percents(material.clay, 6),
        silt_percent=percents(material.silt, 6) if material.silt else None,
        moisture_percent=_percent(material.moisture.likely),
    )


def _soil(material: Subsoil) -> MaterialAnswer:
    return MaterialAnswer(
        kind=cargo(material),
        clay_percent=percents(material.clay, 6),
        silt_percent=percents(material.silt, 6) if material.silt else None,
        stones_percent=_percent(material.stones),
        organic_percent=_percent(material.organic),
        topsoil=material.topsoil,
        history=material.history,
        salty=material.salty,
        frozen=material.frozen,
        rained_since=material.rained_since,
        depth_from_m=material.depth_from_m,
        depth_to_m=material.depth_to_m,
        estimate=estimate_summary(material),
        moisture_percent=_percent(material.moisture.likely),
    )


def _percent(share: float | None) -> float | None:
    return None if share is None else round(share * 100, 6)
