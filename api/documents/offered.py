"""Materials on offer and the terms of an offer, as documents."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Day, Minor, Minutes, Percent, Range
from api.documents.quantity import Document, Name, Quantity
from logistics.domain.materials import Earth
from matching.domain.materials import HaulPayer, History
from matching.domain.sands.records import Called
from matching.domain.straws.records import Plant


class SubsoilDoc(Document):
    """Excavated earth from below the topsoil."""

    kind: Literal["subsoil"] = Field(description="subsoil")
    clay_percent: Range = Field(description="clay, percent of the dry mass below 2 mm")
    silt_percent: Range | None = Field(
        default=None,
        description="silt (0.002 to 0.05 mm), percent of the dry mass below 2 mm; left out:"
        " not known, and counted as sand",
    )
    earth: Earth = Field(
        default=Earth.COMMON_EARTH,
        strict=False,
        description="how it swells and weighs: common_earth or clay",
    )
    stones_percent: Percent = Field(
        default=0, description="stones, percent of the dry mass"
    )
    organic_percent: Percent = Field(default=0, description="organic matter, percent")
    topsoil: bool = Field(default=False, description="true if topsoil is in the heap")
    history: History = Field(
        default=History.UNKNOWN,
        strict=False,
        description="the ground's past: clear, unknown or suspect; only clear ground is used",
    )
    moisture_percent: Percent | None = Field(
        default=None, description="water over dry mass, percent; 18 by default"
    )


class SandDoc(Document):
    """Sand from a yard or quarry."""

    kind: Literal["sand"] = Field(description="sand")
    sand: Called = Field(
        strict=False,
        description="what the holder calls it: concrete (sharp), masonry, play, beach, dune or unknown",
    )
    clay_percent: Range = Field(
        default=Range(likely=0, low=0, high=2),
        description="clay in the sand, percent of the dry mass",
    )
    silt_percent: Range | None = Field(
        default=None, description="silt in the sand, percent of the dry mass"
    )
    moisture_percent: Percent | None = Field(
        default=None, description="water over dry mass, percent; 5 by default"
    )


class StrawDoc(Document):
    """Straw in bales."""

    kind: Literal["straw"] = Field(description="straw")
    fibre: Plant = Field(
        strict=False,
        description="wheat, rye, barley, oat, rice or other; hay is refused",
    )
    moisture_percent: Percent = Field(
        description="water over total mass (wet basis), percent; at most 20 is fit"
    )
    strand_mm: float = Field(
        gt=0, le=2000, description="usual length of the strands, mm"
    )
    bale_kg: int = Field(default=16, gt=0, le=1000, description="mass of one bale, kg")
    bale_m3: float = Field(
        default=0.149, gt=0, le=10, description="volume of one bale, m3"
    )


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
