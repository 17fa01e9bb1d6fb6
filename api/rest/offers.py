"""Offers: list, add, read."""

from __future__ import annotations

from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.drafts import offer_draft
from api.documents.market import OfferAnswer, offer_answer
from api.documents.reading_evidence import check_taken
from api.documents.rest import OfferIn, OfferQuery
from api.rest.door import Door, created, page_answer, read_body, read_query
from api.rest.schema import OfferPage, described
from logistics.domain.places import Point
from matching.domain.materials import Subsoil
from matching.selectors.offers import OfferFilter, get_offer, list_offers
from matching.services.offers import create_offer


class OfferList(Door):
    """All offers."""

    @described("list_offers", query=OfferQuery, answers={200: OfferPage})
    def get(self, request: Request) -> Response:
        """List offers: the newest first, or the nearest to a position."""
        query = read_query(request, OfferQuery)
        near = Point(*query.near) if query.near else None
        wanted = OfferFilter(query.kind, near, (query.within_km or 80.0) * 1000)
        offers, count = list_offers(wanted, offset=query.offset, limit=query.page_size)
        return page_answer(request, query, [offer_answer(own) for own in offers], count)

    @described("add_offer", body=OfferIn, answers={201: OfferAnswer})
    def post(self, request: Request) -> Response:
        """Add an offer with its place."""
        draft = offer_draft(read_body(request, OfferIn))
        if isinstance(draft.offer.material, Subsoil):
            check_taken(
                draft.offer.material.tests,
                timezone.localdate(),
                field="material.subsoil.tests",
            )
        offer_id = create_offer(
            draft=draft, roads=deployment.roads(), at=timezone.now()
        )
        return created(
            offer_answer(get_offer(offer_id)), reverse("rest-offer", args=[offer_id])
        )


class OfferDetail(Door):
    """One offer."""

    @described("read_offer", answers={200: OfferAnswer})
    def get(self, request: Request, offer_id: int) -> Response:  # noqa: ARG002
        """Read an offer and what is left of it."""
        return Response(offer_answer(get_offer(offer_id)).model_dump(mode="json"))
