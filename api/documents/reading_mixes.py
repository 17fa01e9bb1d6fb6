"""From the question what to mix, as a document, to the question that is computed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from api.documents.mix_answers import MixAnswer
from api.documents.mix_document import mix_answer
from api.documents.mixes import MixMaterialDoc, MixQuestionDoc
from api.documents.reading import read_build, read_mix
from api.documents.reading_materials import read_material
from api.documents.reading_offers import offered_kg
from api.documents.scenario import BuildFields
from logistics.domain.errors import Problem, Refused
from logistics.domain.materials import Bale
from matching.domain.lifts.crew import DIGGER, Crew
from matching.domain.materials import Straw
from matching.domain.mix.haul import Terms
from matching.domain.mixing import MixDesign, MixQuestion, Site, Source, answer
from matching.domain.takeoff import MixTarget
from matching.domain.walls.volumes import placed_m3

_PART = re.compile(r"parts\.(\d+)\.(\w+)")
_MIX = re.compile(r"mix\.(\w+?)(?:_percent)?")


def mix_of(doc: MixQuestionDoc) -> MixAnswer:
    """The answer to a document. Raises Refused in the document's own names."""
    design, question = mix_design(doc)
    return mix_answer(design, question)


def mix_design(doc: MixQuestionDoc) -> tuple[MixDesign, MixQuestion]:
    """The design, for pictures of it, and its question. Raises what `mix_of` does."""
    with _named(doc):
        question = mix_question(doc)
        return answer(question), question


def mix_question(doc: MixQuestionDoc) -> MixQuestion:
    """The question. Raises Refused for mixes, walls and amounts that cannot be."""
    mix, wall_m3 = _mix_and_wall(doc)
    crew = doc.crew
    return MixQuestion(
        sources=tuple(_source(own, at) for at, own in enumerate(doc.materials)),
        mix=mix,
        wall_m3=wall_m3,
        dry_kg=doc.mix_dry_kg,
        site=Site(
            bucket_l=doc.bucket_l,
            batch_l=doc.batch_l,
            bale=Bale(doc.bale.kg, doc.bale.m3),
            crew=Crew(crew.novices, crew.trained, DIGGER if crew.machine else None)
            if crew
            else None,
        ),
        terms=Terms(
            doc.wrong_order.rush_percent / 100,
            doc.wrong_order.second_delivery_minor,
            doc.wrong_order.leftover_minor_per_t / 1000,
        ),
        target_first=doc.aim == "target",
    )


def _mix_and_wall(doc: MixQuestionDoc) -> tuple[MixTarget, float | None]:
    """Walls are read as a build's: of one rule, one reader."""
    if not doc.walls:
        return read_mix(doc.mix), doc.wall_m3
    build = BuildFields(name="walls", walls=doc.walls, mix=doc.mix)
    own = read_build(build, "walls", 0, (), field="build")
    return own.mix, placed_m3(own.walls)


def _source(doc: MixMaterialDoc, at: int) -> Source:
    material = read_material(doc.material, field=f"materials.{at}.material")
    # The document's union knows no straw; this tells the type checker.
    assert not isinstance(material, Straw)
    price = doc.delivered_minor_per_t
    amount = doc.amount
    return Source(
        key=str(at),
        name=doc.name,
        material=material,
        per_kg=None if price is None else price / 1000,
        most_kg=offered_kg(amount, material, field=f"materials.{at}.amount")
        if amount
        else None,
    )


@contextmanager
def _named(doc: MixQuestionDoc) -> Iterator[None]:
    """Name the place in the document of what the domain refuses inside."""
    try:
        yield
    except Refused as refused:
        raise Refused(*(_in_document(doc, own) for own in refused.problems)) from None


def _in_document(doc: MixQuestionDoc, problem: Problem) -> Problem:
    field = problem.field.removeprefix("build.")
    part, mix = _PART.fullmatch(field), _MIX.fullmatch(field)
    if part:
        kind = doc.materials[int(part[1])].material.kind
        field = f"materials.{part[1]}.material.{kind}.{part[2]}_percent"
    elif mix:
        field = f"mix.{mix[1]}_percent"
    return replace(problem, field=field)
