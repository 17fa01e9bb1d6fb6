"""Offers: in full, as a list, and those near a place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from django.db.models import F, QuerySet

from logistics.domain.errors import refuse
from logistics.domain.loads import PartLoadTerms
from logistics.domain.places import Point
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.trucks import Cargo
from logistics.selectors import StoredPlace, around, place_of
from matching.domain.materials import Disposal, HaulPayer, Offer, Price
from matching.domain.stored import load_material
from matching.models import Offer as OfferRow


@dataclass(frozen=True, slots=True)
class StoredOffer:
    """An offer with its row id and place. `offer.quantity_kg` is all that was offered,
    `offer.place` is 0 (see `place`). `metres` is the straight line to the place that was
    asked about, None if none was."""

    id: int
    offer: Offer
    place: StoredPlace
    reserved_kg: int
    available_from: date | None
    available_until: date | None
    created_at: datetime
    metres: float | None = None

    @property
    def free_kg(self) -> int:
        """What is not promised yet."""
        return self.offer.quantity_kg - self.reserved_kg


@dataclass(frozen=True, slots=True)
class OfferFilter:
    """What to list: a kind of material, and offers within metres of a point."""

    kind: Cargo | None = None
    near: Point | None = None
    within_m: float = 80_000.0


def offer_of(row: OfferRow, metres: float | None = None) -> StoredOffer:
    """A stored offer, its place joined."""
    offer = Offer(
        key=f"offer-{row.pk}",
        name=row.name,
        place=0,
        material=load_material(row.kind, row.material),
        quantity_kg=row.quantity_kg,
        price=Price(row.price_minor, row.price_per_kg),
        min_lot_kg=row.min_lot_kg,
        whole_loads=row.whole_loads,
        haul_payer=HaulPayer(row.haul_payer),
        disposal=Disposal(row.tipping_per_t, row.haulage_per_t),
        load_s=row.load_s,
        loading_fee=row.loading_fee,
        part_load=PartLoadTerms(row.part_charge, row.part_below_kg),
    )
    return StoredOffer(
        id=row.pk,
        offer=offer,
        place=place_of(row.place),
        reserved_kg=row.reserved_kg,
        available_from=row.available_from,
        available_until=row.available_until,
        created_at=row.created_at,
        metres=metres,
    )


def get_offer(offer_id: int) -> StoredOffer:
    """One offer. Raises Refused "unknown_offer"."""
    row = OfferRow.objects.select_related("place").filter(pk=offer_id).first()
    if row is None:
        raise refuse(
            "unknown_offer",
            field="offer",
            given=offer_id,
            message="there is no such offer",
            remedy="List the offers to see which there are.",
        )
    return offer_of(row)


def list_offers(
    wanted: OfferFilter, *, offset: int, limit: int
) -> tuple[list[StoredOffer], int]:
    """A page of offers and how many there are in all; the nearest first when a place is
    asked about, the newest first otherwise."""
    rows = OfferRow.objects.all()
    if wanted.kind is not None:
        rows = rows.filter(kind=wanted.kind)
    if wanted.near is None:
        page = rows.select_related("place").order_by("-pk")[offset : offset + limit]
        return [offer_of(row) for row in page], rows.count()
    near = sorted(
        (metres, pk)
        for pk, metres in within(rows, wanted.near, wanted.within_m).items()
    )
    page_ids = near[offset : offset + limit]
    found = rows.select_related("place").in_bulk([pk for _, pk in page_ids])
    return [offer_of(found[pk], metres) for metres, pk in page_ids if pk in found], len(
        near
    )


def within(rows: QuerySet[OfferRow], point: Point, reach_m: float) -> dict[int, float]:
    """Ids of the offers within reach of a point, in a straight line, and their metres."""
    near = rows.filter(around(point, reach_m, column="place__h3_cell"))
    found = list(near.values_list("pk", "place__lat", "place__lon"))
    if not found:
        return {}
    metres = lengths_m(
        point.lat,
        point.lon,
        np.array([lat for _, lat, _ in found]),
        np.array([lon for _, _, lon in found]),
    )
    return {
        pk: float(length)
        for (pk, _, _), length in zip(found, metres, strict=True)
        if length <= reach_m
    }


def free_offers(
    points: list[Point], *, first_day: date, last_day: date, reach_m: int, most: int
) -> tuple[list[StoredOffer], int]:
    """Offers with something left, open on some of the days, within reach of some point.

    The nearest come first. At most `most` are returned, and how many were left out.
    A road is never shorter than the straight line, so none within reach is missed.
    """
    rows = (
        OfferRow.objects.filter(quantity_kg__gt=F("reserved_kg"))
        .exclude(available_from__gt=last_day)
        .exclude(available_until__lt=first_day)
    )
    nearest: dict[int, float] = {}
    for point in points:
        for pk, metres in within(rows, point, reach_m).items():
            nearest[pk] = min(metres, nearest.get(pk, metres))
    chosen = sorted(nearest, key=lambda pk: (nearest[pk], pk))
    found = OfferRow.objects.select_related("place").in_bulk(chosen[:most])
    return [
        offer_of(found[pk], nearest[pk]) for pk in chosen[:most] if pk in found
    ], max(0, len(chosen) - most)
