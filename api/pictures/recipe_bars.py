"""A recipe as bars: its parts by dry mass and by loose volume, with what is not known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from api.pictures.drawing import (
    TEXT,
    Frame,
    KeyEntry,
    KeyKind,
    Label,
    Line,
    Shape,
    Size,
    Table,
    box,
    frame_key,
    legend,
    percent,
    percents,
    plain,
    text_width,
    whisker,
)
from logistics.domain.quantities import Spread
from matching.domain.mix.parts import Part
from matching.domain.mix.recipe import Recipe

_SOILS = ("soil", "soil2", "soil3")
_SANDS = ("sand", "sand2")
_EDGE = 12.0


@dataclass(frozen=True, slots=True)
class Piece:
    """A part within a bar; `share` is written in it where there is room."""

    look: str
    shape: Shape
    share: Label | None


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its heading, its pieces, and a whisker at its end over the range of all."""

    heading: Label
    pieces: tuple[Piece, ...]
    whisker: tuple[Line, ...]
    total: Label


@dataclass(frozen=True, slots=True)
class RecipeBars:
    """Both bars, over one scale each, and the key of the parts."""

    template: ClassVar[str] = "pictures/recipe.svg"

    frame: Frame
    bars: tuple[Bar, ...]
    key: tuple[KeyEntry, ...]


def recipe_bars(
    recipe: Recipe, *, size: Size = Size.WIDE, key: str = "recipe"
) -> RecipeBars:
    """What goes into a placed m3 of wall: dry kg, and loose m3 as loaded."""
    looks = part_looks([dose.part for dose in recipe.doses])
    mass = [dose.dry_kg_per_m3 for dose in recipe.doses]
    loose = [dose.loose_m3_per_m3 for dose in recipe.doses]
    bars = (
        _bar("By dry mass, for 1 m³ of wall", mass, looks, (22, size.width, "kg", 0)),
        _bar("By loose volume as loaded", loose, looks, (112, size.width, "m³", 2)),
    )
    volume = sum(own.likely for own in loose)
    entries: list[tuple[str, KeyKind, str]] = [
        (
            look,
            "box",
            f"{dose.part.name}: {percent(dose.share)} of mass,"
            f" {percent(dose.loose_m3_per_m3.likely / volume)} of volume",
        )
        for look, dose in zip(looks, recipe.doses, strict=True)
    ]
    found, bottom = legend(entries, 200, size.width)
    return RecipeBars(
        _frame(recipe, looks, (frame_key(key, size), size.width, bottom)), bars, found
    )


def part_looks(parts: Sequence[Part]) -> tuple[str, ...]:
    """A look for each part: soils and sands in their own patterns, the later ones in other
    patterns of their kind."""
    soils = sands = 0
    found = []
    for part in parts:
        if part.is_sand:
            found.append(_SANDS[sands % len(_SANDS)])
            sands += 1
        else:
            found.append(_SOILS[soils % len(_SOILS)])
            soils += 1
    return tuple(found)


def look_patterns(looks: Sequence[str]) -> tuple[str, ...]:
    """The patterns of some parts' looks, each once."""
    return tuple(dict.fromkeys("band" if own == "soil3" else own for own in looks))


def total(amounts: Sequence[Spread]) -> Spread:
    """The sum at each end: all amounts follow the same density and waste."""
    return Spread(
        sum(own.low for own in amounts),
        sum(own.likely for own in amounts),
        sum(own.high for own in amounts),
    )


def _bar(
    title: str,
    amounts: list[Spread],
    looks: tuple[str, ...],
    where: tuple[float, float, str, int],
) -> Bar:
    y, width, unit, digits = where
    whole = total(amounts)
    scale = (width - 2 * _EDGE) / whole.high
    pieces, x = [], _EDGE
    for look, amount in zip(looks, amounts, strict=True):
        wide = amount.likely * scale
        text, share = percent(amount.likely / whole.likely), None
        if text_width(text, TEXT) + 6 <= wide:
            share = Label(x + wide / 2, y + 28, text)
        pieces.append(Piece(look, box(x, y + 8, wide, 30), share))
        x += wide
    ends = f"{plain(whole.low, digits)} to {plain(whole.high, digits)}"
    return Bar(
        Label(_EDGE, y, title, "start"),
        tuple(pieces),
        whisker(_EDGE + whole.low * scale, _EDGE + whole.high * scale, y + 48),
        Label(
            width - _EDGE,
            y + 68,
            f"{plain(whole.likely, digits)} {unit} ({ends})",
            "end",
        ),
    )


def _frame(
    recipe: Recipe, looks: tuple[str, ...], where: tuple[str, float, float]
) -> Frame:
    rows = [
        (
            dose.part.name,
            percent(dose.share, 1),
            _spread(dose.dry_kg_per_m3, 0),
            _spread(dose.loose_m3_per_m3, 2),
            "" if dose.moist_kg is None else _spread(dose.moist_kg, 0),
        )
        for dose in recipe.doses
    ]
    mass = total([dose.dry_kg_per_m3 for dose in recipe.doses])
    loose = total([dose.loose_m3_per_m3 for dose in recipe.doses])
    rows.append(("Together", "", _spread(mass, 0), _spread(loose, 2), ""))
    text = (
        "; ".join(f"{d.part.name} {percent(d.share, 1)}" for d in recipe.doses)
        + f" of the dry mass. The mix holds {percents(recipe.clay)} clay."
    )
    key, width, height = where
    return Frame(
        key,
        width,
        height,
        "The recipe by mass and by loose volume",
        text,
        Table(
            f"The recipe; it gives {percents(recipe.clay)} clay",
            (
                "Part",
                "Dry mass",
                "Dry kg per m³ of wall",
                "Loose m³ per m³",
                "Moist kg in all",
            ),
            tuple(rows),
        ),
        look_patterns(looks),
    )


def _spread(own: Spread, digits: int) -> str:
    likely, low, high = (plain(n, digits) for n in (own.likely, own.low, own.high))
    return likely if low == high else f"{likely} ({low} to {high})"
