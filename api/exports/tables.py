"""A plan as tables for spreadsheets: CSV by RFC 4180, in UTF-8 without a mark.

Units stand in the headers; moments are ISO 8601 with the offset of the plan's zone. Text
that a spreadsheet would take for a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal

from api.documents.text import minor_per_unit
from api.exports.book import Book, carried, halts
from api.exports.wording import DOING, tidy

Cell = str | int | float | Decimal | None
FORMULA = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""Signs that begin a formula, the full-width ones too: some programs fold them."""
SHIFT_HEAD = (
    "shift",
    "truck",
    "truck name",
    "day",
    "leaves",
    "is back",
    "driven (km)",
    "of them empty (km)",
    "transport work (t km)",
    "paid (h)",
    "loads",
    "carried, moist (kg)",
    "payload (kg)",
    "body (m3)",
)
STOP_HEAD = (
    "shift",
    "truck name",
    "stop",
    "doing",
    "place",
    "place name",
    "latitude (deg)",
    "longitude (deg)",
    "arrives",
    "begins",
    "ends",
    "leg (km)",
    "leg (min)",
    "aboard on the leg, moist (kg)",
    "load",
    "material",
    "moist (kg)",
    "loose (m3)",
)
LOAD_HEAD = (
    "shift",
    "load",
    "truck name",
    "offer",
    "offer name",
    "build",
    "build name",
    "need",
    "material",
    "moist (kg)",
    "loose (m3)",
    "full by",
    "loading begins",
    "loading ends",
    "tipping begins",
    "tipping ends",
    "ticket",
)


def shifts_csv(book: Book) -> bytes:
    """A row a shift."""
    plan = book.plan
    rows = (
        (
            number,
            own.truck,
            own.truck_name,
            own.day,
            own.leave.isoformat(),
            own.back.isoformat(),
            own.km,
            own.empty_km,
            own.tonne_km,
            own.paid_hours,
            len(own.loads),
            sum(load.moist_kg for load in own.loads),
            own.payload_kg,
            own.body_m3,
            _money(book, own.cost_minor),
        )
        for number, own in enumerate(plan.shifts, start=1)
    )
    return _csv((*SHIFT_HEAD, f"cost ({plan.currency})"), rows)


def stops_csv(book: Book) -> bytes:
    """A row a stop."""
    rows = (
        (
            number,
            shift.truck_name,
            halt.number + 1,
            DOING[halt.stop.kind],
            halt.place.key,
            halt.place.name,
            round(halt.place.lat, 6),
            round(halt.place.lon, 6),
            halt.stop.arrive.isoformat(),
            halt.stop.begin.isoformat(),
            halt.stop.end.isoformat(),
            halt.stop.leg_km,
            halt.stop.leg_minutes,
            sum(own.moist_kg for own in halt.aboard),
            None if halt.load_number is None else halt.load_number + 1,
            halt.load.material.value if halt.load else None,
            halt.load.moist_kg if halt.load else None,
            halt.load.loose_m3 if halt.load else None,
        )
        for number, shift in enumerate(book.plan.shifts, start=1)
        for halt in halts(book, shift)
    )
    return _csv(STOP_HEAD, rows)


def loads_csv(book: Book) -> bytes:
    """A row a load, in order of time."""
    rows = (
        (
            own.shift_number,
            own.load_number + 1,
            own.shift.truck_name,
            own.deal.offer,
            own.deal.offer_name,
            own.deal.build,
            own.deal.build_name,
            own.deal.need,
            own.load.material.value,
            own.load.moist_kg,
            own.load.loose_m3,
            own.load.bound or "not full",
            own.pickup.stop.begin.isoformat(),
            own.pickup.stop.end.isoformat(),
            own.drop.stop.begin.isoformat(),
            own.drop.stop.end.isoformat(),
            own.load.ticket,
        )
        for own in carried(book)
    )
    return _csv(LOAD_HEAD, rows)


def costs_csv(book: Book) -> bytes:
    """A row a line of the bill; the amounts add up to the total of the plan."""
    head = ("kind", "for", f"amount ({book.plan.currency})", "reckoned as")
    rows = (
        (own.kind.value, own.subject, _money(book, own.amount_minor), own.formula)
        for own in book.plan.lines
    )
    return _csv(head, rows)


def _money(book: Book, minor: int) -> Decimal:
    per_unit = minor_per_unit(book.plan.currency)
    return Decimal(minor) if per_unit == 1 else Decimal(minor).scaleb(-2)


def _csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(own) for own in row])
    return text.getvalue().encode()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        return str(value)
    text = tidy(value)
    return f"'{text}" if text.startswith(FORMULA) else text
