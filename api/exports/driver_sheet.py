"""The driver's sheet: a shift's stops in order, cautions, rests and a map, on A4."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from api.documents.plan_models import ShiftAnswer
from api.exports.book import Book, Halt, halts
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
from api.exports.route_map import BADGE, badge, draw_map, letters_of
from api.exports.wording import (
    AT_THE_GATE,
    DOING,
    SIGNS,
    TIPPING,
    access_words,
    clock,
    goal_words,
    halt_words,
    limit_words,
    straight_note,
    vehicle_words,
    weekday,
)
from logistics.domain.planning.result import StopKind

TIME_AT, BADGE_AT, WORDS_AT = LEFT, LEFT + 35 * mm, LEFT + 41 * mm
TICK = 6.5 * mm
WORDS_WIDE = RIGHT - WORDS_AT - TICK - 4 * mm
HANDLING = (StopKind.LOAD, StopKind.TIP)
MAP_HIGH, MAP_LEAST = 120 * mm, 80 * mm


def driver_sheets(book: Book, numbers: Sequence[int] | None = None) -> bytes:
    """The sheets of some shifts, by their numbers from 1, or of all, as one PDF.

    Raises Refused "unknown_shift".
    """
    chosen = range(1, len(book.plan.shifts) + 1) if numbers is None else numbers
    shifts = [book.shift(own) for own in chosen]
    paper = Paper(f"Driver's sheets: {book.plan.name}", _foot(book))
    for shift in shifts:
        _sheet(paper, book, shift)
    if not shifts:
        paper.section("")
        paper.paragraph("No truck drives in this plan.", LARGE, bold=True)
    return paper.render()


def _foot(book: Book) -> str:
    which = plan_words(book.plan.name, book.stored_at)
    return f"{which}. Times: {book.plan.time_zone}."


def _sheet(paper: Paper, book: Book, shift: ShiftAnswer) -> None:
    stops = halts(book, shift)
    letters = letters_of(stops)
    paper.section(f"{shift.truck_name}, {weekday(shift.day)}")
    _title(paper, shift)
    paper.warning("Before the body goes up", (*TIPPING, AT_THE_GATE))
    for halt in stops:
        _stop(paper, book, shift, halt, letters)
    paper.rule()
    paper.y += 10
    _map(paper, book, stops, letters)


def _title(paper: Paper, shift: ShiftAnswer) -> None:
    paper.paragraph(shift.truck_name, 26, bold=True)
    paper.paragraph(weekday(shift.day), 20, bold=True)
    loads = f"{len(shift.loads)} load{'' if len(shift.loads) == 1 else 's'}"
    times = f"{clock(shift.leave, shift.day)} to {clock(shift.back, shift.day)}"
    paper.paragraph(f"{times} · {shift.km:.0f} km · {loads}", LARGE)
    limits = limit_words(shift)
    if limits:
        paper.paragraph(
            f"{limits.capitalize()}, whichever comes first", LARGE, bold=True
        )
    on_road = vehicle_words(shift)
    if on_road:
        paper.paragraph(on_road, BODY)
    paper.y += 8


def _stop(
    paper: Paper,
    book: Book,
    shift: ShiftAnswer,
    halt: Halt,
    letters: Mapping[str, str],
) -> None:
    title = f"{DOING[halt.stop.kind]}: {halt.place.name}"
    heads = [title]
    if halt.stop.kind is StopKind.LOAD and halt.load is not None:
        heads.append(goal_words(halt.load))
    heads = [
        line for own in heads for line in paper.lines(own, LARGE, WORDS_WIDE, bold=True)
    ]
    details = [
        line
        for own in (*_drive(halt), *halt_words(book, halt), *_looks(book, shift, halt))
        for line in paper.lines(own, BODY, WORDS_WIDE)
    ]
    high = len(heads) * LARGE * LEAD + len(details) * BODY * LEAD
    paper.need(max(high, 44) + 14)
    paper.rule()
    paper.y += 5
    top = paper.y
    _left(paper, shift, halt, letters)
    for line in heads:
        paper.text(WORDS_AT, paper.y + LARGE, line, LARGE, bold=True)
        paper.y += LARGE * LEAD
    for line in details:
        paper.text(WORDS_AT, paper.y + BODY, line, BODY)
        paper.y += BODY * LEAD
    paper.box(RIGHT - TICK, top + 2, TICK, TICK, 1.4)
    paper.y = max(paper.y, top + 36) + 7


def _left(
    paper: Paper, shift: ShiftAnswer, halt: Halt, letters: Mapping[str, str]
) -> None:
    """Time and letter of a stop."""
    paper.text(TIME_AT, paper.y + 19, f"{halt.stop.begin:%H:%M}", 21, bold=True)
    under = []
    if halt.stop.end > halt.stop.begin:
        under.append(f"to {halt.stop.end:%H:%M}")
    if clock(halt.stop.begin, shift.day).endswith(")"):
        under.append(f"{halt.stop.begin:%a}")
    if under:
        paper.text(TIME_AT, paper.y + 33, " ".join(under), BODY)
    y, letter = HIGH - paper.y - 12, letters[halt.place.key]

    def put(canvas: Canvas) -> None:
        badge(canvas, BADGE_AT - BADGE, y, letter)

    paper.draw(put)


def _drive(halt: Halt) -> tuple[str, ...]:
    if not halt.stop.leg_km and halt.stop.place == halt.start.key:
        return ()
    laden = "loaded" if halt.aboard else "empty"
    text = f"Drive {halt.stop.leg_km:.1f} km, {halt.stop.leg_minutes:.0f} min, {laden}."
    return (text,)


def _looks(book: Book, shift: ShiftAnswer, halt: Halt) -> Iterator[str]:
    """What the driver should look at before going in, said on the first visit."""
    visits = [own for own in shift.stops if own.kind in HANDLING]
    at = [own for own in visits if own.place == halt.stop.place]
    if at and at[0] is halt.stop:
        yield from access_words(book, shift, halt.place)


def _map(
    paper: Paper, book: Book, stops: Sequence[Halt], letters: Mapping[str, str]
) -> None:
    names = {letters[own.place.key]: own.place.name for own in stops}
    key = [
        line
        for letter, name in names.items()
        for line in paper.lines(f"{letter}  {name}", BODY, RIGHT - LEFT)
    ]
    note = " ".join(own for own in (straight_note(book), book.credit) if own)
    under = len(key) * BODY * LEAD + 3 * SMALL * LEAD + 24
    paper.need(MAP_LEAST + under)
    high = min(MAP_HIGH, max(MAP_LEAST, BOTTOM - paper.y - under))
    draw_map(paper, stops, letters, (LEFT, paper.y, RIGHT - LEFT, high))
    paper.y += high + 4
    words = f"Thick: loaded. Dashed: empty. {SIGNS} {note}"
    paper.paragraph(words.strip(), SMALL)
    paper.y += 3
    for line in key:
        paper.need(BODY * LEAD)
        paper.text(LEFT, paper.y + BODY, line, BODY)
        paper.y += BODY * LEAD
    paper.y += 6
