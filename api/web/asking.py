"""Questions of a form: what is asked, what was typed, and what is wrong with it.

Whether an answer makes sense is decided by the documents; here text becomes a figure, and
what the documents refuse finds its field again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from logistics.domain.errors import Problem

# Digits with at most one point: no exponents, no thousands.
_NUMBER = re.compile(r"[-+]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})")
# "1,500" is 1500 to one and 1.5 to another.
_THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+")
_SIEVE = re.compile(r"(?:retained\.)?sieves\.(\d+)\.")
_BOUNDS = ("greater_than_equal", "less_than_equal", "greater_than", "less_than")
LONGEST = 200
# Problems that are told in the words of the form already.
OWN_CODES = ("needed", "not_a_number")


class Kind(StrEnum):
    """How a question is answered."""

    NUMBER = "number"
    WHOLE = "whole"
    TEXT = "text"
    DAY = "day"
    CHOICE = "choice"
    YES_NO = "yes_no"
    SELECT = "select"
    TICK = "tick"


Options = tuple[tuple[str, str], ...]
YES_NO: Options = (("yes", "Yes"), ("no", "No"))
KNOWN: Options = (*YES_NO, ("unknown", "Not known"))


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `path` is the field of the document, dots between levels; `scale` turns
    the unit that is asked for into the document's; `usual` stands there at first."""

    path: str
    label: str
    kind: Kind = Kind.NUMBER
    unit: str = ""
    hint: str = ""
    options: Options = ()
    usual: str = ""
    needed: bool = False
    scale: float = 1.0
    autocomplete: str = "off"

    @property
    def id(self) -> str:
        """The id of its control in the page."""
        return "q-" + self.path.replace(".", "-").replace("_", "-")

    @property
    def tiles(self) -> Options:
        """The options that are shown as tiles."""
        if self.kind is Kind.YES_NO:
            return YES_NO
        return self.options if self.kind is Kind.CHOICE else ()


@dataclass(frozen=True, slots=True)
class Group:
    """Questions that belong together; `row`: side by side; `folded`: behind a summary."""

    title: str
    questions: tuple[Question, ...]
    row: bool = False
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with what was typed and what is wrong with it."""

    question: Question
    value: str
    problem: str = ""

    @property
    def target(self) -> str:
        """The id that a link in the summary of problems leads to."""
        return self.question.id + ("-1" if self.question.tiles else "")

    @property
    def notes(self) -> str:
        """Ids of what describes the control, for aria-describedby."""
        own = self.question
        ids = [f"{own.id}-hint"] if own.hint else []
        return " ".join([*ids, f"{own.id}-problem"] if self.problem else ids)


@dataclass(frozen=True, slots=True)
class AskedGroup:
    """A group as shown; a fold with a problem in it stands open."""

    group: Group
    asked: tuple[Asked, ...]

    @property
    def wrong(self) -> bool:
        """Whether something in it is to be mended."""
        return any(own.problem for own in self.asked)


@dataclass(frozen=True, slots=True)
class Answers:
    """What was typed as the document wants it, and what could not be read."""

    values: dict[str, Any]
    problems: tuple[Problem, ...]


def questions_of(groups: Sequence[Group]) -> Iterator[Question]:
    """All questions in order."""
    for group in groups:
        yield from group.questions


def read_answers(groups: Sequence[Group], typed: Mapping[str, str]) -> Answers:
    """Figures, words and days from what was typed; what was left empty is left out."""
    values: dict[str, Any] = {}
    problems = []
    for own in questions_of(groups):
        text = typed.get(own.path, "").strip()[:LONGEST]
        if own.kind is Kind.TICK:
            _put(values, own.path, bool(text))
        elif not text:
            if own.needed:
                problems.append(_needed(own))
        else:
            found = _figure(own, text)
            if isinstance(found, Problem):
                problems.append(found)
            else:
                _put(values, own.path, found)
    return Answers(values, tuple(problems))


def _put(values: dict[str, Any], path: str, value: object) -> None:
    *above, last = path.split(".")
    for name in above:
        values = values.setdefault(name, {})
    values[last] = value


def _needed(own: Question) -> Problem:
    asks = "choose one" if own.tiles or own.kind is Kind.SELECT else "fill this in"
    return Problem(
        "needed",
        own.path,
        "nothing",
        f"{own.label}: {asks}",
        "",
    )


def _figure(own: Question, text: str) -> object:
    if own.kind is Kind.YES_NO:
        # Anything else was not typed here: the document refuses it.
        return {"yes": True, "no": False}.get(text, text)
    if own.kind in (Kind.NUMBER, Kind.WHOLE):
        return _number(own, text)
    return text


def _number(own: Question, text: str) -> float | Problem:
    plain = text.replace("\N{MINUS SIGN}", "-").replace(" ", "")
    if _THOUSANDS.fullmatch(plain):
        remedy = "Leave out the comma, or write 1.5 for one and a half."
        return _unclear(own, text, remedy)
    plain = plain.replace(",", ".")
    if not _NUMBER.fullmatch(plain):
        return _unclear(own, text, "Write digits only, such as 12 or 12.5.")
    value = float(plain) * own.scale
    if own.kind is Kind.NUMBER:
        return round(value, 9)
    if value != int(value):
        return _unclear(own, text, "Write a whole number.")
    return int(value)


def _unclear(own: Question, text: str, remedy: str) -> Problem:
    return Problem(
        "not_a_number", own.path, text, f"{own.label}: this is not a number", remedy
    )


def ask(
    groups: Sequence[Group],
    typed: Mapping[str, str] | None = None,
    problems: Sequence[Problem] = (),
) -> tuple[AskedGroup, ...]:
    """The groups as shown: with what was typed (None: the form is fresh) and with each
    problem at its field. Problems name fields as `named` leaves them."""
    wrong = {own.field: _words(own) for own in reversed(problems)}
    return tuple(
        AskedGroup(
            group,
            tuple(
                Asked(
                    own,
                    own.usual if typed is None else typed.get(own.path, "")[:LONGEST],
                    wrong.get(own.path, ""),
                )
                for own in group.questions
            ),
        )
        for group in groups
    )


def named(
    problems: Sequence[Problem], groups: Sequence[Group], *, drop: str = ""
) -> tuple[Problem, ...]:
    """Problems of a document with the questions that they concern as their fields; what
    concerns none keeps its name and shows in the summary only. `drop` leads every field."""
    by_path = {own.path: own for own in questions_of(groups)}
    return tuple(_named(own, by_path, drop) for own in problems)


def _named(own: Problem, by_path: Mapping[str, Question], drop: str) -> Problem:
    if own.code in OWN_CODES:
        return own
    # A rule over several fields names them all; the first takes the blame.
    parts = own.field.removeprefix(drop).split(", ")
    path = next((part for part in parts if part in by_path), parts[0])
    # The jar's three times are judged together.
    if path not in by_path and path.endswith("read_s"):
        path = "clay_read_s"
    question = by_path.get(path)
    at = _SIEVE.match(path)
    where = f"Row {int(at[1]) + 1} of the filled sieves: " if at else ""
    if question is not None:
        where = f"{question.label}: "
    message, remedy = own.message, own.remedy
    if own.code in _BOUNDS:
        message, remedy = _bounds(message, question)
    return replace(own, field=path, message=f"{where}{message}", remedy=remedy)


def _bounds(message: str, question: Question | None) -> tuple[str, str]:
    """A bound is told in the document's unit, which may not be the one that was asked."""
    message = message.replace("input should be", "must be")
    if question is None or not question.unit:
        return message, ""
    if question.scale == 1:
        return f"{message} {question.unit}", ""
    unit = f"Check it, and mind the unit: {question.unit}."
    return "nobody can have measured this", unit


def _words(own: Problem) -> str:
    message = own.message.split(": ", 1)[-1]
    return f"{message[:1].upper()}{message[1:]}. {own.remedy}".strip()


@dataclass(frozen=True, slots=True)
class Trouble:
    """One line of the summary: what is wrong, and the id of the field (or none)."""

    text: str
    target: str


def troubles(
    problems: Sequence[Problem], groups: Sequence[AskedGroup]
) -> tuple[Trouble, ...]:
    """The summary of problems, each with the way to its field."""
    targets = {own.question.path: own.target for group in groups for own in group.asked}
    return tuple(
        Trouble(
            f"{own.message[:1].upper()}{own.message[1:]}. {own.remedy}".strip(),
            targets.get(own.field, ""),
        )
        for own in problems
    )
