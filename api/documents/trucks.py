"""Trucks as documents: axles and rule, sizes, hire in every form, and their days."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Clock, Day, Minor, Minutes
from api.documents.quantity import Document, Key, Name
from logistics.domain.legal.rules import WeightRule
from logistics.domain.trucks import BodyKind

Km = Annotated[float, Field(gt=0, le=1000)]
RestName = Literal["EU 561/2006", "US 49 CFR 395.3"]


class AxleDoc(Document):
    """One axle."""

    at_m: float = Field(
        ge=0, le=40, description="behind the first axle, m; its own is 0"
    )
    steered: bool = Field(default=False, description="true if it steers")
    driven: bool = Field(default=False, description="true if the engine drives it")
    twin_tyres: bool = Field(default=False, description="two tyres on each side")
    tare_kg: int | None = Field(
        default=None, gt=0, le=20_000, description="what it carries empty, kg"
    )


class BandDoc(Document):
    """What a delivery costs up to a distance."""

    up_to_km: Km = Field(description="farthest ride from pickup to drop, km")
    per_load_minor: Minor = Field(description="for each load")
    per_tonne_minor: Minor = Field(default=0, description="for each 1000 kg, on top")


class DeliveryDoc(Document):
    """The tariff of a supplier who brings what he sells, on top of the truck's rates."""

    bands: list[BandDoc] = Field(
        min_length=1,
        max_length=30,
        description="by rising distance; nothing is delivered beyond the last one",
    )
    minimum_kg: int = Field(
        default=0, ge=0, le=60_000, description="a lighter load is charged as this, kg"
    )
    free_unload_minutes: Minutes = Field(
        default=0, description="to unload a load without charge, minutes"
    )
    waiting_per_hour_minor: Minor = Field(
        default=0, description="for unloading beyond the free minutes"
    )

    @model_validator(mode="after")
    def _rising(self) -> Self:
        ends = [band.up_to_km for band in self.bands]
        if any(nearer >= farther for nearer, farther in pairwise(ends)):
            raise PydanticCustomError(
                "bands_out_of_order",
                "each band must reach farther than the one before",
                {
                    "field": "bands",
                    "given": ", ".join(f"{end:g}" for end in ends),
                    "remedy": "Order the bands by up_to_km, each distance once.",
                },
            )
        return self


class ChassisFields(Document):
    """What a truck may carry. The driver and posted signs decide where it may go."""

    payload_kg: int | None = Field(
        default=None,
        gt=0,
        le=60_000,
        description="largest load as its owner states it, kg; may be left out where a plated"
        " weight or axles with a rule say it; the least of them counts",
    )
    plated_gross_kg: int | None = Field(
        default=None, gt=0, le=100_000, description="gross weight on its plate, kg"
    )
    tare_kg: int | None = Field(
        default=None, gt=0, le=40_000, description="empty mass with driver, kg"
    )
    rule: WeightRule = Field(
        default=WeightRule.PLAIN,
        strict=False,
        description="which limits hold: us_bridge (23 USC 127), eu_96_53 (Directive 96/53/EC),"
        " uk_aw (Authorised Weight Regulations 1998), uk_cu (Construction and Use 1986, gross"
        " weights alone), plain (payload or plate as given); all but plain need axles",
    )
    axles: list[AxleDoc] = Field(
        default=[],
        max_length=12,
        description="from front to back, those of a trailer included",
    )
    road_friendly_suspension: bool = Field(
        default=False,
        description="true if the driving axles have air suspension or its equal",
    )
    trailer_axles: int = Field(
        default=0, ge=0, le=10, description="how many of the last axles are a trailer's"
    )
    kingpin_m: float | None = Field(
        default=None,
        ge=-2,
        le=30,
        description="where a semi-trailer rests on its tractor, m behind the first axle;"
        " leave out for a drawbar",
    )
    body_centre_m: float | None = Field(
        default=None,
        ge=-2,
        le=40,
        description="middle of the body, m behind the first axle; with the tare of every"
        " axle it says what each axle carries, and the payload keeps their limits",
    )

    @model_validator(mode="after")
    def _weighed(self) -> Self:
        if self.rule is not WeightRule.PLAIN and not self.axles:
            raise PydanticCustomError(
                "rule_without_axles",
                "this rule needs to know the axles",
                {
                    "field": "axles",
                    "given": "none",
                    "remedy": 'Add the axles, or give "rule": "plain" with a payload_kg.',
                },
            )
        if not self.axles and self.payload_kg is None and self.plated_gross_kg is None:
            raise PydanticCustomError(
                "payload_unknown",
                "nothing says what the truck may carry",
                {
                    "field": "payload_kg",
                    "given": "none",
                    "remedy": "Give payload_kg, plated_gross_kg, or axles with a rule.",
                },
            )
        return self


class HireFields(Document):
    """What a truck costs and how long its driver may work."""

    call_out_minor: Minor = Field(default=0, description="for each shift driven")
    per_hour_minor: Minor = Field(
        description="from leaving to the return, waiting and rests included; 0 if hired"
        " otherwise"
    )
    per_km_minor: Minor = Field(description="for each km, loaded or empty; may be 0")
    per_load_minor: Minor = Field(default=0, description="for each load")
    per_tonne_minor: Minor = Field(default=0, description="for each 1000 kg carried")
    minimum_hire_hours: float = Field(
        default=0, ge=0, le=24, description="a shorter shift is charged as this, hours"
    )
    overtime_after_hours: float | None = Field(
        default=None, ge=0, le=24, description="of a shift, hours; none by default"
    )
    overtime_per_hour_minor: Minor = Field(
        default=0, description="on top of per_hour_minor, beyond overtime_after_hours"
    )
    delivery: DeliveryDoc | None = Field(
        default=None, description="tariff of a supplier who delivers"
    )
    max_shift_hours: float = Field(
        default=10, gt=0, le=15, description="longest shift, hours"
    )
    rest_rule: RestName | None = Field(
        default=None,
        description="rests of the driver: EU 561/2006 (45 min after 4.5 h of driving),"
        " US 49 CFR 395.3 (30 min after 8 h), or none",
    )

    @model_validator(mode="after")
    def _hired(self) -> Self:
        if self.overtime_per_hour_minor and self.overtime_after_hours is None:
            raise PydanticCustomError(
                "overtime_without_hours",
                "nothing says when overtime begins",
                {
                    "field": "overtime_after_hours",
                    "given": "none",
                    "remedy": "Give the hours of a shift after which it is charged.",
                },
            )
        return self


class TruckFields(ChassisFields, HireFields):
    """A truck with its sizes and rates. Leave out sizes that are not known."""

    name: Name
    body: BodyKind = Field(
        strict=False,
        description="tipper, grab (loads itself), hook_lift (container): subsoil and sand;"
        " flat_bed: straw; trailer (farm trailer): all of them",
    )
    body_m3: float = Field(
        gt=0, le=150, description="loose volume of the body, level with its sides, m3"
    )
    heaped_m3: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="loose volume of soil or sand heaped above the sides, m3",
    )
    height_m: float | None = Field(default=None, gt=0, le=6, description="metres")
    width_m: float | None = Field(default=None, gt=0, le=5, description="metres")
    length_m: float | None = Field(default=None, gt=0, le=30, description="metres")
    turning_m: float | None = Field(
        default=None, gt=0, le=60, description="diameter of its turning circle, m"
    )
    tip_height_m: float | None = Field(
        default=None,
        gt=0,
        le=20,
        description="height with the body raised, or of a grab at work, m",
    )
    opens: Clock = Field(default="06:00", description="earliest leaving, local HH:MM")
    closes: Clock = Field(default="18:00", description="latest return, local HH:MM")
    cleaning_minutes: Minutes = Field(
        default=0, description="to clean the body before another material, minutes"
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.opens >= self.closes:
            raise PydanticCustomError(
                "closes_before_it_opens",
                "the truck's day ends before it begins",
                {
                    "given": f"{self.opens} to {self.closes}",
                    "remedy": "Give closes after opens.",
                },
            )
        if self.heaped_m3 is not None and self.heaped_m3 < self.body_m3:
            raise PydanticCustomError(
                "heaped_below_struck",
                "a heaped body holds no less than a level one",
                {
                    "field": "heaped_m3",
                    "given": f"{self.heaped_m3:g} and {self.body_m3:g}",
                    "remedy": "Give body_m3 level with the sides, heaped_m3 above them.",
                },
            )
        return self


class TruckDoc(TruckFields):
    """A truck of a scenario."""

    key: Key
    base: Key = Field(
        description="key of the place where it starts and ends its first and last shift, and"
        " every other unless it stays overnight elsewhere"
    )
    days: list[Day] | None = Field(
        default=None,
        max_length=62,
        description="days on which it is free; all by default",
    )
    only_from: list[Key] | None = Field(
        default=None,
        min_length=1,
        max_length=50,
        description="keys of the only places where it loads, as a supplier's own truck"
        " does; anywhere by default",
    )
    overnight: Key | None = Field(
        default=None,
        description="key of a place where it may stand between its days instead of"
        " driving home",
    )


class WeakRoadsDoc(Document):
    """Days on which all roads bear less, such as in a thaw. Axle and gross limits are cut,
    tares are not: payloads fall further."""

    first: Day = Field(alias="from", description="first day, ISO date")
    until: Day = Field(description="last day, ISO date")
    axle_percent: float = Field(
        default=65,
        gt=0,
        le=100,
        description="what is still allowed of each limit, percent: 65 if 35 % are cut",
    )

    @model_validator(mode="after")
    def _days(self) -> Self:
        if self.first > self.until:
            raise PydanticCustomError(
                "window_ends_before_it_begins",
                "until lies before from",
                {
                    "field": "until",
                    "given": f"{self.first} to {self.until}",
                    "remedy": "Swap the dates or correct the year.",
                },
            )
        return self
