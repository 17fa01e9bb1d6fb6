"""The page behind the code on a load ticket: what should come, and recording what came."""

from __future__ import annotations

from typing import Any

from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseRedirect,
)
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api import deployment
from api.documents.tickets import TicketAnswer, ticket_answer
from api.web.ticket_form import TypedArrival, fresh, read_arrival
from logistics.domain.errors import Refused
from logistics.domain.living.arrivals import REASON_WORDS, Finding
from logistics.services.receipts import haul_left, receive
from logistics.services.tickets import StoredTicket, get_ticket

ENDED = ("ticket_recorded", "ticket_withdrawn")
FINDINGS = {
    Finding.FINE: "fine",
    Finding.WRONG: "wrong",
    Finding.NOT_LOOKED: "not looked at",
}


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def ticket(request: HttpRequest, code: str) -> HttpResponse:
    """The form of an open ticket, or the receipt of one that is recorded."""
    try:
        own = get_ticket(code)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if request.method != "POST":
        return _page(request, own, fresh(), 200)
    now = timezone.now()
    typed = read_arrival(request.POST.dict(), now, deployment.zone())
    if typed.arrival is None:
        return _page(request, own, typed, 400)
    try:
        receive(code=code, arrival=typed.arrival, at=now)
    except Refused as refused:
        if refused.problems[0].code not in ENDED:
            return _page(request, own, typed.refused(refused), 400)
        # Somebody was faster, or pressed twice: the page tells what stands.
    return HttpResponseRedirect(reverse("ticket", args=[code]))


def _page(
    request: HttpRequest, own: StoredTicket, typed: TypedArrival, status: int
) -> HttpResponse:
    answer = ticket_answer(own, haul_left(own.haul_id), deployment.zone())
    context: dict[str, Any] = {
        "ticket": answer,
        "gate": typed.gate if answer.state == "open" else None,
        **_receipt(answer),
    }
    page = render(request, "web/ticket.html", context, status=status)
    page["X-Robots-Tag"] = "noindex, nofollow"
    # The address is the key: it must not travel to other sites.
    page["Referrer-Policy"] = "same-origin"
    return page


def _receipt(answer: TicketAnswer) -> dict[str, Any]:
    record = answer.record
    if record is None:
        return {}
    check = record.check
    return {
        "reason": REASON_WORDS[record.reason] if record.reason else "",
        "checked": [
            ("Look", FINDINGS[check.look]),
            ("Smell", FINDINGS[check.smell]),
            ("Debris", FINDINGS[check.debris]),
        ],
        "less_kg": max(answer.planned_kg - record.counted_kg, 0),
        "more_kg": max(record.counted_kg - answer.planned_kg, 0),
    }
