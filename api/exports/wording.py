"""Stops, loads and cautions in words, the same in every export."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from datetime import date, datetime

from api.documents.plan_models import LoadAnswer, PlaceAnswer, PlanAnswer, ShiftAnswer
from api.exports.book import Book, Halt
from logistics.domain.access import LineState
from logistics.domain.planning.result import StopKind

DOING = {
    StopKind.LEAVE: "Leave",
    StopKind.LOAD: "Load",
    StopKind.TIP: "Tip",
    StopKind.REST: "Rest",
    StopKind.CLEAN: "Clean the body",
    StopKind.RETURN: "Back",
}
TIPPING = (
    "Tip only on level and firm ground that is clear overhead.",
    "Never raise a body under wires.",
    "Nobody stands behind or beside a truck that tips.",
)
AT_THE_GATE = "Judge the load at the gate: the first can be clean and a later one not."
SIGNS = (
    "Weights and sizes were compared only with the limits that were given. No route is"
    " called legal: posted signs and the driver decide."
)
STRAIGHT = "Without a road network the legs are drawn as straight lines."
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = [
    "Jan",
    "Feb",
    "Mar",
    "Apr",
    "May",
    "Jun",
    "Jul",
    "Aug",
    "Sep",
    "Oct",
    "Nov",
    "Dec",
]
_KNOWN = frozenset(PlaceAnswer.model_fields) & {"key", "name", "lat", "lon", "roles"}


def weekday(day: date | str) -> str:
    """A day as on a calendar: Mon 10 May 2027."""
    own = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{DAYS[own.weekday()]} {own.day} {MONTHS[own.month - 1]} {own.year}"


def clock(moment: datetime, day: str) -> str:
    """The local time of a moment; one that lies on another day than `day` says so."""
    text = f"{moment:%H:%M}"
    apart = (moment.date() - date.fromisoformat(day)).days
    return f"{text} ({DAYS[moment.weekday()]})" if apart else text


def minutes(seconds: float) -> str:
    """A time in whole minutes, from an hour on with hours."""
    whole = round(seconds / 60)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60:02d} min"


def tonnes(kg: float) -> str:
    """kg as t, to the ten kilograms that a weighbridge shows."""
    return f"{kg / 1000:.2f} t"


def load_words(load: LoadAnswer) -> str:
    """A load in short: what, how much by mass and by volume, and which limit bound."""
    return (
        f"{load.material}, {tonnes(load.moist_kg)}, {load.loose_m3:.1f} m³ loose"
        f" ({full_words(load)})"
    )


def full_words(load: LoadAnswer) -> str:
    """Which limit stopped the loading."""
    return f"full by {load.bound}" if load.bound else "part load"


def limit_words(shift: ShiftAnswer) -> str:
    """Both limits of the truck; empty in plans stored before they were kept."""
    if shift.payload_kg is None or shift.body_m3 is None:
        return ""
    return f"carries at most {tonnes(shift.payload_kg)} and {shift.body_m3:.1f} m³"


SIZES = {
    "gross_t": "{:.1f} t in all",
    "axle_t": "{:.1f} t on the heaviest axle",
    "height_m": "{:.2f} m high",
    "width_m": "{:.2f} m wide",
    "length_m": "{:.2f} m long",
}


def vehicle_words(shift: ShiftAnswer) -> str:
    """The loaded truck as signs measure it; empty if nothing is known of it."""
    known = [
        form.format(shift.vehicle[name])
        for name, form in SIZES.items()
        if name in shift.vehicle
    ]
    return f"On the road, loaded: {', '.join(known)}" if known else ""


def access_words(book: Book, shift: ShiftAnswer, place: PlaceAnswer) -> Iterator[str]:
    """What the access card of a place denies this truck, and what it leaves open."""
    lines = [
        line
        for check in book.plan.truck_checks
        if check.truck == shift.truck and shift.day in check.days
        for own in check.places
        if own.place == place.key
        for line in own.lines
    ]
    silent = [own for own in lines if own.words.startswith("the place")]
    yield from (
        f"{'Does not pass' if own.state is LineState.FAILS else 'Look first'}:"
        f" {own.line}: the truck {own.words}."
        for own in lines
        if own.state is not LineState.OK and own not in silent
    )
    if silent:
        yield f"Look first, for nobody said: {', '.join(own.line for own in silent)}."


def goal_words(load: LoadAnswer) -> str:
    """How much to load, by mass and by volume."""
    return (
        f"{load.material.capitalize()}: {tonnes(load.moist_kg)} or"
        f" {load.loose_m3:.1f} m³ loose"
    )


def order_words(shift: ShiftAnswer, load: LoadAnswer) -> str:
    """How much to load, when to stop, and what the truck carries at most."""
    limits = limit_words(shift)
    text = f"{goal_words(load)}, whichever comes first"
    return f"{text}; the truck {limits}." if limits else f"{text}."


def halt_words(book: Book, halt: Halt) -> Iterator[str]:
    """What a driver does at a stop, line by line, without place and time."""
    if halt.load is not None:
        deal = book.plan.deals[halt.load.deal]
        if halt.stop.kind is StopKind.LOAD:
            kept = f"whichever comes first ({full_words(halt.load)})"
            yield f"Stop at {kept}. {deal.offer_name}, for {deal.build_name}."
        else:
            words = load_words(halt.load)
            yield f"{words[:1].upper()}{words[1:]}, for {deal.build_name}."
    length = (halt.stop.end - halt.stop.begin).total_seconds()
    if halt.stop.kind is StopKind.REST:
        yield (
            f"{minutes(length)} without driving or other work. Never leave it out; when"
            " tired, rest longer."
        )
    if halt.stop.kind is StopKind.CLEAN:
        yield f"{minutes(length)}: nothing of the last load may stay in the body."
    if halt.stop.begin > halt.stop.arrive:
        waited = (halt.stop.begin - halt.stop.arrive).total_seconds()
        yield f"There at {halt.stop.arrive:%H:%M}: {minutes(waited)} to wait."
    yield from notes(halt.place)


def notes(place: PlaceAnswer) -> Iterator[str]:
    """Whatever the document says of a place beyond its name and position: gate, access,
    contact. Fields that are empty say nothing."""
    more = place.model_dump(mode="json", exclude=set(_KNOWN))
    for name, value in more.items():
        yield from _note(name.replace("_", " "), value)


def _note(name: str, value: object) -> Iterator[str]:
    if value is None or value == "" or isinstance(value, bool):
        return
    if isinstance(value, dict):
        for key, own in value.items():
            yield from _note(f"{name}, {str(key).replace('_', ' ')}", own)
    elif isinstance(value, list):
        for own in value:
            yield from _note(name, own)
    else:
        yield f"{name.capitalize()}: {value}"


def straight_note(book: Book) -> str:
    """Empty if every way follows roads; else that some or all do not."""
    legs = {
        (before.place, stop.place)
        for shift in book.plan.shifts
        for before, stop in zip(shift.stops, shift.stops[1:], strict=False)
        if before.place != stop.place
    }
    missing = len(legs - set(book.ways))
    if not missing:
        return ""
    if missing == len(legs):
        return STRAIGHT
    return f"{missing} of {len(legs)} ways are drawn straight: no road was found."


def file_words(plan: PlanAnswer) -> str:
    """The plan's name as part of a file name: ASCII letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", plan.name).encode("ascii", "ignore").decode()
    kept = "".join(own if own.isalnum() else "-" for own in plain.lower())
    return "-".join(part for part in kept.split("-") if part)[:60] or "plan"


def tidy(text: str) -> str:
    """Text without control characters; line breaks become one kind."""
    lined = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        own
        for own in lined
        if own in "\n\t"
        or (unicodedata.category(own) not in {"Cc", "Cs"} and own not in "\ufffe\uffff")
    )
