"""The grading curve of a soil or sand on a logarithmic scale of sizes, with limits."""

from __future__ import annotations

import math
from collections.abc import Iterable
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
    Shape,
    Size,
    Table,
    below,
    frame_key,
    legend,
    percent,
    plain,
    text_width,
)
from logistics.domain.errors import Refused
from matching.domain.grading import LIMITS_MM, Grading, SizeSystem
from matching.domain.sands.limits import (
    LIMITS,
    Departure,
    Limit,
    LimitPoint,
    departures,
)

NAMED = (0.10, 0.30, 0.60)
TICKS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
_LEFT, _TOP, _EDGE = 40.0, 40.0, 12.0
# Room beyond the last size on either side, as a factor.
_MARGIN = 1.25
SYSTEMS = {
    SizeSystem.USDA: "USDA",
    SizeSystem.ISO_14688: "ISO 14688",
    SizeSystem.UNIFIED: "Unified",
}


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a size in mm and a share passing lie in the drawing."""

    low_mm: float
    high_mm: float
    left: float
    right: float
    top: float
    bottom: float

    def x(self, size_mm: float) -> float:
        """Logarithmic, kept inside the sheet."""
        part = math.log(size_mm / self.low_mm) / math.log(self.high_mm / self.low_mm)
        return self.left + (self.right - self.left) * min(1.0, max(0.0, part))

    def y(self, share: float) -> float:
        """Nothing passes at the bottom, all at the top."""
        return self.bottom - (self.bottom - self.top) * share


@dataclass(frozen=True, slots=True)
class Fault:
    """A sieve at which the sample leaves the limits: a numbered mark."""

    at: Dot
    number: Label
    to_limit: Line


@dataclass(frozen=True, slots=True)
class Curve:
    """The sheet as drawn. `band` is None where the limits name one sieve only: then
    `gauges` stand at it. `drops` lead from D10, D30 and D60 to both axes."""

    template: ClassVar[str] = "pictures/curve.svg"

    frame: Frame
    ground: Shape
    grid: tuple[Line, ...]
    shares: tuple[Label, ...]
    sizes: tuple[Label, ...]
    axes: tuple[Label, ...]
    bounds: tuple[Line, ...]
    fractions: tuple[Label, ...]
    band: Shape | None
    gauges: tuple[Line, ...]
    curve: Line
    sieves: tuple[Dot, ...]
    drops: tuple[Line, ...]
    named: tuple[Label, ...]
    faults: tuple[Fault, ...]
    key: tuple[KeyEntry, ...]
    notes: tuple[Label, ...]


def curve(
    grading: Grading,
    *,
    limit: Limit | None = Limit.ASTM_C33,
    system: SizeSystem = SizeSystem.USDA,
    size: Size = Size.WIDE,
    key: str = "curve",
) -> Curve:
    """The share passing over the size, the limits as a band (None: no limits) and where the
    sample departs from them."""
    scale = _scale(grading, limit, size)
    found = () if limit is None else departures(grading, limit)
    points = () if limit is None else LIMITS[limit].points
    named = _named(grading)
    fractions = _fractions(scale, system)
    entries, foot = legend(_entries(limit, found, named), scale.bottom + 42, size.width)
    notes, bottom = below(
        (f"{n}. {_fault_words(own)}" for n, own in enumerate(found, 1)),
        10,
        foot + 8,
        size.width - 20,
    )
    return Curve(
        frame=_frame(
            grading, limit, named, (frame_key(key, size), size.width, bottom - 4)
        ),
        ground=_sheet(scale),
        grid=_grid(scale, _tick_sizes(scale, points)),
        shares=tuple(
            Label(scale.left - 5, scale.y(own) + 4, f"{own * 100:.0f}", "end")
            for own in TICKS
        ),
        sizes=_size_labels(scale, points),
        axes=(
            Label((scale.left + scale.right) / 2, scale.bottom + 33, "size in mm"),
            Label(6, scale.top - 26, "% passing", "start"),
        ),
        bounds=fractions[0],
        fractions=fractions[1],
        band=_band(scale, points),
        gauges=_gauges(scale, points),
        curve=Line(tuple((scale.x(mm), scale.y(own)) for mm, own in grading.points)),
        sieves=tuple(Dot(scale.x(mm), scale.y(own), 3.2) for mm, own in grading.points),
        drops=tuple(_drop(scale, share, mm) for share, mm in named),
        named=_named_labels(scale, named),
        faults=tuple(_fault(scale, n, own) for n, own in enumerate(found, 1)),
        key=entries,
        notes=notes,
    )


def _scale(grading: Grading, limit: Limit | None, size: Size) -> Scale:
    own = [mm for mm, _ in grading.points]
    if limit is not None:
        own += [at.size_mm for at in LIMITS[limit].points]
    height = 360.0 if size is Size.WIDE else 230.0
    return Scale(
        min(own) / _MARGIN,
        max(own) * _MARGIN,
        _LEFT,
        size.width - _EDGE,
        _TOP,
        _TOP + height,
    )


def _sheet(scale: Scale) -> Shape:
    return Shape(
        (
            (scale.left, scale.bottom),
            (scale.right, scale.bottom),
            (scale.right, scale.top),
            (scale.left, scale.top),
        )
    )


def _tick_sizes(scale: Scale, points: Iterable[LimitPoint]) -> tuple[float, ...]:
    """Sieves of the limits over a short scale, powers of ten over a long one."""
    sieves = tuple(at.size_mm for at in points)
    if math.log10(scale.high_mm / scale.low_mm) < 3.2 and len(sieves) > 2:
        return sieves
    first = math.ceil(math.log10(scale.low_mm) - 1e-9)
    last = math.floor(math.log10(scale.high_mm) + 1e-9)
    tens = tuple(10.0**n for n in range(first, last + 1))
    if len(tens) > 2:
        return tens
    all_ = (
        own * factor for own in (tens or (10.0**last,)) for factor in (0.5, 1, 2, 5)
    )
    return tuple(own for own in all_ if scale.low_mm <= own <= scale.high_mm)


def _grid(scale: Scale, sizes: Iterable[float]) -> tuple[Line, ...]:
    across = [
        Line(((scale.left, scale.y(own)), (scale.right, scale.y(own))))
        for own in TICKS[1:-1]
    ]
    up = [
        Line(((scale.x(own), scale.bottom + 4), (scale.x(own), scale.top)))
        for own in sizes
    ]
    return (*across, *up)


def _size_labels(scale: Scale, points: Iterable[LimitPoint]) -> tuple[Label, ...]:
    found: list[Label] = []
    free = 0.0
    for own in _tick_sizes(scale, points):
        text = f"{own:g}"
        half, x = text_width(text, SMALL) / 2, scale.x(own)
        x = min(x, scale.right + _EDGE - half - 2)
        if x - half >= free:
            found.append(Label(x, scale.bottom + 16, text))
            free = x + half + 3
    return tuple(found)


def _fractions(
    scale: Scale, system: SizeSystem
) -> tuple[tuple[Line, ...], tuple[Label, ...]]:
    lines, labels, before = [], [], scale.low_mm
    for name, limit in LIMITS_MM[system]:
        upper = min(limit, scale.high_mm)
        if upper <= before:
            continue
        left, right = scale.x(before), scale.x(upper)
        words = name.replace("_", " ")
        if text_width(words, SMALL) <= right - left:
            labels.append(Label((left + right) / 2, scale.top - 6, words))
        if upper < scale.high_mm:
            lines.append(Line(((right, scale.top - 18), (right, scale.bottom))))
        before = upper
    return tuple(lines), tuple(labels)


def _band(scale: Scale, points: tuple[LimitPoint, ...]) -> Shape | None:
    if len(points) < 2:
        return None
    lower = [(scale.x(at.size_mm), scale.y(at.low)) for at in points]
    upper = [(scale.x(at.size_mm), scale.y(at.high)) for at in reversed(points)]
    return Shape((*lower, *upper))


def _gauges(scale: Scale, points: tuple[LimitPoint, ...]) -> tuple[Line, ...]:
    """A gauge at the one sieve that limits name."""
    if len(points) != 1:
        return ()
    (at,) = points
    x, low, high = scale.x(at.size_mm), scale.y(at.low), scale.y(at.high)
    return (
        Line(((x, low), (x, high))),
        *(Line(((x - 7, y), (x + 7, y))) for y in (low, high)),
    )


def _named(grading: Grading) -> tuple[tuple[float, float], ...]:
    """(share, size in mm) for those of D10, D30 and D60 that the curve reaches."""
    found = []
    for share in NAMED:
        try:
            found.append((share, grading.size_at(share)))
        except Refused:
            continue
    return tuple(found)


def _drop(scale: Scale, share: float, mm: float) -> Line:
    x, y = scale.x(mm), scale.y(share)
    return Line(((scale.left, y), (x, y), (x, scale.bottom)))


def _named_labels(
    scale: Scale, named: tuple[tuple[float, float], ...]
) -> tuple[Label, ...]:
    """Right below the curve, where it leaves room; at the other side near the edge."""
    found = []
    for share, mm in named:
        text, x = f"D{share * 100:.0f}  {_mm(mm)}", scale.x(mm)
        y = scale.y(share) + 13
        if x + 6 + text_width(text, SMALL) <= scale.right:
            found.append(Label(x + 6, y, text, "start"))
        else:
            found.append(Label(x - 6, y, text, "end"))
    return tuple(found)


def _fault(scale: Scale, number: int, own: Departure) -> Fault:
    x, y = scale.x(own.size_mm), scale.y(own.passing)
    limit = scale.y(own.high if own.by > 0 else own.low)
    # Away from the band: above the curve if too much passes.
    away = y - 13 if own.by > 0 else y + 13
    away = min(max(away, scale.top + 9), scale.bottom - 9)
    side = min(max(x, scale.left + 9), scale.right - 9)
    return Fault(
        Dot(side, away, 8),
        Label(side, away + 4, str(number)),
        Line(((x, y), (x, limit))),
    )


def _fault_words(own: Departure) -> str:
    bound = f"most {percent(own.high, 1)}"
    if own.by < 0:
        bound = f"least {percent(own.low, 1)}"
    return f"{own.size_mm:g} mm: {percent(own.passing, 1)} passes, {bound}"


def _entries(
    limit: Limit | None,
    found: tuple[Departure, ...],
    named: tuple[tuple[float, float], ...],
) -> list[tuple[str, KeyKind, str]]:
    entries: list[tuple[str, KeyKind, str]] = [("curve", "line", "this sample")]
    if limit is not None:
        many = len(LIMITS[limit].points) > 1
        kind: KeyKind = "box" if many else "line"
        entries.append(("band" if many else "whisker", kind, LIMITS[limit].title))
    if named:
        entries.append(("drop", "line", "size that 10, 30, 60 % pass"))
    if found:
        entries.append(("tag", "dot", "leaves the limits, see below"))
    return entries


def _mm(size: float) -> str:
    return f"{float(f'{size:.2g}'):g} mm"


def _frame(
    grading: Grading,
    limit: Limit | None,
    named: tuple[tuple[float, float], ...],
    where: tuple[str, float, float],
) -> Frame:
    limits = {} if limit is None else {at.size_mm: at for at in LIMITS[limit].points}
    found = {} if limit is None else {d.size_mm: d for d in departures(grading, limit)}
    own = dict(grading.points)
    rows = [
        (
            f"{mm:g} mm",
            percent(own[mm], 1) if mm in own else _between(grading, mm),
            _limit_words(limits.get(mm)),
            _verdict(found.get(mm), known=mm in limits),
        )
        for mm in sorted({*own, *limits})
    ]
    rows += [
        (f"D{share * 100:.0f}", _mm(mm), "", f"{share * 100:.0f} % is finer")
        for share, mm in named
    ]
    says = [
        f"Measured from {grading.finest_mm:g} to {grading.coarsest_mm:g} mm.",
        *(f"D{share * 100:.0f} is {_mm(mm)}." for share, mm in named),
    ]
    if limit is not None:
        says.append(f"Limits: {LIMITS[limit].title}.")
        says += [f"{_fault_words(own)}." for own in found.values()]
        if not found:
            says.append("No measured sieve leaves them.")
    key, width, height = where
    return Frame(
        key,
        width,
        height,
        "Grading curve: share passing each size",
        " ".join(says),
        Table(
            "Share of the dry mass that passes each size",
            ("Size", "Passing", "Limits", "Verdict"),
            tuple(rows),
        ),
        () if limit is None else ("band",),
    )


def _between(grading: Grading, mm: float) -> str:
    low, high = grading.bounds(mm)
    if low == high:
        return f"{percent(low, 1)} (between sieves)"
    return f"{plain(low * 100, 1)} to {percent(high, 1)} (not measured)"


def _limit_words(at: LimitPoint | None) -> str:
    if at is None:
        return ""
    return f"{plain(at.low * 100, 0)} to {percent(at.high)}"


def _verdict(found: Departure | None, *, known: bool) -> str:
    if found is None:
        return "inside or not decided" if known else ""
    return "too much passes" if found.by > 0 else "too little passes"
