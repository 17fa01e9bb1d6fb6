"""Storing offers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from logistics.domain.calendar import WeeklyHours
from logistics.domain.errors import refuse
from logistics.domain.places import Place
from logistics.domain.stored import dump_hours
from logistics.services.distances import Roads
from logistics.services.places import create_place
from matching.domain.materials import Offer, Subsoil, cargo
from matching.domain.soil.evidence import Record
from matching.domain.stored import dump_material, load_material
from matching.domain.tested import MOST_TESTS, tested
from matching.models import Offer as OfferRow
from matching.selectors.offers import unknown_offer


@dataclass(frozen=True, slots=True)
class OfferDraft:
    """An offer to be stored with its place. The keys, `offer.place` and `offer.windows`
    are not stored: ids and the place's hours stand for them."""

    offer: Offer
    place: Place
    hours: WeeklyHours
    available_from: date | None = None
    available_until: date | None = None
    loader_hours: WeeklyHours | None = None


@transaction.atomic
def create_offer(*, draft: OfferDraft, roads: Roads, at: datetime) -> int:
    """Store an offer with its place and return its id.

    Raises Refused "nothing_offered" for a quantity below one kg or bale, and
    "too_far_from_road".
    """
    own = draft.offer
    if own.quantity_kg < own.unit_kg:
        raise refuse(
            "nothing_offered",
            field="quantity",
            given=f"{own.quantity_kg} kg",
            message="this is less than a whole kilogram or a whole bale",
            remedy="Give a larger quantity.",
        )
    place_id = create_place(place=draft.place, hours=draft.hours, roads=roads)
    row = OfferRow.objects.create(
        name=own.name,
        place_id=place_id,
        kind=cargo(own.material),
        material=dump_material(own.material),
        quantity_kg=own.quantity_kg,
        price_minor=own.price.minor,
        price_per_kg=own.price.per_kg,
        available_from=draft.available_from,
        available_until=draft.available_until,
        min_lot_kg=own.min_lot_kg,
        whole_loads=own.whole_loads,
        haul_payer=own.haul_payer,
        tipping_per_t=own.disposal.tipping_per_t,
        haulage_per_t=own.disposal.haulage_per_t,
        load_s=own.load_s,
        loading_fee=own.loading_fee,
        part_charge=own.part_load.charge,
        part_below_kg=own.part_load.below_kg,
        loader_hours=dump_hours(draft.loader_hours) if draft.loader_hours else None,
        created_at=at,
    )
    return row.pk


@transaction.atomic
def add_test(*, offer_id: int, test: Record) -> None:
    """Add a test to an offer of subsoil; its shares become what all tests leave of them.

    The row is held from the reading to the writing (by its lock, or where the database has
    none by the lock that a writing transaction takes when it begins), so of two testers
    who send at once neither is lost. A test that is there already is not added again.
    Raises Refused "unknown_offer", "not_a_soil" or "too_many_tests".
    """
    row = OfferRow.objects.select_for_update().filter(pk=offer_id).first()
    if row is None:
        raise unknown_offer(offer_id)
    soil = load_material(row.kind, row.material)
    if not isinstance(soil, Subsoil):
        raise refuse(
            "not_a_soil",
            field="offer",
            given=row.kind,
            message="tests of soil belong to offers of subsoil",
            remedy="What is known of sand or straw is part of its offer; a question about"
            " it is asked at sand-tests or straw-tests.",
        )
    if test in soil.tests:
        return
    if len(soil.tests) >= MOST_TESTS:
        raise refuse(
            "too_many_tests",
            field="offer",
            given=f"{len(soil.tests)} tests",
            message=f"an offer holds at most {MOST_TESTS} tests",
            remedy="Offer what is left of the heap anew, with the tests that count.",
        )
    row.material = dump_material(tested(soil, (*soil.tests, test)))
    row.save(update_fields=["material"])
