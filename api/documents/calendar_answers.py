"""The calendar of a build as a document."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import BaseModel, Field

from api.documents.answer_parts import ranged, reason_answers
from api.documents.calendars import CalendarDoc
from api.documents.plan_models import RangeAnswer, ReasonAnswer, TakeOffAnswer
from api.documents.quantity import Document
from api.documents.reading import read_mix
from api.documents.reading_calendars import calendar_fields, read_schedule
from api.documents.reading_parts import within
from api.documents.reading_walls import read_walls
from api.documents.scenario import MixDoc
from api.documents.taken_off import take_off_answer, whole_bales
from api.documents.walls import WallDoc
from logistics.domain.materials import Bale
from matching.domain.builds import Build
from matching.domain.lifts.calendar import Dates, Lift
from matching.domain.lifts.piles import Pile, bale_stack, cone, windrow
from matching.domain.lifts.pulses import Kind, Pulse
from matching.domain.lifts.schedule import Schedule, ScheduledBuild, scheduled
from matching.domain.lifts.storage import DayStock, Storage

WINDROW_M = 3.0
"""Width of the long heap that is shown beside the round one: a digger reaches across it;
common practice, no source."""

LEAST_M3 = 1e-3


class CalendarIn(Document):
    """Walls to raise; nothing is stored."""

    walls: list[WallDoc] = Field(
        min_length=1, max_length=200, description="they are raised together, in lifts"
    )
    mix: MixDoc = Field(default=MixDoc(), description="the mix for the walls")
    calendar: CalendarDoc = Field(description="who builds when")
    storage_m3: float | None = Field(
        default=None, gt=0, description="room for loose material on site, m3"
    )


class DatesAnswer(BaseModel):
    """A date if things go well, the likely one, and one if they go badly."""

    early: date
    likely: date
    late: date


class LiftAnswer(BaseModel):
    """One lift over all walls; heights above the plinth."""

    number: int
    low_m: float
    high_m: float
    placed_m3: float
    run_m: float = Field(description="length of wall in it")
    first: DatesAnswer
    last: DatesAnswer
    dries_until: DatesAnswer
    person_days: RangeAnswer


class PulseAnswer(BaseModel):
    """A delivery that is wanted."""

    material: Literal["soil", "sand", "straw", "water"]
    lifts: list[int]
    not_before: date
    due: date
    used_until: date
    moist_kg: RangeAnswer = Field(description="as loaded; of water litres")
    dry_kg: RangeAnswer
    loose_m3: RangeAnswer | None = Field(description="of soil and sand")
    bales: RangeAnswer | None = Field(description="of straw, whole bales")


class DayStockAnswer(BaseModel):
    """What lies on site on a day, after its deliveries and before its work."""

    day: date
    soil_m3: float
    sand_m3: float
    straw_m3: float
    total_m3: float


class StorageAnswer(BaseModel):
    """Room on site over time, on each day on which it changes."""

    days: list[DayStockAnswer]
    fullest: DayStockAnswer
    room_m3: float | None
    fits: bool
    text: str


class HeapAnswer(BaseModel):
    """A heap on level ground and the tarp that covers it."""

    shape: Literal["cone", "windrow"]
    width_m: float
    length_m: float
    height_m: float
    ground_m2: float
    tarp_m: list[int]


class PileAnswer(BaseModel):
    """Room for the most of a material that lies there at once."""

    material: Literal["soil", "sand"]
    day: date
    volume_m3: float
    heaps: list[HeapAnswer]


class StackAnswer(BaseModel):
    """The most straw that lies there at once, in whole bales."""

    day: date
    bales: int
    kg: int
    volume_m3: float


class CalendarAnswer(BaseModel):
    """The lifts that are left, what they want when, and what was built."""

    finished: bool = Field(description="true if nothing is left to build")
    deliver: Literal["at_once", "by_lift"]
    lift_m: float
    lifts: list[LiftAnswer]
    ends: DatesAnswer | None = Field(description="last work day")
    dry: DatesAnswer | None = Field(description="the last lift is dry")
    person_days: RangeAnswer | None
    bound: Literal["labour", "drying", "days_off"] | None
    why: str | None
    rate_factor: float = Field(description="what progress says of the crew's rate")
    built_m3: float
    left_m3: float
    left: TakeOffAnswer = Field(description="what is left to build swallows")
    stock_kg: dict[str, float] = Field(description="what lies on site, as weighed")
    pulses: list[PulseAnswer]
    storage: StorageAnswer | None
    piles: list[PileAnswer]
    straw_stack: StackAnswer | None
    cautions: list[ReasonAnswer]


def asked_calendar(doc: CalendarIn) -> CalendarAnswer:
    """The calendar of walls that are not stored. Raises Refused for what cannot be kept."""
    return scheduled_answer(*asked_schedule(doc))


def asked_schedule(doc: CalendarIn) -> tuple[ScheduledBuild, Schedule]:
    """The same as computed, for pictures of it. Raises what `asked_calendar` does."""
    schedule = read_schedule(doc.calendar)
    walls, mix = read_walls(doc.walls), read_mix(doc.mix)
    with within("calendar"), calendar_fields():
        return scheduled(walls, mix, schedule, doc.storage_m3), schedule


def calendar_answer(build: Build) -> CalendarAnswer | None:
    """The calendar of a build as a document, None without one."""
    own, schedule = build.scheduled, build.schedule
    return None if own is None or schedule is None else scheduled_answer(own, schedule)


def scheduled_answer(own: ScheduledBuild, schedule: Schedule) -> CalendarAnswer:
    """What is left of a scheduled build as a document."""
    calendar = own.calendar
    return CalendarAnswer(
        finished=calendar is None,
        deliver="by_lift" if schedule.by_lift else "at_once",
        lift_m=round(own.lift_m, 3),
        lifts=[_lift(lift) for lift in calendar.lifts] if calendar else [],
        ends=_dates(calendar.ends) if calendar else None,
        dry=_dates(calendar.dry) if calendar else None,
        person_days=ranged(calendar.person_days, 1) if calendar else None,
        bound=calendar.bound.value if calendar else None,
        why=calendar.why if calendar else None,
        rate_factor=round(own.replan.rate_factor, 4),
        built_m3=round(own.replan.remaining.built_m3, 4),
        left_m3=round(own.takeoff.placed_m3, 4),
        left=take_off_answer(own.takeoff),
        stock_kg={kind.value: round(kg, 1) for kind, kg in own.stock},
        pulses=[_pulse(pulse, schedule.bale) for pulse in own.pulses],
        storage=_storage(own.storage) if own.storage else None,
        piles=_piles(own),
        straw_stack=_stack(own, schedule.bale),
        cautions=reason_answers(own.cautions),
    )


def _dates(own: Dates) -> DatesAnswer:
    return DatesAnswer(early=own.early, likely=own.likely, late=own.late)


def _lift(own: Lift) -> LiftAnswer:
    return LiftAnswer(
        number=own.number,
        low_m=round(own.low_m, 3),
        high_m=round(own.high_m, 3),
        placed_m3=round(own.placed_m3, 4),
        run_m=round(own.run_m, 2),
        first=_dates(own.first),
        last=_dates(own.last),
        dries_until=_dates(own.dries_until),
        person_days=ranged(own.person_days, 1),
    )


def _pulse(own: Pulse, bale: Bale) -> PulseAnswer:
    heaped = own.kind in (Kind.SOIL, Kind.SAND)
    return PulseAnswer(
        material=own.kind.value,
        lifts=list(own.lifts),
        not_before=own.not_before,
        due=own.due,
        used_until=own.used_until,
        moist_kg=ranged(own.kg, 1),
        dry_kg=ranged(own.dry_kg, 1),
        loose_m3=ranged(own.loose_m3, 2) if heaped else None,
        bales=whole_bales(own.kg, bale) if own.kind is Kind.STRAW else None,
    )


def _stock(own: DayStock) -> DayStockAnswer:
    return DayStockAnswer(
        day=own.day,
        soil_m3=round(own.soil_m3, 2),
        sand_m3=round(own.sand_m3, 2),
        straw_m3=round(own.straw_m3, 2),
        total_m3=round(own.total_m3, 2),
    )


def _storage(own: Storage) -> StorageAnswer:
    return StorageAnswer(
        days=[_stock(day) for day in own.days],
        fullest=_stock(own.fullest),
        room_m3=own.room_m3,
        fits=own.fits,
        text=own.text,
    )


def _piles(own: ScheduledBuild) -> list[PileAnswer]:
    if own.storage is None:
        return []
    soil = max(own.storage.days, key=lambda day: day.soil_m3)
    sand = max(own.storage.days, key=lambda day: day.sand_m3)
    found = [
        _pile("soil", soil.day, soil.soil_m3) if soil.soil_m3 > LEAST_M3 else None,
        _pile("sand", sand.day, sand.sand_m3) if sand.sand_m3 > LEAST_M3 else None,
    ]
    return [pile for pile in found if pile]


def _pile(material: Literal["soil", "sand"], day: date, volume: float) -> PileAnswer:
    return PileAnswer(
        material=material,
        day=day,
        volume_m3=round(volume, 2),
        heaps=[
            _heap("cone", cone(volume)),
            _heap("windrow", windrow(volume, WINDROW_M)),
        ],
    )


def _heap(shape: Literal["cone", "windrow"], own: Pile) -> HeapAnswer:
    return HeapAnswer(
        shape=shape,
        width_m=round(own.width_m, 2),
        length_m=round(own.length_m, 2),
        height_m=round(own.height_m, 2),
        ground_m2=round(own.ground_m2, 1),
        tarp_m=list(own.tarp_m),
    )


def _stack(own: ScheduledBuild, bale: Bale) -> StackAnswer | None:
    if own.storage is None:
        return None
    day = max(own.storage.days, key=lambda stock: stock.straw_m3)
    if day.straw_m3 <= 0:
        return None
    stack = bale_stack(day.straw_m3 * bale.kg_per_m3, bale)
    return StackAnswer(
        day=day.day,
        bales=stack.bales,
        kg=stack.kg,
        volume_m3=round(stack.volume_m3, 2),
    )
