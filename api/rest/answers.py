"""One shape for everything that is refused: {"problems": [...]}, never a page of HTML."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import Http404, UnreadablePostError
from rest_framework import exceptions
from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.problems import MOST_BYTES
from logistics.domain.errors import Problem, Refused

STATUS = {
    "claim_not_open": 409,
    "offer_exhausted": 409,
    "plan_ended": 409,
    "plan_not_ready": 409,
    "plan_not_done": 409,
    "plan_not_shared": 404,
    "plan_replaced": 409,
    "plan_without_state": 409,
    "ticket_recorded": 409,
    "ticket_withdrawn": 409,
    "too_large": 413,
    "too_far_from_road": 422,
    "need_without_blend": 422,
    "need_without_demand": 422,
    "network_damaged": 503,
}
"""Codes that are not 400. Codes that begin with unknown_ are 404 if the address names the
thing and 422 if a body does."""

_HTTP = {
    403: ("forbidden", "Sign in, or ask who runs this service."),
    404: ("not_found", "Addresses end with a slash; /api/v1/docs/ lists them."),
    405: ("method_not_allowed", "Use one of the methods that the Allow header names."),
    406: ("not_acceptable", "Accept application/json."),
    415: ("unsupported_media_type", "Send JSON with Content-Type: application/json."),
}


def exception_handler(exc: Exception, context: dict[str, Any]) -> Response | None:
    """Turn what a view raised into an answer; None, which is a 500, for a fault of ours."""
    request = context.get("request")
    if isinstance(exc, Refused):
        return refusal(exc.problems, _status(exc.problems[0].code, request))
    if isinstance(exc, RequestDataTooBig):
        problem = Problem(
            "too_large",
            "document",
            f"more than {MOST_BYTES} bytes",
            "the document is too large",
            f"Send at most {MOST_BYTES} bytes.",
        )
        return refusal([problem], 413)
    if isinstance(exc, UnreadablePostError):
        exc = exceptions.ParseError("the body could not be read to its end")
    if isinstance(exc, Http404):
        exc = exceptions.NotFound()
    if isinstance(exc, exceptions.APIException):
        return _http(exc, request)
    return None


def refusal(problems: Iterable[Problem], status: int) -> Response:
    """An answer that lists the problems."""
    return Response({"problems": [asdict(own) for own in problems]}, status=status)


def _status(code: str, request: Request | None) -> int:
    if code.startswith("unknown_"):
        in_body = request is not None and request.method == "POST"
        return 422 if in_body and not _named(request) else 404
    return STATUS.get(code, 400)


def _named(request: Request | None) -> bool:
    """Whether the address names a thing."""
    context = None if request is None else request.parser_context
    return bool(context and context.get("kwargs"))


def _http(exc: exceptions.APIException, request: Request | None) -> Response:
    fallback = ("bad_request", "Send the request again, whole.")
    code, remedy = _HTTP.get(exc.status_code, fallback)
    given = "" if request is None else f"{request.method} {request.path}"[:80]
    if isinstance(exc, exceptions.UnsupportedMediaType) and request is not None:
        given = (request.content_type or "no content type")[:80]
    message = str(exc.detail)
    problem = Problem(
        code, "request", given, message[:1].lower() + message[1:].rstrip("."), remedy
    )
    return refusal([problem], exc.status_code)
