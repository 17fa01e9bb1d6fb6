"""The terms of an offer, as documents."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.materials import SandDoc, StrawDoc, SubsoilDoc
from api.documents.parts import Day, Hours, Minor, Minutes
from api.documents.quantity import Document, Name, Quantity
from matching.domain.materials import HaulPayer


class PriceDoc(Document):
    """`minor` for one unit; negative when the holder pays to be rid of it."""

    minor: int = Field(ge=-(10**9), le=10**9, description="minor currency units")
    per: Literal["t", "m3_loose", "bale"] = Field(
        description="t: 1000 kg moist; m3_loose; bale (straw only)"
    )


class DisposalDoc(Document):
    """What tipping the material elsewhere would cost its holder."""

    tipping_minor_per_t: Minor = Field(
        default=0, description="gate fee and tax, per 1000 kg"
    )
    haulage_minor_per_t: Minor = Field(
        default=0, description="carriage to the tip, per 1000 kg"
    )


class PartLoadDoc(Document):
    """A charge for each load that is not full."""

    charge_minor: Minor = Field(description="minor units for each such load")
    below_kg: int = Field(
        gt=0, le=100_000, description="loads lighter than this pay, kg"
    )


class OfferFields(Document):
    """What is on offer, how much of it and on what terms."""

    name: Name
    material: Annotated[
        SubsoilDoc | SandDoc | StrawDoc, Field(discriminator="kind")
    ] = Field(description="what it is and what is known of its quality, by `kind`")
    quantity: Quantity = Field(
        description="all that is on offer: a mass, a volume, or bales of straw"
    )
    price: PriceDoc | None = Field(default=None, description="free by default")
    available_from: Day | None = Field(default=None, description="first day, ISO date")
    available_until: Day | None = Field(default=None, description="last day, ISO date")
    min_lot: Quantity | None = Field(
        default=None, description="smallest amount sold to one need"
    )
    whole_loads: bool = Field(
        default=False, description="true if only full loads are sold"
    )
    haul_payer: HaulPayer = Field(
        default=HaulPayer.BUILDER,
        strict=False,
        description="builder or holder; it moves the bill, not the total",
    )
    disposal: DisposalDoc = Field(
        default=DisposalDoc(), description="what the holder pays if nobody takes it"
    )
    load_minutes: Minutes = Field(default=15, description="to load one truck, minutes")
    loading_fee_minor: Minor = Field(default=0, description="for each load")
    loader_hours: list[Hours] = Field(
        default=[],
        max_length=42,
        description="when somebody is there to load, inside the place's hours; empty means"
        " always; a grab loads itself at any time that the place is open",
    )
    part_load: PartLoadDoc | None = Field(
        default=None, description="charge for light loads; none by default"
    )

    @model_validator(mode="after")
    def _window(self) -> Self:
        first, last = self.available_from, self.available_until
        if first and last and first > last:
            raise PydanticCustomError(
                "window_ends_before_it_begins",
                "available_until lies before available_from",
                {
                    "given": f"{self.available_from} to {self.available_until}",
                    "remedy": "Swap the dates or correct the year.",
                },
            )
        return self
