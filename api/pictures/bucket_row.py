"""A recipe as people mix it: so many buckets of this to so many of that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from api.pictures.drawing import (
    TEXT,
    Frame,
    Label,
    Line,
    Shape,
    Size,
    Table,
    frame_key,
    percent,
    percents,
    wrapped,
)
from api.pictures.recipe_bars import look_patterns, part_looks
from matching.domain.mix.buckets import Ratio

_EDGE, _WIDE, _TALL, _GAP = 12.0, 30.0, 30.0, 6.0
# A bucket is narrower at its foot by so much on either side.
_TAPER = 4.0


@dataclass(frozen=True, slots=True)
class Bucket:
    """A bucket, what is in it, and its handle."""

    pail: Shape
    filling: Shape
    handle: Line


@dataclass(frozen=True, slots=True)
class Buckets:
    """The buckets of one part below its name."""

    words: tuple[Label, ...]
    look: str
    buckets: tuple[Bucket, ...]


@dataclass(frozen=True, slots=True)
class BucketRow:
    """All buckets of a ratio, part by part."""

    template: ClassVar[str] = "pictures/buckets.svg"

    frame: Frame
    parts: tuple[Buckets, ...]


def bucket_row(
    ratio: Ratio, *, size: Size = Size.WIDE, key: str = "buckets"
) -> BucketRow:
    """The buckets of a ratio; a half bucket is half full."""
    looks = part_looks([part for part, _ in ratio.buckets])
    found, y = [], 22.0
    across = int((size.width - 2 * _EDGE + _GAP) // (_WIDE + _GAP))
    for look, (part, count) in zip(looks, ratio.buckets, strict=True):
        title = f"{count_words(count)} of {part.name}"
        lines = wrapped(title, size.width - 2 * _EDGE)
        words = tuple(
            Label(_EDGE, y + n * TEXT * 1.38, own, "start")
            for n, own in enumerate(lines)
        )
        y += (len(lines) - 1) * TEXT * 1.38 + 18
        fillings = [1.0] * int(count) + ([count % 1] if count % 1 else [])
        buckets = tuple(
            _bucket(
                _EDGE + (n % across) * (_WIDE + _GAP),
                y + (n // across) * (_TALL + 16),
                filling,
            )
            for n, filling in enumerate(fillings)
        )
        found.append(Buckets(words, look, buckets))
        y += -(-len(fillings) // across) * (_TALL + 16) + 14
    return BucketRow(
        _frame(ratio, looks, (frame_key(key, size), size.width, y - 18)), tuple(found)
    )


def count_words(count: float) -> str:
    """A number of buckets as people write it, with halves."""
    whole, half = int(count), count % 1 != 0
    text = f"{whole or ''}½" if half else str(whole)
    return f"{text} bucket" if count <= 1 else f"{text} buckets"


def _bucket(x: float, y: float, full: float) -> Bucket:
    def level(share: float) -> tuple[tuple[float, float], tuple[float, float]]:
        inset = _TAPER * (1 - share)
        height = y + _TALL * (1 - share)
        return (x + inset, height), (x + _WIDE - inset, height)

    left, right = level(1.0)
    foot_left, foot_right = level(0.0)
    fill_left, fill_right = level(full)
    arch = tuple(
        (x + _WIDE * part, y - rise)
        for part, rise in ((0, 0), (0.15, 6), (0.35, 9), (0.65, 9), (0.85, 6), (1, 0))
    )
    return Bucket(
        Shape((left, right, foot_right, foot_left)),
        Shape((fill_left, fill_right, foot_right, foot_left)),
        Line(arch),
    )


def _frame(
    ratio: Ratio, looks: tuple[str, ...], where: tuple[str, float, float]
) -> Frame:
    key, width, height = where
    counts = [(part.name, count_words(own)) for part, own in ratio.buckets]
    clay = percents(ratio.recipe.clay)
    return Frame(
        key,
        width,
        height,
        "The recipe in buckets",
        " to ".join(f"{own} of {name}" for name, own in counts)
        + f"; gives {clay} clay. Level buckets, as loose as delivered, without stones.",
        Table(
            f"Level buckets; the ratio gives {clay} clay",
            ("Part", "Buckets", "Share of dry mass"),
            tuple(
                (name, own, percent(dose.share, 1))
                for (name, own), dose in zip(counts, ratio.recipe.doses, strict=True)
            ),
        ),
        look_patterns(looks),
    )
