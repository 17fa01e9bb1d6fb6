"""One shift as GPX 1.1: its stops as waypoints and as a route, its legs as a track."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from xml.etree import ElementTree as Xml

from api.documents.plan_models import ShiftAnswer
from api.exports.antimeridian import cut
from api.exports.book import Book, Halt, Line, halts, utc
from api.exports.wording import (
    DOING,
    SIGNS,
    clock,
    halt_words,
    order_words,
    straight_note,
    tidy,
    weekday,
)

NAMESPACE = "http://www.topografix.com/GPX/1/1"
XSI = "http://www.w3.org/2001/XMLSchema-instance"
SCHEMA = f"{NAMESPACE} {NAMESPACE}/gpx.xsd"
CREATOR = "Marlpit"


def shift_gpx(book: Book, number: int) -> bytes:
    """The shift of that number, from 1, in UTF-8. Times are UTC, positions WGS 84.

    The track has the planned times at the ends of its legs and none between. Raises
    Refused "unknown_shift".
    """
    shift = book.shift(number)
    stops = halts(book, shift)
    root = Xml.Element(
        "gpx",
        {
            "xmlns": NAMESPACE,
            "xmlns:xsi": XSI,
            "xsi:schemaLocation": SCHEMA,
            "version": "1.1",
            "creator": CREATOR,
        },
    )
    title = f"{shift.truck_name}, {weekday(shift.day)}"
    _metadata(root, book, title)
    for halt in stops:
        _point(root, "wpt", book, shift, halt)
    route = Xml.SubElement(root, "rte")
    _text(route, "name", title)
    for halt in stops:
        _point(route, "rtept", book, shift, halt)
    track = Xml.SubElement(root, "trk")
    _text(track, "name", title)
    _text(track, "desc", _track_words(book))
    for halt in stops:
        _segments(track, halt)
    # The declaration is written here: the library's own has single quotes, which some
    # devices do not read.
    body = Xml.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'.encode()


def _metadata(root: Xml.Element, book: Book, title: str) -> None:
    about = Xml.SubElement(root, "metadata")
    _text(about, "name", f"{book.plan.name}: {title}")
    _text(about, "desc", _track_words(book))
    _text(about, "time", _moment(book.stored_at))


def _track_words(book: Book) -> str:
    parts = ("Planned, not recorded.", straight_note(book), SIGNS, book.credit)
    return " ".join(own for own in parts if own)


def _point(
    parent: Xml.Element, tag: str, book: Book, shift: ShiftAnswer, halt: Halt
) -> None:
    point = _position(parent, tag, halt.place.lon, halt.place.lat)
    _text(point, "time", _moment(halt.stop.begin))
    doing = DOING[halt.stop.kind]
    when = clock(halt.stop.begin, shift.day)
    _text(point, "name", f"{halt.number + 1} {doing} {when}: {halt.place.name}")
    order = (
        [order_words(shift, halt.load)]
        if halt.load and halt.stop.kind == "load"
        else []
    )
    words = " ".join([*order, *halt_words(book, halt)])
    if words:
        _text(point, "desc", words)
    _text(point, "type", halt.stop.kind.value)


def _segments(track: Xml.Element, halt: Halt) -> None:
    parts = cut(halt.way)
    ends = {(0, 0): halt.depart}
    if parts:
        ends[(len(parts) - 1, len(parts[-1]) - 1)] = halt.stop.arrive
    for number, part in enumerate(parts):
        segment = Xml.SubElement(track, "trkseg")
        _track_points(
            segment, part, [ends.get((number, own)) for own in range(len(part))]
        )


def _track_points(
    segment: Xml.Element, line: Line, times: Iterable[datetime | None]
) -> None:
    for (lon, lat), moment in zip(line, times, strict=True):
        point = _position(segment, "trkpt", lon, lat)
        if moment is not None:
            _text(point, "time", _moment(moment))


def _position(parent: Xml.Element, tag: str, lon: float, lat: float) -> Xml.Element:
    # The schema's longitudes end below 180: the meridian itself is -180.
    east = round(lon, 6)
    at = {"lat": f"{lat:.6f}", "lon": f"{-180.0 if east >= 180 else east:.6f}"}
    return Xml.SubElement(parent, tag, at)


def _text(parent: Xml.Element, tag: str, text: str) -> None:
    Xml.SubElement(parent, tag).text = tidy(text)


def _moment(moment: datetime) -> str:
    return f"{utc(moment):%Y-%m-%dT%H:%M:%SZ}"
