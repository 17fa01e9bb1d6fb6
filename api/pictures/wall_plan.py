"""The walls of a build from above, to scale, north up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from api.pictures.drawing import (
    GAP,
    SMALL,
    TIMES,
    Dot,
    Frame,
    Label,
    Line,
    Point,
    Shape,
    Size,
    Table,
    below,
    box,
    frame_key,
    plain,
    text_width,
)
from matching.domain.walls.outlines import Plan, PlanOpening, PlanWall, plan
from matching.domain.walls.paths import Path, place
from matching.domain.walls.wall import Kind, Wall

_EDGE, _TAG = 34.0, 9.0
_LOOKS = {Kind.OUTER: "wall", Kind.INNER: "wall-inner", Kind.BENCH: "wall-bench"}
KIND_WORDS = {Kind.OUTER: "outer wall", Kind.INNER: "inner wall", Kind.BENCH: "bench"}


@dataclass(frozen=True, slots=True)
class DrawnWall:
    """A wall from above: its footprint, its openings, and its number with its sizes."""

    look: str
    shapes: tuple[Shape, ...]
    openings: tuple[Shape, ...]
    panes: tuple[Line, ...]
    tag: Dot
    number: Label
    sizes: Label | None


@dataclass(frozen=True, slots=True)
class WallPlan:
    """The plan. `north` is None where no wall has a place on the ground."""

    template: ClassVar[str] = "pictures/plan.svg"

    frame: Frame
    walls: tuple[DrawnWall, ...]
    north: Shape | None
    north_letter: Label | None
    scale_bar: tuple[Shape, ...]
    scale_ends: tuple[Label, ...]
    notes: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """From m in the plan to units of the drawing."""

    scale: float
    west: float
    north: float
    left: float
    top: float

    def at(self, point: Point) -> Point:
        return (
            self.left + (point[0] - self.west) * self.scale,
            self.top + (self.north - point[1]) * self.scale,
        )


def wall_plan(
    walls: tuple[Wall, ...], *, size: Size = Size.WIDE, key: str = "plan"
) -> WallPlan:
    """All walls from above. Walls without a place lie in a row below the others, dashed."""
    found = plan(walls)
    sheet, foot = _sheet(found, size)
    bar, ends = _scale_bar(sheet.scale, foot)
    placed = any(own.placed for own in found.walls)
    notes, bottom = below(
        (f"{own.number}. {_wall_words(own)}" for own in found.walls),
        10,
        foot + 44,
        size.width - 20,
    )
    up = size.width - 20
    return WallPlan(
        frame=_frame(found, (frame_key(key, size), size.width, bottom - 4)),
        walls=tuple(
            _drawn(sheet, own, wall, _middle(found))
            for own, wall in zip(found.walls, walls, strict=True)
        ),
        north=Shape(((up, 8), (up + 7, 28), (up, 23), (up - 7, 28)))
        if placed
        else None,
        north_letter=Label(up, 42, "N") if placed else None,
        scale_bar=bar,
        scale_ends=ends,
        notes=notes,
    )


def wall_name(number: int, name: str) -> str:
    """A wall as people call it."""
    return name or f"wall {number}"


def metres(value: float) -> str:
    """A length with two decimals, as on drawings."""
    return f"{value:.2f}"


def _middle(found: Plan) -> Point:
    return (
        (found.low[0] + found.high[0]) / 2,
        (found.low[1] + found.high[1]) / 2,
    )


def _sheet(found: Plan, size: Size) -> tuple[_Sheet, float]:
    wide = max(found.high[0] - found.low[0], 0.1)
    tall = max(found.high[1] - found.low[1], 0.1)
    room = size.width - 2 * _EDGE
    # A little room at the right of the north arrow is enough for labels outside.
    scale = min(room / wide, size.width * 0.8 / tall)
    left = (size.width - wide * scale) / 2
    top = 48.0
    return (
        _Sheet(scale, found.low[0], found.high[1], left, top),
        top + tall * scale + 30,
    )


def _scale_bar(scale: float, y: float) -> tuple[tuple[Shape, ...], tuple[Label, ...]]:
    length = next(
        (own for own in (50, 20, 10, 5, 2, 1, 0.5, 0.2) if own * scale <= 130), 0.1
    )
    half = length * scale / 2
    shapes = (box(14, y, half, 7), box(14 + half, y, half, 7))
    return shapes, (
        Label(14, y + 20, "0"),
        Label(14 + 2 * half, y + 20, f"{plain(length, 1)}{GAP}m"),
    )


def _drawn(sheet: _Sheet, own: PlanWall, wall: Wall, middle: Point) -> DrawnWall:
    look = _LOOKS[own.kind] if own.placed else "wall-loose"
    spot, turn = _outside(own, wall, middle, sheet.scale)
    x, y = sheet.at(spot)
    text = f"{metres(own.length_m)} {TIMES} {metres(own.thickness_m)}"
    sizes = None
    # Beside the tag, if the wall is long enough to carry the words.
    # An inner wall's words may not run into what it ends at.
    room = own.length_m * sheet.scale / (2 if own.kind is Kind.INNER else 1)
    if text_width(text, SMALL) + 3 * _TAG <= room:
        radians = math.radians(turn)
        away = _TAG + 5 + text_width(text, SMALL) / 2
        sizes = Label(
            x + away * math.cos(radians) - 4 * math.sin(radians),
            y + away * math.sin(radians) + 4 * math.cos(radians),
            text,
            "middle",
            turn,
        )
    windows = [gap for gap in own.openings if gap.sill_m > 0]
    return DrawnWall(
        look=look,
        shapes=tuple(
            Shape(
                tuple(sheet.at(p) for p in ring.outer),
                tuple(tuple(sheet.at(p) for p in hole) for hole in ring.inner),
            )
            for ring in own.rings
        ),
        openings=tuple(
            Shape(tuple(sheet.at(p) for p in gap.corners)) for gap in own.openings
        ),
        panes=tuple(_pane(sheet, gap) for gap in windows),
        tag=Dot(x, y, _TAG),
        number=Label(x, y + 4, str(own.number)),
        sizes=sizes,
    )


def _pane(sheet: _Sheet, gap: PlanOpening) -> Line:
    """The glass of a window, along the wall."""
    a, b, c, d = gap.corners
    ends = (
        ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2),
        ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2),
    )
    return Line(tuple(sheet.at(own) for own in ends))


def _outside(
    own: PlanWall, wall: Wall, middle: Point, scale: float
) -> tuple[Point, float]:
    """Where a wall's tag goes, on the side away from the middle of the plan, and by how much
    words along the wall are turned, never upside down."""
    away = own.thickness_m / 2 + (_TAG + 4) / scale
    if not isinstance(wall.run, Path):
        return (own.middle[0], own.middle[1] - away), 0.0
    half = wall.length_m / 2
    sides = [place(wall.run, half, left) for left in (-away, away)]
    spot = max(sides, key=lambda p: math.dist(p, middle))
    step = min(0.01, half)
    back, ahead = place(wall.run, half - step), place(wall.run, half + step)
    turn = -math.degrees(math.atan2(ahead[1] - back[1], ahead[0] - back[0]))
    turn = (turn + 90) % 180 - 90
    return spot, round(turn, 1)


def _wall_words(own: PlanWall) -> str:
    same = own.name.casefold() == KIND_WORDS[own.kind]
    name = f"{own.name}, " if own.name and not same else ""
    text = (
        f"{name}{KIND_WORDS[own.kind]}, {metres(own.length_m)}{GAP}m long,"
        f" {metres(own.thickness_m)}{GAP}m thick"
    )
    return text if own.placed else f"{text}; no place yet"


def _opening_words(gap: PlanOpening) -> str:
    kind = "window" if gap.sill_m > 0 else "door"
    return f"{kind} {metres(gap.width_m)} {TIMES} {metres(gap.height_m)}{GAP}m"


def _frame(found: Plan, where: tuple[str, float, float]) -> Frame:
    rows = tuple(
        (
            wall_name(own.number, own.name),
            KIND_WORDS[own.kind],
            f"{metres(own.length_m)}{GAP}m",
            f"{metres(own.thickness_m)}{GAP}m",
            ", ".join(_opening_words(gap) for gap in own.openings) or "none",
        )
        for own in found.walls
    )
    wide, tall = found.high[0] - found.low[0], found.high[1] - found.low[1]
    key, width, height = where
    return Frame(
        key,
        width,
        height,
        "Plan of the walls, seen from above",
        f"{len(rows)} walls within {metres(wide)}{GAP}m from west to east and"
        f" {metres(tall)}{GAP}m from south to north. "
        + " ".join(f"{own.number}: {_wall_words(own)}." for own in found.walls),
        Table(
            "Walls in the plan",
            ("Wall", "Kind", "Length", "Thickness", "Openings"),
            rows,
        ),
        ("soil", "region", "band"),
    )
