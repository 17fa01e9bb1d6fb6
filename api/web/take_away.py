"""The links of a plan page to the forms in which the plan is taken along."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from api.documents.plan_models import PlanAnswer
from api.templatetags.units import weekday
from logistics.domain.planning.result import StopKind


@dataclass(frozen=True, slots=True)
class Link:
    """A file; `about` tells links of one name apart."""

    words: str
    address: str
    about: str = ""


@dataclass(frozen=True, slots=True)
class Bundle:
    """Files for one reader, with what to do with them."""

    title: str
    hint: str
    links: tuple[Link, ...]


def take_away(public_id: UUID, plan: PlanAnswer) -> tuple[Bundle, ...]:
    """What drivers, sites and spreadsheets may take along; none without a shift."""
    if not plan.shifts:
        return ()
    return (
        _drivers(public_id, plan),
        _sites(public_id, plan),
        _spreadsheets(public_id),
    )


def _drivers(public_id: UUID, plan: PlanAnswer) -> Bundle:
    links = [
        Link("Sheets of all shifts (PDF)", _address(public_id, "driver-sheet")),
        Link("Tickets of all loads (PDF)", _address(public_id, "load-tickets")),
    ]
    for number, shift in enumerate(plan.shifts, start=1):
        about = f"{shift.truck_name}, {weekday(shift.day)}"
        for words, kind in (
            ("Sheet (PDF)", "driver-sheet"),
            ("Tickets (PDF)", "load-tickets"),
            ("Route (GPX)", "gpx"),
        ):
            if kind != "load-tickets" or shift.loads:
                links.append(
                    Link(words, _address(public_id, kind, shift=number), about)
                )
    trucks = {shift.truck: shift.truck_name for shift in plan.shifts}
    links += [
        Link("Calendar", _address(public_id, "truck-calendar", of=key), name)
        for key, name in trucks.items()
    ]
    hint = "A ticket goes with each load; its code opens the page of its receipt."
    return Bundle("For drivers", hint, tuple(links))


def _sites(public_id: UUID, plan: PlanAnswer) -> Bundle:
    served = {deal.build for deal in plan.deals}
    names = {own.key: own.name for own in plan.places}
    fetched = dict.fromkeys(
        stop.place
        for shift in plan.shifts
        for stop in shift.stops
        if stop.kind == StopKind.LOAD
    )
    links = [
        Link(
            "Loads that come",
            _address(public_id, "build-calendar", of=own.build),
            own.name,
        )
        for own in plan.builds
        if own.build in served
    ]
    links += [
        Link(
            "Loads that are fetched",
            _address(public_id, "pickup-calendar", of=key),
            names[key],
        )
        for key in fetched
    ]
    hint = "Calendars (iCalendar): a later plan moves what it can and doubles nothing."
    return Bundle("For sites and farms", hint, tuple(links))


def _spreadsheets(public_id: UUID) -> Bundle:
    kinds = {
        "Shifts (CSV)": "shifts-csv",
        "Stops (CSV)": "stops-csv",
        "Loads (CSV)": "loads-csv",
        "Bill (CSV)": "costs-csv",
        "Map (GeoJSON)": "geojson",
    }
    return Bundle(
        "For spreadsheets and maps",
        "Units stand in the headers; text is UTF-8.",
        tuple(Link(words, _address(public_id, kind)) for words, kind in kinds.items()),
    )


def _address(public_id: UUID, kind: str, **query: object) -> str:
    path = reverse("rest-plan-export", args=[public_id, kind])
    return f"{path}?{urlencode(query)}" if query else path
