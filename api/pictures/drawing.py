"""What every picture is made of: shapes, labels, a key, and the same figures in words.

Drawing units: one is about a CSS pixel of a narrow picture. x goes right, y goes down.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar, Generic, Literal, Protocol, TypeVar

from logistics.domain.quantities import Spread

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
KeyKind = Literal["box", "line", "arrow", "dot", "diamond"]

TEXT, SMALL = 13.0, 11.5
# Widest of the usual system fonts, per unit of font size: labels must fit in any of them.
_PER_LETTER = 0.6
GAP = "\N{NO-BREAK SPACE}"
TIMES = "\N{MULTIPLICATION SIGN}"
_ID = re.compile(r"[a-z][a-z0-9-]{0,40}")


class Size(StrEnum):
    """The two sizes in which a picture is drawn: text stays legible on a phone in NARROW."""

    WIDE = "wide"
    NARROW = "narrow"

    @property
    def width(self) -> float:
        """Width of the drawing in units."""
        return 720.0 if self is Size.WIDE else 300.0


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points."""

    points: tuple[Point, ...]

    @property
    def d(self) -> str:
        """SVG path data."""
        return _path(self.points)


@dataclass(frozen=True, slots=True)
class Shape:
    """A polygon with holes, first points not repeated."""

    points: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()

    @property
    def d(self) -> str:
        """SVG path data."""
        return "".join(f"{_path(ring)}Z" for ring in (self.points, *self.holes))


@dataclass(frozen=True, slots=True)
class Dot:
    """A disc."""

    x: float
    y: float
    r: float


@dataclass(frozen=True, slots=True)
class Label:
    """Text at a point, turned by degrees clockwise about it. y is its base line."""

    x: float
    y: float
    text: str
    anchor: Anchor = "middle"
    turn: float = 0.0


Mark = Line | Shape | Dot | Label


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """One sample of the key: a mark in some look, and what it means."""

    look: str
    sample: Mark
    words: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The figures of a picture as text; the first column heads its row."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """What all pictures have. `key` makes ids unique within a page; `patterns` names those
    that the picture uses."""

    key: str
    width: float
    height: float
    title: str
    description: str
    table: Table
    patterns: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not _ID.fullmatch(self.key):
            raise ValueError(f"a picture's key must match {_ID.pattern}: {self.key!r}")


class Picture(Protocol):
    """A drawing with its frame; `template` renders it."""

    template: ClassVar[str]

    @property
    def frame(self) -> Frame:
        """Size, title, description and figures."""
        ...


P = TypeVar("P", bound=Picture)


@dataclass(frozen=True, slots=True)
class Both(Generic[P]):
    """One picture in both sizes, for a page: the stylesheet shows one of them."""

    wide: P
    narrow: P

    @property
    def table(self) -> Table:
        """The figures, which both share."""
        return self.wide.frame.table


def both(draw: Callable[[Size], P]) -> Both[P]:
    """A picture in both sizes from a function of the size."""
    return Both(draw(Size.WIDE), draw(Size.NARROW))


def frame_key(key: str, size: Size) -> str:
    """The key of a picture in one size."""
    return f"{key}-{size}"


def box(x: float, y: float, width: float, height: float) -> Shape:
    """An upright rectangle from its upper left corner."""
    return Shape(
        ((x, y), (x + width, y), (x + width, y + height), (x, y + height)),
    )


def diamond(x: float, y: float, r: float) -> Shape:
    """A square on its tip."""
    return Shape(((x, y - r), (x + r, y), (x, y + r), (x - r, y)))


def text_width(text: str, size: float = TEXT) -> float:
    """Room that a text takes, rather too much than too little."""
    return len(text) * size * _PER_LETTER


def wrapped(text: str, width: float, size: float = TEXT) -> tuple[str, ...]:
    """The text in lines of at most that width; a longer word is cut with an ellipsis."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size) <= width or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(shortened(line, width, size) for line in lines)


def shortened(text: str, width: float, size: float = TEXT) -> str:
    """The text, or as much of it as fits with an ellipsis."""
    if text_width(text, size) <= width:
        return text
    return text[: max(1, int(width / (size * _PER_LETTER)) - 1)].rstrip() + "…"


def below(
    texts: Iterable[str], x: float, y: float, width: float, size: float = TEXT
) -> tuple[tuple[Label, ...], float]:
    """Texts as lines from the left, the first base line at y; and y for what follows."""
    labels, step = [], size * 1.38
    for text in texts:
        for line in wrapped(text, width, size):
            labels.append(Label(x, y, line, "start"))
            y += step
    return tuple(labels), y


def legend(
    entries: Sequence[tuple[str, KeyKind, str]],
    y: float,
    width: float,
) -> tuple[tuple[KeyEntry, ...], float]:
    """A key from (look, kind of sample, meaning), one below the other in columns as wide as
    they need; and the y at which it ends. y is its upper edge."""
    left, sample, gap, line = 10.0, 26.0, 8.0, TEXT * 1.38
    indent = left + sample + gap
    widest = max((text_width(words) for _, _, words in entries), default=0.0)
    column = widest + indent + 14
    columns = max(1, int((width - left) // column))
    if columns == 1:
        column = width
    found, top, tallest = [], y, 0
    for index, (look, kind, text) in enumerate(entries):
        if index and index % columns == 0:
            top, tallest = top + tallest * line + 4, 0
        x = (index % columns) * column
        lines = wrapped(text, column - indent - 4)
        labels = tuple(
            Label(x + indent, top + 12 + n * line, own, "start")
            for n, own in enumerate(lines)
        )
        found.append(KeyEntry(look, _sample(kind, x + left, top, sample), labels))
        tallest = max(tallest, len(lines))
    return tuple(found), top + tallest * line + 8


def _sample(kind: KeyKind, x: float, y: float, width: float) -> Mark:
    middle = y + 8
    if kind == "box":
        return box(x, y + 1, width, 14)
    if kind == "line":
        return Line(((x, middle), (x + width, middle)))
    if kind == "arrow":
        tip = x + width
        return Line(
            (
                (x, middle),
                (tip, middle),
                (tip - 6, middle - 5),
                (tip, middle),
                (tip - 6, middle + 5),
            )
        )
    if kind == "dot":
        return Dot(x + width / 2, middle, 5)
    return diamond(x + width / 2, middle, 6)


def percent(share: float, digits: int = 0) -> str:
    """A share as a percentage with its sign, without needless zeros."""
    return f"{plain(share * 100, digits)}{GAP}%"


def percents(share: Spread) -> str:
    """A share with its range in whole per cent."""
    if share.high - share.low < 5e-3:
        return percent(share.likely)
    low, high = plain(share.low * 100, 0), percent(share.high)
    return f"{percent(share.likely)} ({low} to {high})"


def plain(value: float, digits: int) -> str:
    """A figure rounded to digits, thousands apart, without zeros at its end."""
    text = f"{value:,.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    # A value that rounds to nothing has no sign.
    text = "0" if text == "-0" else text
    return text.replace(",", GAP).replace("-", "\N{MINUS SIGN}")


def _path(points: Sequence[Point]) -> str:
    steps = " ".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return f"M{steps}" if points else ""


def whisker(low: float, high: float, y: float, half: float = 5) -> tuple[Line, ...]:
    """A level line between two ends, each with a cap."""
    caps = tuple(Line(((x, y - half), (x, y + half))) for x in (low, high))
    return (Line(((low, y), (high, y))), *caps)
