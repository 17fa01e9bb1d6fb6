"""The texture triangle: where a soil may lie, where cob lies, and what sand does to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from api.pictures.drawing import (
    SMALL,
    Dot,
    Frame,
    KeyEntry,
    KeyKind,
    Label,
    Line,
    Point,
    Shape,
    Size,
    Table,
    diamond,
    frame_key,
    legend,
    percent,
    percents,
)
from logistics.domain.quantities import Spread
from matching.domain.silt import guessed_silt
from matching.domain.soil.texture import OUTLINES, Outline, Texture, texture_of
from matching.domain.takeoff import MixTarget

USUAL_MIX = MixTarget()
TICKS = (0.2, 0.4, 0.6, 0.8)
_SHORT = {Texture.SAND: "S", Texture.LOAMY_SAND: "LS"}
# Where a name goes if the middle of its class does not suit, as (clay, silt).
_NAME_AT: dict[Texture, Point] = {
    Texture.SAND: (0.018, 0.07),
    Texture.LOAMY_SAND: (0.045, 0.141),
    Texture.SANDY_LOAM: (0.12, 0.22),
    Texture.LOAM: (0.17, 0.41),
    Texture.SILT_LOAM: (0.13, 0.65),
    Texture.SILT: (0.045, 0.865),
    Texture.SANDY_CLAY_LOAM: (0.275, 0.125),
    Texture.CLAY_LOAM: (0.335, 0.34),
    Texture.SILTY_CLAY_LOAM: (0.335, 0.565),
    Texture.SANDY_CLAY: (0.405, 0.065),
    Texture.SILTY_CLAY: (0.455, 0.465),
    Texture.CLAY: (0.60, 0.20),
}


@dataclass(frozen=True, slots=True)
class Sanding:
    """Sand added to a soil: its share of the dry mass of the mix, 0 to 1, and the sand's own
    clay and silt."""

    share: float
    clay: float = 0.0
    silt: float = 0.0

    def mixed(self, clay: float, silt: float) -> Point:
        """Clay and silt of the mix."""
        rest = 1 - self.share
        return (
            rest * clay + self.share * self.clay,
            rest * silt + self.share * self.silt,
        )


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where the triangle lies: the left corner is all sand, the right one all silt, the top
    all clay."""

    left: float
    bottom: float
    side: float

    def at(self, clay: float, silt: float) -> Point:
        """The place of a soil with these shares."""
        return (
            self.left + self.side * (silt + clay / 2),
            self.bottom - self.side * clay * math.sqrt(3) / 2,
        )


@dataclass(frozen=True, slots=True)
class Triangle:
    """The triangle as drawn. `region` is what the evidence allows, `cob` what is fit as dug,
    `recipe` where the sand leads; `guessed` says that the silt of `point` is a guess."""

    template: ClassVar[str] = "pictures/triangle.svg"

    frame: Frame
    ground: Shape
    grid: tuple[Line, ...]
    ticks: tuple[Label, ...]
    axes: tuple[Label, ...]
    classes: tuple[Shape, ...]
    names: tuple[Label, ...]
    cob: Shape
    region: Shape
    point: Dot
    guessed: bool
    sanding: Line | None
    recipe: Shape | None
    key: tuple[KeyEntry, ...]


def triangle(
    clay: Spread,
    silt: Spread | None,
    *,
    mix: MixTarget = USUAL_MIX,
    sanding: Sanding | None = None,
    size: Size = Size.WIDE,
    key: str = "triangle",
) -> Triangle:
    """The USDA triangle with a soil of these shares of dry mass below 2 mm (silt None:
    unknown, any that the clay leaves room for)."""
    wide = size is Size.WIDE
    side = 560.0 if wide else 262.0
    height = side * math.sqrt(3) / 2
    sheet = Sheet((size.width - side) / 2, height + 20, side)
    likely = _likely(clay, silt)
    end = sanding.mixed(*likely) if sanding else None
    names, cell = _names(sheet, wide=wide), Spread(0, 0.5, 1)
    foot = sheet.bottom + 40
    entries, bottom = legend(_entries(mix, silt, end, sanding), foot, size.width)
    return Triangle(
        frame=_frame(
            _Told(clay, silt, mix, sanding), frame_key(key, size), size.width, bottom
        ),
        ground=_shape(sheet, ((0, 0), (1, 0), (0, 1))),
        grid=_grid(sheet),
        ticks=_ticks(sheet),
        axes=_axes(sheet),
        classes=tuple(_shape(sheet, OUTLINES[own]) for own in Texture),
        names=names,
        cob=_shape(sheet, cob_band(mix)),
        region=_shape(sheet, region(clay, silt or cell)),
        point=Dot(*sheet.at(*likely), 6.5),
        guessed=silt is None,
        sanding=None
        if sanding is None
        else Line((sheet.at(*likely), sheet.at(sanding.clay, sanding.silt))),
        recipe=None if end is None else diamond(*sheet.at(*end), 7),
        key=entries,
    )


def region(clay: Spread, silt: Spread) -> Outline:
    """Corners as (clay, silt) of all soils in both ranges, going round; those that would be
    more than a whole are cut off."""
    least = min(silt.low, 1 - clay.low)
    most = min(silt.high, 1 - clay.low)
    richest = min(clay.high, 1 - least)
    corners = (
        (clay.low, least),
        (clay.low, most),
        (min(richest, 1 - most), most),
        (richest, min(most, 1 - richest)),
        (richest, least),
    )
    # Rounded, so that corners that coincide are one.
    return tuple(dict.fromkeys((round(c, 9), round(s, 9)) for c, s in corners))


def cob_band(mix: MixTarget) -> Outline:
    """Corners as (clay, silt) of soils that are fit as dug: clay in the window, and clay and
    silt together within the limit of the mix."""
    low, high, fines = mix.clay_low, mix.clay_high, mix.fines_limit
    return ((low, 0), (low, fines - low), (high, fines - high), (high, 0))


@dataclass(frozen=True, slots=True)
class _Told:
    clay: Spread
    silt: Spread | None
    mix: MixTarget
    sanding: Sanding | None


def _likely(clay: Spread, silt: Spread | None) -> Point:
    own = guessed_silt(clay) if silt is None else silt
    return clay.likely, min(own.likely, 1 - clay.likely)


def _shape(sheet: Sheet, outline: Outline) -> Shape:
    return Shape(tuple(sheet.at(*point) for point in outline))


def _grid(sheet: Sheet) -> tuple[Line, ...]:
    ends = [
        pair
        for tick in TICKS
        for pair in (
            ((tick, 0.0), (tick, 1 - tick)),
            ((0.0, tick), (1 - tick, tick)),
            ((0.0, 1 - tick), (1 - tick, 0.0)),
        )
    ]
    return tuple(Line((sheet.at(*a), sheet.at(*b))) for a, b in ends)


def _ticks(sheet: Sheet) -> tuple[Label, ...]:
    found = []
    for tick in TICKS:
        text = f"{tick * 100:.0f}"
        x, y = sheet.at(tick, 0)
        found.append(Label(x - 5, y + 4, text, "end"))
        x, y = sheet.at(1 - tick, tick)
        found.append(Label(x + 5, y + 1, text, "start"))
        x, y = sheet.at(0, 1 - tick)
        found.append(Label(x, y + 14, text))
    return tuple(found)


def _axes(sheet: Sheet) -> tuple[Label, ...]:
    away = 27
    left, right = sheet.at(0.5, 0), sheet.at(0.5, 0.5)
    lean = away * math.cos(math.pi / 6)
    up = away * math.sin(math.pi / 6)
    middle = sheet.left + sheet.side / 2
    return (
        Label(left[0] - lean, left[1] - up + 2, "clay % →", turn=-60),
        Label(right[0] + lean, right[1] - up + 2, "silt % →", turn=60),
        Label(middle, sheet.bottom + 31, "← sand %"),
    )


def _names(sheet: Sheet, *, wide: bool) -> tuple[Label, ...]:
    found: list[Label] = []
    for texture, at in _NAME_AT.items():
        x, y = sheet.at(*at)
        if wide and texture is Texture.LOAMY_SAND:
            # Along the strip, from (0.125, 0) to (0, 0.225).
            found.append(Label(x, y + 4, texture.words, turn=33.7))
            continue
        lines = _name_lines(texture, wide=wide)
        step = SMALL + 0.5
        y += SMALL * 0.36 - step * (len(lines) - 1) / 2
        found += [Label(x, y + n * step, own) for n, own in enumerate(lines)]
    return tuple(found)


def _name_lines(texture: Texture, *, wide: bool) -> tuple[str, ...]:
    if wide:
        return (texture.words,)
    if texture in _SHORT:
        return (_SHORT[texture],)
    first, _, rest = texture.words.partition(" ")
    return (first, rest) if rest else (first,)


def _entries(
    mix: MixTarget,
    silt: Spread | None,
    end: Point | None,
    sanding: Sanding | None,
) -> list[tuple[str, KeyKind, str]]:
    window = f"{mix.clay_low * 100:.0f} to {percent(mix.clay_high)} clay"
    found: list[tuple[str, KeyKind, str]] = [
        (
            "band",
            "box",
            f"fit as dug: {window}, at least {percent(1 - mix.fines_limit)} sand",
        ),
        ("region", "box", "where this soil may lie"),
    ]
    if silt is None:
        found.append(("open-point", "dot", "best estimate; its silt is a guess"))
    else:
        found.append(("point", "dot", "best estimate"))
    if sanding is not None and end is not None:
        found.append(("add", "line", "adding sand"))
        found.append(
            (
                "recipe",
                "diamond",
                f"with {percent(sanding.share)} sand: {percent(end[0])} clay",
            )
        )
    return found


def _frame(told: _Told, key: str, width: float, height: float) -> Frame:
    clay, silt, mix = told.clay, told.silt, told.mix
    at = _likely(clay, silt)
    name = texture_of(*at).words
    silt_text = "unknown" if silt is None else percents(silt)
    rows = [
        ("Clay", percents(clay)),
        ("Silt", silt_text),
        ("Sand, best estimate", percent(1 - sum(at))),
        ("Class, best estimate", name),
        (
            "Clay that is fit as dug",
            f"{percent(mix.clay_low)} to {percent(mix.clay_high)}",
        ),
        ("Least sand that is fit as dug", percent(1 - mix.fines_limit)),
    ]
    text = (
        f"Clay {percents(clay)}, silt {silt_text}; the best estimate lies in the class"
        f" {name}. Fit as dug are {percent(mix.clay_low)} to {percent(mix.clay_high)} clay"
        f" with at least {percent(1 - mix.fines_limit)} sand."
    )
    if told.sanding is not None:
        end = told.sanding.mixed(*at)
        rows.append(("Sand added, of the mix", percent(told.sanding.share)))
        rows.append(("Clay of the mix", percent(end[0], 1)))
        text += (
            f" With {percent(told.sanding.share)} sand the mix holds"
            f" {percent(end[0], 1)} clay."
        )
    return Frame(
        key,
        width,
        height,
        "The soil in the texture triangle",
        text,
        Table("Shares of the dry mass below 2 mm", ("What", "Figure"), tuple(rows)),
        ("band", "region"),
    )
