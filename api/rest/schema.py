"""How the views and their documents appear in the OpenAPI description."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

from drf_spectacular.contrib.pydantic import PydanticExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import ResolvedComponent
from drf_spectacular.utils import (
    Direction,
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
)
from pydantic import BaseModel, Field

from api.documents.jobs import JobAnswer, ProblemsAnswer
from api.documents.market import OfferAnswer, StoredBuildAnswer
from api.documents.truck_answers import TruckAnswer

Entry = TypeVar("Entry", bound=BaseModel)


class InputPydanticExtension(PydanticExtension):  # type: ignore[no-untyped-call]
    """Describes documents as they are checked: a field with a default may be left out."""

    priority = 1

    def map_serializer(self, auto_schema: AutoSchema, direction: Direction) -> Any:
        """The JSON schema of a document, the parts that it refers to registered."""
        del direction
        schema = self.target.model_json_schema(
            ref_template="#/components/schemas/{model}", mode="validation"
        )
        for name, part in schema.pop("$defs", {}).items():
            auto_schema.registry.register_on_missing(
                ResolvedComponent(  # type: ignore[no-untyped-call]
                    name=name, type=ResolvedComponent.SCHEMA, object=name, schema=part
                )
            )
        return schema


class _Page(BaseModel, Generic[Entry]):
    count: int = Field(description="entries in all")
    page: int
    page_size: int
    next: str | None = Field(description="address of the next page")
    previous: str | None = Field(description="address of the page before")
    results: list[Entry]


class OfferPage(_Page[OfferAnswer]):
    """A page of offers."""


class BuildPage(_Page[StoredBuildAnswer]):
    """A page of builds."""


class TruckPage(_Page[TruckAnswer]):
    """A page of trucks."""


class JobPage(_Page[JobAnswer]):
    """A page of plan jobs, without their plans."""


Decorated = TypeVar("Decorated", bound=Callable[..., Any])


def described(
    name: str,
    *,
    body: type[BaseModel] | None = None,
    query: type[BaseModel] | None = None,
    answers: dict[int, type[BaseModel] | None],
) -> Callable[[Decorated], Decorated]:
    """Describe a view's method: its operation id, what it takes and what it answers."""
    responses: dict[int | str, Any] = {
        status: OpenApiResponse(model, description="" if model else "Nothing to say.")
        for status, model in answers.items()
    }
    responses["4XX"] = OpenApiResponse(
        ProblemsAnswer, description="Refused, with reasons."
    )
    return extend_schema(
        operation_id=name,
        request={"application/json": body} if body else None,
        parameters=parameters(query) if query else None,
        responses=responses,
    )


def parameters(query: type[BaseModel]) -> list[OpenApiParameter]:
    """The fields of a query as parameters."""
    schema = query.model_json_schema(mode="validation")
    parts = schema.get("$defs", {})
    found = []
    for name, field in schema["properties"].items():
        options = [
            own for own in field.get("anyOf", [field]) if own.get("type") != "null"
        ]
        kind = dict(options[0])
        if "$ref" in kind:
            kind = dict(parts[kind["$ref"].rsplit("/", 1)[-1]])
        for key in ("title", "description"):
            kind.pop(key, None)
        found.append(
            OpenApiParameter(name, type=kind, description=field.get("description", ""))
        )
    return found
