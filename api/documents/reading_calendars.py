"""From documents of calendars to schedules, and refusals back to the documents' fields."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from api.documents.calendars import (
    BaleDoc,
    CalendarDoc,
    CrewDoc,
    DryingDoc,
    Figures,
    LeadDoc,
    MachineDoc,
)
from api.documents.parts import DayName
from api.documents.reading_parts import read_hours, spread, within
from logistics.domain.errors import Problem, Refused
from logistics.domain.materials import Bale
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import DIGGER, Crew, MixingMachine
from matching.domain.lifts.lifting import Drying, WorkPattern
from matching.domain.lifts.merging import LeastLoad
from matching.domain.lifts.progress import Built, Received
from matching.domain.lifts.pulses import Kind, Lead
from matching.domain.lifts.schedule import NOBODY, Schedule

_WEEKDAYS: tuple[DayName, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
# Domain names of fields and those of the document, longest first.
_FIELDS = (
    ("pattern.rain_share", "rain_percent"),
    ("pattern.", ""),
    ("crew.no_show", "crew.no_show_percent"),
    ("machine.", "crew.machine."),
)


def read_schedule(doc: CalendarDoc) -> Schedule:
    """The schedule. Raises Refused, its fields under `calendar`, for what cannot be."""
    with within("calendar"), calendar_fields():
        return Schedule(
            crew=_crew(doc.crew),
            pattern=WorkPattern(
                first_day=doc.first_day,
                weekdays=_weekdays(doc.weekdays),
                days_off=tuple(doc.days_off),
                rain_days=tuple(doc.rain_days),
                rain_share=spread(doc.rain_percent),
                crews=tuple(
                    (day, _crew(own.crew))
                    for own in doc.crews
                    for day in _weekdays(own.days)
                ),
            ),
            drying=_drying(doc.drying),
            lead=_lead(doc.lead),
            lift_m=doc.lift_m,
            volunteers=read_hours(doc.volunteers) if doc.volunteers else NOBODY,
            built=tuple(
                Built(own.until, own.placed_m3, own.person_days) for own in doc.built
            ),
            received=tuple(
                Received(Kind(own.material), own.moist_kg, own.on_hand_kg)
                for own in doc.received
            ),
            least=LeastLoad(doc.least.soil_kg, doc.least.sand_kg, doc.least.straw_kg),
            bale=read_bale(doc.bale),
            by_lift=doc.deliver == "by_lift",
        )


@contextmanager
def calendar_fields() -> Iterator[None]:
    """Name fields as the calendar's document does."""
    try:
        yield
    except Refused as refused:
        raise Refused(*map(_named, refused.problems)) from None


def _named(own: Problem) -> Problem:
    for ours, theirs in _FIELDS:
        if own.field.startswith(ours):
            return replace(own, field=theirs + own.field.removeprefix(ours))
    return own


def read_bale(doc: BaleDoc) -> Bale:
    """A bale."""
    return Bale(doc.bale_kg, doc.bale_m3)


def _weekdays(names: Iterable[DayName]) -> tuple[int, ...]:
    return tuple(sorted({_WEEKDAYS.index(name) for name in names}))


def _figures(given: float | Figures) -> Spread:
    if isinstance(given, Figures):
        low = given.likely if given.low is None else given.low
        high = given.likely if given.high is None else given.high
        return Spread(low, given.likely, high)
    return Spread.exactly(given)


def _crew(doc: CrewDoc) -> Crew:
    return Crew(
        novices=_figures(doc.novices),
        trained=_figures(doc.trained),
        machine=_machine(doc.machine),
        hours_per_day=doc.hours_per_day,
        no_show=spread(doc.no_show_percent),
    )


def _machine(doc: str | MachineDoc | None) -> MixingMachine | None:
    if isinstance(doc, MachineDoc):
        return MixingMachine(_figures(doc.m3_per_hour), doc.hours_per_day)
    return DIGGER if doc else None


def _drying(doc: DryingDoc) -> Drying:
    return Drying(
        _figures(doc.warm_days), _figures(doc.cold_days), tuple(doc.cold_months)
    )


def _lead(doc: LeadDoc) -> Lead:
    return Lead(
        soak_days=doc.soak_days,
        tip_days=doc.tip_days,
        sand_days=doc.sand_days,
        straw_days=doc.straw_days,
        early_days=doc.early_days,
        covered_from=doc.roof_from,
        covered_days=doc.roof_days,
        delivery_weekdays=_weekdays(doc.delivery_days),
    )
