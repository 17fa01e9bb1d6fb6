"""One wall seen from the side, unrolled and to scale, with its openings and lifts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from api.pictures.drawing import (
    GAP,
    SMALL,
    TIMES,
    Frame,
    KeyEntry,
    KeyKind,
    Label,
    Line,
    Point,
    Shape,
    Size,
    Table,
    below,
    frame_key,
    legend,
    text_width,
)
from api.pictures.wall_plan import metres, wall_name
from matching.domain.walls.heights import height_at
from matching.domain.walls.outlines import Box, Elevation, elevation
from matching.domain.walls.wall import Opening, Wall

_LEFT, _RIGHT, _TOP = 44.0, 34.0, 26.0
# A tower may not push everything else off a page.
_MOST_TALL = 380.0


@dataclass(frozen=True, slots=True)
class Hole:
    """An opening with its sizes or, where they do not fit, its letter."""

    shape: Shape
    label: Label


@dataclass(frozen=True, slots=True)
class WallElevation:
    """The wall as drawn; one scale for both directions."""

    template: ClassVar[str] = "pictures/elevation.svg"

    frame: Frame
    face: Shape
    plinth: Shape | None
    lifts: tuple[Line, ...]
    lift_labels: tuple[Label, ...]
    turns: tuple[Line, ...]
    openings: tuple[Hole, ...]
    lintels: tuple[Shape, ...]
    dimensions: tuple[Line, ...]
    sizes: tuple[Label, ...]
    key: tuple[KeyEntry, ...]
    notes: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class _Sheet:
    scale: float
    left: float
    ground: float

    def at(self, point: Point) -> Point:
        return self.left + point[0] * self.scale, self.ground - point[1] * self.scale

    def box(self, own: Box) -> Shape:
        low, high = own.low, own.high
        corners = (low, (high[0], low[1]), high, (low[0], high[1]))
        return Shape(tuple(self.at(p) for p in corners))

    def line(self, *points: Point) -> Line:
        return Line(tuple(self.at(p) for p in points))


def wall_elevation(
    wall: Wall,
    number: int = 1,
    *,
    lift_m: float | None = None,
    size: Size = Size.WIDE,
    key: str = "elevation",
) -> WallElevation:
    """A wall from its start at the left to its end, heights above the plinth; lift lines
    where the height of lifts is given. Raises Refused for a lift of no sane height."""
    found = elevation(wall, lift_m)
    sheet = _sheet(found, size)
    dimensions, sizes, foot = _dimensions(sheet, wall, found)
    entries, after = legend(_entries(found), foot + 8, size.width)
    notes, bottom = below(
        _notes(sheet, found),
        10,
        after + 10 if found.openings or found.loose else after,
        size.width - 20,
    )
    lift_marks = _lift_marks(sheet, found, size.width)
    return WallElevation(
        frame=_frame(
            wall,
            found,
            number,
            (frame_key(key, size), size.width, max(bottom - 8, foot)),
        ),
        face=Shape(tuple(sheet.at(p) for p in found.outline)),
        plinth=None if found.plinth is None else sheet.box(found.plinth),
        lifts=tuple(
            sheet.line((low, own.height_m), (high, own.height_m))
            for own in found.lifts
            for low, high in own.spans
        ),
        lift_labels=lift_marks,
        turns=tuple(
            sheet.line((own, 0.0), (own, height_at(wall.top, own)))
            for own in found.corners
        ),
        openings=tuple(
            _hole(sheet, index, own) for index, own in enumerate(found.openings)
        ),
        lintels=tuple(sheet.box(own) for own in found.lintels),
        dimensions=dimensions,
        sizes=sizes,
        key=entries,
        notes=notes,
    )


def _sheet(found: Elevation, size: Size) -> _Sheet:
    plinth = 0.0 if found.plinth is None else -found.plinth.low[1]
    room = size.width - _LEFT - _RIGHT
    scale = min(room / found.length_m, _MOST_TALL / (found.height_m + plinth))
    return _Sheet(scale, _LEFT, _TOP + found.height_m * scale)


def _letter(index: int) -> str:
    return chr(ord("a") + index) if index < 26 else str(index + 1)


def _box_words(own: Box) -> str:
    wide, tall = own.high[0] - own.low[0], own.high[1] - own.low[1]
    return f"{metres(wide)} {TIMES} {metres(tall)}"


def _fits(sheet: _Sheet, own: Box) -> bool:
    wide = (own.high[0] - own.low[0]) * sheet.scale
    return text_width(_box_words(own), SMALL) + 4 <= wide


def _hole(sheet: _Sheet, index: int, own: Box) -> Hole:
    shape = sheet.box(own)
    x = (shape.points[0][0] + shape.points[1][0]) / 2
    y = (shape.points[0][1] + shape.points[2][1]) / 2
    text = _box_words(own) if _fits(sheet, own) else _letter(index)
    return Hole(shape, Label(x, y + 4, text))


def _lift_marks(sheet: _Sheet, found: Elevation, width: float) -> tuple[Label, ...]:
    """Heights of lifts at the right, as many as there is room for."""
    marks: list[Label] = []
    right = min(sheet.at((found.length_m, 0))[0] + 5, width - 31)
    # Above the height at the end of the wall that the dimension shows anyway.
    last = sheet.ground + 13
    for own in found.lifts:
        y = sheet.at((0, own.height_m))[1] + 4
        if last - y >= SMALL:
            marks.append(Label(right, y, metres(own.height_m), "start"))
            last = y
    return tuple(marks)


def _dimensions(
    sheet: _Sheet, wall: Wall, found: Elevation
) -> tuple[tuple[Line, ...], tuple[Label, ...], float]:
    """Length below, height at the left, the peak above, and the chain of openings."""
    low = sheet.ground
    if found.plinth is not None:
        low = sheet.at(found.plinth.low)[1]
    left, right = sheet.at((0, 0))[0], sheet.at((found.length_m, 0))[0]
    first = wall.top[0][1]
    peak = max(wall.top, key=lambda own: own[1])
    start_y = sheet.at((0, first))[1]
    chain, chain_sizes = _chain(sheet, found, low + 12)
    foot = low + (38 if chain else 16)
    lines = [
        *chain,
        *_level(left, right, foot),
        Line(((left - 12, sheet.ground), (left - 12, start_y))),
        Line(((left - 16, sheet.ground), (left - 8, sheet.ground))),
        Line(((left - 16, start_y), (left - 8, start_y))),
    ]
    middle = (sheet.ground + start_y) / 2
    length = f"{metres(found.length_m)}{GAP}m"
    half = text_width(length, SMALL) / 2
    sizes = [
        *chain_sizes,
        Label(max((left + right) / 2, half + 4), foot + 15, length),
        Label(left - 17, middle, f"{metres(first)}", turn=-90),
    ]
    if peak[1] > first + 1e-6:
        x, y = sheet.at(peak)
        sizes.append(Label(max(x, 24), y - 7, f"{metres(peak[1])}{GAP}m"))
    return tuple(lines), tuple(sizes), foot + 20


def _level(left: float, right: float, y: float) -> tuple[Line, ...]:
    return (
        Line(((left, y), (right, y))),
        *(Line(((x, y - 4), (x, y + 4))) for x in (left, right)),
    )


def _chain(
    sheet: _Sheet, found: Elevation, y: float
) -> tuple[tuple[Line, ...], tuple[Label, ...]]:
    """Distances between the sides of openings along the wall."""
    stops = sorted(
        {0.0, found.length_m}
        | {side for own in found.openings for side in (own.low[0], own.high[0])}
    )
    if len(stops) == 2:
        return (), ()
    xs = [sheet.at((own, 0))[0] for own in stops]
    lines = [Line(((xs[0], y), (xs[-1], y)))]
    lines += [Line(((x, y - 4), (x, y + 4))) for x in xs]
    labels = []
    for (low, high), (left, right) in zip(pairwise(stops), pairwise(xs), strict=True):
        text = metres(high - low)
        if text_width(text, SMALL) + 2 <= right - left:
            labels.append(Label((left + right) / 2, y + 13, text))
    return tuple(lines), tuple(labels)


def _entries(found: Elevation) -> list[tuple[str, KeyKind, str]]:
    entries: list[tuple[str, KeyKind, str]] = [("face", "box", "cob")]
    if found.plinth is not None:
        tall = metres(-found.plinth.low[1])
        entries.append(("plinth", "box", f"plinth, {tall} m"))
    if found.lintels:
        entries.append(("lintel", "box", "lintel"))
    if found.lifts:
        entries.append(("lift", "line", "lift, height in m"))
    if found.corners:
        entries.append(("turn", "line", "wall turns"))
    return entries


def _notes(sheet: _Sheet, found: Elevation) -> list[str]:
    notes = [
        f"{_letter(index)}: {_box_words(own)}{GAP}m"
        for index, own in enumerate(found.openings)
        if not _fits(sheet, own)
    ]
    notes += [f"{_loose_words(own)}: no place yet" for own in found.loose]
    return notes


def _loose_words(own: Opening) -> str:
    return f"opening {metres(own.width_m)} {TIMES} {metres(own.height_m)}{GAP}m"


def _frame(
    wall: Wall, found: Elevation, number: int, where: tuple[str, float, float]
) -> Frame:
    name = wall_name(number, wall.name)
    tops = ", ".join(f"{metres(h)}{GAP}m at {metres(s)}{GAP}m" for s, h in wall.top)
    rows = [
        ("Length", f"{metres(found.length_m)}{GAP}m"),
        ("Height above the plinth", tops),
        ("Plinth", f"{metres(wall.plinth_m)}{GAP}m"),
        *(
            (
                f"Opening {_letter(n)}",
                f"{_box_words(own)}{GAP}m, from {metres(own.low[0])}{GAP}m, sill at"
                f" {metres(own.low[1])}{GAP}m",
            )
            for n, own in enumerate(found.openings)
        ),
        *(
            ("Lintel", f"{_box_words(own)}{GAP}m, from {metres(own.low[0])}{GAP}m")
            for own in found.lintels
        ),
        *(("Opening without a place", _loose_words(own)) for own in found.loose),
        *(
            (f"Top of lift {n}", f"{metres(own.height_m)}{GAP}m")
            for n, own in enumerate(found.lifts, 1)
        ),
    ]
    key, width, height = where
    return Frame(
        key,
        width,
        height,
        f"Elevation of {name}",
        "; ".join(f"{what}: {figure}" for what, figure in rows) + ".",
        Table(f"Sizes of {name}", ("What", "Size"), tuple(rows)),
        ("region", "stone", "wood"),
    )
