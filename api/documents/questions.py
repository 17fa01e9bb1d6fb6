"""What is asked of a material without storing it: tests in, judgement out."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from api.documents.materials import SandFacts, StrawFacts, SubsoilFacts
from api.documents.parts import Day, check_ends
from api.documents.quantity import Document
from api.documents.scenario import MixDoc

Kg = Annotated[float, Field(ge=0, le=1e6)]


class SoilTestIn(SubsoilFacts):
    """A soil with its tests, for a mix. Without any test it says what to test first."""

    mix: MixDoc = Field(default=MixDoc(), description="the mix that it is wanted for")


class SandTestIn(SandFacts):
    """A sand, to be judged for large walls."""


class KgRange(Document):
    """A mass that is not known exactly."""

    likely: Kg = Field(description="best estimate, kg")
    low: Kg | None = Field(default=None, description="kg; likely by default")
    high: Kg | None = Field(default=None, description="kg; likely by default")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        check_ends(self.low, self.likely, self.high, ", in kg")
        return self


class StrawTestIn(StrawFacts):
    """A lot of straw, to be judged for walls and counted in bales."""

    straw_kg: KgRange | None = Field(
        default=None, description="straw that is wanted, kg as weighed; gives the bales"
    )
    needed_on: Day | None = Field(
        default=None, description="first day on which it is mixed in, ISO date"
    )
