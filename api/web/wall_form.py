"""The form "What do my walls swallow?": walls, the mix, and perhaps who builds when."""

from __future__ import annotations

import json
from dataclasses import dataclass

from api.documents.calendar_answers import CalendarIn
from api.documents.problems import read_document
from api.documents.taken_off import TakeOffIn
from api.web.asking import Asked, Kind, Question
from api.web.linked import Rows
from api.web.typed import Typed, without_empty

OPENINGS = ("_1", "_2", "_3", "_4")

NAME = Question("n", "Name", Kind.TEXT, hint="such as north wall")
LENGTH = Question("l", "Length, m")
HEIGHT = Question("h", "Height, m", hint="above the plinth")
THICK = Question("t", "Thickness, m")
MIDDLE = Question("m", "Height in its middle, m", hint="a gable's peak")
END = Question("e", "Height at its end, m")
TOP = Question("tt", "Thickness at the top, m")
PLINTH = Question("p", "Plinth, m high")
KIND = Question(
    "k",
    "Kind",
    Kind.SELECT,
    options=(
        ("outer", "outer wall"),
        ("inner", "inner wall"),
        ("bench", "bench or buttress"),
    ),
    usual="outer",
)
FIRST = (NAME, LENGTH, HEIGHT, THICK)
MORE = (MIDDLE, END, TOP, PLINTH, KIND)

WIDE = Question("ow", "Width, m")
HIGH = Question("oh", "Height, m")
AT = Question("oa", "From the wall's start, m")
SILL = Question("os", "Sill, m", hint="above the plinth")
LINTEL = Question("ol", "Lintel, m deep")
REST_ON = Question("ob", "Lintel rests, m a side")
OPENING = (WIDE, HIGH, AT, SILL, LINTEL, REST_ON)

CLAY = Question("clay", "Clay of your soil, %", usual="30")
TARGET = Question("target", "Clay of the mix, %", usual="20")
STRAW = Question("straw", "Straw, % of dry mass")
WASTE = Question("waste", "Lost on the way, %")
BALE = Question("bale", "One bale, kg", Kind.WHOLE, usual="16")
MIX = (CLAY, TARGET, STRAW, WASTE, BALE)

FIRST_DAY = Question("first", "First work day", Kind.DAY)
DAYS = Question(
    "days",
    "Work days",
    Kind.SELECT,
    options=(
        ("week", "Mon to Fri"),
        ("six", "Mon to Sat"),
        ("weekend", "Sat and Sun"),
        ("sat", "Saturdays"),
        ("all", "every day"),
    ),
    usual="week",
)
NOVICES = Question("novices", "Helpers new to it")
TRAINED = Question("trained", "Helpers who have built")
MACHINE = Question("machine", "A digger mixes", Kind.TICK)
DRY = Question("dry", "A lift dries, days")
DRY_LOW = Question("dl", "Days at least")
DRY_HIGH = Question("dh", "Days at most")
RAIN = Question("rain", "Rain takes, % of the work")
LIFT = Question("lift", "Height of a lift, m")
ROOM = Question("room", "Room for heaps, m³")
OPENS = Question("from", "People on site from", Kind.TIME)
CLOSES = Question("to", "People on site until", Kind.TIME)
CALENDAR = (FIRST_DAY, DAYS, NOVICES, TRAINED)
LATER = (DRY, DRY_LOW, DRY_HIGH, RAIN, LIFT, ROOM, OPENS, CLOSES)
WEEKDAYS = {
    "week": ["mon", "tue", "wed", "thu", "fri"],
    "six": ["mon", "tue", "wed", "thu", "fri", "sat"],
    "weekend": ["sat", "sun"],
    "sat": ["sat"],
    "all": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
}
WALLS = Rows(
    page="walls",
    names=tuple(own.name for own in (*FIRST, *MORE)),
    anchor="wall-",
    least=2,
    most=12,
    usual={own.name: own.usual for own in (KIND, *MIX, *CALENDAR)},
)


@dataclass(frozen=True, slots=True)
class WallRow:
    """One wall of the form, with four rows for its openings."""

    number: int
    first: tuple[Asked, ...]
    more: tuple[Asked, ...]
    openings: tuple[tuple[Asked, ...], ...]
    more_opened: bool
    openings_opened: bool


@dataclass(frozen=True, slots=True)
class WallForm:
    """The form as the page shows it."""

    walls: tuple[WallRow, ...]
    mix: tuple[Asked, ...]
    mix_opened: bool
    calendar: tuple[Asked, ...]
    machine: Asked
    later: tuple[Asked, ...]
    later_opened: bool
    full: bool


def wall_form(typed: Typed) -> WallForm:
    """The form with what was typed."""
    count = WALLS.shown(typed.query)
    mix, later = typed.several(MIX), typed.several(LATER)
    return WallForm(
        tuple(_row(typed, number) for number in range(1, count + 1)),
        mix,
        _said(typed, MIX),
        typed.several(CALENDAR),
        typed.asked(MACHINE),
        later,
        _said(typed, LATER),
        count == WALLS.most,
    )


def _row(typed: Typed, number: int) -> WallRow:
    row = str(number)
    return WallRow(
        number,
        typed.several(FIRST, row),
        typed.several(MORE, row),
        tuple(typed.several(OPENING, row + own) for own in OPENINGS),
        _said(typed, MORE, row),
        any(_said(typed, OPENING, row + own) for own in OPENINGS),
    )


def _said(typed: Typed, questions: tuple[Question, ...], row: str = "") -> bool:
    return any(typed.query.get(own.name + row) for own in questions)


def read_take_off(typed: Typed) -> TakeOffIn:
    """The walls and the mix. Raises Refused with paths of the document."""
    body = {
        "walls": _walls(typed),
        "mix": _mix(typed),
        "bale": without_empty({"bale_kg": typed.value(BALE, "bale.bale_kg")}),
    }
    typed.check()
    return read_document(TakeOffIn, json.dumps(body).encode())


def read_calendar(typed: Typed) -> CalendarIn | None:
    """The walls with their calendar; None without a first day. Raises as above."""
    if not typed.text(FIRST_DAY):
        return None
    body = without_empty(
        {
            "walls": _walls(typed),
            "mix": _mix(typed),
            "calendar": _calendar(typed),
            "storage_m3": typed.value(ROOM, "storage_m3"),
        }
    )
    typed.check()
    return read_document(CalendarIn, json.dumps(body).encode())


def _walls(typed: Typed) -> list[dict[str, object]]:
    return [_wall(typed, row, at) for at, row in enumerate(WALLS.filled(typed.query))]


def _wall(typed: Typed, row: str, at: int) -> dict[str, object]:
    who, base = f"Wall {row}", f"walls.{at}"

    def value(question: Question, path: str) -> object:
        return typed.value(question, f"{base}.{path}", row, who)

    length, height = value(LENGTH, "length_m"), value(HEIGHT, "height_m")
    middle, end = value(MIDDLE, "heights.1.height_m"), value(END, "heights.2.height_m")
    top: dict[str, object] = {"height_m": height}
    if middle is not None or end is not None:
        top = {"heights": _heights(length, height, middle, end)}
    openings = [_opening(typed, row, at, own) for own in OPENINGS]
    return without_empty(
        {
            "name": value(NAME, "name"),
            "kind": value(KIND, "kind"),
            "length_m": length,
            **top,
            "thickness_m": value(THICK, "thickness_m"),
            "top_thickness_m": value(TOP, "top_thickness_m"),
            "plinth_m": value(PLINTH, "plinth_m"),
            "openings": [own for own in openings if own],
        }
    )


def _heights(
    length: object, height: object, middle: object, end: object
) -> list[dict[str, object]]:
    """The top from its start over its middle to its end; an empty end is as high as the
    start. What is missing is refused by the document."""
    whole = length if isinstance(length, float) else 0.0
    points = [{"at_m": 0.0, "height_m": height}]
    if middle is not None:
        points.append({"at_m": whole / 2, "height_m": middle})
    points.append({"at_m": whole, "height_m": height if end is None else end})
    return [without_empty(own) for own in points]


def _opening(typed: Typed, row: str, at: int, own: str) -> dict[str, object]:
    # Rows that are left out do not count in the document.
    before = OPENINGS[: OPENINGS.index(own)]
    number = sum(_said(typed, OPENING, row + each) for each in before)
    if not _said(typed, OPENING, row + own):
        return {}
    base, who = f"walls.{at}.openings.{number}", f"Wall {row}, opening {own[1:]}"
    names = ("width_m", "height_m", "at_m", "sill_m", "lintel_depth_m", "bearing_m")
    return without_empty(
        {
            name: typed.value(question, f"{base}.{name}", row + own, who)
            for name, question in zip(names, OPENING, strict=True)
        }
    )


def _mix(typed: Typed) -> dict[str, object]:
    straw = typed.value(STRAW, "mix.straw_percent.likely")
    waste = typed.value(WASTE, "mix.waste_percent.likely")
    return without_empty(
        {
            "reference_clay_percent": typed.value(CLAY, "mix.reference_clay_percent"),
            "clay_target_percent": typed.value(TARGET, "mix.clay_target_percent"),
            "straw_percent": None if straw is None else {"likely": straw},
            "waste_percent": None if waste is None else {"likely": waste},
        }
    )


def _calendar(typed: Typed) -> dict[str, object]:
    days = WEEKDAYS.get(str(typed.value(DAYS, "calendar.weekdays")), [])
    drying = without_empty(
        {
            "likely": typed.value(DRY, "calendar.drying.warm_days.likely"),
            "low": typed.value(DRY_LOW, "calendar.drying.warm_days.low"),
            "high": typed.value(DRY_HIGH, "calendar.drying.warm_days.high"),
        }
    )
    rain = typed.value(RAIN, "calendar.rain_percent.likely")
    hours = without_empty(
        {
            "opens": typed.value(OPENS, "calendar.volunteers.0.opens"),
            "closes": typed.value(CLOSES, "calendar.volunteers.0.closes"),
        }
    )
    return without_empty(
        {
            "first_day": typed.value(FIRST_DAY, "calendar.first_day"),
            "weekdays": days,
            "crew": _crew(typed),
            "drying": {"warm_days": drying} if drying else {},
            "rain_percent": None if rain is None else {"likely": rain},
            "lift_m": typed.value(LIFT, "calendar.lift_m"),
            "volunteers": [{"days": days, **hours}] if hours else None,
        }
    )


def _crew(typed: Typed) -> dict[str, object]:
    novices = typed.value(NOVICES, "calendar.crew.novices")
    trained = typed.value(TRAINED, "calendar.crew.trained")
    machine = typed.value(MACHINE, "calendar.crew.machine")
    return {
        "novices": novices or 0,
        "trained": trained or 0,
        "machine": "digger" if machine else None,
    }
