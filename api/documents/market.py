"""What is stored, as documents: offers, builds and trucks."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Literal

from pydantic import BaseModel, Field

from api.documents.answer_parts import ranged
from api.documents.match_answers import match_answers
from api.documents.material_answers import MaterialAnswer, material_answer
from api.documents.plan_models import MatchAnswer, RangeAnswer, TakeOffAnswer
from api.documents.taken_off import WallsAnswer, take_off_answer, walls_answer
from logistics.domain.calendar import WeeklyHours
from logistics.domain.places import Firmness
from logistics.selectors import StoredPlace
from matching.domain.materials import (
    HaulPayer,
)
from matching.selectors.builds import StoredBuild, StoredNeed
from matching.selectors.offers import StoredOffer
from matching.services.matches import NeedView

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class HoursAnswer(BaseModel):
    """Open from `opens` to `closes`, local time, on one weekday."""

    day: str
    opens: time
    closes: time


class StoredPlaceAnswer(BaseModel):
    """A place, with the access card as far as it is known; lat and lon of the gate."""

    id: int
    key: str
    name: str
    lat: float
    lon: float
    max_gross_kg: int | None
    max_height_m: float | None
    max_width_m: float | None
    max_length_m: float | None
    max_axle_kg: int | None
    turning_m: float | None
    slope_percent: float | None
    firmness: Firmness | None
    wires: bool | None
    clear_height_m: float | None
    at_once: int | None
    loads_a_day: int | None
    tip_lat: float | None
    tip_lon: float | None
    hours: list[HoursAnswer]


class OfferAnswer(BaseModel):
    """A stored offer. Masses are moist kg; money is minor units."""

    id: int
    key: str = Field(description="how plan documents call it")
    name: str
    material: MaterialAnswer
    place: StoredPlaceAnswer
    quantity_kg: int
    reserved_kg: int
    free_kg: int
    price_minor: int = Field(description="price per `price_per_kg`")
    price_per_kg: float
    available_from: date | None
    available_until: date | None
    min_lot_kg: int
    whole_loads: bool
    haul_payer: HaulPayer
    tipping_minor_per_t: int
    haulage_minor_per_t: int
    load_minutes: float
    loading_fee_minor: int
    part_load_charge_minor: int
    part_load_below_kg: int
    loader_hours: list[HoursAnswer] = Field(
        description="when somebody is there to load; empty: always"
    )
    created_at: datetime
    straight_km: float | None = Field(
        description="straight line to the position asked about; null if none was"
    )


class StoredNeedAnswer(BaseModel):
    """A need in usable dry kg. `cargo` is a material, or "mineral" for a blend."""

    id: int
    key: str
    cargo: str
    dry_kg: RangeAnswer
    clay_window_percent: list[float] | None
    computed: bool = Field(description="from walls; false if it was typed")


class StoredBuildAnswer(BaseModel):
    """A stored build with its take-off (null without walls) and needs."""

    id: int
    key: str = Field(description="how plan documents call it")
    name: str
    place: StoredPlaceAnswer
    deliver_from: date | None
    deliver_until: date | None
    unload_minutes: float
    storage_m3: float | None
    walls: WallsAnswer | None = Field(description="wall by wall; null without walls")
    takeoff: TakeOffAnswer | None = Field(
        description="of the whole walls, whatever of them is built; null without walls"
    )
    deliver: Literal["at_once", "by_lift"] | None = Field(
        description="how its calendar wants material; null without a calendar"
    )
    needs: list[StoredNeedAnswer]
    created_at: datetime


class MatchesAnswer(BaseModel):
    """The offers for a need, the cheapest wall first, unusable ones last with reasons."""

    need: StoredNeedAnswer
    first_day: date
    last_day: date
    reach_km: float
    distance_basis: str
    left_out: int = Field(description="farther offers in reach that were not looked at")
    matches: list[MatchAnswer]


def place_answer(own: StoredPlace) -> StoredPlaceAnswer:
    """A place as a document."""
    place, access = own.place, own.place.access
    return StoredPlaceAnswer(
        id=own.id,
        key=place.key,
        name=place.name,
        lat=place.point.lat,
        lon=place.point.lon,
        max_gross_kg=access.max_gross_kg,
        max_height_m=access.max_height_m,
        max_width_m=access.max_width_m,
        max_length_m=access.max_length_m,
        max_axle_kg=access.max_axle_kg,
        turning_m=access.turning_m,
        slope_percent=access.slope_percent,
        firmness=access.firmness,
        wires=access.wires,
        clear_height_m=access.clear_height_m,
        at_once=place.at_once,
        loads_a_day=place.loads_a_day,
        tip_lat=place.tip.lat if place.tip else None,
        tip_lon=place.tip.lon if place.tip else None,
        hours=_hours(own.hours),
    )


def _hours(hours: WeeklyHours) -> list[HoursAnswer]:
    return [
        HoursAnswer(day=name, opens=span.opens, closes=span.closes)
        for name, spans in zip(_DAYS, hours.days, strict=True)
        for span in spans
    ]


def _percent(share: float) -> float:
    return round(share * 100, 6)


def offer_answer(own: StoredOffer) -> OfferAnswer:
    """An offer as a document."""
    offer = own.offer
    return OfferAnswer(
        id=own.id,
        key=offer.key,
        name=offer.name,
        material=material_answer(offer.material),
        place=place_answer(own.place),
        quantity_kg=offer.quantity_kg,
        reserved_kg=own.reserved_kg,
        free_kg=own.free_kg,
        price_minor=offer.price.minor,
        price_per_kg=round(offer.price.per_kg, 3),
        available_from=own.available_from,
        available_until=own.available_until,
        min_lot_kg=offer.min_lot_kg,
        whole_loads=offer.whole_loads,
        haul_payer=offer.haul_payer,
        tipping_minor_per_t=offer.disposal.tipping_per_t,
        haulage_minor_per_t=offer.disposal.haulage_per_t,
        load_minutes=round(offer.load_s / 60, 2),
        loading_fee_minor=offer.loading_fee,
        part_load_charge_minor=offer.part_load.charge,
        part_load_below_kg=offer.part_load.below_kg,
        loader_hours=_hours(own.loader_hours) if own.loader_hours else [],
        created_at=own.created_at,
        straight_km=None if own.metres is None else round(own.metres / 1000, 3),
    )


def need_answer(own: StoredNeed) -> StoredNeedAnswer:
    """A need as a document."""
    return StoredNeedAnswer(
        id=own.id,
        key=own.key,
        cargo=own.cargo,
        dry_kg=ranged(own.dry_kg, 1),
        clay_window_percent=[_percent(edge) for edge in own.clay] if own.clay else None,
        computed=own.computed,
    )


def build_answer(own: StoredBuild) -> StoredBuildAnswer:
    """A build as a document."""
    takeoff, schedule = own.build.takeoff, own.build.schedule
    how: Literal["at_once", "by_lift"] | None = None
    if schedule:
        how = "by_lift" if schedule.by_lift else "at_once"
    return StoredBuildAnswer(
        id=own.id,
        key=own.build.key,
        name=own.build.name,
        place=place_answer(own.place),
        deliver_from=own.deliver_from,
        deliver_until=own.deliver_until,
        unload_minutes=round(own.build.unload_s / 60, 2),
        storage_m3=own.build.storage_m3,
        walls=walls_answer(own.build.walls) if own.build.walls else None,
        takeoff=take_off_answer(takeoff) if takeoff else None,
        deliver=how,
        needs=[need_answer(need) for need in own.needs],
        created_at=own.created_at,
    )


def matches_answer(view: NeedView) -> MatchesAnswer:
    """The matches of a need as a document."""
    asked = view.request
    return MatchesAnswer(
        need=need_answer(view.need),
        first_day=asked.first_day,
        last_day=asked.last_day,
        reach_km=asked.reach_m / 1000,
        distance_basis=view.scenario.distances.basis,
        left_out=view.left_out,
        matches=match_answers(view.scenario, view.pairing, view.demand),
    )
