"""From a validation error to problems that a person can act on."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from logistics.domain.errors import Problem, Refused, refuse

Model = TypeVar("Model", bound=BaseModel)
MOST_BYTES = 8 * 1024 * 1024
SHOWN = 12

_REMEDIES = {
    "missing": "Add this field; it has no default.",
    "extra_forbidden": "Remove it or check its spelling: no such field exists here.",
    "finite_number": "Give a finite number; NaN and infinities mean nothing here.",
    "json_invalid": "Send one well-formed JSON document.",
    "bool_type": "Give true or false.",
    "string_type": "Give a text in quotes.",
    "int_type": "Give a whole number without quotes.",
    "float_type": "Give a number without quotes.",
    "list_type": "Give a list in square brackets.",
    "model_type": "Give an object in braces.",
    "model_attributes_type": "Give an object in braces.",
    "string_pattern_mismatch": "Follow the form that the field's description gives.",
}


def read_document(model: type[Model], raw: bytes) -> Model:
    """Parse and check a JSON document. Raises Refused with every problem in it."""
    if len(raw) > MOST_BYTES:
        raise refuse(
            "too_large",
            field="document",
            given=f"{len(raw)} bytes",
            message="the document is too large",
            remedy=f"Send at most {MOST_BYTES} bytes.",
        )
    try:
        return model.model_validate_json(raw)
    except ValidationError as error:
        raise Refused(*problems_of(error)) from None


def read_file(model: type[Model], path: Path) -> Model:
    """Read and check a JSON file. Raises Refused if it cannot be read."""
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise refuse(
            "unreadable_file",
            field="file",
            given=path,
            message=f"the file cannot be read ({error.strerror})",
            remedy="Give the path of a readable JSON file.",
        ) from None
    return read_document(model, raw)


def problems_of(error: ValidationError) -> list[Problem]:
    """The first problems of a validation error, in our own form."""
    found = []
    for item in error.errors(include_url=False)[:SHOWN]:
        context = item.get("ctx", {})
        remedy = context.get("remedy") or _REMEDIES.get(item["type"])
        if not remedy and "expected" in context:
            remedy = f"Give {context['expected']}."
        if not remedy and "expected_tags" in context:
            remedy = f"Give one of {context['expected_tags']}."
        found.append(
            Problem(
                code=item["type"],
                field=".".join(str(part) for part in item["loc"]) or "document",
                given=_shown(item.get("input")),
                message=item["msg"][:1].lower() + item["msg"][1:],
                remedy=remedy or f"Change the value: {item['msg'].lower()}.",
            )
        )
    return found


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return "an object with " + (
            ", ".join(sorted(map(str, value))[:6]) or "no fields"
        )
    if isinstance(value, list):
        return f"a list of {len(value)}"
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."
