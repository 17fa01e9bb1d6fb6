"""The page "What do I order?": an answer that is asked for by its address alone."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from api.documents.reading_mixes import mix_design
from api.web.linked import address, linked_page
from api.web.order_form import (
    HEAPS,
    order_form,
    read_order_form,
)
from api.web.order_page import mixed_page
from api.web.typed import Typed

EXAMPLE = {
    "n1": "Clay here",
    "c1": "40",
    "cl1": "34",
    "ch1": "46",
    "h1": "clear",
    "p1": "0",
    "n2": "Sandy heap there",
    "c2": "5",
    "cl2": "2",
    "ch2": "8",
    "h2": "clear",
    "p2": "9",
    "wall": "8",
}


@require_safe
def mix(request: HttpRequest) -> HttpResponse:
    """The form, and its answer as soon as there is a heap."""
    return linked_page(
        request,
        HEAPS,
        form=order_form,
        answer=_answered,
        context={
            "example": address(HEAPS.page, EXAMPLE),
            "currency": settings.MARLPIT_CURRENCY,
        },
    )


def _answered(typed: Typed) -> dict[str, Any]:
    currency = settings.MARLPIT_CURRENCY
    own = read_order_form(typed, currency)
    design, question = mix_design(own.doc)
    return {
        "mixed": mixed_page(design, question, currency=currency),
        "unasked": own.unasked,
        "exact": own.exact,
    }
