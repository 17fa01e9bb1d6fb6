"""A table of sieves to type in: a size and an amount in each row, empty rows left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.web.asking import Group, Question, read_answers
from logistics.domain.errors import Problem

# Sieves as sets are sold: ASTM E11 as its C33 names them, ISO 3310 as EN 12620 does.
SETS: dict[str, tuple[str, ...]] = {
    "astm": ("9.5", "4.75", "2.36", "1.18", "0.6", "0.3", "0.15", "0.075"),
    "en": ("8", "4", "2", "1", "0.5", "0.25", "0.125", "0.063"),
}
# Rows for sieves beside the set.
SPARE = 2


@dataclass(frozen=True, slots=True)
class Row:
    """One row as shown."""

    number: int
    size: str
    amount: str


def rows(
    typed: Mapping[str, str] | None, usual: Sequence[str], *, spare: int = SPARE
) -> tuple[Row, ...]:
    """The rows with what was typed, else with the usual sizes and no amounts."""
    sizes = (*usual, *("" for _ in range(spare)))
    return tuple(
        Row(number, size, "")
        if typed is None
        else Row(
            number,
            typed.get(f"size_{number}", size)[:20],
            typed.get(f"amount_{number}", "")[:20],
        )
        for number, size in enumerate(sizes, start=1)
    )


def read_rows(
    found: Sequence[Row], amount: str
) -> tuple[list[dict[str, Any]], tuple[Problem, ...]]:
    """The rows that hold an amount, as `size_mm` and `amount` (a name of the document),
    and what could not be read."""
    sieves = []
    problems: list[Problem] = []
    for own in found:
        if not own.amount.strip():
            continue
        asked = (
            Group(
                "",
                (
                    Question("size_mm", f"Sieve {own.number}, size", needed=True),
                    Question(amount, f"Sieve {own.number}, amount"),
                ),
            ),
        )
        answers = read_answers(asked, {"size_mm": own.size, amount: own.amount})
        problems.extend(answers.problems)
        sieves.append(answers.values)
    return sieves, tuple(problems)
