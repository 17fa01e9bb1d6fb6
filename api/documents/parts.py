"""What offers, builds, trucks and plans have in common: days, hours, places, ranges."""

from __future__ import annotations

from datetime import date
from re import fullmatch
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.quantity import Document, Name
from logistics.domain.places import Firmness

Minor = Annotated[int, Field(ge=0, le=10**9)]

Minutes = Annotated[float, Field(ge=0, le=600)]

Percent = Annotated[float, Field(ge=0, le=100)]

FIRST = date(2000, 1, 1)

LAST = date(2199, 12, 31)


def _iso(given: object) -> object:
    """Only dates as they are written: a number of seconds is not one, nor is a moment."""
    if type(given) is date or (
        isinstance(given, str) and fullmatch(r"\d{4}-\d\d-\d\d", given)
    ):
        return given
    raise PydanticCustomError(
        "not_a_date", "this is not a date", {"remedy": "Give YYYY-MM-DD in quotes."}
    )


def _likely(given: date) -> date:
    if FIRST <= given <= LAST:
        return given
    raise PydanticCustomError(
        "unlikely_year",
        "no plan is made for this year",
        {"remedy": f"Give a date from {FIRST} to {LAST}."},
    )


Day = Annotated[
    date, Field(strict=False), BeforeValidator(_iso), AfterValidator(_likely)
]

Clock = Annotated[
    str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$", description="local time HH:MM")
]

DayName = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]

Certainty = Annotated[
    Literal["likely", "safe"],
    Field(
        description="likely: reckon with best estimates; safe: order what the walls may"
        " swallow at most and keep each blend's window at both ends of what is known"
    ),
]
Objective = Annotated[
    Literal["everyone", "builders"],
    Field(
        description="everyone: the total counts the tipping that holders avoid as a gain;"
        " builders: material and haulage alone"
    ),
]


class Hours(Document):
    """Open from `opens` to `closes`, local time, on the given weekdays."""

    days: list[DayName] = Field(
        default=["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
        min_length=1,
        description="weekdays on which this span applies; all by default",
    )
    opens: Clock
    closes: Clock

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.opens >= self.closes:
            raise PydanticCustomError(
                "closes_before_it_opens",
                "the span ends before it begins",
                {
                    "given": f"{self.opens} to {self.closes}",
                    "remedy": "Give closes after opens; split a night into two spans.",
                },
            )
        return self


class Access(Document):
    """Limits on the way into a place. Leave out what is not known."""

    max_gross_kg: int | None = Field(
        default=None, gt=0, le=1_000_000, description="truck with load, kg"
    )
    max_height_m: float | None = Field(default=None, gt=0, le=100, description="metres")
    max_width_m: float | None = Field(default=None, gt=0, le=100, description="metres")
    max_length_m: float | None = Field(default=None, gt=0, le=100, description="metres")
    max_axle_kg: int | None = Field(
        default=None, gt=0, le=100_000, description="heaviest axle of the truck, kg"
    )
    turning_m: float | None = Field(
        default=None,
        gt=0,
        le=200,
        description="room to turn: diameter of the free circle, m; 25 do for any truck",
    )
    slope_percent: float | None = Field(
        default=None,
        ge=0,
        le=100,
        description="of the ground where trucks tip, percent; bodies are raised up to 5;"
        " leave out where nothing is tipped",
    )
    firmness: Firmness | None = Field(
        default=None,
        strict=False,
        description="ground where trucks tip: hard (hard standing), firm_when_dry or soft"
        " (no lorry tips there)",
    )
    wires: bool | None = Field(
        default=None,
        description="true if power lines hang over or beside the tipping place: no body is"
        " raised there",
    )
    clear_height_m: float | None = Field(
        default=None,
        gt=0,
        le=100,
        description="free height above the tipping place, for a raised body, m",
    )


class Pin(Document):
    """A position."""

    lat: float = Field(ge=-90, le=90, description="latitude, WGS 84 degrees")
    lon: float = Field(ge=-180, le=180, description="longitude, WGS 84 degrees")


class PlaceFields(Document):
    """A place with its position and hours."""

    name: Name
    lat: float = Field(
        ge=-90, le=90, description="latitude of the gate, WGS 84 degrees"
    )
    lon: float = Field(
        ge=-180, le=180, description="longitude of the gate, WGS 84 degrees"
    )
    tip: Pin | None = Field(
        default=None,
        description="where the load goes, if not at the gate; distances end at the gate",
    )
    access: Access = Field(
        default=Access(), description="limits on the way in, as far as they are known"
    )
    hours: list[Hours] = Field(
        default=[],
        max_length=42,
        description="when trucks can load or tip: work must begin and end inside a span;"
        " empty means at any time",
    )
    at_once: int | None = Field(
        default=None,
        ge=1,
        le=50,
        description="trucks that can load or tip at the same time; no limit by default",
    )
    loads_a_day: int | None = Field(
        default=None,
        ge=1,
        le=1000,
        description="loads that can be loaded or tipped in a day; no limit by default",
    )


def check_ends(
    low: float | None, likely: float, high: float | None, unit: str = ""
) -> None:
    """Raise the error of a validator unless low <= likely <= high; None stands for likely."""
    low = likely if low is None else low
    high = likely if high is None else high
    if not low <= likely <= high:
        raise PydanticCustomError(
            "range_out_of_order",
            "low, likely and high must be in this order",
            {
                "given": f"{low:g}, {likely:g}, {high:g}",
                "remedy": f"Give low <= likely <= high{unit}.",
            },
        )


class Range(Document):
    """A figure in percent that is not known exactly."""

    likely: Percent = Field(description="best estimate, percent")
    low: Percent | None = Field(default=None, description="percent; likely by default")
    high: Percent | None = Field(default=None, description="percent; likely by default")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        check_ends(self.low, self.likely, self.high, ", in percent")
        return self
