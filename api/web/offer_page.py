"""One offer: what it is, what is known of it, and adding a test of a soil to it."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.core import signing
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from api.documents.evidence_answers import EstimateSummary
from api.documents.evidence_document import estimate_summary
from api.documents.plan_models import RangeAnswer
from api.documents.questions import KgRange
from api.web.lot_view import StrawView, sand_view, straw_view
from api.web.offers import offer_card
from api.web.soil_forms import FORMS
from api.web.soil_typing import TypedTest, fresh_test, read_typed
from api.web.soil_view import changed_words, soil_view
from logistics.domain.errors import Refused
from matching.domain.materials import Straw, Subsoil
from matching.domain.soil.evidence import Record
from matching.domain.takeoff import MixTarget
from matching.selectors.offers import StoredOffer, get_offer
from matching.services.offers import add_test

# What clay was before a test travels in the address, signed: the page needs no session,
# and nobody can write a figure of their own into a link.
SALT, SHOWN_S = "clay before a test", 3600


@require_safe
def offer(request: HttpRequest, offer_id: int) -> HttpResponse:
    """An offer with its verdict and all that it rests on."""
    own = _stored(offer_id)
    material = own.offer.material
    mix = MixTarget()
    context: dict[str, Any] = {
        "here": "offers",
        "id": own.id,
        "card": offer_card(own, mix),
        "currency": settings.MARLPIT_CURRENCY,
    }
    if isinstance(material, Subsoil):
        context |= {
            "soil": soil_view(material, mix),
            "ground": _ground(material),
            "changed": _changed(request, material),
        }
    elif isinstance(material, Straw):
        context["straw"] = _straw(own, material)
    else:
        context["sand"] = sand_view(material)
    return render(request, "web/offer.html", context)


@require_safe
def offer_tests(request: HttpRequest, offer_id: int) -> HttpResponse:
    """The kinds of test to choose from."""
    own = _soil(offer_id)
    context = {
        "here": "offers",
        "id": own.id,
        "name": own.offer.name,
        "kinds": FORMS.values(),
    }
    return render(request, "web/offer_tests.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def offer_test(request: HttpRequest, offer_id: int, kind: str) -> HttpResponse:
    """The form of one kind; a test that makes sense is kept with the offer."""
    own = _soil(offer_id)
    form = FORMS.get(kind)
    if form is None:
        raise Http404(kind)
    if request.method != "POST":
        typed = fresh_test(form, _first(own))
        return _form_page(request, own, typed, 200)
    typed = read_typed(form, request.POST.dict(), timezone.localdate())
    if typed.record is None:
        return _form_page(request, own, typed, 400)
    try:
        return _added(own, typed.record)
    except Refused as refused:
        return _form_page(request, own, typed.refused(refused.problems), 400)


def _stored(offer_id: int) -> StoredOffer:
    try:
        return get_offer(offer_id)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def _soil(offer_id: int) -> StoredOffer:
    own = _stored(offer_id)
    if not isinstance(own.offer.material, Subsoil):
        raise Http404("tests of soil belong to offers of subsoil")
    return own


def _first(own: StoredOffer) -> dict[str, str]:
    """What is known of the sample before anybody types: the day, and the depth of the dig."""
    soil = own.offer.material
    first = {"sample.taken_on": timezone.localdate().isoformat()}
    if isinstance(soil, Subsoil):
        for name in ("depth_from_m", "depth_to_m"):
            depth = getattr(soil, name)
            if depth is not None:
                first[f"sample.{name}"] = f"{depth:g}"
    return first


def _form_page(
    request: HttpRequest, own: StoredOffer, typed: TypedTest, status: int
) -> HttpResponse:
    context = {
        "here": "offers",
        "typed": typed,
        "back": reverse("offer-tests", args=[own.id]),
        "back_words": "Other tests",
        "heap": own.offer.name,
    }
    return render(request, "web/soil_test.html", context, status=status)


def _added(own: StoredOffer, record: Record) -> HttpResponse:
    before = _summary(own)
    add_test(offer_id=own.id, test=record)
    was = {
        "tests": before.tests,
        "clay": before.clay_percent.model_dump(),
    }
    query = urlencode({"was": signing.dumps(was, salt=SALT)})
    return HttpResponseRedirect(f"{reverse('offer', args=[own.id])}?{query}")


def _summary(own: StoredOffer) -> EstimateSummary:
    soil = own.offer.material
    assert isinstance(soil, Subsoil)
    return estimate_summary(soil)


def _changed(request: HttpRequest, soil: Subsoil) -> str:
    """What the test that was just sent has changed, in words."""
    try:
        was = signing.loads(request.GET.get("was", ""), salt=SALT, max_age=SHOWN_S)
    except signing.BadSignature:
        return ""
    now = estimate_summary(soil)
    if now.tests == was["tests"]:
        return "This very test was there already: it counts once."
    return changed_words(RangeAnswer.model_validate(was["clay"]), now.clay_percent)


def _ground(soil: Subsoil) -> tuple[tuple[str, str], ...]:
    """What was declared of the ground itself."""
    past = {"clear": "clear", "unknown": "not known", "suspect": "suspect"}
    facts = [("Past use", past[soil.history.value])]
    if soil.depth_from_m is not None and soil.depth_to_m is not None:
        facts.append(("Dug from", f"{soil.depth_from_m:g} to {soil.depth_to_m:g} m"))
    if soil.topsoil:
        facts.append(("Topsoil", "in the heap"))
    facts.append(
        ("Salt", {"yes": "yes", "no": "no"}.get(soil.salty.value, "not known"))
    )
    if soil.frozen:
        facts.append(("Frozen", "yes"))
    return tuple(facts)


def _straw(own: StoredOffer, straw: Straw) -> StrawView:
    """Straw with the room that all of it takes. A harvest of next year, typed too early,
    is fresh."""
    year = max(timezone.localdate().year, straw.record.harvested_year or 0)
    return straw_view(straw, KgRange(likely=max(own.free_kg, 0)), None, in_year=year)
