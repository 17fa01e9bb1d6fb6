"""Questions of a form: what is asked, and how it stands on the page once it was answered.

What was typed becomes figures in `api.web.typed`; whether an answer makes sense is decided
by the documents.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How a question is answered."""

    NUMBER = "number"
    WHOLE = "whole"
    TEXT = "text"
    DAY = "day"
    TIME = "time"
    CHOICE = "choice"
    YES_NO = "yes_no"
    SELECT = "select"
    TICK = "tick"


Options = tuple[tuple[str, str], ...]
YES_NO: Options = (("yes", "Yes"), ("no", "No"))
KNOWN: Options = (*YES_NO, ("unknown", "Not known"))


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `name` is that of its parameter, without the number of a row; in forms
    that a document is read from as they stand it is the document's field, dots between
    levels. `scale` turns the unit that is asked for into the document's. `usual` stands
    there at first, and is meant where the parameter is not sent."""

    name: str
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
    def tiles(self) -> Options:
        """The options that are shown as tiles."""
        if self.kind is Kind.YES_NO:
            return YES_NO
        return self.options if self.kind is Kind.CHOICE else ()

    @property
    def choices(self) -> Options:
        """All that can be picked; nothing where people type."""
        return self.tiles or self.options


@dataclass(frozen=True, slots=True)
class Group:
    """Questions that belong together; `row`: side by side; `folded`: behind a summary."""

    title: str
    questions: tuple[Question, ...]
    row: bool = False
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with what was typed and what is wrong with it. `name` is that of its
    parameter, with the number of its row."""

    question: Question
    name: str
    value: str
    problem: str = ""

    @property
    def id(self) -> str:
        """The id of its control in the page."""
        return "q-" + self.name.replace(".", "-").replace("_", "-")

    @property
    def target(self) -> str:
        """The id that a link in the summary of problems leads to."""
        return self.id + ("-1" if self.question.tiles else "")

    @property
    def notes(self) -> str:
        """Ids of what describes the control, for aria-describedby."""
        own = self.question
        said = (("unit", own.unit), ("hint", own.hint), ("problem", self.problem))
        return " ".join(f"{self.id}-{part}" for part, text in said if text)


@dataclass(frozen=True, slots=True)
class AskedGroup:
    """A group as shown; a fold with a problem in it stands open."""

    group: Group
    asked: tuple[Asked, ...]

    @property
    def wrong(self) -> bool:
        """Whether something in it is to be mended."""
        return any(own.problem for own in self.asked)


def questions_of(groups: Sequence[Group]) -> Iterator[Question]:
    """All questions in order."""
    for group in groups:
        yield from group.questions
