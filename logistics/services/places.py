"""Storing places and trucks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import time

from django.db import transaction

from logistics import models
from logistics.domain.calendar import WeeklyHours
from logistics.domain.cells import cell_of
from logistics.domain.errors import Refused
from logistics.domain.places import Place
from logistics.domain.trucks import Truck
from logistics.services.distances import Roads, check_near_road


@dataclass(frozen=True, slots=True)
class TruckDraft:
    """A truck to be stored. `truck.key` and `truck.base` are not: the id is the key, and
    `base` is stored with it. `opens` and `closes` are local wall-clock times."""

    truck: Truck
    base: Place
    base_hours: WeeklyHours
    opens: time
    closes: time


@transaction.atomic
def create_place(
    *, place: Place, hours: WeeklyHours, roads: Roads, field: str = "place"
) -> int:
    """Store a place and return its id. `place.key` is not stored: the id is the key.

    Raises Refused "too_far_from_road", under the name `field`, when a road network is in
    use and the place is not within 500 m of it.
    """
    try:
        check_near_road(place.point, roads=roads)
    except Refused as refused:
        raise Refused(
            *(replace(problem, field=field) for problem in refused.problems)
        ) from None
    limits = place.access
    row = models.Place.objects.create(
        name=place.name,
        lat=place.point.lat,
        lon=place.point.lon,
        h3_cell=cell_of(place.point),
        max_gross_kg=limits.max_gross_kg,
        max_height_m=limits.max_height_m,
        max_width_m=limits.max_width_m,
        max_length_m=limits.max_length_m,
        hours=[
            [[f"{span.opens:%H:%M}", f"{span.closes:%H:%M}"] for span in day]
            for day in hours.days
        ],
    )
    return row.pk


@transaction.atomic
def create_truck(*, draft: TruckDraft, roads: Roads) -> int:
    """Store a truck with the place where its shifts start, and return its id.

    Raises Refused "too_far_from_road" as `create_place` does, for the field "base".
    """
    truck = draft.truck
    base_id = create_place(
        place=draft.base, hours=draft.base_hours, roads=roads, field="base"
    )
    row = models.Truck.objects.create(
        name=truck.name,
        body=truck.body,
        base_id=base_id,
        payload_kg=truck.payload_kg,
        body_m3=truck.body_m3,
        tare_kg=truck.tare_kg,
        height_m=truck.height_m,
        width_m=truck.width_m,
        length_m=truck.length_m,
        call_out=truck.rates.call_out,
        per_hour=truck.rates.per_hour,
        per_km=truck.rates.per_km,
        opens=draft.opens,
        closes=draft.closes,
        max_shift_s=truck.max_shift_s,
    )
    return row.pk
