"""What people typed into a form, as values for a document, and refusals back to its fields."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.web.asking import (
    Asked,
    AskedGroup,
    Group,
    Kind,
    Question,
    questions_of,
)
from logistics.domain.errors import Problem, Refused

Value = str | float | int | bool | None

# Digits with at most one point: no exponents, no thousands.
_NUMBER = re.compile(r"[-+]?(\d{1,12}(\.\d{0,9})?|\.\d{1,9})")
# 1,500 is fifteen hundred to some and one and a half to others.
_EITHER = re.compile(r"[-+]?\d{1,3},\d{3}")
LONGEST, SHOWN = 200, 40
_MISSING = ("missing", "wall_not_said")
_BOUNDS = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")


@dataclass(frozen=True, slots=True)
class Trouble:
    """One line of the summary: what is wrong with what, and the id that leads to its field
    ("" for the form as a whole)."""

    label: str
    text: str
    target: str


class Typed:
    """One form as it was sent; an empty `query` is the form as it is at first. Values are
    read with the path that they take in a document, so that what is refused there can be
    said of the field that it was typed into."""

    def __init__(self, query: Mapping[str, str]) -> None:
        self.query = query
        # By path in the document, with the question's label told apart from other rows'.
        self._places: dict[str, tuple[Asked, str]] = {}
        self._refused: list[Problem] = []
        self._wrong: dict[str, str] = {}
        self.troubles: tuple[Trouble, ...] = ()

    def text(self, own: Question, row: str = "") -> str:
        """What stands in a field."""
        return self.query.get(own.name + row, own.usual).strip()[:LONGEST]

    def values(self, groups: Sequence[Group]) -> dict[str, Any]:
        """All answers where the names of the questions put them, without empty ones."""
        found: dict[str, Any] = {}
        for own in questions_of(groups):
            value = self.value(own, own.name)
            if value is not None:
                *above, last = own.name.split(".")
                level = found
                for name in above:
                    level = level.setdefault(name, {})
                level[last] = value
        return found

    def value(self, own: Question, path: str, row: str = "", who: str = "") -> Value:
        """The value of a field for its place in a document; None for an empty one. `who`
        names the row."""
        text = self.text(own, row)
        self._places[path] = self._place(own, row, who)
        if own.kind is Kind.TICK:
            return bool(text)
        if not text:
            if own.needed:
                self._keep(path, "nothing", *_unanswered(own))
            return None
        if own.choices and text not in dict(own.choices):
            names = ", ".join(name for _, name in own.choices)
            wrong = "this is not one of the choices"
            self._keep(path, text, wrong, f"Choose one: {names}.")
            return None
        if own.kind is Kind.YES_NO:
            return text == "yes"
        if own.kind in (Kind.NUMBER, Kind.WHOLE):
            return self._number(own, text, path)
        return text

    def _place(self, own: Question, row: str, who: str) -> tuple[Asked, str]:
        lower = own.label[:1].lower() + own.label[1:]
        return self.asked(own, row), f"{who}, {lower}" if who else own.label

    def _number(self, own: Question, text: str, path: str) -> float | int | None:
        try:
            value = read_number(text) * own.scale
            if own.kind is Kind.WHOLE:
                return _whole(value)
        except Unread as unread:
            self._keep(path, text, *unread.args)
            return None
        return round(value, 9)

    def refuse(
        self, own: Question, row: str, who: str, message: str, remedy: str
    ) -> None:
        """Keep a problem of a field that has no place in the document."""
        path = own.name + row
        self._places[path] = self._place(own, row, who)
        self._keep(path, self.text(own, row), message, remedy)

    def _keep(self, path: str, given: str, message: str, remedy: str) -> None:
        self._refused.append(
            Problem("not_understood", path, given[:SHOWN], message, remedy)
        )

    def check(self) -> None:
        """Raise Refused for all fields that could not be read."""
        if self._refused:
            raise Refused(*self._refused)

    def blame(self, problems: Iterable[Problem], *, drop: str = "") -> None:
        """Keep problems for the page, each with the field that it is about. `drop` leads
        the paths of those that come from within the document."""
        found = []
        for own in problems:
            path = own.field.removeprefix(drop)
            asked, label = self._found(path)
            message, remedy = _words(own, asked)
            if asked is None:
                text = f"{message} (given: {own.given}). {remedy}"
                found.append(Trouble(label, text.strip(), ""))
            else:
                text = f"{message}. {remedy}".strip()
                self._wrong.setdefault(asked.name, text[:1].upper() + text[1:])
                found.append(Trouble(label, text, asked.target))
        self.troubles = tuple(found)

    def _found(self, path: str) -> tuple[Asked | None, str]:
        # A rule over several fields names them all: the first takes the blame.
        names = path.split(", ")
        exact = [own for own in names if own in self._places]
        # Or it names what holds them; a part of a value is more than we ask.
        inside = [own for own in self._places if own.startswith(f"{names[0]}.")]
        around = [own for own in self._places if names[0].startswith(f"{own}.")]
        found = [*exact, *inside, *sorted(around, key=len, reverse=True)]
        if found:
            return self._places[found[0]]
        return None, path.replace("_", " ").replace(".", ", ").capitalize()

    def asked(self, own: Question, row: str = "") -> Asked:
        """A question for the page, with what was typed."""
        name = own.name + row
        return Asked(own, name, self.text(own, row), self._wrong.get(name, ""))

    def several(
        self, questions: Iterable[Question], row: str = ""
    ) -> tuple[Asked, ...]:
        """Questions for the page."""
        return tuple(self.asked(own, row) for own in questions)

    def groups(self, groups: Iterable[Group]) -> tuple[AskedGroup, ...]:
        """Groups for the page."""
        return tuple(AskedGroup(own, self.several(own.questions)) for own in groups)


class Unread(Exception):
    """Not a number; its arguments are what is wrong and what to write instead."""


def read_number(text: str) -> float:
    """A number as people write it, with a point or a comma. Raises Unread."""
    plain = text.replace("\N{MINUS SIGN}", "-").replace(" ", "")
    if _EITHER.fullmatch(plain):
        dot, none = float(plain.replace(",", ".")), plain.replace(",", "")
        raise Unread("this comma can be read in two ways", f"Write {none} or {dot:g}.")
    plain = plain.replace(",", ".", 1)
    if not _NUMBER.fullmatch(plain):
        raise Unread("this is not a number", "Write digits only, such as 12 or 12.5.")
    return float(plain)


def _whole(value: float) -> int:
    if not value.is_integer():
        raise Unread("this is not a whole number", f"Write {math.ceil(value)}.")
    return int(value)


def _unanswered(own: Question) -> tuple[str, str]:
    return ("choose one" if own.choices else "fill this in"), ""


def _words(own: Problem, asked: Asked | None) -> tuple[str, str]:
    """What is wrong and what to do, in the words of the form."""
    question = asked and asked.question
    if question and own.code in _MISSING:
        return _unanswered(question)
    if own.code not in _BOUNDS:
        return own.message, own.remedy
    message = own.message.replace("input should be", "must be")
    if not question or not question.unit:
        return message, ""
    if question.scale == 1:
        return f"{message} {question.unit}", ""
    # The bound is told in the document's unit, which is not the one that was asked.
    unit = f"Check it, and mind the unit: {question.unit}."
    return "nobody can have measured this", unit


def without_empty(given: Mapping[str, object]) -> dict[str, object]:
    """A part of a document without what was left out, and without what holds nothing."""
    return {
        name: value
        for name, value in given.items()
        if value is not None and value != {}
    }
