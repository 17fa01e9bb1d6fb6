"""Grading curves as documents: shares passing, or grams kept on sieves and in the pan."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Self

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Percent
from api.documents.quantity import Document
from matching.domain.grading import Grading, Sieving, from_retained

SizeMm = Annotated[float, Field(gt=0, le=600)]
Grams = Annotated[float, Field(ge=0, le=1e6)]


class SieveDoc(Document):
    """One size of a curve."""

    size_mm: SizeMm = Field(
        description="opening of the sieve, or size by hydrometer, mm"
    )
    passing_percent: Percent = Field(description="finer than that, percent of dry mass")


def _curve(sieves: list[SieveDoc]) -> list[SieveDoc]:
    ordered = sorted(sieves, key=lambda own: own.size_mm)
    _each_once([own.size_mm for own in ordered])
    for fine, coarse in pairwise(ordered):
        if coarse.passing_percent < fine.passing_percent:
            raise PydanticCustomError(
                "passing_falls",
                "more cannot pass a fine sieve than a coarse one",
                {
                    "given": f"{fine.passing_percent:g} % at {fine.size_mm:g} mm,"
                    f" {coarse.passing_percent:g} % at {coarse.size_mm:g} mm",
                    "remedy": "Give what passes each sieve, not what it keeps.",
                },
            )
    return sieves


def _each_once(sizes: list[float]) -> None:
    for one, other in pairwise(sorted(sizes)):
        if one == other:
            raise PydanticCustomError(
                "sieve_twice",
                "a sieve occurs twice",
                {"given": f"{one:g} mm", "remedy": "Give each sieve once."},
            )


Curve = Annotated[
    list[SieveDoc], Field(min_length=2, max_length=40), AfterValidator(_curve)
]


class KeptDoc(Document):
    """What stayed on one sieve."""

    size_mm: SizeMm = Field(description="opening of the sieve, mm")
    retained_g: Grams = Field(description="dry grams on this sieve alone, not added up")


class RetainedDoc(Document):
    """A sieving by its masses: dry a sample, shake it through the sieves, weigh each."""

    sieves: list[KeptDoc] = Field(
        min_length=2, max_length=40, description="in any order"
    )
    pan_g: Grams = Field(description="dry grams in the pan")
    sample_g: float | None = Field(
        default=None,
        gt=0,
        le=1e6,
        description="dry grams before sieving, to tell the loss; at most 5 percent",
    )

    @model_validator(mode="after")
    def _something(self) -> Self:
        _each_once([own.size_mm for own in self.sieves])
        if self.pan_g + sum(own.retained_g for own in self.sieves) <= 0:
            raise PydanticCustomError(
                "nothing_sieved",
                "all masses are zero",
                {"remedy": "Give the dry grams kept on each sieve and in the pan."},
            )
        return self


def read_curve(sieves: list[SieveDoc]) -> Grading:
    """The curve of shares passing."""
    points = sorted((own.size_mm, own.passing_percent / 100) for own in sieves)
    return Grading(tuple(points))


def read_retained(doc: RetainedDoc) -> Sieving:
    """The curve of a sieving with its loss. Raises Refused "masses_do_not_add_up"."""
    return from_retained(
        [own.size_mm for own in doc.sieves],
        [own.retained_g for own in doc.sieves],
        doc.pan_g,
        sample_g=doc.sample_g,
    )
