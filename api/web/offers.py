"""The first page: what is on offer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.documents.answer_parts import reason_answers
from api.documents.market import HoursAnswer, OfferAnswer, offer_answer
from api.documents.material_answers import MaterialAnswer
from api.templatetags.units import cost, m3, percent, tonnes, weekday
from api.web.maps import MapPlace, map_base
from api.web.paging import SIZE, asked_page, paging
from api.web.words import VerdictWords, price_words, verdict_words
from logistics.domain.trucks import Cargo
from matching.domain.fitness import judge
from matching.domain.materials import Straw, Subsoil, loose_density
from matching.domain.takeoff import MixTarget
from matching.selectors.offers import OfferFilter, StoredOffer, list_offers

# What can be used stands before what cannot.
BEST_FIRST = ("yes", "mix", "stop", "no")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class OfferCard:
    """An offer as people read it."""

    id: int
    anchor: str
    name: str
    material: str
    quality: str
    free: str
    price: str
    place: str
    window: str
    hours: tuple[str, ...]
    terms: str
    verdict: VerdictWords


@require_safe
def offers(request: HttpRequest) -> HttpResponse:
    """Offers with a map and a filter by material."""
    given = request.GET.get("kind", "")
    kind = Cargo(given) if given in set(Cargo) else None
    page = asked_page(request)
    found, count = list_offers(
        OfferFilter(kind=kind), offset=(page - 1) * SIZE, limit=SIZE
    )
    mix = MixTarget()
    return render(
        request,
        "web/offers.html",
        {
            "here": "offers",
            "kinds": [own.value for own in Cargo],
            "kind": kind.value if kind else "",
            "mix": f"{mix.clay_low * 100:g} to {mix.clay_high * 100:g} %",
            "offers": sorted(
                (offer_card(own, mix) for own in found),
                key=lambda card: BEST_FIRST.index(card.verdict.mark),
            ),
            "count": count,
            "paging": paging(page, count, kind=kind or ""),
            "places": [_pin(own).as_json() for own in found],
            "map": map_base(),
        },
    )


def _pin(own: StoredOffer) -> MapPlace:
    point = own.place.place.point
    answer = offer_answer(own)
    return MapPlace(
        own.offer.name, point.lat, point.lon, answer.material.kind, own.place.place.name
    )


def offer_card(own: StoredOffer, mix: MixTarget) -> OfferCard:
    """An offer as a card, judged for a mix."""
    answer = offer_answer(own)
    verdict = judge(own.offer.material, mix)
    return OfferCard(
        id=own.id,
        anchor=answer.key,
        name=answer.name,
        material=answer.material.kind,
        quality=_quality(answer.material),
        free=_free(own),
        price=price_words(
            answer.price_minor,
            answer.price_per_kg,
            answer.material.kind,
            settings.MARLPIT_CURRENCY,
        ),
        place=answer.place.name,
        window=window_words(answer.available_from, answer.available_until),
        hours=hours_words(answer.place.hours),
        terms=_terms(answer),
        verdict=verdict_words(
            verdict.standing,
            reason_answers(verdict.reasons),
            answer.material.kind,
            reason_answers(verdict.cautions),
        ),
    )


def _free(own: StoredOffer) -> str:
    """What is left, by weight and by volume, each with its state."""
    if own.free_kg <= 0:
        return "nothing left"
    material = own.offer.material
    loose = m3(own.free_kg / loose_density(material), 0)
    if isinstance(material, Straw):
        bales = own.free_kg // material.bale.kg
        return f"{bales:,d} bales of {material.bale.kg} kg ({tonnes(own.free_kg)}, {loose} stacked)"
    text = f"{tonnes(own.free_kg)} moist, {loose} loose"
    if isinstance(material, Subsoil):
        bank = m3(own.free_kg / material.bulk.bank_kg_per_m3, 0)
        text += f" ({bank} in the ground)"
    return text


def _quality(material: MaterialAnswer) -> str:
    parts = []
    if material.kind == Cargo.SUBSOIL and material.clay_percent:
        clay = material.clay_percent
        parts.append(f"{clay.low:g} to {clay.high:g} % clay, likely {clay.likely:g} %")
    if material.stones_percent:
        parts.append(f"{percent(material.stones_percent)} stones")
    if material.sand:
        parts.append(f"{material.sand} sand")
    if material.fibre:
        parts.append(f"{material.fibre} straw")
        if material.moisture_percent is not None:
            parts.append(f"{percent(material.moisture_percent)} moisture")
    return ", ".join(parts)


def _terms(answer: OfferAnswer) -> str:
    currency = settings.MARLPIT_CURRENCY
    parts = []
    if answer.min_lot_kg:
        parts.append(f"at least {tonnes(answer.min_lot_kg)}")
    if answer.whole_loads:
        parts.append("full loads only")
    if answer.loading_fee_minor:
        parts.append(f"{cost(answer.loading_fee_minor, currency)} to load")
    if answer.part_load_charge_minor:
        parts.append(
            f"{cost(answer.part_load_charge_minor, currency)} more for a load below"
            f" {tonnes(answer.part_load_below_kg)}"
        )
    if answer.haul_payer == "holder":
        parts.append("the holder pays the haul")
    return ", ".join(parts)


def window_words(first: date | None, last: date | None) -> str:
    """A span of dates in words."""
    if first and first == last:
        return weekday(first)
    if first and last:
        begin = weekday(first)
        if first.year == last.year:
            begin = begin.removesuffix(f" {first.year}")
        return f"{begin} to {weekday(last)}"
    if first:
        return f"from {weekday(first)}"
    return f"until {weekday(last)}" if last else "at any date"


def hours_words(hours: Sequence[HoursAnswer]) -> tuple[str, ...]:
    """Weekly opening hours, days with the same hours together."""
    return tuple(_hours_lines(hours))


def _hours_lines(hours: Sequence[HoursAnswer]) -> Iterator[str]:
    by_day = [
        (day, tuple((own.opens, own.closes) for own in spans))
        for day, spans in groupby(hours, key=lambda own: own.day)
    ]
    # Days that follow each other keep the same distance to their place in the list.
    numbered = [(own, DAYS.index(own[0]) - at) for at, own in enumerate(by_day)]
    for (spans, _), run in groupby(numbered, key=lambda own: (own[0][1], own[1])):
        names = [day.capitalize() for (day, _), _ in run]
        text = " and ".join(
            f"{opens:%H:%M} to {closes:%H:%M}" for opens, closes in spans
        )
        which = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"
        if len(names) < len(DAYS) or text != "00:00 to 23:59":
            yield f"{which} {text}"
