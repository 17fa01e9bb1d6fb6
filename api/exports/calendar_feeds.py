"""A plan as calendars (RFC 5545): one for a truck's driver, a site, a pickup place.

An event keeps its UID when a plan is made anew, so that a calendar moves it and does not
double it: a load is known by its ticket, which follows it into the next plan, or without
one by its count among the loads of its offer for its need. SEQUENCE, LAST-MODIFIED and DTSTAMP come from the moment at which the plan was stored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from uuid import UUID, uuid5

from icalendar import Calendar, Event, Journal, vGeo, vText

from api.documents.plan_models import PlaceAnswer, ShiftAnswer
from api.exports.book import Book, Carried, Halt, carried, halts, utc
from api.exports.wording import (
    AT_THE_GATE,
    DOING,
    SIGNS,
    TIPPING,
    clock,
    halt_words,
    limit_words,
    load_words,
    notes,
    order_words,
    tidy,
)
from logistics.domain.errors import Refused, refuse
from logistics.domain.planning.result import StopKind

_SPACE = UUID("3b0a7d0e-5e0c-4b53-9d1a-7b6c2f4e8a11")
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
PRODUCT = "-//Marlpit//Haul plan//EN"
STANDING = (StopKind.LEAVE, StopKind.RETURN)


def driver_calendar(book: Book, truck: str) -> bytes:
    """All shifts of a truck: each as a whole, and its loads, tips, rests and cleanings.

    Raises Refused "unknown_truck" for a key that drives no shift of this plan.
    """
    own = [
        (number, shift)
        for number, shift in enumerate(book.plan.shifts, start=1)
        if shift.truck == truck
    ]
    if not own:
        raise _unknown("truck", truck, [shift.truck for shift in book.plan.shifts])
    nth_of = dict(
        _numbered(part for part in carried(book) if part.shift.truck == truck)
    )
    events: list[Event] = []
    of_day: dict[str, int] = {}
    for number, shift in sorted(own, key=lambda pair: (pair[1].leave, pair[0])):
        nth = of_day[shift.day] = of_day.get(shift.day, 0) + 1
        who = (truck, _spot(halts(book, shift)[0].place), shift.day, str(nth))
        events.append(_whole(book, shift, who))
        events.extend(_stops(book, number, shift, nth_of, who))
    return _calendar(book, f"{own[0][1].truck_name}: {book.plan.name}", events, truck)


def site_calendar(book: Book, build: str) -> bytes:
    """All loads that come to a build. Raises Refused "unknown_build"."""
    names = {own.build: own.name for own in book.plan.builds}
    if build not in names:
        raise _unknown("build", build, list(names))
    events = [
        _load_event(book, own, own.drop, ("site", build), own.nth)
        for own in carried(book)
        if own.deal.build == build
    ]
    return _calendar(book, f"{names[build]}: loads that come", events, build)


def pickup_calendar(book: Book, place: str) -> bytes:
    """All loads that are fetched from a place. Raises Refused "unknown_place"."""
    at = book.places()
    if place not in at:
        raise _unknown("place", place, list(at))
    events = [
        _load_event(book, own, own.pickup, ("pickup", place), own.nth)
        for own in carried(book)
        if own.pickup.place.key == place
    ]
    return _calendar(book, f"{at[place].name}: loads that are fetched", events, place)


def _numbered(parts: Iterable[Carried]) -> Iterator[tuple[tuple[int, int], int]]:
    """The loads of one truck, each with its count among those of its deal."""
    count: dict[int, int] = {}
    for part in parts:
        count[part.load.deal] = count.get(part.load.deal, 0) + 1
        yield (part.shift_number, part.load_number), count[part.load.deal]


def _whole(book: Book, shift: ShiftAnswer, who: tuple[str, ...]) -> Event:
    """The shift itself; it takes no time of its own from the calendar's day."""
    stops = halts(book, shift)
    lines = [
        f"{clock(own.stop.begin, shift.day)} {DOING[own.stop.kind]}: {own.place.name}"
        for own in stops
    ]
    limits = limit_words(shift)
    text = [f"The truck {limits}."] if limits else []
    event = _event(
        book,
        uid=_uid("shift", *who),
        times=(shift.leave, shift.back),
        title=f"Shift: {shift.truck_name}, {len(shift.loads)} loads, {shift.km:g} km",
        place=stops[0].place,
        text=[*text, *lines, *TIPPING, SIGNS],
    )
    event.add("transp", "TRANSPARENT")
    return event


def _stops(
    book: Book,
    number: int,
    shift: ShiftAnswer,
    nth_of: dict[tuple[int, int], int],
    who: tuple[str, ...],
) -> Iterator[Event]:
    count: dict[StopKind, int] = {}
    for halt in halts(book, shift):
        kind = halt.stop.kind
        if kind in STANDING:
            continue
        count[kind] = count.get(kind, 0) + 1
        order: list[str] = []
        if halt.load is None or halt.load_number is None:
            uid = _uid("driver", *who, kind.value, str(count[kind]))
        else:
            nth = nth_of[number, halt.load_number]
            uid = _load_uid(book, halt, ("driver", shift.truck), nth)
            order = [order_words(shift, halt.load)] if kind is StopKind.LOAD else []
        yield _event(
            book,
            uid=uid,
            times=(halt.stop.begin, halt.stop.end),
            title=_title(halt),
            place=halt.place,
            text=[*order, *halt_words(book, halt), *_cautions(kind)],
        )


def _title(halt: Halt) -> str:
    doing = DOING[halt.stop.kind]
    if halt.load is None:
        return f"{doing}: {halt.place.name}"
    return f"{doing} {halt.load.material}, {halt.load.moist_kg / 1000:.2f} t: {halt.place.name}"


def _cautions(kind: StopKind) -> tuple[str, ...]:
    if kind is StopKind.TIP:
        return (*TIPPING, AT_THE_GATE)
    return (AT_THE_GATE,) if kind is StopKind.LOAD else ()


def _load_event(
    book: Book, own: Carried, halt: Halt, feed: tuple[str, str], nth: int
) -> Event:
    """A load as those at the place see it."""
    comes = halt.stop.kind is StopKind.TIP
    verb = "comes from" if comes else "goes to"
    other = own.deal.offer_name if comes else own.deal.build_name
    text = [
        f"{load_words(own.load)} {verb} {other}.",
        f"Truck: {own.shift.truck_name}.",
        order_words(own.shift, own.load),
        *notes(halt.place),
        *_cautions(halt.stop.kind),
    ]
    if own.load.ticket and book.receipts:
        text.append(f"Receipt: {book.receipts}{own.load.ticket}/")
    return _event(
        book,
        uid=_load_uid(book, halt, feed, nth),
        times=(halt.stop.begin, halt.stop.end),
        title=f"{own.load.material.capitalize()}, {own.load.moist_kg / 1000:.2f} t,"
        f" {'from' if comes else 'for'} {other} ({own.shift.truck_name})",
        place=halt.place,
        text=text,
    )


def _load_uid(book: Book, halt: Halt, feed: tuple[str, str], nth: int) -> str:
    """The identity of a load in one feed: its ticket, else that it is the nth of its deal.

    The spot is part of it because keys are only those of one deployment.
    """
    assert halt.load is not None
    deal = book.plan.deals[halt.load.deal]
    where = (*feed, halt.stop.kind.value, _spot(halt.place))
    if halt.load.ticket:
        return _uid(*where, halt.load.ticket)
    return _uid(*where, deal.offer, deal.need, str(nth))


def _spot(place: PlaceAnswer) -> str:
    """A position to some ten metres."""
    return f"{place.lat:.4f} {place.lon:.4f}"


def _uid(*parts: str) -> str:
    return str(uuid5(_SPACE, "\n".join(parts)))


def _event(
    book: Book,
    *,
    uid: str,
    times: tuple[datetime, datetime],
    title: str,
    place: PlaceAnswer,
    text: list[str],
) -> Event:
    event = Event()
    event.add("uid", uid)
    _stamp(event, book)
    event.add("dtstart", utc(times[0]))
    if times[1] > times[0]:
        event.add("dtend", utc(times[1]))
    event.add("summary", tidy(title))
    event.add("location", tidy(place.name))
    event.add("geo", vGeo((round(place.lat, 6), round(place.lon, 6))))
    event.add("description", tidy("\n".join(text)))
    event.add("status", "CONFIRMED")
    return event


def _stamp(part: Event | Journal, book: Book) -> None:
    """When it was stored. A later plan counts higher: seconds since 2020 fit the 32 bits
    of SEQUENCE until 2088."""
    stored = utc(book.stored_at).replace(microsecond=0)
    part.add("dtstamp", stored)
    part.add("last-modified", stored)
    part.add("sequence", int((stored - _EPOCH).total_seconds()))


def _calendar(book: Book, name: str, events: list[Event], key: str) -> bytes:
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # These two have no type of their own in the library, and so no escaping.
    calendar.add("name", vText(tidy(name)))
    calendar.add("x-wr-calname", vText(tidy(name)))
    for event in events:
        calendar.add_component(event)
    if not events:
        calendar.add_component(_nothing(book, key))
    made: bytes = calendar.to_ical()
    return made


def _nothing(book: Book, key: str) -> Journal:
    """A calendar must have a component; one without loads says that none comes."""
    note = Journal()
    note.add("uid", _uid("nothing", key))
    _stamp(note, book)
    note.add("dtstart", utc(book.stored_at).date())
    note.add("summary", "No load in this plan")
    return note


def _unknown(what: str, given: str, known: list[str]) -> Refused:
    listed = ", ".join(dict.fromkeys(known)) or "none"
    return refuse(
        f"unknown_{what}",
        field="of",
        given=given,
        message=f"this plan has no calendar for such a {what}",
        remedy=f"Give one of these keys: {listed[:400]}.",
    )
