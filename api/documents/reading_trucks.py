"""From checked documents of trucks to the values that the computation takes."""

from __future__ import annotations

from api.documents.reading_parts import within
from api.documents.trucks import (
    AxleDoc,
    ChassisFields,
    DeliveryDoc,
    HireFields,
    TruckFields,
    WeakRoadsDoc,
)
from logistics.domain.fleet import Chassis, laden
from logistics.domain.legal.axles import Axle, AxleLayout, whole_tare
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.trucks import (
    REST_RULES,
    DeliveryBand,
    DeliveryTariff,
    Truck,
    TruckRates,
)


def read_truck(
    doc: TruckFields,
    key: str,
    base: int,
    *,
    only_from: frozenset[int] | None = None,
    field: str = "",
) -> Truck:
    """A truck with the payload that its axles, plate or owner leave.

    Raises Refused, with fields below `field`, for axles that cannot be or that leave
    nothing to load.
    """
    truck = Truck(
        key=key,
        name=doc.name,
        body=doc.body,
        base=base,
        payload_kg=doc.payload_kg or 0,
        body_m3=doc.body_m3,
        rates=read_rates(doc),
        max_shift_s=round(doc.max_shift_hours * 3600),
        tare_kg=doc.tare_kg,
        height_m=doc.height_m,
        width_m=doc.width_m,
        length_m=doc.length_m,
        heaped_m3=doc.heaped_m3,
        rest=REST_RULES[doc.rest_rule] if doc.rest_rule else None,
        cleaning_s=round(doc.cleaning_minutes * 60),
        only_from=only_from,
        turning_m=doc.turning_m,
        tip_height_m=doc.tip_height_m,
    )
    with within(field):
        return laden(truck, read_chassis(doc))


def read_chassis(doc: ChassisFields) -> Chassis:
    """What the payload is found from. Raises Refused for axles that cannot be."""
    return Chassis(_layout(doc), doc.rule, doc.plated_gross_kg, doc.payload_kg)


def _layout(doc: ChassisFields) -> AxleLayout | None:
    if not doc.axles:
        return None
    axles = tuple(_axle(own) for own in doc.axles)
    return AxleLayout(
        axles=axles,
        tare_kg=whole_tare(axles, doc.tare_kg),
        road_friendly=doc.road_friendly_suspension,
        trailer_axles=doc.trailer_axles,
        kingpin_m=doc.kingpin_m,
        body_centre_m=doc.body_centre_m,
    )


def _axle(doc: AxleDoc) -> Axle:
    return Axle(doc.at_m, doc.steered, doc.driven, doc.twin_tyres, doc.tare_kg)


def read_rates(doc: HireFields) -> TruckRates:
    """What it costs."""
    after = doc.overtime_after_hours
    return TruckRates(
        call_out=doc.call_out_minor,
        per_hour=doc.per_hour_minor,
        per_km=doc.per_km_minor,
        per_load=doc.per_load_minor,
        per_tonne=doc.per_tonne_minor,
        minimum_hire_s=round(doc.minimum_hire_hours * 3600),
        overtime_after_s=None if after is None else round(after * 3600),
        overtime_per_hour=doc.overtime_per_hour_minor,
        delivery=_delivery(doc.delivery) if doc.delivery else None,
    )


def _delivery(doc: DeliveryDoc) -> DeliveryTariff:
    return DeliveryTariff(
        bands=tuple(
            DeliveryBand(
                round(own.up_to_km * 1000), own.per_load_minor, own.per_tonne_minor
            )
            for own in doc.bands
        ),
        minimum_kg=doc.minimum_kg,
        free_unload_s=round(doc.free_unload_minutes * 60),
        waiting_per_hour=doc.waiting_per_hour_minor,
    )


def read_weak_roads(doc: WeakRoadsDoc | None) -> WeakRoads | None:
    """Days with weak roads."""
    return WeakRoads(doc.first, doc.until, doc.axle_percent) if doc else None
