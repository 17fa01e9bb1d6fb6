"""From checked bodies of the REST interface and the pages to what services store."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import time

from api.documents.calendars import CalendarDoc
from api.documents.parts import PlaceFields
from api.documents.reading import read_build
from api.documents.reading_calendars import read_schedule
from api.documents.reading_offers import read_offer
from api.documents.reading_parts import read_hours, read_place
from api.documents.reading_trucks import read_chassis, read_truck, read_weak_roads
from api.documents.rest import BuildIn, OfferIn, PlanIn, TruckIn
from logistics.domain.calendar import WeeklyHours
from logistics.domain.errors import Refused
from logistics.domain.places import Place
from logistics.services.places import TruckDraft
from matching.domain.lifts.schedule import Schedule
from matching.domain.requests import PlanRequest
from matching.services.builds import BuildDraft
from matching.services.offers import OfferDraft

_NEW = "new"


def offer_draft(doc: OfferIn) -> OfferDraft:
    """An offer to store. Raises Refused for units that do not suit the material."""
    with _fields_of("offer"):
        offer = read_offer(doc, _NEW, 0, (), field="offer")
    place, hours = _place(doc.place)
    return OfferDraft(
        offer=offer,
        place=place,
        hours=hours,
        available_from=doc.available_from,
        available_until=doc.available_until,
        loader_hours=read_hours(doc.loader_hours) if doc.loader_hours else None,
    )


def build_draft(doc: BuildIn) -> BuildDraft:
    """A build to store. Raises Refused for walls and mixes that cannot be."""
    with _fields_of("build"):
        build = read_build(doc, _NEW, 0, field="build")
    place, hours = _place(doc.place)
    return BuildDraft(build, place, hours, doc.deliver_from, doc.deliver_until)


def calendar_draft(doc: CalendarDoc) -> Schedule:
    """A calendar to store. Raises Refused for what cannot be."""
    with _fields_of("calendar"):
        return read_schedule(doc)


def truck_draft(doc: TruckIn) -> TruckDraft:
    """A truck to store. Raises Refused for axles that cannot be or leave nothing to load."""
    base, hours = _place(doc.base)
    return TruckDraft(
        truck=read_truck(doc, _NEW, 0),
        base=base,
        base_hours=hours,
        opens=time.fromisoformat(doc.opens),
        closes=time.fromisoformat(doc.closes),
        chassis=read_chassis(doc),
        overnight=read_place(doc.overnight, _NEW) if doc.overnight else None,
        only_from=None if doc.only_from is None else tuple(doc.only_from),
    )


def plan_request(doc: PlanIn) -> PlanRequest:
    """A plan to ask for. Raises Refused for days out of order."""
    return PlanRequest(
        build_ids=tuple(doc.builds),
        first_day=doc.first_day,
        last_day=doc.last_day,
        truck_ids=None if doc.trucks is None else tuple(doc.trucks),
        reach_m=round(doc.reach_km * 1000),
        count_disposal=doc.objective == "everyone",
        name=doc.name or "",
        safe=doc.certainty == "safe",
        weak_roads=read_weak_roads(doc.weak_roads),
    )


def _place(doc: PlaceFields) -> tuple[Place, WeeklyHours]:
    return read_place(doc, _NEW), read_hours(doc.hours)


@contextmanager
def _fields_of(name: str) -> Iterator[None]:
    """Name fields as the body does, which holds one thing and not a list of them."""
    try:
        yield
    except Refused as refused:
        raise Refused(
            *(
                replace(problem, field=problem.field.removeprefix(f"{name}."))
                for problem in refused.problems
            )
        ) from None
