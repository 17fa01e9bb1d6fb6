"""From documents of evidence to the records that are weighed, and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from pydantic import TypeAdapter

from api.documents.evidence import EvidenceDoc, LaboratoryDoc
from api.documents.reading_parts import within
from api.documents.samples import SampleDoc
from api.documents.sieves import SieveDoc, read_curve
from logistics.domain.errors import refuse
from matching.domain.soil.evidence import Record
from matching.domain.soil.records import (
    BallDrop,
    JarTest,
    LabGrading,
    Ribbon,
    Roll,
    ShrinkageBox,
    SmellAndColour,
    SoilMap,
    StoneScreen,
    TickedTexture,
)
from matching.domain.soil.samples import Sample
from matching.domain.soil.trials import MixTrial, StandingWall

_RECORDS: dict[str, type[Record]] = {
    "jar": JarTest,
    "laboratory": LabGrading,
    "shrinkage_box": ShrinkageBox,
    "ribbon": Ribbon,
    "ball_drop": BallDrop,
    "roll": Roll,
    "smell_and_colour": SmellAndColour,
    "stone_screen": StoneScreen,
    "mix_trial": MixTrial,
    "standing_wall": StandingWall,
    "ticked": TickedTexture,
    "soil_map": SoilMap,
}
_DOCUMENT: TypeAdapter[EvidenceDoc] = TypeAdapter(EvidenceDoc)
_LABEL = tuple(one.name for one in fields(Sample))
_SHARES = ("clay", "silt", "sand", "gravel")


def read_test(doc: EvidenceDoc, *, field: str = "") -> Record:
    """A record. `field` is the document's own path, "" if it is the whole body. Raises
    Refused for figures that no such test can give."""
    label = doc.sample
    with within(f"{field}.{doc.kind}".removeprefix(".")):
        sample = Sample(**{one: getattr(label, one) for one in _LABEL})
    with within(field):
        return _RECORDS[doc.kind](sample=sample, **_figures(doc))


def read_tests(docs: Sequence[EvidenceDoc], *, field: str) -> tuple[Record, ...]:
    """The records of a list of documents, in its order."""
    return tuple(
        read_test(doc, field=f"{field}.{index}") for index, doc in enumerate(docs)
    )


def check_taken(records: Sequence[Record], today: date, *, field: str = "") -> None:
    """Raise Refused ("taken_in_the_future") for samples that nobody can have taken yet.
    `field` is the path of the list, "" for a single record."""
    for index, record in enumerate(records):
        if record.sample.taken_on > today:
            path = f"{field}.{index}." if field else ""
            raise refuse(
                "taken_in_the_future",
                field=f"{path}{record.kind}.sample.taken_on",
                given=record.sample.taken_on,
                message=f"this day is still to come; today is {today}",
                remedy="Give the day on which the sample was taken.",
            )


def evidence_document(record: Record) -> EvidenceDoc:
    """A record as the document that it can be read from; percent are rounded to hide
    binary fractions only."""
    own = {
        one.name: getattr(record, one.name)
        for one in fields(record)
        if one.name != "sample"
    }
    if isinstance(record, LabGrading):
        own = _sheet(record)
    label = SampleDoc(**{one: getattr(record.sample, one) for one in _LABEL})
    return _DOCUMENT.validate_python({**own, "sample": label})


def _figures(doc: EvidenceDoc) -> dict[str, Any]:
    """What is told besides the label: most fields are named alike in both worlds."""
    if isinstance(doc, LaboratoryDoc):
        told = {name: getattr(doc, f"{name}_percent") for name in _SHARES}
        return {
            "points": read_curve(doc.sieves).points if doc.sieves else (),
            "system": doc.system,
            "method": doc.method,
            **{name: None if own is None else own / 100 for name, own in told.items()},
        }
    names = type(doc).model_fields.keys() - {"sample", "kind"}
    return {name: getattr(doc, name) for name in names}


def _sheet(record: LabGrading) -> dict[str, Any]:
    told = {name: getattr(record, name) for name in _SHARES}
    return {
        "kind": record.kind,
        "sieves": [
            SieveDoc(size_mm=size, passing_percent=_percent(share))
            for size, share in record.points
        ]
        or None,
        "system": record.system,
        "method": record.method,
        **{
            f"{name}_percent": None if own is None else _percent(own)
            for name, own in told.items()
        },
    }


def _percent(share: float) -> float:
    return round(share * 100, 9)
