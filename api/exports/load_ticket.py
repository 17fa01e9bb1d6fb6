"""A ticket for each load, on A4: what is planned, a QR code, and room for what came.

Its blank fields are those that papers of a duty of care ask for in some places (Waste
(England and Wales) Regulations 2011, SI 2011/988, reg. 35): description, quantity,
container, time and place of transfer, both parties with capacity and signature, and the
carrier's registration. It does not claim to be such a paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import segno
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from api.exports.book import Book, Carried, carried
from api.exports.paper import (
    BODY,
    BOTTOM,
    HIGH,
    LARGE,
    LEAD,
    LEFT,
    RIGHT,
    SMALL,
    Paper,
    plan_words,
)
from api.exports.wording import AT_THE_GATE, clock, full_words, tonnes, weekday

QR_WIDE = 48 * mm
QUIET = 4
"""Modules of white about the code, as ISO/IEC 18004 wants."""
NO_PAPER = (
    "A record of one load. It has room for what papers of a duty of care ask in some"
    " places and is not such a paper by itself: local law decides what is needed."
)
NO_CODE = "This plan has no receipt pages: write here what came."
GAP, BETWEEN = 3 * mm, 2 * mm
PARTIES = ("Handed over by", "Carried by", "Taken by")
HANDED = (
    (("Description",), 15 * mm),
    (("Gross (t)", "Tare (t)", "Net (t)"), 13 * mm),
    (("Volume (m³) or pieces", "Loose, or kind of container"), 13 * mm),
    (("Date and time of transfer", "Place of transfer"), 13 * mm),
    (("Taken whole / in part / refused, because",), 13 * mm),
)
"""Rows of blank fields, with their height if there is room."""
SIGNED = (
    (("Name and address",) * 3, 22 * mm),
    (("Capacity",) * 3, 13 * mm),
    (("Permit no.", "Carrier's registration", "Permit no."), 13 * mm),
    (("Signature",) * 3, 22 * mm),
)


def load_tickets(book: Book, numbers: Sequence[int] | None = None) -> bytes:
    """The tickets of some shifts, by their numbers from 1, or of all, as one PDF.

    Raises Refused "unknown_shift".
    """
    for number in numbers or ():
        book.shift(number)
    foot = f"{plan_words(book.plan.name, book.stored_at)}. {NO_PAPER}"
    paper = Paper(f"Load tickets: {book.plan.name}", foot)
    loads = [
        own for own in carried(book) if numbers is None or own.shift_number in numbers
    ]
    loads.sort(key=lambda own: (own.shift_number, own.pickup.number))
    for own in loads:
        _ticket(paper, book, own)
    if not loads:
        paper.section("")
        paper.paragraph("No load is carried.", LARGE, bold=True)
    return paper.render()


def receipt_address(book: Book, own: Carried) -> str | None:
    """The page on which the load is recorded; None if it has none."""
    code = own.load.ticket
    return f"{book.receipts}{code}/" if book.receipts and code else None


def _ticket(paper: Paper, book: Book, own: Carried) -> None:
    paper.section("")
    room = RIGHT - LEFT - QR_WIDE - 6 * mm
    address = receipt_address(book, own)
    top = paper.y
    _planned(paper, own, room)
    below = _code(paper, own, address, top)
    paper.y = max(paper.y, below) + 4
    paper.rule(1.5)
    paper.y += 6
    stretch = _stretch(paper)
    _transfer(paper, stretch)
    _parties(paper, stretch)


def _planned(paper: Paper, own: Carried, room: float) -> None:
    load, shift = own.load, own.shift
    paper.paragraph("Load ticket", LARGE, bold=True)
    paper.paragraph(
        f"{load.material.capitalize()}, {tonnes(load.moist_kg)}",
        26,
        room=room,
        bold=True,
    )
    volume = f"{load.loose_m3:.1f} m³ loose, {full_words(load)} (planned)"
    paper.paragraph(volume, LARGE, room=room)
    which = f"Load {own.load_number + 1} of {len(shift.loads)}"
    paper.paragraph(f"{which}: {shift.truck_name}", BODY, room=room, most=2)
    paper.paragraph(weekday(shift.day), LARGE, room=room, bold=True)
    paper.y += 5
    for verb, halt, name in (
        ("Load", own.pickup, own.deal.offer_name),
        ("Tip", own.drop, own.deal.build_name),
    ):
        when = clock(halt.stop.begin, shift.day)
        paper.paragraph(
            f"{verb} {when}: {halt.place.name}", LARGE, room=room, bold=True, most=2
        )
        at = f"{halt.place.lat:.5f}, {halt.place.lon:.5f}"
        paper.paragraph(f"{at}: {name}", BODY, room=room, most=2)
    paper.y += 3
    paper.paragraph(AT_THE_GATE, BODY, room=room)


def _code(paper: Paper, own: Carried, address: str | None, top: float) -> float:
    """The QR code with its address below; the height at which it ends."""
    x = RIGHT - QR_WIDE
    if address is None:
        paper.box(x, top, QR_WIDE, QR_WIDE)
        y = top + 20
        for line in paper.lines(NO_CODE, BODY, QR_WIDE - 16):
            paper.text(x + 8, y, line, BODY)
            y += BODY * LEAD
        return top + QR_WIDE
    draw_code(paper, address, x, top)
    y = top + QR_WIDE + BODY
    paper.text(
        RIGHT - QR_WIDE / 2, y, "Scan: what came", BODY, bold=True, align="centre"
    )
    y += BODY * LEAD + 2
    code = own.load.ticket or ""
    paper.text(RIGHT - QR_WIDE / 2, y, code, LARGE, bold=True, align="centre")
    for line in paper.lines(address, SMALL, QR_WIDE):
        y += SMALL * LEAD
        paper.text(RIGHT - QR_WIDE / 2, y, line, SMALL, align="centre")
    return y + 6


def draw_code(paper: Paper, address: str, x: float, y: float) -> None:
    """The address as a QR code of QR_WIDE with its quiet zone, in vectors."""
    rows = list(segno.make_qr(address, error="m").matrix_iter(border=QUIET))
    module = QR_WIDE / len(rows)

    def put(canvas: Canvas) -> None:
        for down, row in enumerate(rows):
            for start, length in _runs(row):
                canvas.rect(
                    x + start * module,
                    HIGH - y - (down + 1) * module,
                    length * module,
                    # A hair more than a module, lest viewers show seams between rows.
                    module * 1.02,
                    stroke=0,
                    fill=1,
                )

    paper.draw(put)


def _runs(row: Iterable[int]) -> list[tuple[int, int]]:
    """Starts and lengths of the dark modules that follow each other."""
    found: list[tuple[int, int]] = []
    for index, dark in enumerate(row):
        if not dark:
            continue
        if found and sum(found[-1]) == index:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((index, 1))
    return found


def _transfer(paper: Paper, stretch: float) -> None:
    """What came, to be filled in."""
    paper.paragraph("What was handed over", LARGE, bold=True)
    paper.y += 3
    for names, high in HANDED:
        _fields(paper, names, high * stretch)


def _parties(paper: Paper, stretch: float) -> None:
    """Columns for those who give, carry and take."""
    paper.y += 3
    third = _width(len(PARTIES))
    for index, title in enumerate(PARTIES):
        x = LEFT + index * (third + GAP)
        paper.text(x, paper.y + BODY, title, BODY, bold=True)
    paper.y += BODY * LEAD + 3
    for names, high in SIGNED:
        _fields(paper, names, high * stretch)


def _stretch(paper: Paper) -> float:
    """How much of their height the fields may have, so that a ticket is one page."""
    rows = [high for _, high in (*HANDED, *SIGNED)]
    titles = (LARGE + BODY) * LEAD + 9
    room = BOTTOM - paper.y - titles - len(rows) * BETWEEN
    return min(1.0, room / sum(rows))


def _width(columns: int) -> float:
    return (RIGHT - LEFT - (columns - 1) * GAP) / columns


def _fields(paper: Paper, names: Sequence[str], high: float) -> None:
    wide = _width(len(names))
    for index, name in enumerate(names):
        x = LEFT + index * (wide + GAP)
        paper.box(x, paper.y, wide, high)
        paper.text(x + 3, paper.y + SMALL + 1, name, SMALL)
    paper.y += high + BETWEEN
