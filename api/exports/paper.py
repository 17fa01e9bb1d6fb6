"""A4 pages filled from the top: text that wraps, rules, boxes, and a foot on each page.

Lengths are points; `y` runs from the top of the page downwards. All is black on white,
for sheets are read outdoors and copied.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from api.exports.fonts import BOLD, PLAIN, covered, printable, width
from api.exports.wording import tidy

WIDE, HIGH = A4
MARGIN = 15 * mm
LEFT, RIGHT = MARGIN, WIDE - MARGIN
TOP, BOTTOM = MARGIN, HIGH - 22 * mm
FOOT, SMALL, BODY, LARGE = 8.5, 9.5, 12.0, 15.0
LEAD = 1.25
MOST_NAME = 60
LOST_NOTE = "Letters that this sheet cannot print are shown as ?"

Draw = Callable[[Canvas], None]


@dataclass(slots=True)
class Paper:
    """Pages under construction. `head` is repeated on the pages that follow the first of
    a section, `foot` stands on all."""

    title: str
    foot: str
    head: str = ""
    y: float = TOP
    lost: bool = False
    pages: list[list[Draw]] = field(default_factory=list)

    def section(self, head: str) -> None:
        """Begin a new page without a head; its followers have this one."""
        self.head = head
        self.pages.append([])
        self.y = TOP

    def need(self, height: float) -> None:
        """Go on to a new page unless so much room is left."""
        if self.y + height <= BOTTOM:
            return
        self.pages.append([])
        self.y = TOP
        if self.head:
            line = self.lines(self.head, SMALL, RIGHT - LEFT, bold=True)[0]
            self.text(LEFT, self.y + SMALL, line, SMALL, bold=True)
            self.y += SMALL * LEAD + 4

    def draw(self, own: Draw) -> None:
        """Add a drawing to the page."""
        self.pages[-1].append(own)

    def fit(self, text: str) -> str:
        """The text as the font can print it; what is lost is remembered."""
        kept, lost = printable(tidy(text))
        self.lost = self.lost or lost
        return kept

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "left",
    ) -> None:
        """One line with its base at `y`."""
        words = self.fit(text)
        shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
        start = x - shift * width(words, size, bold=bold)

        def put(canvas: Canvas) -> None:
            canvas.setFont(BOLD if bold else PLAIN, size)
            canvas.drawString(start, HIGH - y, words)

        self.draw(put)

    def lines(
        self, text: str, size: float, room: float, *, bold: bool = False
    ) -> list[str]:
        """The text broken into lines of at most `room`."""
        found = []
        for part in self.fit(text).split("\n"):
            found += _wrapped(part.split(), size, room, bold=bold)
        return found

    def paragraph(
        self,
        text: str,
        size: float = BODY,
        *,
        x: float = LEFT,
        room: float = RIGHT - LEFT,
        bold: bool = False,
        most: int | None = None,
    ) -> None:
        """Lines at the present height, which moves below them; at most so many, of which
        the last ends with an ellipsis if more is left out."""
        lines = self.lines(text, size, room, bold=bold)
        if most is not None and len(lines) > most:
            lines = [*lines[: most - 1], f"{lines[most - 1][:-2].rstrip()}…"]
        for line in lines:
            self.text(x, self.y + size, line, size, bold=bold)
            self.y += size * LEAD

    def rule(self, weight: float = 0.8) -> None:
        """A line across the page at the present height."""
        y = HIGH - self.y

        def put(canvas: Canvas) -> None:
            canvas.setLineWidth(weight)
            canvas.line(LEFT, y, RIGHT, y)

        self.draw(put)

    def box(
        self, x: float, y: float, wide: float, high: float, weight: float = 1.0
    ) -> None:
        """An empty frame with its upper left corner at x, y."""

        def put(canvas: Canvas) -> None:
            canvas.setLineWidth(weight)
            canvas.rect(x, HIGH - y - high, wide, high)

        self.draw(put)

    def warning(self, title: str, lines: Sequence[str]) -> None:
        """A heavy frame with a title and a list."""
        inner = RIGHT - LEFT - 24
        wrapped = [
            (index, line)
            for own in lines
            for index, line in enumerate(self.lines(own, BODY, inner - 12))
        ]
        high = 14 + LARGE * LEAD + len(wrapped) * BODY * LEAD
        self.need(high + 6)
        self.box(LEFT, self.y, RIGHT - LEFT, high, 2.5)
        self.y += 5
        self.paragraph(title, LARGE, x=LEFT + 12, room=inner, bold=True)
        for index, line in wrapped:
            if not index:
                self.text(LEFT + 12, self.y + BODY, "•", BODY, bold=True)
            self.text(LEFT + 24, self.y + BODY, line, BODY)
            self.y += BODY * LEAD
        self.y += 9 + 6

    def render(self) -> bytes:
        """The pages as a PDF; the same pages give the same bytes."""
        covered()
        out = io.BytesIO()
        canvas = Canvas(out, pagesize=A4, invariant=1, lang="en")
        canvas.setTitle(self.fit(self.title))
        canvas.setCreator("Marlpit")
        foot = f"{self.foot} {LOST_NOTE}" if self.lost else self.foot
        words = self.lines(foot, FOOT, RIGHT - LEFT - 65)
        for number, page in enumerate(self.pages, start=1):
            for own in page:
                own(canvas)
            _foot(canvas, words, f"Page {number} of {len(self.pages)}")
            canvas.showPage()
        canvas.save()
        return out.getvalue()


def _wrapped(
    words: Sequence[str], size: float, room: float, *, bold: bool
) -> list[str]:
    lines = [""]
    for word in words:
        for piece in _pieces(word, size, room, bold=bold):
            longer = f"{lines[-1]} {piece}".strip()
            if width(longer, size, bold=bold) <= room:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, size: float, room: float, *, bold: bool) -> list[str]:
    """A word cut where it is longer than a line."""
    pieces = [""]
    for own in word:
        if pieces[-1] and width(pieces[-1] + own, size, bold=bold) > room:
            pieces.append("")
        pieces[-1] += own
    return pieces


def _foot(canvas: Canvas, words: Sequence[str], number: str) -> None:
    canvas.setLineWidth(0.5)
    canvas.line(LEFT, 20 * mm, RIGHT, 20 * mm)
    y = 20 * mm - FOOT - 2
    canvas.setFont(PLAIN, FOOT)
    canvas.drawRightString(RIGHT, y, number)
    for line in words:
        canvas.drawString(LEFT, y, line)
        y -= FOOT * 1.2


def plan_words(name: str, stored: datetime) -> str:
    """Which plan a page belongs to; long names are cut, for a foot has few lines."""
    short = name if len(name) <= MOST_NAME else f"{name[: MOST_NAME - 1]}…"
    return f"{short}, plan of {stored.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
