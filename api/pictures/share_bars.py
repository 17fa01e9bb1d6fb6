"""What each build pays of a common plan beside what it would pay alone."""

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
)
from api.pictures.looks import LOOKS

_EDGE, _TOP, _ROW = 12.0, 22.0, 98.0


@dataclass(frozen=True, slots=True)
class SharePart:
    """A build with its cost alone and its share, in minor units."""

    name: str
    alone: int
    share: int


@dataclass(frozen=True, slots=True)
class ShareBar:
    """Two bars of a build below its name, each below its amount."""

    name: Label
    alone: Shape
    share: Shape
    alone_text: Label
    share_text: Label


@dataclass(frozen=True, slots=True)
class ShareBars:
    """All builds, from one line of zero."""

    template: ClassVar[str] = "pictures/shares.svg"

    frame: Frame
    bars: tuple[ShareBar, ...]
    zero: Line


def share_bars(
    parts: Sequence[SharePart],
    currency: str,
    *,
    size: Size = Size.WIDE,
    key: str = "shares",
) -> ShareBars:
    """A pair of bars for each build: alone above, its share below. Bars to the left of
    zero are gained."""
    amounts = [amount for own in parts for amount in (own.alone, own.share)]
    least, most = min(0, *amounts), max(0, *amounts)
    scale = (size.width - 2 * _EDGE) / ((most - least) or 1)
    zero = _EDGE - least * scale
    bars = tuple(
        _bar(own, currency, (zero, _TOP + n * _ROW), (scale, size.width))
        for n, own in enumerate(parts)
    )
    height = _TOP + len(parts) * _ROW
    title = "What each build pays, and what it would pay alone"
    rows = tuple(
        (own.name, *(_money(own_, currency) for own_ in _figures(own))) for own in parts
    )
    said = "; ".join(
        f"{name}: alone {alone}, share {share}" for name, alone, share, _ in rows
    )
    return ShareBars(
        Frame(
            frame_key(key, size),
            size.width,
            height - 6,
            title,
            f"{said}.",
            Table(title, ("Build", "Alone", "Share", "Saves"), rows),
            (LOOKS["haul"].pattern,),
        ),
        bars,
        Line(((zero, _TOP + 4), (zero, height - 16))),
    )


def _figures(own: SharePart) -> tuple[int, int, int]:
    return own.alone, own.share, own.alone - own.share


def _bar(
    own: SharePart,
    currency: str,
    at: tuple[float, float],
    fit: tuple[float, float],
) -> ShareBar:
    (zero, y), (scale, width) = at, fit
    return ShareBar(
        Label(_EDGE, y, shortened(own.name, width - 2 * _EDGE), "start"),
        _box(zero, y + 23, own.alone * scale),
        _box(zero, y + 56, own.share * scale),
        Label(_EDGE, y + 18, f"alone {_money(own.alone, currency)}", "start"),
        Label(_EDGE, y + 51, f"pays {_money(own.share, currency)}", "start"),
    )


def _box(zero: float, y: float, length: float) -> Shape:
    return box(min(zero, zero + length), y, abs(length), 14)


def _money(minor: int, currency: str) -> str:
    text = money(minor, currency).replace("-", "\N{MINUS SIGN}")
    return text.replace(" ", GAP)
