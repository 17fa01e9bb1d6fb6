"""Storing places and trucks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import time
from typing import Any

from django.db import transaction

from logistics import models
from logistics.domain.calendar import ALWAYS, WeeklyHours
from logistics.domain.cells import cell_of
from logistics.domain.errors import Refused, refuse
from logistics.domain.fleet import Chassis
from logistics.domain.places import Place
from logistics.domain.stored import dump_chassis, dump_delivery, dump_hours
from logistics.domain.trucks import Truck, TruckRates
from logistics.services.distances import Roads, check_near_road


@dataclass(frozen=True, slots=True)
class TruckDraft:
    """A truck to be stored. `truck.key`, `truck.base` and `truck.only_from` are not: the id
    is the key, and `base` is stored with it, as is the place where it may stand
    `overnight`. `only_from` are ids of stored places. `opens` and `closes` are local
    wall-clock times."""

    truck: Truck
    base: Place
    base_hours: WeeklyHours
    opens: time
    closes: time
    chassis: Chassis | None = None
    overnight: Place | None = None
    only_from: tuple[int, ...] | None = None


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
    limits, tip = place.access, place.tip
    row = models.Place.objects.create(
        name=place.name,
        lat=place.point.lat,
        lon=place.point.lon,
        h3_cell=cell_of(place.point),
        max_gross_kg=limits.max_gross_kg,
        max_height_m=limits.max_height_m,
        max_width_m=limits.max_width_m,
        max_length_m=limits.max_length_m,
        max_axle_kg=limits.max_axle_kg,
        turning_m=limits.turning_m,
        slope_percent=limits.slope_percent,
        firmness=limits.firmness or "",
        wires=limits.wires,
        clear_height_m=limits.clear_height_m,
        at_once=place.at_once,
        loads_a_day=place.loads_a_day,
        tip_lat=tip.lat if tip else None,
        tip_lon=tip.lon if tip else None,
        hours=dump_hours(hours),
    )
    return row.pk


@transaction.atomic
def create_truck(*, draft: TruckDraft, roads: Roads) -> int:
    """Store a truck with the place where its shifts start, and return its id.

    Raises Refused "too_far_from_road" as `create_place` does, for the fields "base" and
    "overnight", and "unknown_place".
    """
    truck = draft.truck
    _check_places(draft.only_from)
    base_id = create_place(
        place=draft.base, hours=draft.base_hours, roads=roads, field="base"
    )
    night_id = None
    if draft.overnight is not None:
        night_id = create_place(
            place=draft.overnight, hours=ALWAYS, roads=roads, field="overnight"
        )
    row = models.Truck.objects.create(
        name=truck.name,
        body=truck.body,
        base_id=base_id,
        overnight_id=night_id,
        only_from=None if draft.only_from is None else sorted(draft.only_from),
        payload_kg=truck.payload_kg,
        chassis=dump_chassis(draft.chassis) if draft.chassis else None,
        body_m3=truck.body_m3,
        heaped_m3=truck.heaped_m3,
        tare_kg=truck.tare_kg,
        height_m=truck.height_m,
        width_m=truck.width_m,
        length_m=truck.length_m,
        turning_m=truck.turning_m,
        tip_height_m=truck.tip_height_m,
        opens=draft.opens,
        closes=draft.closes,
        max_shift_s=truck.max_shift_s,
        rest_rule=truck.rest.name if truck.rest else "",
        cleaning_s=truck.cleaning_s,
        **_terms(truck.rates),
    )
    return row.pk


def _terms(rates: TruckRates) -> dict[str, Any]:
    """The columns of what a truck costs."""
    return {
        "call_out": rates.call_out,
        "per_hour": rates.per_hour,
        "per_km": rates.per_km,
        "per_load": rates.per_load,
        "per_tonne": rates.per_tonne,
        "minimum_hire_s": rates.minimum_hire_s,
        "overtime_after_s": rates.overtime_after_s,
        "overtime_per_hour": rates.overtime_per_hour,
        "delivery": dump_delivery(rates.delivery),
    }


def _check_places(ids: tuple[int, ...] | None) -> None:
    known = set(
        models.Place.objects.filter(pk__in=ids or ()).values_list("pk", flat=True)
    )
    for number, wanted in enumerate(ids or ()):
        if wanted not in known:
            raise refuse(
                "unknown_place",
                field=f"only_from.{number}",
                given=wanted,
                message="there is no such place",
                remedy="Give the ids of places as the list of offers shows them.",
            )
