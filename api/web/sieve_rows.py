"""A table of sieves to type in: a size and an amount in each row, empty rows left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from api.web.asking import Asked, Question
from api.web.typed import Typed

# Sieves as sets are sold: ASTM E11 as its C33 names them, ISO 3310 as EN 12620 does.
SETS: dict[str, tuple[str, ...]] = {
    "astm": ("9.5", "4.75", "2.36", "1.18", "0.6", "0.3", "0.15", "0.075"),
    "en": ("8", "4", "2", "1", "0.5", "0.25", "0.125", "0.063"),
}
# Rows for sieves beside the set.
SPARE = 2
AMOUNT = Question("amount_", "Amount")


@dataclass(frozen=True, slots=True)
class Row:
    """One row as shown."""

    number: int
    size: Asked
    amount: Asked


def rows(typed: Typed, usual: Sequence[str], *, spare: int = SPARE) -> tuple[Row, ...]:
    """The rows with what was typed, at first with the usual sizes and no amounts."""
    return tuple(
        Row(number, typed.asked(size, str(number)), typed.asked(AMOUNT, str(number)))
        for number, size in _sizes(usual, spare)
    )


def read_rows(
    typed: Typed, usual: Sequence[str], base: str, amount: str, *, spare: int = SPARE
) -> list[dict[str, Any]]:
    """The rows that hold an amount, as `size_mm` and `amount` (a name of the document);
    `base` is the path of their list in the document."""
    sieves: list[dict[str, Any]] = []
    for number, size in _sizes(usual, spare):
        row, who = str(number), f"Sieve {number}"
        if typed.text(AMOUNT, row):
            path = f"{base}.{len(sieves)}"
            sieves.append(
                {
                    "size_mm": typed.value(size, f"{path}.size_mm", row, who),
                    amount: typed.value(AMOUNT, f"{path}.{amount}", row, who),
                }
            )
    return sieves


def _sizes(usual: Sequence[str], spare: int) -> Iterator[tuple[int, Question]]:
    for number, size in enumerate((*usual, *[""] * spare), start=1):
        yield number, Question("size_", "Size", usual=size, needed=True)
