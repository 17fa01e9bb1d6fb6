"""Documents of calendars: who builds when, how lifts dry, and what was built so far."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.parts import Day, DayName, Hours, Range, check_ends
from api.documents.quantity import Document

Month = Annotated[int, Field(ge=1, le=12)]
Weekdays = Annotated[list[DayName], Field(min_length=1, max_length=7)]
Figure = Annotated[float, Field(ge=0, le=1000)]
Kilograms = Annotated[float, Field(ge=0, le=1e7)]


class Figures(Document):
    """A figure that is not known exactly, in the unit of its field."""

    likely: Figure = Field(description="best estimate, unit as said for the field")
    low: Figure | None = Field(
        default=None, description="unit as said for the field; likely by default"
    )
    high: Figure | None = Field(
        default=None, description="unit as said for the field; likely by default"
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        check_ends(self.low, self.likely, self.high)
        return self


class MachineDoc(Document):
    """A machine that mixes, with its driver."""

    m3_per_hour: Figures = Field(
        description="mix for so much wall in place, m3 an hour"
    )
    hours_per_day: float = Field(gt=0, le=24, description="hours that it mixes a day")


class CrewDoc(Document):
    """Who is expected on a work day."""

    novices: Figure | Figures = Field(
        default=0, description="people who promised to come and are new to it"
    )
    trained: Figure | Figures = Field(
        default=0, description="people who have built before, and are sure to come"
    )
    machine: Literal["digger"] | MachineDoc | None = Field(
        default=None,
        description="digger: 0.5 to 3.8 m3 an hour, 3 hours a day; null: mixed by foot",
    )
    hours_per_day: float = Field(
        default=8, gt=0, le=24, description="hours of work in a day"
    )
    no_show_percent: Range = Field(
        default=Range(likely=20, low=10, high=50),
        description="of the novices, those who promise and stay away",
    )


class WeekdayCrewDoc(Document):
    """Another crew on some weekdays."""

    days: Weekdays = Field(description="weekdays of this crew")
    crew: CrewDoc = Field(description="who comes on them")


class DryingDoc(Document):
    """Days until a lift bears the next one."""

    warm_days: Figures = Field(
        default=Figures(likely=7, low=2, high=21), description="days in warm months"
    )
    cold_days: Figures = Field(
        default=Figures(likely=42, low=14, high=60), description="days in cold months"
    )
    cold_months: list[Month] = Field(
        default=[],
        max_length=12,
        description="months that count as cold, 1 to 12; none: all count as warm, and"
        " work from November to March brings a caution",
    )


class LeadDoc(Document):
    """How long before its lift material has to lie there, in days."""

    soak_days: int | None = Field(
        default=None,
        ge=0,
        le=60,
        description="days that the soil soaks before it is mixed; null: by its clay",
    )
    tip_days: int = Field(
        default=1, ge=0, le=60, description="days from tipping to soaking"
    )
    sand_days: int = Field(
        default=1, ge=0, le=60, description="days that sand comes before the work"
    )
    straw_days: int = Field(
        default=1, ge=0, le=60, description="days that straw comes before the work"
    )
    early_days: int = Field(
        default=14,
        ge=0,
        le=400,
        description="days that soil and sand may come before they are due",
    )
    roof_from: Day | None = Field(
        default=None,
        description="first day on which straw can lie under a roof, ISO date; null: none",
    )
    roof_days: int = Field(
        default=14, ge=0, le=400, description="days that straw may then come ahead"
    )
    delivery_days: Weekdays = Field(
        default=["mon", "tue", "wed", "thu", "fri"],
        description="weekdays on which deliveries come",
    )


class LeastDoc(Document):
    """The least that is worth a truck; smaller pulses are put together as room allows."""

    soil_kg: Kilograms = Field(default=0, description="moist kg of soil")
    sand_kg: Kilograms = Field(default=0, description="moist kg of sand")
    straw_kg: Kilograms = Field(default=0, description="kg of straw")


class BaleDoc(Document):
    """A bale as it is stacked."""

    bale_kg: int = Field(default=16, gt=0, le=1000, description="mass of one bale, kg")
    bale_m3: float = Field(
        default=0.149, gt=0, le=10, description="volume of one bale, m3"
    )


class BuiltDoc(Document):
    """What was built since the record before."""

    until: Day = Field(description="last day of it, ISO date")
    placed_m3: float = Field(ge=0, le=10_000, description="wall added, m3 in place")
    person_days: float = Field(
        ge=0, le=100_000, description="days of work that people put in, all tasks"
    )


class ReceivedDoc(Document):
    """What came so far of one material."""

    material: Literal["soil", "sand", "straw"] = Field(
        description="soil, sand or straw"
    )
    moist_kg: Kilograms = Field(description="all that came so far, kg as weighed")
    on_hand_kg: Kilograms | None = Field(
        default=None,
        description="what of it still lies there, kg as weighed; null: less what is built",
    )


class CalendarDoc(Document):
    """The calendar of a build's lifts."""

    first_day: Day = Field(description="first day on which anybody builds, ISO date")
    weekdays: Weekdays = Field(
        default=["mon", "tue", "wed", "thu", "fri"], description="work days"
    )
    days_off: list[Day] = Field(
        default=[], max_length=400, description="days without work, ISO dates"
    )
    rain_days: list[Day] = Field(
        default=[], max_length=400, description="days known to be wet, ISO dates"
    )
    rain_percent: Range = Field(
        default=Range(likely=10, low=0, high=30),
        description="share of the work that rain takes besides; 0 under a roof",
    )
    crew: CrewDoc = Field(description="who is expected on a work day")
    crews: list[WeekdayCrewDoc] = Field(
        default=[], max_length=7, description="other crews on some weekdays"
    )
    lift_m: float | None = Field(
        default=None,
        gt=0,
        le=3,
        description="height of a lift, metres; null: as wide as the thinnest wall that is"
        " no bench, at most 0.6",
    )
    drying: DryingDoc = Field(default=DryingDoc(), description="between lifts")
    volunteers: list[Hours] = Field(
        default=[],
        max_length=42,
        description="hours of people on site: no truck comes then on a work day",
    )
    lead: LeadDoc = Field(default=LeadDoc(), description="material ahead of its lift")
    least: LeastDoc = Field(default=LeastDoc(), description="least loads")
    bale: BaleDoc = Field(default=BaleDoc(), description="the bales that are counted")
    built: list[BuiltDoc] = Field(
        default=[], max_length=1000, description="records of what was built"
    )
    received: list[ReceivedDoc] = Field(
        default=[], max_length=3, description="what came, once for each material"
    )
    deliver: Literal["at_once", "by_lift"] = Field(
        default="at_once",
        description="by_lift: plans bring each lift's material in its own time",
    )

    @model_validator(mode="after")
    def _once_each(self) -> Self:
        materials: list[str] = [own.material for own in self.received]
        days: list[str] = [day for own in self.crews for day in own.days]
        for field, names in (("received", materials), ("crews", days)):
            twice = next((name for name in names if names.count(name) > 1), None)
            if twice:
                raise PydanticCustomError(
                    "named_twice",
                    "this is named twice",
                    {"field": field, "given": twice, "remedy": "Name each once."},
                )
        return self
