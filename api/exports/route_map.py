"""The legs of a shift drawn to scale, with lettered places, a scale bar and north."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from api.exports.antimeridian import unrolled
from api.exports.book import Halt, Line
from api.exports.fonts import BOLD, PLAIN
from api.exports.paper import HIGH, Paper

EARTH_M = 6_371_008.8
BADGE = 8.5
PAD = 10 * mm
BAR_PT = 120.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A box on the page, and how degrees become points in it."""

    x: float
    y: float
    wide: float
    high: float
    lon: float
    lat: float
    points_per_m: float

    def put(self, lon: float, lat: float) -> tuple[float, float]:
        """A position in points from the lower left corner of the page."""
        east = math.radians(lon - self.lon) * math.cos(math.radians(self.lat))
        north = math.radians(lat - self.lat)
        return (
            self.x + self.wide / 2 + east * EARTH_M * self.points_per_m,
            HIGH - self.y - self.high / 2 + north * EARTH_M * self.points_per_m,
        )


def frame(lines: Sequence[Line], x: float, y: float, wide: float, high: float) -> Frame:
    """The frame that shows all points of the lines as large as the box allows.

    The projection is equirectangular about the middle, which is true to scale along
    meridians and, for a day's haul, nearly so elsewhere.
    """
    points = [own for line in lines for own in line] or [(0.0, 0.0)]
    lons, lats = [own[0] for own in points], [own[1] for own in points]
    lon, lat = (min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2
    east = math.radians(max(lons) - min(lons)) * math.cos(math.radians(lat)) * EARTH_M
    north = math.radians(max(lats) - min(lats)) * EARTH_M
    scale = min(
        (wide - 2 * PAD) / max(east, 200.0), (high - 2 * PAD) / max(north, 200.0)
    )
    return Frame(x, y, wide, high, lon, lat, scale)


def draw_map(
    paper: Paper,
    stops: Sequence[Halt],
    letters: Mapping[str, str],
    box: tuple[float, ...],
) -> None:
    """Draw the ways of the stops into a box of x, y, width and height on the page.

    Loaded legs are thick, empty ones thin and dashed.
    """
    near = stops[0].place.lon if stops else 0.0
    ways = [(unrolled(own.way, near), bool(own.aboard)) for own in stops if own.way]
    spots = {own.place.key: (own.place.lon, own.place.lat) for own in stops}
    at = {key: unrolled((own,), near)[0] for key, own in spots.items()}
    shown = frame([*(own for own, _ in ways), tuple(at.values())], *box)
    parts = once_each(sorted(ways, key=lambda own: not own[1]))
    badges = _apart({letters[key]: shown.put(*own) for key, own in at.items()})

    def put(canvas: Canvas) -> None:
        canvas.saveState()
        canvas.setLineWidth(1)
        canvas.rect(shown.x, HIGH - shown.y - shown.high, shown.wide, shown.high)
        canvas.setLineJoin(1)
        canvas.setLineCap(1)
        for line, loaded in reversed(parts):
            _line(canvas, [shown.put(*own) for own in line], loaded=loaded)
        canvas.setDash()
        for key, own in at.items():
            _dot(canvas, shown.put(*own), badges[letters[key]])
        for letter, spot in badges.items():
            badge(canvas, *spot, letter)
        _scale_bar(canvas, shown)
        _north(canvas, shown)
        canvas.restoreState()

    paper.draw(put)


def once_each(ways: Sequence[tuple[Line, bool]]) -> list[tuple[Line, bool]]:
    """The parts of ways that no earlier one has, in either direction.

    Dashes that are drawn there and back fill each other's gaps.
    """
    seen: set[frozenset[tuple[float, float]]] = set()
    parts = []
    for line, loaded in ways:
        run = list(line[:1])
        for start, end in pairwise(line):
            piece = frozenset((_near(start), _near(end)))
            if piece not in seen:
                run.append(end)
                seen.add(piece)
                continue
            parts.append((tuple(run), loaded))
            run = [end]
        parts.append((tuple(run), loaded))
    return [own for own in parts if len(own[0]) > 1]


def _near(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0], 6), round(point[1], 6)


def badge(canvas: Canvas, x: float, y: float, letter: str) -> None:
    """A letter in a black disc about a point."""
    canvas.setFillGray(0)
    canvas.setStrokeGray(1)
    canvas.setLineWidth(1.5)
    canvas.circle(x, y, BADGE, stroke=1, fill=1)
    canvas.setStrokeGray(0)
    canvas.setFillGray(1)
    canvas.setFont(BOLD, 11 if len(letter) == 1 else 9)
    canvas.drawCentredString(x, y - 3.9, letter)
    canvas.setFillGray(0)


def letters_of(stops: Sequence[Halt]) -> dict[str, str]:
    """A letter for each place of a shift, in the order in which they are reached."""
    keys = list(dict.fromkeys(own.place.key for own in stops))
    return {key: _letter(number) for number, key in enumerate(keys)}


def _letter(number: int) -> str:
    high, low = divmod(number, 26)
    return (chr(64 + high) if high else "") + chr(65 + low)


def _line(
    canvas: Canvas, points: Sequence[tuple[float, float]], *, loaded: bool
) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for own in points[1:]:
        path.lineTo(*own)
    canvas.setLineWidth(3.2 if loaded else 1.2)
    canvas.setDash([] if loaded else [4, 4])
    canvas.drawPath(path)


def _dot(canvas: Canvas, spot: tuple[float, float], moved: tuple[float, float]) -> None:
    canvas.setLineWidth(0.8)
    canvas.line(*spot, *moved)
    canvas.circle(*spot, 2.2, stroke=0, fill=1)


def _apart(
    spots: Mapping[str, tuple[float, float]],
) -> dict[str, tuple[float, float]]:
    """Badges moved until none covers another; a line leads each to its spot."""
    moved = dict(spots)
    room = 2 * BADGE + 3
    for _ in range(60):
        quiet = True
        names = list(moved)
        for index, one in enumerate(names):
            for other in names[index + 1 :]:
                quiet = _push(moved, one, other, room) and quiet
        if quiet:
            break
    return moved


def _push(
    moved: dict[str, tuple[float, float]], one: str, other: str, room: float
) -> bool:
    (x, y), (u, v) = moved[one], moved[other]
    apart = math.hypot(u - x, v - y)
    if apart >= room - 1e-6:
        return True
    # Two at one spot part sideways; which way is settled by their order.
    across, up = ((u - x) / apart, (v - y) / apart) if apart > 1e-6 else (1.0, 0.0)
    step = (room - apart) / 2
    moved[one] = (x - across * step, y - up * step)
    moved[other] = (u + across * step, v + up * step)
    return False


def _scale_bar(canvas: Canvas, shown: Frame) -> None:
    most = BAR_PT / shown.points_per_m
    power = 10 ** math.floor(math.log10(most))
    metres = max(own * power for own in (1, 2, 5) if own * power <= most)
    x, y = shown.x + 10, HIGH - shown.y - shown.high + 10
    length = metres * shown.points_per_m
    canvas.setLineWidth(2)
    canvas.line(x, y, x + length, y)
    canvas.setFont(PLAIN, 10)
    text = f"{metres / 1000:g} km" if metres >= 1000 else f"{metres:g} m"
    canvas.drawString(x + length + 5, y - 3, text)


def _north(canvas: Canvas, shown: Frame) -> None:
    x, y = shown.x + shown.wide - 16, HIGH - shown.y - 12
    path = canvas.beginPath()
    path.moveTo(x, y)
    path.lineTo(x - 5, y - 16)
    path.lineTo(x + 5, y - 16)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFont(BOLD, 10)
    canvas.drawCentredString(x, y - 27, "N")
