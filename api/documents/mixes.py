"""The question what to order and how to mix it, as a document."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.materials import SandDoc, SubsoilDoc
from api.documents.parts import Minor
from api.documents.quantity import Document, Name, Quantity
from api.documents.scenario import MixDoc
from api.documents.walls import WallDoc
from logistics.domain.materials import SMALL_BALE
from matching.domain.mix.batches import BUCKET_L, TARP_L


class MixMaterialDoc(Document):
    """A soil or sand that could go into the mix."""

    name: Name
    material: Annotated[SubsoilDoc | SandDoc, Field(discriminator="kind")] = Field(
        description="what it is and what is known of its quality, by `kind`"
    )
    delivered_minor_per_t: int | None = Field(
        default=None,
        ge=-(10**9),
        le=10**9,
        description="delivered, per 1000 kg moist, minor currency units; 0 if free, below 0"
        " if the holder pays; left out: not known",
    )
    amount: Quantity | None = Field(
        default=None, description="all that can be had; any amount by default"
    )


class MixCrewDoc(Document):
    """Who mixes and places on a dry work day."""

    novices: int = Field(default=0, ge=0, le=1000, description="heads who promised")
    trained: int = Field(
        default=0, ge=0, le=1000, description="heads who have built before"
    )
    machine: bool = Field(default=False, description="true if a digger mixes")

    @model_validator(mode="after")
    def _somebody(self) -> Self:
        if self.novices + self.trained == 0:
            raise PydanticCustomError(
                "crew_of_nobody",
                "a crew needs somebody",
                {"remedy": "Give novices or trained, or leave the crew out."},
            )
        return self


class MixBaleDoc(Document):
    """A bale of the straw that is to be had."""

    kg: int = Field(
        default=SMALL_BALE.kg, gt=0, le=1000, description="mass of one bale, kg"
    )
    m3: float = Field(
        default=SMALL_BALE.m3, ge=0.01, le=10, description="volume of one bale, m3"
    )


class WrongOrderDoc(Document):
    """What a wrong order costs: by it knowing the soil has a worth in money."""

    rush_percent: float = Field(
        default=50,
        ge=0,
        le=1000,
        description="surcharge on the delivered price of what is fetched later, percent;"
        " the default is a guess",
    )
    second_delivery_minor: Minor = Field(
        default=0, description="paid once if anything is fetched later"
    )
    leftover_minor_per_t: Minor = Field(
        default=0, description="for what is not used, per 1000 kg dry"
    )


class MixQuestionDoc(Document):
    """Soils and sands, the mix, and how much: wall in m3, walls, or dry mass. With none of
    these, figures are for one m3 of wall."""

    materials: list[MixMaterialDoc] = Field(
        min_length=1,
        max_length=12,
        description="what could be mixed; what is unfit is left out with its reasons",
    )
    mix: MixDoc = Field(default=MixDoc(), description="the mix that is wanted")
    wall_m3: float | None = Field(
        default=None, ge=0.001, le=10_000, description="wall in place, m3"
    )
    walls: list[WallDoc] = Field(
        default=[], max_length=200, description="walls with their sizes, instead"
    )
    mix_dry_kg: float | None = Field(
        default=None,
        ge=1,
        le=1e7,
        description="soil and sand together, dry kg, instead",
    )
    aim: Literal["target", "cost"] = Field(
        default="target",
        description="target: nearest to clay_target_percent, and the cheapest of these;"
        " cost: the cheapest inside the window, often at its edge",
    )
    bucket_l: float = Field(
        default=BUCKET_L, ge=1, le=100, description="a level bucket, litres"
    )
    batch_l: float = Field(
        default=TARP_L, ge=5, le=5000, description="loose litres mixed at once"
    )
    crew: MixCrewDoc | None = Field(
        default=None, description="then a day's work is answered too"
    )
    bale: MixBaleDoc = Field(
        default=MixBaleDoc(), description="a small bale by default"
    )
    wrong_order: WrongOrderDoc = Field(
        default=WrongOrderDoc(),
        description="terms of ordering before the soil is known",
    )

    @model_validator(mode="after")
    def _names_apart(self) -> Self:
        names = [own.name for own in self.materials]
        twice = next((own for own in names if names.count(own) > 1), None)
        if twice is not None:
            raise PydanticCustomError(
                "name_used_twice",
                "two materials have the same name",
                {
                    "field": "materials",
                    "given": twice,
                    "remedy": "Give each its own: the recipe calls them by it.",
                },
            )
        return self

    @model_validator(mode="after")
    def _one_amount(self) -> Self:
        given = [
            name
            for name, there in (
                ("wall_m3", self.wall_m3 is not None),
                ("walls", bool(self.walls)),
                ("mix_dry_kg", self.mix_dry_kg is not None),
            )
            if there
        ]
        if len(given) > 1:
            raise PydanticCustomError(
                "amount_given_twice",
                "the amount is given more than once",
                {
                    "field": given[-1],
                    "given": " and ".join(given),
                    "remedy": "Give one of wall_m3, walls and mix_dry_kg.",
                },
            )
        return self
