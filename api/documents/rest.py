"""What the REST interface takes: bodies and queries."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Self

from pydantic import BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.offered import OfferFields
from api.documents.parts import Certainty, Objective, PlaceFields
from api.documents.quantity import Document, Name
from api.documents.scenario import BuildFields
from api.documents.trucks import TruckFields, WeakRoadsDoc
from logistics.domain.trucks import Cargo

Id = Annotated[int, Field(gt=0, lt=2**63)]
# Days far away are typing errors, and the last days of the calendar have no morrow.
PlanDay = Annotated[
    date, Field(strict=False, ge=date(2000, 1, 1), le=date(2199, 12, 31))
]


class OfferIn(OfferFields):
    """An offer with the place where the material lies."""

    place: PlaceFields


class BuildIn(BuildFields):
    """A build with its site."""

    place: PlaceFields


class TruckIn(TruckFields):
    """A truck with the place where each shift starts and ends."""

    base: PlaceFields
    overnight: PlaceFields | None = Field(
        default=None,
        description="where it may stand between its days instead of driving home; open at"
        " any time",
    )
    only_from: list[Id] | None = Field(
        default=None,
        min_length=1,
        max_length=50,
        description="ids of the only places where it loads, as offers show them",
    )


class PlanIn(Document):
    """A plan that somebody wants. Offers within reach are found by themselves."""

    name: Name | None = Field(default=None, description="after the builds by default")
    builds: list[Id] = Field(min_length=1, max_length=50, description="ids of builds")
    trucks: list[Id] | None = Field(
        default=None,
        min_length=1,
        max_length=60,
        description="ids; every truck by default",
    )
    first_day: PlanDay = Field(description="first day of the plan, ISO date")
    last_day: PlanDay = Field(
        description="last day of the plan, ISO date; at most 31 days"
    )
    reach_km: float = Field(
        default=80, gt=0, le=1000, description="farthest road distance of an offer, km"
    )
    certainty: Certainty = "likely"
    objective: Objective = "everyone"
    weak_roads: WeakRoadsDoc | None = Field(
        default=None, description="days on which every road bears less; none by default"
    )


class Query(Document):
    """Base of queries: all values come as text, and unknown names are refused."""

    model_config = ConfigDict(strict=False)


class PageQuery(Query):
    """Which part of a list."""

    page: int = Field(default=1, ge=1, le=1_000_000, description="counts from 1")
    page_size: int = Field(default=50, ge=1, le=200, description="entries on a page")

    @property
    def offset(self) -> int:
        """Entries before the page."""
        return (self.page - 1) * self.page_size


def _position(given: Any) -> Any:
    parts = given.split(",") if isinstance(given, str) else given
    try:
        lat, lon = (float(part) for part in parts)
    except (TypeError, ValueError):
        lat = lon = float("nan")
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        raise PydanticCustomError(
            "not_a_position",
            "this is not a position on the earth",
            {"remedy": "Give latitude,longitude in degrees, such as near=50.41,4.44."},
        )
    return lat, lon


class OfferQuery(PageQuery):
    """Which offers."""

    kind: Cargo | None = Field(default=None, description="subsoil, sand or straw")
    near: Annotated[
        tuple[float, float] | None,
        BeforeValidator(_position, json_schema_input_type=str),
    ] = Field(
        default=None,
        description="latitude,longitude in degrees; the nearest come first",
    )
    within_km: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="straight line from `near`, km; 80 by default",
    )

    @model_validator(mode="after")
    def _circle(self) -> Self:
        if self.within_km is not None and self.near is None:
            raise PydanticCustomError(
                "within_of_nothing",
                "within_km needs a position to measure from",
                {"remedy": "Add near=latitude,longitude."},
            )
        return self


class MatchQuery(Query):
    """The days and the reach that matches of a need are ranked for."""

    first_day: PlanDay | None = Field(default=None, description="today by default")
    last_day: PlanDay | None = Field(
        default=None, description="13 days after first_day by default"
    )
    reach_km: float = Field(
        default=80, gt=0, le=1000, description="farthest road distance of an offer, km"
    )
