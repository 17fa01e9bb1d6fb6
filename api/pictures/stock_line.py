"""What lies on site over time, against the room that there is."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from api.pictures.days import Days, short_day
from api.pictures.drawing import SMALL, Label, Line, Shape, box, plain, text_width
from matching.domain.lifts.storage import Storage

STOCK_TALL = 110.0


@dataclass(frozen=True, slots=True)
class Stock:
    """What lies on site: a step line, the room, and where it is too little."""

    heading: Label
    area: Shape
    step: Line
    base: Line
    room: Line | None
    over: tuple[Shape, ...]
    figures: tuple[Label, ...]


def stock(days: Days, storage: Storage, top: float) -> Stock:
    """The stock from y `top` on, over the axis of days."""
    room = storage.room_m3
    most = max(storage.fullest.total_m3, room or 0.0) or 1.0
    base = top + STOCK_TALL + 14
    scale = (STOCK_TALL - 12) / most

    def y(m3: float) -> float:
        return base - m3 * scale

    # A stock lasts to the next day on which it changes; the last one to its evening.
    spans = [
        (days.x(own.day), days.x(after.day), own.total_m3)
        for own, after in pairwise(storage.days)
    ]
    last = storage.days[-1]
    spans.append((days.x(last.day), days.end(last.day), last.total_m3))
    corners = [(x, y(m3)) for left, right, m3 in spans for x in (left, right)]
    ends = ((spans[0][0], base), (spans[-1][1], base))
    over = (
        ()
        if room is None
        else tuple(
            box(left, y(m3), right - left, y(room) - y(m3))
            for left, right, m3 in spans
            if m3 > room + 1e-6
        )
    )
    return Stock(
        Label(days.left, top + 3, "On site, m³", "start"),
        Shape((ends[0], *corners, ends[1])),
        Line((ends[0], *corners, ends[1])),
        Line(((days.left, base), (days.right, base))),
        None if room is None else Line(((days.left, y(room)), (days.right, y(room)))),
        over,
        _stock_figures(
            days,
            storage,
            y(room) if room is not None else None,
            y(storage.fullest.total_m3),
        ),
    )


def _stock_figures(
    days: Days, storage: Storage, room_y: float | None, full_y: float
) -> tuple[Label, ...]:
    fullest = storage.fullest
    text = f"{plain(fullest.total_m3, 1)} on {short_day(fullest.day)}"
    half = text_width(text, SMALL) / 2
    x = min(max(days.middle(fullest.day), days.left + half), days.right - half)
    found = [Label(x, full_y - 5, text)]
    if room_y is not None and storage.room_m3 is not None:
        # At the right, where the stock has mostly gone down.
        found.append(
            Label(
                days.right, room_y + 13, f"room {plain(storage.room_m3, 1)} m³", "end"
            )
        )
    return tuple(found)
