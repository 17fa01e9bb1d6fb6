"""What all REST views share: reading bodies and queries, and paging."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from django.http import QueryDict
from pydantic import BaseModel, ValidationError
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView

from api.documents.problems import problems_of, read_document
from api.documents.rest import PageQuery
from logistics.domain.errors import Refused

Model = TypeVar("Model", bound=BaseModel)


class Door(APIView):
    """Base of the views. The interface knows no accounts yet: everybody may read and
    write, so there is no session that a foreign page could abuse, and no CSRF check."""

    authentication_classes = []
    permission_classes = [AllowAny]


def read_body(request: Request, model: type[Model]) -> Model:
    """The checked body. Raises Refused, and UnsupportedMediaType for what is not JSON.

    Bodies are read from the raw bytes: the checks and the words are those of files.
    """
    kind = (request.content_type or "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise UnsupportedMediaType(kind or "none")
    return read_document(model, request.body)


def read_query(request: Request, model: type[Model]) -> Model:
    """The checked query; of a name given twice the last counts. Raises Refused."""
    given: QueryDict = request.query_params
    try:
        return model.model_validate(given.dict())
    except ValidationError as error:
        raise Refused(*problems_of(error)) from None


def page_answer(
    request: Request, query: PageQuery, entries: Sequence[BaseModel], count: int
) -> Response:
    """A page of a list with the addresses of its neighbours."""
    here = request.build_absolute_uri()
    more = query.offset + query.page_size < count
    return Response(
        {
            "count": count,
            "page": query.page,
            "page_size": query.page_size,
            "next": replace_query_param(here, "page", query.page + 1) if more else None,
            "previous": replace_query_param(here, "page", query.page - 1)
            if query.page > 1
            else None,
            "results": [entry.model_dump(mode="json") for entry in entries],
        }
    )


def created(answer: BaseModel, location: str) -> Response:
    """201 with what was stored and its address."""
    return Response(
        answer.model_dump(mode="json"), status=201, headers={"Location": location}
    )
