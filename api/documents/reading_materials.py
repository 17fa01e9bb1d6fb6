"""From what is known of a material to the value that is judged and matched."""

from __future__ import annotations

from api.documents.materials import (
    SandDoc,
    SandFacts,
    StrawDoc,
    StrawFacts,
    SubsoilDoc,
    SubsoilFacts,
)
from api.documents.reading_evidence import read_tests
from api.documents.reading_parts import spread, within
from api.documents.sieves import read_curve, read_retained
from logistics.domain.errors import refuse
from logistics.domain.materials import MOISTURE, SMALL_BALE, Bale, Earth
from logistics.domain.quantities import Spread
from matching.domain.grading import Grading, Sieving
from matching.domain.materials import Material, Sand, Straw, Subsoil
from matching.domain.sands.fines import clay_and_silt
from matching.domain.sands.records import SandRecord
from matching.domain.soil.estimate import UNKNOWN_CLAY
from matching.domain.straws.bales import DENSITY, bale_of
from matching.domain.straws.records import StrawRecord
from matching.domain.tested import tested


def read_material(doc: SubsoilDoc | SandDoc | StrawDoc, *, field: str) -> Material:
    """What is on offer; `field` is its own path. Raises Refused for evidence and figures
    that no such material has."""
    path = f"{field}.{doc.kind}"
    if isinstance(doc, StrawDoc):
        return read_straw(doc, field=path)
    if isinstance(doc, SandDoc):
        return read_sand(doc, field=path)
    return read_subsoil(doc, field=path)


def read_subsoil(doc: SubsoilFacts, *, field: str = "") -> Subsoil:
    """A soil whose shares are what its tests leave, else declared, else unknown."""
    soil = Subsoil(
        clay=spread(doc.clay_percent) if doc.clay_percent else UNKNOWN_CLAY,
        silt=spread(doc.silt_percent) if doc.silt_percent else None,
        earth=doc.earth,
        stones=doc.stones_percent / 100,
        organic=doc.organic_percent / 100,
        topsoil=doc.topsoil,
        history=doc.history,
        moisture=_moisture(doc.moisture_percent, doc.earth),
        depth_from_m=doc.depth_from_m,
        depth_to_m=doc.depth_to_m,
        salty=doc.salty,
        frozen=doc.frozen,
        rained_since=doc.rained_since,
    )
    if not doc.tests:
        return soil
    return tested(soil, read_tests(doc.tests, field=f"{field}.tests".removeprefix(".")))


def read_sand(doc: SandFacts, *, field: str = "") -> Sand:
    """A sand; clay and silt that are not declared come from its sieves or its fines."""
    sieving = read_sieving(doc, field=field)
    record = SandRecord(
        called=doc.sand,
        shape=doc.shape,
        grading=_grading(doc, sieving),
        salt=doc.salt,
        chloride=_share(doc.chloride_percent),
        shells=doc.shells,
        fines=_share(doc.fines_percent),
        clayey=doc.clayey,
        moisture=_share(doc.moisture_percent),
        sold_by_volume=doc.sold_by_volume,
        place=doc.place,
        taken_on=doc.taken_on,
        tester=doc.tester,
    )
    usual = Sand(record, moisture=_moisture(doc.moisture_percent, Earth.SAND))
    clay, silt = clay_and_silt(record) or (usual.clay, usual.silt)
    return Sand(
        record,
        clay=spread(doc.clay_percent) if doc.clay_percent else clay,
        silt=spread(doc.silt_percent) if doc.silt_percent else silt,
        moisture=usual.moisture,
    )


def read_sieving(doc: SandFacts, *, field: str = "") -> Sieving | None:
    """The sieving by its masses, if it was given so. Raises Refused if too much was lost."""
    if doc.retained is None:
        return None
    with within(f"{field}.retained".removeprefix(".")):
        return read_retained(doc.retained)


def _grading(doc: SandFacts, sieving: Sieving | None) -> Grading | None:
    if sieving is not None:
        return sieving.grading
    return read_curve(doc.sieves) if doc.sieves else None


def read_straw(doc: StrawFacts, *, field: str = "") -> Straw:
    """Straw in bales of a form, or of a mass and a volume. Raises Refused for a bale that
    no straw makes."""
    record = StrawRecord(
        plant=doc.fibre,
        strand_mm=doc.strand_mm,
        moisture=_share(doc.moisture_percent),
        storage=doc.storage,
        mould=doc.mould,
        smell=doc.smell,
        form=doc.bale,
        bale_kg=doc.bale_kg if doc.bale else None,
        herbicide=doc.herbicide,
        harvested_year=doc.harvested_year,
        place=doc.place,
        taken_on=doc.taken_on,
        tester=doc.tester,
    )
    return Straw(record, bale=_bale(doc, field))


def _bale(doc: StrawFacts, field: str) -> Bale:
    if doc.bale is not None:
        with within(field, drop="bale.", add="bale_"):
            return bale_of(doc.bale, doc.bale_kg)
    bale = Bale(doc.bale_kg or SMALL_BALE.kg, doc.bale_m3 or SMALL_BALE.m3)
    least, most = DENSITY
    if not least <= bale.kg_per_m3 <= most:
        raise refuse(
            "bale_mass_unlikely",
            field=f"{field}.bale_kg".removeprefix("."),
            given=f"{bale.kg} kg in {bale.m3:g} m3",
            message=f"straw bales hold {least:.0f} to {most:.0f} kg in 1 m3, this one"
            f" {bale.kg_per_m3:.0f}",
            remedy="Check that mass and volume are of one bale, or name its form.",
        )
    return bale


def _moisture(percent: float | None, earth: Earth) -> Spread:
    return MOISTURE[earth] if percent is None else Spread.exactly(percent / 100)


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100
