"""A figure with its range against the window that it should lie in: small, for cards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from api.pictures.drawing import (
    SMALL,
    Frame,
    Label,
    Line,
    Shape,
    Table,
    box,
    diamond,
    plain,
    text_width,
    whisker,
)
from logistics.domain.quantities import Spread

WIDTH, HEIGHT = 300.0, 74.0
_EDGE, _LINE = 14.0, 36.0


@dataclass(frozen=True, slots=True)
class RangeBar:
    """The bar as drawn: a hatched window, a whisker over the range, a tip at the likely
    figure. Figures beyond the scale lie at its end."""

    template: ClassVar[str] = "pictures/range.svg"

    frame: Frame
    track: Shape
    window: Shape
    whisker: tuple[Line, ...]
    likely: Shape
    figure: Label
    ends: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a range bar shows: the figure's name and unit, how many digits, and the least and
    greatest that is wanted (None: no end)."""

    name: str
    unit: str
    low: float | None
    high: float | None
    digits: int = 0


def range_bar(
    figure: Spread,
    asked: Asked,
    *,
    scale: tuple[float, float] | None = None,
    key: str = "range",
) -> RangeBar:
    """A figure against its window, in the same unit. `scale` is what the bar spans (None:
    from 0, or from below, to a little beyond all figures)."""
    low, high = scale or _scale(figure, asked)

    def x(value: float) -> float:
        part = min(1.0, max(0.0, (value - low) / (high - low)))
        return _EDGE + (WIDTH - 2 * _EDGE) * part

    first = x(low if asked.low is None else asked.low)
    last = x(high if asked.high is None else asked.high)
    words = _words(figure, asked)
    half = text_width(words) / 2
    middle = min(max(x(figure.likely), half + 4), WIDTH - half - 4)
    return RangeBar(
        _frame(figure, asked, key),
        box(_EDGE, _LINE - 10, WIDTH - 2 * _EDGE, 20),
        box(first, _LINE - 10, last - first, 20),
        whisker(x(figure.low), x(figure.high), _LINE, 7),
        diamond(x(figure.likely), _LINE, 7),
        Label(middle, 18, words),
        _ends(asked, first, last),
    )


def _scale(figure: Spread, asked: Asked) -> tuple[float, float]:
    ends = [figure.low, figure.high]
    ends += [own for own in (asked.low, asked.high) if own is not None]
    low, high = min(0.0, *ends), max(ends)
    return low, low + ((high - low) or 1.0) * 1.15


def _words(figure: Spread, asked: Asked) -> str:
    low, likely, high = (
        plain(own, asked.digits) for own in (figure.low, figure.likely, figure.high)
    )
    if low == high:
        return f"{likely} {asked.unit}"
    return f"{likely} {asked.unit} ({low} to {high})"


def _ends(asked: Asked, first: float, last: float) -> tuple[Label, ...]:
    """The window's ends below it, pushed apart where they would touch."""
    y = _LINE + 26
    texts = [
        (at, plain(value, asked.digits))
        for at, value in ((first, asked.low), (last, asked.high))
        if value is not None
    ]
    if len(texts) == 2 and text_width("00", SMALL) * 2 > last - first:
        middle = (first + last) / 2
        words = f"{texts[0][1]} to {texts[1][1]}"
        half = text_width(words, SMALL) / 2
        return (Label(min(max(middle, half + 4), WIDTH - half - 4), y, words),)
    return tuple(
        Label(
            min(
                max(at, text_width(text, SMALL) / 2 + 4),
                WIDTH - 4 - text_width(text, SMALL) / 2,
            ),
            y,
            text,
        )
        for at, text in texts
    )


def _wanted(asked: Asked) -> str:
    low, high = (
        None if own is None else plain(own, asked.digits)
        for own in (asked.low, asked.high)
    )
    if low is None and high is None:
        return "any"
    if low is None:
        return f"at most {high} {asked.unit}"
    if high is None:
        return f"at least {low} {asked.unit}"
    return f"{low} to {high} {asked.unit}"


def _frame(figure: Spread, asked: Asked, key: str) -> Frame:
    low, likely, high = (
        f"{plain(own, asked.digits)} {asked.unit}"
        for own in (figure.low, figure.likely, figure.high)
    )
    return Frame(
        key,
        WIDTH,
        HEIGHT,
        f"{asked.name}: {_words(figure, asked)}, wanted {_wanted(asked)}",
        f"Likely {likely}, at the low end {low}, at the high end {high}.",
        Table(
            asked.name,
            ("Low", "Likely", "High", "Wanted"),
            ((low, likely, high, _wanted(asked)),),
        ),
        ("band",),
    )
