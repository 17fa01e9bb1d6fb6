"""A calendar of lifts as pages show it: when it ends, what is due when, where it lies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from api.documents.calendar_answers import CalendarAnswer, PulseAnswer, scheduled_answer
from api.pictures.drawing import Both, both
from api.pictures.lifts_calendar import LiftsCalendar, lifts_calendar
from api.templatetags.units import GAP, kilos, litres, m3, tonnes, weekday
from matching.domain.lifts.schedule import Schedule, ScheduledBuild

MATERIALS = {"soil": "Soil", "sand": "Sand", "straw": "Straw", "water": "Water"}


@dataclass(frozen=True, slots=True)
class DatedNeed:
    """A delivery that is wanted, in words."""

    material: str
    due: date
    not_before: date
    lifts: str
    amount: str
    loose: str
    ends: str


@dataclass(frozen=True, slots=True)
class CalendarPage:
    """A calendar, ready to be shown. `picture` is None where nothing is left to build."""

    answer: CalendarAnswer
    picture: Both[LiftsCalendar] | None
    ends: tuple[str, ...]
    needs: tuple[DatedNeed, ...]
    room: tuple[str, ...]
    built: str


def calendar_page(
    own: ScheduledBuild, schedule: Schedule, *, key: str = "lifts"
) -> CalendarPage:
    """A scheduled build with its picture, whose ids begin with `key`."""
    answer = scheduled_answer(own, schedule)
    calendar = own.calendar
    return CalendarPage(
        answer=answer,
        picture=both(
            lambda size: lifts_calendar(
                calendar, own.pulses, own.storage, size=size, key=key
            )
        )
        if calendar
        else None,
        ends=tuple(_ends(answer)),
        needs=tuple(map(_need, answer.pulses)),
        room=tuple(_room(answer)),
        built=_built(answer),
    )


def _ends(answer: CalendarAnswer) -> Iterator[str]:
    if answer.ends is None or answer.dry is None:
        yield "Nothing is left to build."
        return
    ends, dry = answer.ends, answer.dry
    lifts = len(answer.lifts)
    yield (
        f"{lifts} lift{'' if lifts == 1 else 's'} of {answer.lift_m:g}{GAP}m. The last"
        f" work day is likely {weekday(ends.likely)}, the last lift is dry"
        f" {weekday(dry.likely)}."
    )
    yield (
        f"If all goes well {weekday(ends.early)}; if it rains, people stay away and lifts"
        f" dry slowly, {weekday(ends.late)}."
    )
    if answer.person_days:
        days = answer.person_days
        yield (
            f"It takes {days.likely:.0f} days of people's work ({days.low:.0f} to"
            f" {days.high:.0f})."
        )
    if answer.why:
        yield answer.why


def _need(own: PulseAnswer) -> DatedNeed:
    amount, loose, ends = _amounts(own)
    return DatedNeed(
        MATERIALS[own.material],
        own.due,
        own.not_before,
        ", ".join(map(str, own.lifts)),
        amount,
        loose,
        ends,
    )


def _amounts(own: PulseAnswer) -> tuple[str, str, str]:
    """The likely amount, the same in another measure, and its ends."""
    low, likely, high = own.moist_kg.low, own.moist_kg.likely, own.moist_kg.high
    if own.material == "water":
        return litres(likely), "", f"{low:,.0f} to {litres(high)}"
    if own.bales:
        bales = own.bales
        return (
            f"{bales.likely:.0f}{GAP}bales",
            kilos(likely),
            f"{bales.low:.0f} to {bales.high:.0f}",
        )
    loose = f"{m3(own.loose_m3.likely)} loose" if own.loose_m3 else ""
    return tonnes(likely), loose, f"{low / 1000:.1f} to {tonnes(high)}"


def _room(answer: CalendarAnswer) -> Iterator[str]:
    """What lies on site on its fullest days, and the ground and tarps that it asks for."""
    if answer.storage is None:
        return
    yield answer.storage.text
    for pile in answer.piles:
        heap = pile.heaps[0]
        yield (
            f"The most {pile.material} at once is {m3(pile.volume_m3)}: a heap"
            f" {heap.width_m:.1f}{GAP}m wide and {heap.height_m:.1f}{GAP}m high on"
            f" {heap.ground_m2:.0f}{GAP}m² of level ground, under a tarp of"
            f" {heap.tarp_m[0]} by {heap.tarp_m[1]}{GAP}m."
        )
    if answer.straw_stack:
        stack = answer.straw_stack
        yield (
            f"The most straw at once is {stack.bales} bales, {m3(stack.volume_m3)} under a"
            " roof or on pallets with a tarp, its sides open."
        )


def _built(answer: CalendarAnswer) -> str:
    if not answer.built_m3:
        return ""
    pace = f" At the pace so far: {answer.rate_factor:.2f} of the usual rate."
    return f"Built so far: {m3(answer.built_m3)}; {m3(answer.left_m3)} are left." + (
        pace if round(answer.rate_factor, 2) != 1 else ""
    )
