"""Rows of the haul engine as the values that it computes with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Protocol
from zoneinfo import ZoneInfo

from django.db.models import Q

from logistics import models
from logistics.domain.calendar import Span, WeeklyHours, moment
from logistics.domain.cells import ranges_around
from logistics.domain.places import AccessLimits, Place, Point
from logistics.domain.planning.problem import Slot
from logistics.domain.trucks import BodyKind, Truck, TruckRates


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
    hours: list[list[list[str]]]


@dataclass(frozen=True, slots=True)
class StoredPlace:
    """A place with its row id and hours."""

    id: int
    place: Place
    hours: WeeklyHours


@dataclass(frozen=True, slots=True)
class StoredTruck:
    """A truck with its row id and its working day. `truck.base` is 0: see `base`."""

    id: int
    truck: Truck
    base: StoredPlace
    opens: time
    closes: time


def place_of(row: PlaceRow | models.Place) -> StoredPlace:
    """A stored place."""
    limits = AccessLimits(
        row.max_gross_kg, row.max_height_m, row.max_width_m, row.max_length_m
    )
    place = Place(f"place-{row.pk}", row.name, Point(row.lat, row.lon), limits)
    return StoredPlace(row.pk, place, hours_of(row.hours))


def hours_of(stored: list[list[list[str]]]) -> WeeklyHours:
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
    """A stored truck."""
    truck = Truck(
        key=f"truck-{row.pk}",
        name=row.name,
        body=BodyKind(row.body),
        base=0,
        payload_kg=row.payload_kg,
        body_m3=row.body_m3,
        rates=TruckRates(row.call_out, row.per_hour, row.per_km),
        max_shift_s=row.max_shift_s,
        tare_kg=row.tare_kg,
        height_m=row.height_m,
        width_m=row.width_m,
        length_m=row.length_m,
    )
    return StoredTruck(row.pk, truck, place_of(row.base), row.opens, row.closes)


def list_trucks(ids: Iterable[int] | None = None) -> list[StoredTruck]:
    """All trucks, or those with the ids given, in the order of their ids."""
    rows = models.Truck.objects.select_related("base").order_by("pk")
    if ids is not None:
        rows = rows.filter(pk__in=list(ids))
    return [truck_of(row) for row in rows]


def truck_page(*, offset: int, limit: int) -> tuple[list[StoredTruck], int]:
    """A page of trucks, and how many there are in all."""
    rows = models.Truck.objects.select_related("base").order_by("pk")
    return [truck_of(row) for row in rows[offset : offset + limit]], rows.count()


def slots_of(
    trucks: Sequence[StoredTruck], days: Sequence[date], zone: ZoneInfo
) -> tuple[Slot, ...]:
    """Every truck on every day, days first; `Slot.truck` counts the trucks given."""
    return tuple(
        Slot(
            index,
            day.isoformat(),
            moment(day, truck.opens, zone),
            moment(day, truck.closes, zone),
        )
        for day in days
        for index, truck in enumerate(trucks)
    )
