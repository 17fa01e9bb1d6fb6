"""Cases of every picture, and what a drawing holds: points, labels, text."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any
from xml.etree import ElementTree

from api.pictures.bucket_row import bucket_row
from api.pictures.cost_bars import CostPart, cost_bars
from api.pictures.curve import curve
from api.pictures.drawing import SMALL, Dot, Label, Line, Point, Shape, Size, text_width
from api.pictures.elevation import wall_elevation
from api.pictures.lifts_calendar import lifts_calendar
from api.pictures.range_bar import Asked, range_bar
from api.pictures.recipe_bars import recipe_bars
from api.pictures.rendering import svg
from api.pictures.share_bars import SharePart, share_bars
from api.pictures.triangle import Sanding, triangle
from api.pictures.wall_plan import wall_plan
from logistics.domain.quantities import Spread
from matching.domain.grading import Grading
from matching.domain.lifts.calendar import build_calendar
from matching.domain.lifts.crew import Crew
from matching.domain.lifts.lifting import WorkPattern
from matching.domain.lifts.pulses import pulses
from matching.domain.lifts.storage import storage
from matching.domain.mix.buckets import Ratio, in_buckets
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.recipe import recipe_of
from matching.domain.takeoff import MixTarget, take_off
from matching.domain.walls.courses import courses
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.wall import Kind, Opening, Wall

NS = "{http://www.w3.org/2000/svg}"
# A name that would break markup if it were not escaped.
HOSTILE = """<script>"Ada's" & Co</script>"""
MIX, LIMITS = MixTarget(), MixLimits()

FINE = Grading(((0.075, 0.04), (0.3, 0.55), (0.6, 0.88), (2.36, 0.99), (4.75, 1.0)))
DOOR = Opening(0.9, 2.0, 1.2, lintel_depth_m=0.15, bearing_m=0.2)
WALLS = (
    Wall(Path(0, 0, (Leg(6, 0),)), 2.4, 0.6, (DOOR,), plinth_m=0.45, name=HOSTILE),
    Wall(Path(6, 0, (Leg(6, 5),)), ((0, 2.4), (2.5, 3.6), (5, 2.4)), 0.6),
    Wall(Path(3, 0, (Leg(3, 5),)), 2.4, 0.3, kind=Kind.INNER),
    Wall(2.0, 0.5, 0.45, kind=Kind.BENCH),
)
PARTS = (
    Part("a", HOSTILE, Spread(0.35, 0.40, 0.45), Spread(0.1, 0.15, 0.2), moisture=0.12),
    Part("s", "Sharp sand", Spread.exactly(0), Spread.exactly(0), is_sand=True),
)
RECIPE = recipe_of(((PARTS[0], 0.5), (PARTS[1], 0.5)), MIX, Spread(9e3, 1e4, 1.2e4))
CALENDAR = build_calendar(
    courses(WALLS[:3], 0.5),
    Crew(novices=Spread(6, 8, 10), trained=Spread.exactly(2)),
    WorkPattern(
        date(2027, 5, 7), weekdays=(4, 5, 6), rain_share=Spread(0.05, 0.15, 0.3)
    ),
)
PULSES = pulses(CALENDAR, take_off(WALLS[:3], MIX), clay=Spread(0.3, 0.38, 0.46))


def ratio() -> Ratio:
    found = in_buckets(RECIPE, MIX, LIMITS)
    assert isinstance(found, Ratio)
    return found


CASES: dict[str, Callable[[Size], Any]] = {
    "triangle": lambda size: triangle(
        Spread(0.30, 0.38, 0.46),
        Spread(0.15, 0.22, 0.32),
        sanding=Sanding(0.47),
        size=size,
    ),
    "triangle without silt": lambda size: triangle(
        Spread(0.1, 0.2, 0.3), None, size=size
    ),
    "curve": lambda size: curve(FINE, size=size),
    "recipe": lambda size: recipe_bars(RECIPE, size=size),
    "buckets": lambda size: bucket_row(ratio(), size=size),
    "plan": lambda size: wall_plan(WALLS, size=size),
    "elevation": lambda size: wall_elevation(WALLS[0], lift_m=0.5, size=size),
    "lifts": lambda size: lifts_calendar(
        CALENDAR, PULSES, storage(CALENDAR, PULSES, room_m3=9.0), size=size
    ),
    "range": lambda size: range_bar(
        Spread(18, 24, 32), Asked(HOSTILE, "%", 15, 25), key=f"range-{size}"
    ),
    "cost": lambda size: cost_bars(
        HOSTILE,
        (CostPart("Soil", -1250, "soil"), CostPart("Haulage", 3100, "haul")),
        "EUR",
        size=size,
    ),
    "shares": lambda size: share_bars(
        (SharePart(HOSTILE, 31_000, 28_050), SharePart("Barn", -900, -1_250)),
        "EUR",
        size=size,
    ),
}


def marks(of: Any) -> Iterator[Any]:
    """All marks of a picture, wherever they hang in its tree."""
    if isinstance(of, Line | Shape | Dot | Label):
        yield of
    elif isinstance(of, tuple):
        for own in of:
            yield from marks(own)
    elif is_dataclass(of):
        for field in fields(of):
            yield from marks(getattr(of, field.name))


def points(picture: Any) -> Iterator[Point]:
    """Points that have to lie within the drawing, half the width of words included."""
    for mark in marks(picture):
        if isinstance(mark, Dot):
            yield from (
                (mark.x - mark.r, mark.y - mark.r),
                (mark.x + mark.r, mark.y + mark.r),
            )
        elif isinstance(mark, Label):
            yield from _ends(mark)
        else:
            yield from mark.points


def _ends(own: Label) -> Iterator[Point]:
    if own.turn:
        yield own.x, own.y
        return
    # Real letters are narrower than the estimate: small text at its usual width.
    width = text_width(own.text, SMALL) * 0.9
    left = {"start": 0.0, "middle": width / 2, "end": width}[own.anchor]
    yield own.x - left, own.y
    yield own.x - left + width, own.y


def outside(picture: Any) -> list[Point]:
    """Points beyond the drawing by more than the tenth to which coordinates are written."""
    wide, tall = picture.frame.width, picture.frame.height
    return [
        (x, y)
        for x, y in points(picture)
        if not (-0.1 <= x <= wide + 0.1 and -0.1 <= y <= tall + 0.1)
    ]


def told(picture: Any) -> str:
    """All words of the text alternative."""
    frame = picture.frame
    cells = [cell for row in frame.table.rows for cell in row]
    return " ".join((frame.title, frame.description, frame.table.caption, *cells))


def tree(picture: Any) -> ElementTree.Element:
    return ElementTree.fromstring(svg(picture))


SIZES = tuple(Size)
