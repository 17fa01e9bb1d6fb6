"""What can happen to a plan, as forms: one thing at a time, three or four questions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from api.documents.plan_models import PlanAnswer
from api.templatetags.units import clock, tonnes, weekday
from api.web.asking import Group, Kind, Options, Question

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Trucks that the plan was made without: ids and names."""

    others: Options


@dataclass(frozen=True, slots=True)
class ChangeForm:
    """One thing that can happen: its name, a line on it, its questions, and how answers
    become part of the document that is sent."""

    kind: str
    title: str
    about: str
    groups: Callable[[PlanAnswer, Fleet, datetime], tuple[Group, ...]]
    read: Callable[[Values, PlanAnswer, ZoneInfo], Values]


def _span(now: datetime, end: str) -> tuple[Group, ...]:
    starts = (
        Question("starts_day", "From", kind=Kind.DAY, usual=now.date().isoformat()),
        Question("starts_time", "Time", kind=Kind.TIME, usual=f"{now:%H:%M}"),
    )
    ends = Question("ends_day", end, kind=Kind.DAY, hint="empty if nobody knows")
    return Group("", starts, row=True), Group("", (ends,))


def _one(name: str, label: str, options: Options) -> Group:
    return Group(
        "",
        (Question(name, label, kind=Kind.SELECT, options=options, needed=True),),
    )


def _trucks(plan: PlanAnswer) -> Options:
    return tuple(sorted({own.truck: own.truck_name for own in plan.shifts}.items()))


def _places(plan: PlanAnswer, *, loads: bool) -> Options:
    used = {
        (stop.place, stop.place_name)
        for shift in plan.shifts
        for stop in shift.stops
        if stop.kind == "load" or (stop.kind == "tip" and not loads)
    }
    return tuple(sorted(used, key=lambda own: own[1]))


def _shifts(plan: PlanAnswer) -> Options:
    return tuple(
        (str(number), f"{weekday(date.fromisoformat(own.day))}: {own.truck_name}")
        for number, own in enumerate(plan.shifts)
    )


def _loads(plan: PlanAnswer) -> Options:
    found = []
    for shift in plan.shifts:
        tips = {own.trip: own for own in shift.stops if own.kind == "tip"}
        for number, load in enumerate(shift.loads):
            tip = tips.get(number)
            if load.ticket and tip:
                when = f"{weekday(tip.begin.date())} {clock(tip.begin)}"
                what = f"{load.material.value} {tonnes(load.moist_kg)}"
                found.append((load.ticket, f"{when}, {what} to {tip.place_name}"))
    return tuple(found)


def _deals(plan: PlanAnswer) -> Options:
    return tuple(
        (str(number), f"{own.offer_name} to {own.build_name}: {tonnes(own.moist_kg)}")
        for number, own in enumerate(plan.deals)
    )


def _while(values: Values, zone: ZoneInfo) -> Values:
    """Moments of days and times that were typed; nonsense is left to the document."""
    found: Values = {}
    if values.get("starts_day"):
        at = f"{values['starts_day']}T{values.get('starts_time') or '00:00'}"
        found["starts"] = _moment(at, zone)
    if values.get("ends_day"):
        found["ends"] = _moment(f"{values['ends_day']}T00:00", zone)
    return found


def _moment(text: str, zone: ZoneInfo) -> str:
    try:
        return datetime.fromisoformat(text).replace(tzinfo=zone).isoformat()
    except ValueError:
        return text


def _out(values: Values, _plan: PlanAnswer, zone: ZoneInfo) -> Values:
    return {"truck": values.get("truck"), **_while(values, zone)}


def _closed(values: Values, _plan: PlanAnswer, zone: ZoneInfo) -> Values:
    return {"place": values.get("place"), **_while(values, zone)}


def _refused(values: Values, _plan: PlanAnswer, _zone: ZoneInfo) -> Values:
    return {
        "ticket": values.get("ticket"),
        "comes_again": values.get("comes_again", True),
    }


def _changed(values: Values, _plan: PlanAnswer, _zone: ZoneInfo) -> Values:
    percent = values.get("percent")
    if percent is not None and values.get("direction") == "less":
        percent = -percent
    return {"deal": int(values["deal"]), "percent": percent}


def _late(values: Values, plan: PlanAnswer, _zone: ZoneInfo) -> Values:
    own = plan.shifts[int(values["shift"])]
    return {"truck": own.truck, "day": own.day, "minutes": values.get("minutes")}


def _joins(values: Values, _plan: PlanAnswer, _zone: ZoneInfo) -> Values:
    return {"truck": int(values["truck"])}


_PERCENT = Group(
    "",
    (
        Question(
            "direction",
            "It is",
            kind=Kind.CHOICE,
            options=(("more", "more"), ("less", "less")),
            usual="more",
        ),
        Question("percent", "By", unit="%", needed=True),
    ),
)
_AGAIN = Question(
    "comes_again", "Is as much still wanted?", kind=Kind.YES_NO, usual="yes"
)
_MINUTES = Question("minutes", "Late by", kind=Kind.WHOLE, unit="minutes", needed=True)

FORMS: dict[str, ChangeForm] = {
    own.kind: own
    for own in (
        ChangeForm(
            "truck_out",
            "A truck is out",
            "broken down, or nobody to drive it",
            lambda plan, _fleet, now: (
                _one("truck", "Truck", _trucks(plan)),
                *_span(now, "Back on"),
            ),
            _out,
        ),
        ChangeForm(
            "dig_stopped",
            "Rain stops the dig",
            "nothing is loaded there; tipping goes on",
            lambda plan, _fleet, now: (
                _one("place", "Where", _places(plan, loads=True)),
                *_span(now, "Goes on on"),
            ),
            _closed,
        ),
        ChangeForm(
            "place_closed",
            "A place is closed",
            "a pit shuts early, or the site cannot receive",
            lambda plan, _fleet, now: (
                _one("place", "Where", _places(plan, loads=False)),
                *_span(now, "Open again on"),
            ),
            _closed,
        ),
        ChangeForm(
            "load_refused",
            "A load was refused",
            "and its ticket does not say so yet",
            lambda plan, _fleet, _now: (
                _one("ticket", "Load", _loads(plan)),
                Group("", (_AGAIN,)),
            ),
            _refused,
        ),
        ChangeForm(
            "mass_changed",
            "More or less comes",
            "than was agreed of a deal",
            lambda plan, _fleet, _now: (_one("deal", "Deal", _deals(plan)), _PERCENT),
            _changed,
        ),
        ChangeForm(
            "runs_late",
            "A truck runs late",
            "today, from now on",
            lambda plan, _fleet, _now: (
                _one("shift", "Shift", _shifts(plan)),
                Group("", (_MINUTES,)),
            ),
            _late,
        ),
        ChangeForm(
            "truck_joins",
            "A truck more",
            "of the fleet, on the days of the plan",
            lambda _plan, fleet, _now: (_one("truck", "Truck", fleet.others),),
            _joins,
        ),
    )
}


def pin_questions(plan: PlanAnswer, now: datetime) -> Group:
    """Shifts ahead that may be kept whatever happens."""
    return Group(
        "Leave some shifts as they are",
        tuple(
            Question(f"pin_{number}", label, kind=Kind.TICK)
            for (number, label), own in zip(_shifts(plan), plan.shifts, strict=True)
            if own.back > now
        ),
        folded=True,
    )


def as_sent(
    form: ChangeForm, values: Values, plan: PlanAnswer, zone: ZoneInfo
) -> Values:
    """The document that is sent for these answers."""
    own = form.read(values, plan, zone)
    pinned = [
        number for number in range(len(plan.shifts)) if values.get(f"pin_{number}")
    ]
    given = {name: value for name, value in own.items() if value is not None}
    return {"disruptions": [{"kind": form.kind, **given}], "pinned": pinned}
