"""Stored trucks as documents, with what their payload comes from."""

from __future__ import annotations

from datetime import time

from pydantic import BaseModel, Field

from api.documents.market import StoredPlaceAnswer, place_answer
from logistics.domain.trucks import BodyKind, DeliveryTariff
from logistics.selectors import StoredTruck


class PayloadAnswer(BaseModel):
    """Where a payload comes from. Nothing here calls a truck legal: plated weight, posted
    signs and the driver decide."""

    rule: str
    gross_kg: int | None = Field(description="null where the empty mass is not known")
    binds: str = Field(description="the limit that sets the payload, in words")
    source: str
    unchecked: list[str] = Field(description="what was not looked at")


class BandAnswer(BaseModel):
    """What a delivery costs up to a distance."""

    up_to_km: float
    per_load_minor: int
    per_tonne_minor: int


class DeliveryAnswer(BaseModel):
    """A supplier's tariff."""

    bands: list[BandAnswer]
    minimum_kg: int
    free_unload_minutes: float
    waiting_per_hour_minor: int


class TruckAnswer(BaseModel):
    """A stored truck; money is minor units."""

    id: int
    key: str = Field(description="how plan documents call it")
    name: str
    body: BodyKind
    base: StoredPlaceAnswer
    overnight: StoredPlaceAnswer | None
    only_from: list[int] | None = Field(description="ids of places")
    payload_kg: int
    payload: PayloadAnswer | None
    body_m3: float
    heaped_m3: float | None
    tare_kg: int | None
    height_m: float | None
    width_m: float | None
    length_m: float | None
    turning_m: float | None
    tip_height_m: float | None
    call_out_minor: int
    per_hour_minor: int
    per_km_minor: int
    per_load_minor: int
    per_tonne_minor: int
    minimum_hire_hours: float
    overtime_after_hours: float | None
    overtime_per_hour_minor: int
    delivery: DeliveryAnswer | None
    rest_rule: str | None
    cleaning_minutes: float
    opens: time
    closes: time
    max_shift_hours: float


def truck_answer(own: StoredTruck) -> TruckAnswer:
    """A truck as a document."""
    truck, rates = own.truck, own.truck.rates
    after = rates.overtime_after_s
    return TruckAnswer(
        id=own.id,
        key=truck.key,
        name=truck.name,
        body=truck.body,
        base=place_answer(own.base),
        overnight=place_answer(own.overnight) if own.overnight else None,
        only_from=None if own.only_from is None else list(own.only_from),
        payload_kg=truck.payload_kg,
        payload=_payload(own),
        body_m3=truck.body_m3,
        heaped_m3=truck.heaped_m3,
        tare_kg=truck.tare_kg,
        height_m=truck.height_m,
        width_m=truck.width_m,
        length_m=truck.length_m,
        turning_m=truck.turning_m,
        tip_height_m=truck.tip_height_m,
        call_out_minor=rates.call_out,
        per_hour_minor=rates.per_hour,
        per_km_minor=rates.per_km,
        per_load_minor=rates.per_load,
        per_tonne_minor=rates.per_tonne,
        minimum_hire_hours=_hours(rates.minimum_hire_s),
        overtime_after_hours=None if after is None else _hours(after),
        overtime_per_hour_minor=rates.overtime_per_hour,
        delivery=_delivery(rates.delivery) if rates.delivery else None,
        rest_rule=truck.rest.name if truck.rest else None,
        cleaning_minutes=round(truck.cleaning_s / 60, 2),
        opens=own.opens,
        closes=own.closes,
        max_shift_hours=_hours(truck.max_shift_s),
    )


def _hours(seconds: int) -> float:
    return round(seconds / 3600, 4)


def _payload(own: StoredTruck) -> PayloadAnswer | None:
    basis = own.truck.basis
    if basis is None:
        return None
    return PayloadAnswer(
        rule=basis.rule,
        gross_kg=basis.gross_kg,
        binds=basis.binds,
        source=basis.source,
        unchecked=list(basis.unchecked),
    )


def _delivery(tariff: DeliveryTariff) -> DeliveryAnswer:
    return DeliveryAnswer(
        bands=[
            BandAnswer(
                up_to_km=own.up_to_m / 1000,
                per_load_minor=own.per_load,
                per_tonne_minor=own.per_tonne,
            )
            for own in tariff.bands
        ],
        minimum_kg=tariff.minimum_kg,
        free_unload_minutes=round(tariff.free_unload_s / 60, 2),
        waiting_per_hour_minor=tariff.waiting_per_hour,
    )
