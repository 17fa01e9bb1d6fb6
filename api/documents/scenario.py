"""The scenario document: offers, builds, trucks and roads in one piece of JSON.

Units stand in the names (`_kg`, `_m`, `_m3`, `_km`, `_minor`) or in a quantity object.
Money is in minor units of the scenario's currency (cents), as whole numbers.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self
from zoneinfo import ZoneInfo, available_timezones

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.calendars import CalendarDoc
from api.documents.offered import OfferFields
from api.documents.parts import (
    Certainty,
    Day,
    Minutes,
    Objective,
    Percent,
    PlaceFields,
    Range,
)
from api.documents.quantity import Document, Key, Name, Quantity
from api.documents.trucks import TruckDoc, WeakRoadsDoc
from api.documents.walls import WallDoc

CURRENCY = r"^[A-Z]{3}$"


def _zone(name: str) -> str:
    # "localtime" is whatever the machine is set to.
    if name in available_timezones() - {"localtime", "Factory"}:
        return name
    raise PydanticCustomError(
        "unknown_time_zone",
        "no such time zone",
        {"remedy": "Give an IANA name, such as Europe/Brussels or America/Denver."},
    )


Zone = Annotated[str, Field(max_length=60), AfterValidator(_zone)]


class PlaceDoc(PlaceFields):
    """A place that offers, builds and trucks refer to by its key."""

    key: Key


class OfferDoc(OfferFields):
    """An offer of a scenario."""

    key: Key
    place: Key = Field(description="key of the place where the material lies")


class MixDoc(Document):
    """The mix that is wanted; percent of the dry mass."""

    clay_low_percent: Percent = Field(default=15, description="least clay of the blend")
    clay_target_percent: Percent = Field(
        default=20, description="clay that the take-off assumes"
    )
    clay_high_percent: Percent = Field(default=25, description="most clay of the blend")
    most_fines_percent: Percent = Field(
        default=50,
        description="most clay and silt together, percent of the blend; 100 sets no limit",
    )
    straw_percent: Range = Field(
        default=Range(likely=1.5, low=1.25, high=3),
        description="straw, percent of all dry mass",
    )
    waste_percent: Range = Field(
        default=Range(likely=10, low=5, high=15),
        description="lost in mixing, trimming and on the ground, percent on top",
    )
    dry_density_kg_per_m3: float = Field(
        default=1650, gt=800, lt=2600, description="of the finished wall, kg/m3"
    )
    reference_clay_percent: Percent = Field(
        default=30,
        description="clay of the soil that the take-off assumes before one is chosen",
    )


class NeedDoc(Document):
    """A need that is typed instead of taken from walls."""

    key: Key
    material: Literal["subsoil", "sand", "straw"] = Field(
        description="subsoil, sand or straw"
    )
    quantity: Quantity = Field(
        description="how much: straw as a moist mass, earth and sand as mass or volume"
    )


class BuildFields(Document):
    """A cob building: walls, or needs that are typed, or both."""

    name: Name
    walls: list[WallDoc] = Field(
        default=[],
        max_length=200,
        description="what they swallow of earth, sand and straw is computed",
    )
    mix: MixDoc = Field(default=MixDoc(), description="the mix for the walls")
    needs: list[NeedDoc] = Field(
        default=[], max_length=20, description="typed amounts, beside or without walls"
    )
    deliver_from: Day | None = Field(default=None, description="first day, ISO date")
    deliver_until: Day | None = Field(default=None, description="last day, ISO date")
    unload_minutes: Minutes = Field(default=10, description="to tip one truck, minutes")
    storage_m3: float | None = Field(
        default=None,
        gt=0,
        description="room for loose material on site, m3; it binds where a calendar says"
        " when lifts use it up, else too much is only warned of",
    )
    calendar: CalendarDoc | None = Field(
        default=None, description="when the lifts are raised, and what comes when"
    )

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.walls and not self.needs:
            raise PydanticCustomError(
                "build_without_needs",
                "a build needs walls or typed needs",
                {"remedy": "Add walls with their sizes, or needs with quantities."},
            )
        if (
            self.deliver_from
            and self.deliver_until
            and self.deliver_from > self.deliver_until
        ):
            raise PydanticCustomError(
                "window_ends_before_it_begins",
                "deliver_until lies before deliver_from",
                {
                    "given": f"{self.deliver_from} to {self.deliver_until}",
                    "remedy": "Swap the dates or correct the year.",
                },
            )
        return self


class BuildDoc(BuildFields):
    """A build of a scenario."""

    key: Key
    place: Key = Field(description="key of the building site")


class NetworkRoads(Document):
    """Roads imported with `manage.py import_roads`."""

    kind: Literal["network"] = Field(
        description="network: distances by an imported road network"
    )
    name: Key = Field(default="default", description="name given at the import")
    snap_limit_m: float = Field(
        default=500,
        gt=0,
        le=5000,
        description="farthest a place may lie from a road, m",
    )


class GeodesicRoads(Document):
    """No network: straight line over the ellipsoid times a factor."""

    kind: Literal["geodesic"] = Field(
        description="geodesic: straight lines times a factor"
    )
    detour_factor: float = Field(
        default=1.36, ge=1, le=5, description="road over straight line"
    )
    speed_kmh: float = Field(default=45, gt=0, le=130, description="mean speed, km/h")


class MatrixRoads(Document):
    """A table in the order of `places`; null where there is no way."""

    kind: Literal["matrix"] = Field(description="matrix: a table given here")
    metres: list[list[Annotated[int, Field(ge=0, le=10**7)] | None]] = Field(
        max_length=300,
        description="metres from each place (row) to each place (column)",
    )
    seconds: list[list[Annotated[int, Field(ge=0, le=10**6)] | None]] = Field(
        max_length=300, description="seconds, same shape"
    )


class ScenarioDoc(Document):
    """One planning question."""

    version: Literal[1] = Field(description="version of this format: 1")
    name: Name
    currency: str = Field(pattern=CURRENCY, description="ISO 4217 code, for display")
    time_zone: Zone = Field(description="IANA name, such as Europe/Brussels")
    first_day: Day = Field(description="first day of the plan, ISO date")
    last_day: Day = Field(description="last day of the plan, ISO date; at most 31 days")
    roads: Annotated[
        NetworkRoads | GeodesicRoads | MatrixRoads, Field(discriminator="kind")
    ] = Field(description="where distances and driving times come from, by `kind`")
    reach_km: float = Field(
        default=80, gt=0, le=1000, description="farthest road distance of an offer, km"
    )
    certainty: Certainty = "likely"
    objective: Objective = "everyone"
    places: list[PlaceDoc] = Field(
        min_length=1, max_length=300, description="every place that the others name"
    )
    offers: list[OfferDoc] = Field(max_length=200, description="what holders offer")
    builds: list[BuildDoc] = Field(
        min_length=1, max_length=50, description="what is built, and where"
    )
    trucks: list[TruckDoc] = Field(
        max_length=60,
        description="the trucks that can be had; each drives a shift a day",
    )
    weak_roads: WeakRoadsDoc | None = Field(
        default=None, description="days on which every road bears less; none by default"
    )

    @model_validator(mode="after")
    def _days(self) -> Self:
        if not 0 <= (self.last_day - self.first_day).days < 31:
            raise PydanticCustomError(
                "window_ends_before_it_begins",
                "last_day must be on or after first_day, and within 31 days of it",
                {
                    "field": "last_day",
                    "given": f"{self.first_day} to {self.last_day}",
                    "remedy": "Correct the dates.",
                },
            )
        return self

    @property
    def zone(self) -> ZoneInfo:
        """The local time of all hours and dates."""
        return ZoneInfo(self.time_zone)
