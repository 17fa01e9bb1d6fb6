"""From a validation error to problems that a person can act on."""

from __future__ import annotations

import codecs
import json
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from logistics.domain.errors import Problem, Refused, refuse

Model = TypeVar("Model", bound=BaseModel)
MOST_BYTES = 8 * 1024 * 1024
_MARKS = (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
SHOWN = 12

_REMEDIES = {
    "missing": "Add this field; it has no default.",
    "union_tag_not_found": 'Add "kind", which says what it is.',
    "extra_forbidden": "Remove it or check its spelling: no such field exists here.",
    "finite_number": "Give a finite number; NaN and infinities mean nothing here.",
    "json_invalid": "Send one well-formed JSON document.",
    "bool_type": "Give true or false.",
    "string_type": "Give a text in quotes.",
    "int_type": "Give a whole number without quotes.",
    "float_type": "Give a number without quotes.",
    "list_type": "Give a list in square brackets.",
    "dict_type": "Give an object in braces.",
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
    if raw.startswith(_MARKS):
        raise refuse(
            "not_plain_utf8",
            field="document",
            given="a byte order mark",
            message="the text does not begin with JSON but with a byte order mark",
            remedy="Save it as UTF-8 without a byte order mark.",
        )
    try:
        found = model.model_validate_json(raw)
    except ValidationError as error:
        raise Refused(*problems_of(error)) from None
    # Only a checked document is read twice: its depth is known to be small.
    json.loads(raw, object_pairs_hook=_once)
    return found


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object of which no key is given twice: the parser would keep the last alone."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise refuse(
            "field_given_twice",
            field=twice,
            given=" and ".join(_shown(value) for name, value in pairs if name == twice),
            message="this field stands twice in one object",
            remedy="Give it once.",
        )
    return found


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
        # A rule over several fields names the one to change, and what stands there.
        path = [str(part) for part in item["loc"]]
        path += [context["field"]] if "field" in context else []
        found.append(
            Problem(
                code=item["type"],
                field=".".join(path) or "document",
                given=context.get("given") or _shown(item.get("input")),
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
    if isinstance(value, bytes):
        value = value[:120].decode("utf-8", "replace")
    text = "".join(c if c.isprintable() else repr(c)[1:-1] for c in str(value)[:120])
    return (text if len(text) <= 60 else text[:57] + "...") or "nothing"
