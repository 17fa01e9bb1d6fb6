"""The kinds of export: what each is called, what it needs to know, and what it makes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from api.exports.book import Book
from api.exports.calendar_feeds import driver_calendar, pickup_calendar, site_calendar
from api.exports.driver_sheet import driver_sheets
from api.exports.geojson import plan_geojson
from api.exports.gpx import shift_gpx
from api.exports.load_ticket import load_tickets
from api.exports.tables import costs_csv, loads_csv, shifts_csv, stops_csv
from api.exports.wording import file_words
from logistics.domain.errors import refuse

CSV = "text/csv; charset=utf-8; header=present"
ICS = "text/calendar; charset=utf-8"
GPX = "application/gpx+xml"
GEOJSON = "application/geo+json"
PDF = "application/pdf"


@dataclass(frozen=True, slots=True)
class Asked:
    """Which part of a plan is wanted: a shift by its number from 1, or a truck, build or
    place by its key."""

    shift: int | None = None
    of: str | None = None


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of export. `takes` names the query that it needs; `shift` of sheets and
    tickets may be left out."""

    about: str
    media_type: str
    ending: str
    make: Callable[[Book, Asked], bytes]
    takes: str = ""
    optional: bool = False


@dataclass(frozen=True, slots=True)
class ExportFile:
    """A made export."""

    name: str
    media_type: str
    body: bytes


def _shifts(asked: Asked) -> list[int] | None:
    return None if asked.shift is None else [asked.shift]


KINDS = {
    "geojson": Kind(
        "places and every leg of every shift (RFC 7946)",
        GEOJSON,
        "geojson",
        lambda book, _: plan_geojson(book),
    ),
    "gpx": Kind(
        "one shift as waypoints, route and track (GPX 1.1)",
        GPX,
        "gpx",
        lambda book, asked: shift_gpx(book, asked.shift or 0),
        "shift",
    ),
    "truck-calendar": Kind(
        "a truck's shifts for its driver (RFC 5545)",
        ICS,
        "ics",
        lambda book, asked: driver_calendar(book, asked.of or ""),
        "of",
    ),
    "build-calendar": Kind(
        "the loads that come to a build (RFC 5545)",
        ICS,
        "ics",
        lambda book, asked: site_calendar(book, asked.of or ""),
        "of",
    ),
    "pickup-calendar": Kind(
        "the loads that are fetched from a place (RFC 5545)",
        ICS,
        "ics",
        lambda book, asked: pickup_calendar(book, asked.of or ""),
        "of",
    ),
    "shifts-csv": Kind("a row a shift", CSV, "csv", lambda book, _: shifts_csv(book)),
    "stops-csv": Kind("a row a stop", CSV, "csv", lambda book, _: stops_csv(book)),
    "loads-csv": Kind("a row a load", CSV, "csv", lambda book, _: loads_csv(book)),
    "costs-csv": Kind(
        "a row a line of the bill", CSV, "csv", lambda book, _: costs_csv(book)
    ),
    "driver-sheet": Kind(
        "sheets for drivers, of one shift or of all (A4)",
        PDF,
        "pdf",
        lambda book, asked: driver_sheets(book, _shifts(asked)),
        "shift",
        optional=True,
    ),
    "load-tickets": Kind(
        "a ticket a load, of one shift or of all (A4)",
        PDF,
        "pdf",
        lambda book, asked: load_tickets(book, _shifts(asked)),
        "shift",
        optional=True,
    ),
}


def known_kind(name: str) -> Kind:
    """The kind of that name. Raises Refused "unknown_export"."""
    if name in KINDS:
        return KINDS[name]
    raise refuse(
        "unknown_export",
        field="kind",
        given=name,
        message="plans are not given out in this form",
        remedy=f"Ask for one of {', '.join(KINDS)}.",
    )


def export(book: Book, name: str, asked: Asked) -> ExportFile:
    """Make the export of that kind.

    Raises Refused: "unknown_export"; "export_needs_choice" where a shift, truck, build or
    place must be named; and "unknown_shift", "unknown_truck", "unknown_build" or
    "unknown_place" for one that the plan does not have.
    """
    kind = known_kind(name)
    chosen = asked.shift if kind.takes == "shift" else asked.of
    if kind.takes and not kind.optional and chosen is None:
        what = {"truck-calendar": "truck", "build-calendar": "build"}.get(name, "place")
        wanted = (
            "number of a shift, from 1" if kind.takes == "shift" else f"key of a {what}"
        )
        raise refuse(
            "export_needs_choice",
            field=kind.takes,
            given="nothing",
            message=f"{name} is made for one part of the plan",
            remedy=f"Add ?{kind.takes}= with the {wanted}.",
        )
    part = f"-{chosen}" if kind.takes and chosen is not None else ""
    return ExportFile(
        name=f"{file_words(book.plan)}-{name}{_safe(part)}.{kind.ending}",
        media_type=kind.media_type,
        body=kind.make(book, asked),
    )


def _safe(part: str) -> str:
    return "".join(own if own.isascii() and own.isalnum() else "-" for own in part)[:60]
