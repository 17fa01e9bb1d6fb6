"""The label that every piece of evidence on a soil carries."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Day
from api.documents.quantity import Document, Line, Name
from matching.domain.tested import OWN_SOURCE

DepthM = Annotated[float, Field(ge=0, le=30)]


class SampleDoc(Document):
    """Where, when and by whom a sample was taken. A new source, another depth or rain
    asks for a new test."""

    place: Line = Field(
        default="", description="where in the heap or pit, such as north side"
    )
    depth_from_m: DepthM = Field(description="upper depth below the surface, metres")
    depth_to_m: DepthM = Field(description="lower depth below the surface, metres")
    taken_on: Day = Field(description="day on which it was taken, ISO date")
    tester: Name = Field(description="who tested it")
    source: Name = Field(
        default=OWN_SOURCE,
        description="the heap or pit that it is from; this heap by default, and a sample"
        " of another is set aside",
    )
    rained_since: bool = Field(
        default=False, description="true if rain fell on it after the sample was taken"
    )

    @model_validator(mode="after")
    def _downwards(self) -> Self:
        if self.depth_to_m < self.depth_from_m:
            raise PydanticCustomError(
                "depths_upside_down",
                "the lower depth must not be above the upper",
                {
                    "field": "depth_to_m",
                    "given": f"{self.depth_from_m:g} to {self.depth_to_m:g} m",
                    "remedy": "Give metres below the surface, the shallower first.",
                },
            )
        return self


class LabelledDoc(Document):
    """A test with its label."""

    sample: SampleDoc = Field(description="where, when and by whom it was taken")
