"""What a cost is made of: a bar for each part, and one for the sum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from api.documents.text import money
from api.pictures.drawing import (
    GAP,
    Frame,
    Label,
    Line,
    Shape,
    Size,
    Table,
    box,
    frame_key,
    shortened,
    text_width,
)
from api.pictures.looks import LOOKS

_EDGE, _TOP, _ROW = 12.0, 22.0, 50.0


@dataclass(frozen=True, slots=True)
class CostPart:
    """A part of a cost in minor units, negative for what a holder pays; `look` is one of
    the looks of materials, such as "soil", "sand", "straw", "water" or "haul"."""

    name: str
    minor: int
    look: str


@dataclass(frozen=True, slots=True)
class CostBar:
    """A part as drawn: its name and amount above its bar."""

    look: str
    bar: Shape
    name: Label
    amount: Label


@dataclass(frozen=True, slots=True)
class CostBars:
    """All parts and the sum, from one line of zero."""

    template: ClassVar[str] = "pictures/cost.svg"

    frame: Frame
    bars: tuple[CostBar, ...]
    zero: Line


def cost_bars(
    title: str,
    parts: Sequence[CostPart],
    currency: str,
    *,
    size: Size = Size.WIDE,
    key: str = "cost",
) -> CostBars:
    """The parts of a cost, such as that of a m3 of wall, in order, then their sum. Bars to
    the left of zero are paid to the builder."""
    whole = CostPart("Sum", sum(own.minor for own in parts), "work")
    rows = (*parts, whole)
    least = min(0, *(own.minor for own in rows))
    most = max(0, *(own.minor for own in rows))
    scale = (size.width - 2 * _EDGE) / ((most - least) or 1)
    zero = _EDGE - least * scale
    bars = tuple(
        _bar(own, currency, (zero, _TOP + n * _ROW), (scale, size.width))
        for n, own in enumerate(rows)
    )
    height = _TOP + len(rows) * _ROW
    return CostBars(
        Frame(
            frame_key(key, size),
            size.width,
            height - 6,
            title,
            "; ".join(f"{own.name} {_money(own.minor, currency)}" for own in rows)
            + ".",
            Table(
                title,
                ("Part", "Cost"),
                tuple((own.name, _money(own.minor, currency)) for own in rows),
            ),
            tuple(
                dict.fromkeys(
                    LOOKS[own.look].pattern for own in parts if LOOKS[own.look].pattern
                )
            ),
        ),
        bars,
        Line(((zero, _TOP + 4), (zero, height - 16))),
    )


def _bar(
    own: CostPart,
    currency: str,
    at: tuple[float, float],
    fit: tuple[float, float],
) -> CostBar:
    (zero, y), (scale, width) = at, fit
    length = abs(own.minor) * scale
    left = zero - length if own.minor < 0 else zero
    amount = _money(own.minor, currency)
    room = width - 2 * _EDGE - text_width(amount) - 10
    return CostBar(
        own.look,
        box(left, y + 8, length, 18),
        Label(_EDGE, y, shortened(own.name, room), "start"),
        Label(width - _EDGE, y, amount, "end"),
    )


def _money(minor: int, currency: str) -> str:
    text = money(minor, currency).replace("-", "\N{MINUS SIGN}")
    return text.replace(" ", GAP)
