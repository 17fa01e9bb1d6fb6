"""The ticket of a load: whoever has its code may read it, and record what came once."""

from __future__ import annotations

from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.tickets import ArrivalIn, TicketAnswer, arrival_of, ticket_answer
from api.rest.door import Door, read_body
from api.rest.schema import described
from logistics.services.receipts import haul_left, receive
from logistics.services.tickets import StoredTicket, get_ticket


class TicketDetail(Door):
    """One ticket. There is no list: the code is the key."""

    @described("read_ticket", answers={200: TicketAnswer})
    def get(self, request: Request, code: str) -> Response:  # noqa: ARG002
        """Read what should come, what came, and what is still to come."""
        return _answer(get_ticket(code))

    @described("record_ticket", body=ArrivalIn, answers={200: TicketAnswer})
    def post(self, request: Request, code: str) -> Response:
        """Record what came. A ticket is recorded once: a second record is refused."""
        get_ticket(code)
        now = timezone.now()
        arrival = arrival_of(read_body(request, ArrivalIn), now)
        return _answer(receive(code=code, arrival=arrival, at=now))


def _answer(own: StoredTicket) -> Response:
    answer = ticket_answer(own, haul_left(own.haul_id), deployment.zone())
    return Response(
        answer.model_dump(mode="json"),
        headers={"X-Robots-Tag": "noindex", "Cache-Control": "no-store"},
    )
