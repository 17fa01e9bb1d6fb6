"""A plan in the forms in which it is taken along: maps, calendars, tables and paper."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from pydantic import BaseModel, Field
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.jobs import ProblemsAnswer
from api.documents.plan_models import PlanAnswer
from api.documents.rest import Query
from api.exports.choices import choices
from api.exports.kinds import KINDS, Asked, export, known_kind
from api.exports.stored import stored_book, stored_plan
from api.rest.door import Door, read_query
from api.rest.schema import described, parameters

TICKETS = "/tickets/"
"""Where receipt pages stand; a ticket's code follows."""


class ExportQuery(Query):
    """Which part of the plan is wanted."""

    shift: int | None = Field(
        default=None,
        ge=1,
        le=100_000,
        description="number of a shift, from 1, in the order of the plan: needed by gpx;"
        " driver-sheet and load-tickets give all shifts without it",
    )
    of: str | None = Field(
        default=None,
        max_length=200,
        description="key as it stands in the plan: of a truck for truck-calendar, a build"
        " for build-calendar, a place for pickup-calendar",
    )


class AsTheAddressSays(BaseContentNegotiation):
    """The kind in the address settles the form, whatever the client says it accepts."""

    def select_renderer(
        self,
        request: Request,  # noqa: ARG002
        renderers: Iterable[BaseRenderer],
        format_suffix: str | None = None,  # noqa: ARG002
    ) -> tuple[BaseRenderer, str]:
        """The first renderer; it serves refusals only."""
        first = next(iter(renderers))
        return first, str(first.media_type)

    def select_parser(
        self,
        request: Request,  # noqa: ARG002
        parsers: Iterable[BaseParser],
    ) -> BaseParser | None:
        """The first parser; nothing is sent here."""
        return next(iter(parsers), None)


_FORMS = "; ".join(f"`{name}`: {kind.about}" for name, kind in KINDS.items())
_ANSWERS = {
    (200, kind.media_type.partition(";")[0]): OpenApiResponse(
        OpenApiTypes.STR
        if kind.media_type.startswith("text/")
        else OpenApiTypes.BINARY,
        description="The plan in that form.",
    )
    for kind in KINDS.values()
}


class ChoiceAnswer(BaseModel):
    """One part of the plan that an export is made of."""

    value: str = Field(description="what to put into the query")
    name: str
    address: str


class ExportAnswer(BaseModel):
    """A form in which the plan is given out."""

    kind: str
    about: str
    media_type: str
    address: str
    takes: str | None = Field(description="the query that it reads: shift or of")
    needed: bool = Field(description="whether the address is refused without the query")
    choices: list[ChoiceAnswer] = Field(description="what the query may be")


class ExportsAnswer(BaseModel):
    """All forms in which the plan is given out."""

    exports: list[ExportAnswer]


class PlanExports(Door):
    """What a stored plan is given out as."""

    @described("list_exports", answers={200: ExportsAnswer})
    def get(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """List the forms in which a plan is given out, with their addresses."""
        plan, _ = stored_plan(public_id)
        found = [_listed(public_id, plan, name) for name in KINDS]
        return Response(ExportsAnswer(exports=found).model_dump(mode="json"))


def _listed(public_id: UUID, plan: PlanAnswer, name: str) -> ExportAnswer:
    kind = KINDS[name]
    address = reverse("rest-plan-export", args=[public_id, name])
    return ExportAnswer(
        kind=name,
        about=kind.about,
        media_type=kind.media_type,
        address=address,
        takes=kind.takes or None,
        needed=bool(kind.takes) and not kind.optional,
        choices=[
            ChoiceAnswer(
                value=own.value,
                name=own.name,
                address=f"{address}?{urlencode({kind.takes: own.value})}",
            )
            for own in choices(plan, name, kind.takes)
        ],
    )


class PlanExport(Door):
    """A stored plan as a file."""

    content_negotiation_class = AsTheAddressSays

    @extend_schema(
        operation_id="export_plan",
        parameters=[
            OpenApiParameter(
                "kind",
                {"type": "string", "enum": list(KINDS)},
                OpenApiParameter.PATH,
                description=_FORMS,
            ),
            *parameters(ExportQuery),
        ],
        responses={
            **_ANSWERS,
            (404, "application/json"): OpenApiResponse(
                ProblemsAnswer, description="No such plan, kind, shift or key."
            ),
            (409, "application/json"): OpenApiResponse(
                ProblemsAnswer, description="The plan is not made yet."
            ),
            ("4XX", "application/json"): OpenApiResponse(
                ProblemsAnswer, description="Refused, with reasons."
            ),
        },
    )
    def get(self, request: Request, public_id: UUID, kind: str) -> HttpResponse:
        """Give a plan out as a file."""
        known_kind(kind)
        query = read_query(request, ExportQuery)
        receipts = request.build_absolute_uri(TICKETS)
        book = stored_book(public_id, receipts=receipts)
        file = export(book, kind, Asked(query.shift, query.of))
        # Calendar programs subscribe to the address: what is shown there is no download.
        attached = not file.media_type.startswith("text/calendar")
        header = content_disposition_header(attached, file.name)
        return HttpResponse(
            file.body,
            content_type=file.media_type,
            headers={"Content-Disposition": header or "inline"},
        )
