"""Offers: in full, as a list, and those near a place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from django.db.models import F, QuerySet

from logistics.domain.calendar import WeeklyHours
from logistics.domain.errors import Refused, refuse
from logistics.domain.loads import PartLoadTerms
from logistics.domain.places import Point
from logistics.domain.roads.geodesics import lengths_m
from logistics.domain.trucks import Cargo
from logistics.selectors import StoredPlace, around, hours_of, place_of
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
    loader_hours: WeeklyHours | None = None
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


@dataclass(frozen=True, slots=True, order=True)
class _Near:
    metres: float
    id: int
    kind: str


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
        loader_hours=None if row.loader_hours is None else hours_of(row.loader_hours),
        metres=metres,
    )


def unknown_offer(offer_id: int) -> Refused:
    """The refusal of an id under which there is no offer."""
    return refuse(
        "unknown_offer",
        field="offer",
        given=offer_id,
        message="there is no such offer",
        remedy="List the offers to see which there are.",
    )


def get_offer(offer_id: int) -> StoredOffer:
    """One offer. Raises Refused "unknown_offer"."""
    row = OfferRow.objects.select_related("place").filter(pk=offer_id).first()
    if row is None:
        raise unknown_offer(offer_id)
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
    near = sorted(_within(rows, wanted.near, wanted.within_m))
    page_ids = near[offset : offset + limit]
    found = rows.select_related("place").in_bulk([own.id for own in page_ids])
    return [
        offer_of(found[own.id], own.metres) for own in page_ids if own.id in found
    ], len(near)


def _within(rows: QuerySet[OfferRow], point: Point, reach_m: float) -> list[_Near]:
    """The offers within reach of a point in a straight line."""
    near = rows.filter(around(point, reach_m, column="place__h3_cell"))
    found = list(near.values_list("pk", "kind", "place__lat", "place__lon"))
    if not found:
        return []
    metres = lengths_m(
        point.lat,
        point.lon,
        np.array([lat for _, _, lat, _ in found]),
        np.array([lon for _, _, _, lon in found]),
    )
    return [
        _Near(float(length), pk, kind)
        for (pk, kind, _, _), length in zip(found, metres, strict=True)
        if length <= reach_m
    ]


@dataclass(frozen=True, slots=True)
class Search:
    """Which offers a plan may use: of these kinds, within reach of one of the points in a
    straight line, with something left, and open on some of the days."""

    points: tuple[Point, ...]
    kinds: frozenset[Cargo]
    first_day: date
    last_day: date
    reach_m: int


def free_offers(search: Search, *, most: int) -> tuple[list[StoredOffer], int]:
    """The nearest offers, at most `most` in equal shares of the kinds, and how many were
    left out. A road is never shorter than the straight line: none in reach is missed.
    """
    rows = (
        OfferRow.objects.filter(quantity_kg__gt=F("reserved_kg"), kind__in=search.kinds)
        .exclude(available_from__gt=search.last_day)
        .exclude(available_until__lt=search.first_day)
    )
    nearest: dict[int, _Near] = {}
    for point in search.points:
        for own in _within(rows, point, search.reach_m):
            nearest[own.id] = min(own, nearest.get(own.id, own))
    # Else a village full of straw would leave no room for the only sand.
    room = dict.fromkeys(search.kinds, most // max(len(search.kinds), 1))
    chosen = []
    for own in sorted(nearest.values()):
        if room[Cargo(own.kind)]:
            room[Cargo(own.kind)] -= 1
            chosen.append(own)
    found = OfferRow.objects.select_related("place").in_bulk([own.id for own in chosen])
    offers = [offer_of(found[own.id], own.metres) for own in chosen if own.id in found]
    return offers, len(nearest) - len(chosen)
