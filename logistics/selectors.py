"""Rows of the haul engine as the values that it computes with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from typing import Protocol
from zoneinfo import ZoneInfo

from django.db.models import Q

from logistics import models
from logistics.domain.calendar import Span, WeeklyHours, moment
from logistics.domain.cells import ranges_around
from logistics.domain.fleet import Chassis, laden
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.places import AccessLimits, Firmness, Place, Point
from logistics.domain.slots import Fleet, OwnedTruck, WorkDay, fleet
from logistics.domain.stored import StoredHours, load_chassis, load_delivery
from logistics.domain.trucks import REST_RULES, BodyKind, Truck, TruckRates


class PlaceRow(Protocol):
    """The columns of a stored place, for rows that came through a foreign key."""

    pk: int
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
    firmness: str
    wires: bool | None
    clear_height_m: float | None
    at_once: int | None
    loads_a_day: int | None
    tip_lat: float | None
    tip_lon: float | None
    hours: StoredHours


@dataclass(frozen=True, slots=True)
class StoredPlace:
    """A place with its row id and hours."""

    id: int
    place: Place
    hours: WeeklyHours


@dataclass(frozen=True, slots=True)
class StoredTruck:
    """A truck with its row id and its working day. `truck.base` is 0: see `base`, and
    `truck.only_from` is None: `only_from` has ids of places."""

    id: int
    truck: Truck
    base: StoredPlace
    opens: time
    closes: time
    chassis: Chassis
    overnight: StoredPlace | None = None
    only_from: tuple[int, ...] | None = None


def place_of(row: PlaceRow | models.Place) -> StoredPlace:
    """A stored place."""
    limits = AccessLimits(
        max_gross_kg=row.max_gross_kg,
        max_height_m=row.max_height_m,
        max_width_m=row.max_width_m,
        max_length_m=row.max_length_m,
        max_axle_kg=row.max_axle_kg,
        turning_m=row.turning_m,
        slope_percent=row.slope_percent,
        firmness=Firmness(row.firmness) if row.firmness else None,
        wires=row.wires,
        clear_height_m=row.clear_height_m,
    )
    tip = None
    if row.tip_lat is not None and row.tip_lon is not None:
        tip = Point(row.tip_lat, row.tip_lon)
    place = Place(
        key=f"place-{row.pk}",
        name=row.name,
        point=Point(row.lat, row.lon),
        access=limits,
        at_once=row.at_once,
        loads_a_day=row.loads_a_day,
        tip=tip,
    )
    return StoredPlace(row.pk, place, hours_of(row.hours))


def hours_of(stored: StoredHours) -> WeeklyHours:
    """Weekly hours from their stored form."""
    return WeeklyHours(
        tuple(
            tuple(
                Span(time.fromisoformat(opens), time.fromisoformat(closes))
                for opens, closes in day
            )
            for day in stored
        )
    )


def around(point: Point, reach_m: float, *, column: str = "h3_cell") -> Q:
    """The condition that holds for every place within reach, and for some farther ones."""
    condition = Q()
    for low, high in ranges_around(point, reach_m):
        condition |= Q(**{f"{column}__range": (low, high)})
    return condition


def truck_of(row: models.Truck) -> StoredTruck:
    """A stored truck, its places joined."""
    chassis = Chassis(payload_kg=row.payload_kg)
    if row.chassis is not None:
        chassis = load_chassis(row.chassis)
    truck = Truck(
        key=f"truck-{row.pk}",
        name=row.name,
        body=BodyKind(row.body),
        base=0,
        payload_kg=row.payload_kg,
        body_m3=row.body_m3,
        rates=_rates(row),
        max_shift_s=row.max_shift_s,
        tare_kg=row.tare_kg,
        height_m=row.height_m,
        width_m=row.width_m,
        length_m=row.length_m,
        heaped_m3=row.heaped_m3,
        rest=REST_RULES[row.rest_rule] if row.rest_rule else None,
        cleaning_s=row.cleaning_s,
        turning_m=row.turning_m,
        tip_height_m=row.tip_height_m,
    )
    return StoredTruck(
        id=row.pk,
        truck=laden(truck, chassis),
        base=place_of(row.base),
        opens=row.opens,
        closes=row.closes,
        chassis=chassis,
        overnight=place_of(row.overnight) if row.overnight else None,
        only_from=None if row.only_from is None else tuple(row.only_from),
    )


def _rates(row: models.Truck) -> TruckRates:
    return TruckRates(
        call_out=row.call_out,
        per_hour=row.per_hour,
        per_km=row.per_km,
        per_load=row.per_load,
        per_tonne=row.per_tonne,
        minimum_hire_s=row.minimum_hire_s,
        overtime_after_s=row.overtime_after_s,
        overtime_per_hour=row.overtime_per_hour,
        delivery=load_delivery(row.delivery),
    )


def list_trucks(ids: Iterable[int] | None = None) -> list[StoredTruck]:
    """All trucks, or those with the ids given, in the order of their ids."""
    rows = models.Truck.objects.select_related("base", "overnight").order_by("pk")
    if ids is not None:
        rows = rows.filter(pk__in=list(ids))
    return [truck_of(row) for row in rows]


def truck_page(*, offset: int, limit: int) -> tuple[list[StoredTruck], int]:
    """A page of trucks, and how many there are in all."""
    rows = models.Truck.objects.select_related("base", "overnight").order_by("pk")
    return [truck_of(row) for row in rows[offset : offset + limit]], rows.count()


def fleet_of(
    trucks: Sequence[StoredTruck],
    days: Sequence[date],
    zone: ZoneInfo,
    at: Mapping[int, int],
    roads: WeakRoads | None = None,
) -> Fleet:
    """The trucks on these days, among places that `at` numbers by their row ids. A truck
    that loads at some places alone loads at those of them that are numbered."""
    owned = []
    for own in trucks:
        only = None
        if own.only_from is not None:
            only = frozenset(at[place] for place in own.only_from if place in at)
        truck = replace(own.truck, base=at[own.base.id], only_from=only)
        open_days = tuple(
            WorkDay(day, moment(day, own.opens, zone), moment(day, own.closes, zone))
            for day in days
        )
        night = at[own.overnight.id] if own.overnight else None
        owned.append(OwnedTruck(truck, own.chassis, open_days, night, truck.key))
    return fleet(owned, roads)
