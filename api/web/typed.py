"""What people typed into a form, as values for a document, and refusals back to its fields."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal
from urllib.parse import urlencode

from django.http import QueryDict
from django.urls import reverse

from logistics.domain.errors import Problem, Refused

Options = tuple[tuple[str, str], ...]
Value = str | float | int | None

_NUMBER = re.compile(r"[-+]?\d{1,12}(\.\d{1,9})?|[-+]?\.\d{1,9}")
# 1,500 is fifteen hundred to some and one and a half to others.
_EITHER = re.compile(r"[-+]?\d{1,3},\d{3}")
SHOWN = 40
_MISSING = ("missing", "wall_not_said")
_BOUNDS = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")


@dataclass(frozen=True, slots=True)
class Spec:
    """A field of a form: the name of its parameter (numbered in rows), its label, what it
    takes, and what it means if it is left empty."""

    name: str
    label: str
    kind: Literal["text", "number", "whole", "date", "time", "choice", "check"] = (
        "number"
    )
    options: Options = ()
    hint: str = ""
    default: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """A field as the page shows it, with what was typed and what is wrong with it."""

    id: str
    label: str
    kind: str
    options: Options
    hint: str
    value: str
    wrong: str


@dataclass(frozen=True, slots=True)
class Trouble:
    """A problem beside the form: `anchor` is the id of its field, "" for the whole form."""

    anchor: str
    label: str
    given: str
    message: str
    remedy: str


class Typed:
    """One form as it was sent. Values are read with the path that they take in a document,
    so that what is refused there can be said of the field that it was typed into."""

    def __init__(self, query: Mapping[str, str]) -> None:
        self.query = query
        self._places: dict[str, tuple[str, str]] = {}
        self._refused: list[Problem] = []
        self.troubles: tuple[Trouble, ...] = ()

    def text(self, spec: Spec, row: str = "") -> str:
        """What stands in a field, or its default."""
        return self.query.get(spec.name + row, "").strip() or spec.default

    def value(self, spec: Spec, path: str, row: str = "", who: str = "") -> Value:
        """The value of a field for its place in a document; None for an empty one."""
        text = self.text(spec, row)
        label = f"{who}, {_lower(spec.label)}" if who else spec.label
        self._places[path] = (spec.name + row, label)
        if not text:
            return None
        if spec.kind in ("number", "whole"):
            return self._number(text, path, whole=spec.kind == "whole")
        if spec.kind == "choice" and text not in dict(spec.options):
            names = ", ".join(name for _, name in spec.options)
            self._refuse(
                path, text, "this is not one of the choices", f"Choose one: {names}."
            )
            return None
        return text

    def _number(self, text: str, path: str, *, whole: bool) -> float | int | None:
        plain = text.replace("\N{MINUS SIGN}", "-").replace(" ", "")
        if _EITHER.fullmatch(plain):
            dot, none = float(plain.replace(",", ".")), plain.replace(",", "")
            self._refuse(
                path,
                text,
                "this comma can be read in two ways",
                f"Write {none} or {dot:g}.",
            )
            return None
        plain = plain.replace(",", ".", 1)
        if not _NUMBER.fullmatch(plain):
            self._refuse(
                path,
                text,
                "this is not a number",
                "Give a plain number, such as 12 or 2.5, without a unit.",
            )
            return None
        value = float(plain)
        if whole and not value.is_integer():
            self._refuse(
                path, text, "this is not a whole number", f"Give {math.ceil(value)}."
            )
            return None
        return int(value) if whole else value

    def refuse(self, spec: Spec, row: str, who: str, message: str, remedy: str) -> None:
        """Keep a problem of a field that has no place in the document."""
        path = spec.name + row
        self._places[path] = (path, f"{who}, {_lower(spec.label)}")
        self._refuse(path, self.text(spec, row), message, remedy)

    def _refuse(self, path: str, given: str, message: str, remedy: str) -> None:
        self._refused.append(
            Problem("not_understood", path, given[:SHOWN], message, remedy)
        )

    def check(self) -> None:
        """Raise Refused for all fields that could not be read."""
        if self._refused:
            raise Refused(*self._refused)

    def blame(self, problems: Iterable[Problem]) -> None:
        """Keep problems for the page, each with the field that it is about."""
        self.troubles = tuple(self._trouble(own) for own in problems)

    def _trouble(self, own: Problem) -> Trouble:
        anchor, label = self._place(own.field)
        if own.code in _MISSING:
            return Trouble(
                anchor, label, "nothing", "nothing stands here yet", "Fill it in."
            )
        if own.code in _BOUNDS:
            message = own.message.replace("input should", "it must")
            return Trouble(anchor, label, own.given, message, "")
        return Trouble(anchor, label, own.given, own.message, own.remedy)

    def _place(self, field: str) -> tuple[str, str]:
        if field in self._places:
            return self._places[field]
        # A rule over several fields names what holds them; a part names more than we ask.
        inside = [p for p in self._places if p.startswith(f"{field}.")]
        if inside:
            return self._places[inside[0]]
        around = [p for p in self._places if field.startswith(f"{p}.")]
        if around:
            return self._places[max(around, key=len)]
        return "", field.replace("_", " ").replace(".", ", ")

    def field(self, spec: Spec, row: str = "") -> Field:
        """A field for the page, with what was typed."""
        own = spec.name + row
        wrong = next(
            (
                f"{each.message[:1].upper()}{each.message[1:]}. {each.remedy}"
                for each in self.troubles
                if each.anchor == own
            ),
            "",
        )
        return Field(
            own,
            spec.label,
            spec.kind,
            spec.options,
            spec.hint,
            self.text(spec, row),
            wrong,
        )

    def fields(self, specs: Iterable[Spec], row: str = "") -> tuple[Field, ...]:
        """Fields for the page."""
        return tuple(self.field(spec, row) for spec in specs)


def _lower(label: str) -> str:
    return label[:1].lower() + label[1:]


@dataclass(frozen=True, slots=True)
class Rows:
    """The numbered rows of a form: its page, the names of a row's parameters and the id of
    a row, each without its number, and the fewest and most rows that are shown."""

    page: str
    names: tuple[str, ...]
    anchor: str
    least: int
    most: int

    def filled(self, query: Mapping[str, str]) -> list[str]:
        """The numbers of the rows in which something stands."""
        return [
            row
            for row in map(str, range(1, self.most + 1))
            if any(query.get(name + row) for name in self.names)
        ]

    def shown(self, query: Mapping[str, str]) -> int:
        """How many rows the form has: those asked for, and no filled one is left out."""
        given = query.get("rows", "")
        wanted = int(given) if given.isdecimal() and len(given) < 3 else self.least
        last = max((int(row) for row in self.filled(query)), default=0)
        return min(max(wanted, last, self.least), self.most)

    def elsewhere(self, given: QueryDict, kept: Mapping[str, str]) -> str | None:
        """Where the form is to be read instead: with a row more if that is asked for, and
        at the shortest address, which people can send each other."""
        if "add" in kept:
            rows = min(self.shown(kept) + 1, self.most)
            left = {name: text for name, text in kept.items() if name != "add"}
            own = {**left, "rows": str(rows), "edit": "1"}
            return f"{address(self.page, own)}#{self.anchor}{rows}"
        return None if kept == given.dict() else address(self.page, kept)

    def asked(self, kept: Mapping[str, str]) -> bool:
        """Whether an answer is wanted, not only a longer form."""
        return "edit" not in kept and bool(self.filled(kept))


def address(page: str, query: Mapping[str, str]) -> str:
    """The address of a page with its parameters."""
    own = reverse(page)
    return f"{own}?{urlencode(query)}" if query else own


def short(query: QueryDict, defaults: Mapping[str, str]) -> dict[str, str]:
    """The parameters that say something: a link that can be sent. `defaults` are values
    that say nothing, by the name of the parameter without its number."""
    return {
        name: text
        for name, given in query.items()
        for text in (str(given).strip(),)
        if text and text != defaults.get(name.rstrip("0123456789_"), "")
    }


def without_empty(given: Mapping[str, object]) -> dict[str, object]:
    """A part of a document without what was left out, and without what holds nothing."""
    return {
        name: value
        for name, value in given.items()
        if value is not None and value != {}
    }
