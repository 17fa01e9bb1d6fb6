"""The whole of a build on the calendar: from walls, crew and what was built to lifts, dated
needs and room on site."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from logistics.domain.calendar import WeeklyHours
from logistics.domain.errors import refuse
from logistics.domain.materials import BULK, SMALL_BALE, Bale, Earth
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import USUAL_DRYING, BuildCalendar
from matching.domain.lifts.crew import Crew
from matching.domain.lifts.lifting import (
    Drying,
    WorkPattern,
    lift_cautions,
    lift_height,
)
from matching.domain.lifts.merging import LeastLoad, merge
from matching.domain.lifts.progress import (
    Built,
    Received,
    Replan,
    on_hand,
    replan,
    still_needed,
)
from matching.domain.lifts.pulses import (
    USUAL_LEAD,
    Kind,
    Lead,
    Pulse,
    in_order,
    pulse_cautions,
    pulses,
)
from matching.domain.lifts.storage import Lying, Storage, storage
from matching.domain.takeoff import MixTarget, TakeOff, take_off, take_off_of
from matching.domain.verdicts import Reason
from matching.domain.walls.courses import LEAST_LIFT_M, Course, courses
from matching.domain.walls.wall import Kind as WallKind
from matching.domain.walls.wall import Wall

NOBODY = WeeklyHours(((),) * 7)
ANY_LOAD = LeastLoad()
MOST_LIFTS = 100
LOOSE_KG_PER_M3 = {
    Kind.SOIL: BULK[Earth.COMMON_EARTH].loose_kg_per_m3,
    Kind.SAND: BULK[Earth.SAND].loose_kg_per_m3,
}
"""Of what lies on site, of which only the kind is known: as the take-off counts it."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """Who builds when, and how their material is to come.

    `lift_m` None: by the thinnest wall. `volunteers` are the hours in which no truck may
    come on work days. `by_lift`: each lift's material in its own time, else all at once.
    """

    crew: Crew
    pattern: WorkPattern
    drying: Drying = USUAL_DRYING
    lead: Lead = USUAL_LEAD
    lift_m: float | None = None
    volunteers: WeeklyHours = NOBODY
    built: tuple[Built, ...] = ()
    received: tuple[Received, ...] = ()
    least: LeastLoad = ANY_LOAD
    bale: Bale = SMALL_BALE
    by_lift: bool = False


@dataclass(frozen=True, slots=True)
class ScheduledBuild:
    """A build on the calendar. `takeoff` is that of what is left to build; `stock` what
    lies on site of each kind, in kg as weighed; `single` the pulses of each lift and kind
    beyond that stock, `pulses` the same put together to loads. `storage` is None where
    nothing comes."""

    lift_m: float
    courses: tuple[Course, ...]
    replan: Replan
    whole: TakeOff
    takeoff: TakeOff
    stock: tuple[tuple[Kind, float], ...]
    single: tuple[Pulse, ...]
    pulses: tuple[Pulse, ...]
    storage: Storage | None
    cautions: tuple[Reason, ...]

    @property
    def calendar(self) -> BuildCalendar | None:
        """The lifts that are left, None when all is built."""
        return self.replan.calendar

    def dry_kg(self, *kinds: Kind) -> Spread:
        """What is still to come of these kinds together."""
        own = [pulse.dry_kg for pulse in self.single if pulse.kind in kinds]
        return Spread(
            sum(dry.low for dry in own),
            sum(dry.likely for dry in own),
            sum(dry.high for dry in own),
        )


def scheduled(
    walls: tuple[Wall, ...],
    mix: MixTarget,
    schedule: Schedule,
    storage_m3: float | None = None,
) -> ScheduledBuild:
    """The lifts that are left with their dates, and what they want when.

    Raises Refused "too_many_lifts", for a lift of no sane height, and for what
    `matching.domain.lifts.progress.replan` refuses.
    """
    return _scheduled(walls, mix, schedule, storage_m3)


# A plan asks many times for the needs of the same build.
@lru_cache(maxsize=64)
def _scheduled(
    walls: tuple[Wall, ...],
    mix: MixTarget,
    schedule: Schedule,
    storage_m3: float | None,
) -> ScheduledBuild:
    lift_m = schedule.lift_m or usual_lift_m(walls)
    rows = _courses(walls, lift_m)
    plan = replan(
        rows,
        schedule.crew,
        schedule.pattern,
        schedule.built,
        drying=schedule.drying,
    )
    whole = take_off(walls, mix)
    volume = sum(course.placed_m3 for course in rows)
    left = sum(course.placed_m3 for course in plan.remaining.left)
    own = ScheduledBuild(
        lift_m,
        rows,
        plan,
        whole,
        takeoff=take_off_of(left, mix) if schedule.built else whole,
        stock=_stock(schedule.received, whole, 1 - left / volume),
        single=(),
        pulses=(),
        storage=None,
        cautions=plan.cautions,
    )
    if plan.calendar is None:
        return own
    return _supplied(own, walls, plan.calendar, mix, schedule, storage_m3)


def _supplied(
    own: ScheduledBuild,
    walls: tuple[Wall, ...],
    calendar: BuildCalendar,
    mix: MixTarget,
    schedule: Schedule,
    storage_m3: float | None,
) -> ScheduledBuild:
    """The same with what its lifts want when, and the room that it takes."""
    clay = Spread.exactly(mix.reference_clay)
    single = pulses(calendar, own.takeoff, clay=clay, lead=schedule.lead)
    if schedule.by_lift:
        single = _together(single)
    whole = single
    for kind, kg in own.stock:
        single = still_needed(single, kind, kg)
    lying = _lying(own.stock, whole, single, schedule.bale)
    found = merge(
        calendar,
        single,
        schedule.least,
        room_m3=storage_m3,
        bale=schedule.bale,
        lying=lying,
    )
    kept = storage(calendar, found, room_m3=storage_m3, bale=schedule.bale, lying=lying)
    return replace(
        own,
        single=single,
        pulses=found,
        storage=kept,
        cautions=(
            *calendar.cautions,
            *_thin_walls(walls, own.lift_m, calendar),
            *own.cautions,
            *pulse_cautions(found, schedule.lead),
            *_doubts(kept, own.stock),
        ),
    )


def usual_lift_m(walls: tuple[Wall, ...]) -> float:
    """The height of a lift that suits the thinnest wall; benches and buttresses only count
    where there is nothing else, for they are low. One that is thinner is cautioned."""
    standing = [wall for wall in walls if wall.kind is not WallKind.BENCH] or walls
    thinnest = min(wall.thickness_m for wall in standing)
    return max(LEAST_LIFT_M, lift_height(thinnest).likely)


def _thin_walls(
    walls: tuple[Wall, ...], lift_m: float, calendar: BuildCalendar
) -> tuple[Reason, ...]:
    """Cautions on walls and benches thinner than their lifts are high, each kind once and
    only where the lifts, which go by the thickest wall, did not bring it up."""
    known = {caution.code for caution in calendar.cautions}
    found: dict[str, Reason] = {}
    for number, wall in enumerate(walls, start=1):
        height = min(lift_m, wall.height_m)
        name = wall.name or f"wall {number}"
        for caution in lift_cautions(height, wall.thickness_m):
            if caution.code not in known:
                told = replace(caution, found=f"{name}: {caution.found}")
                found.setdefault(caution.code, told)
    return tuple(found.values())


def _courses(walls: tuple[Wall, ...], lift_m: float) -> tuple[Course, ...]:
    high = max(wall.height_m for wall in walls)
    if high / lift_m > MOST_LIFTS:
        raise refuse(
            "too_many_lifts",
            field="lift_m",
            given=f"{lift_m:g} m, walls {high:g} m high",
            message=f"a calendar holds at most {MOST_LIFTS} lifts",
            remedy="Give a higher lift, about 0.3 to 0.6 m.",
        )
    return courses(walls, lift_m)


def _together(found: tuple[Pulse, ...]) -> tuple[Pulse, ...]:
    """Sand in the time of the soil for the same lift: one blend is chosen for both."""
    soil = {pulse.lifts: pulse for pulse in found if pulse.kind is Kind.SOIL}
    return in_order(
        replace(
            pulse,
            due=soil[pulse.lifts].due,
            not_before=soil[pulse.lifts].not_before,
        )
        if pulse.kind is Kind.SAND and pulse.lifts in soil
        else pulse
        for pulse in found
    )


def _stock(
    received: tuple[Received, ...], whole: TakeOff, built_share: float
) -> tuple[tuple[Kind, float], ...]:
    """What lies on site of each kind of which something came."""
    planned = {
        Kind.SOIL: whole.soil_moist_kg,
        Kind.SAND: whole.sand_moist_kg,
        Kind.STRAW: whole.straw_kg,
    }
    return tuple(
        (own.kind, on_hand(own, planned[own.kind], built_share))
        for own in received
        if own.kind in planned
    )


def _lying(
    stock: tuple[tuple[Kind, float], ...],
    whole: tuple[Pulse, ...],
    still: tuple[Pulse, ...],
    bale: Bale,
) -> tuple[Lying, ...]:
    """The stock as room that it takes, and which lifts use it: what they want in `whole`
    and no longer in `still`."""
    wanted = {(pulse.kind, pulse.lifts): pulse.kg.likely for pulse in still}
    found = []
    for kind, kg in stock:
        density = bale.kg_per_m3 if kind is Kind.STRAW else LOOSE_KG_PER_M3[kind]
        uses = (
            (pulse.lifts[0], pulse.kg.likely - wanted.get((kind, pulse.lifts), 0.0))
            for pulse in whole
            if pulse.kind is kind
        )
        found.append(
            Lying(
                kind,
                kg / density,
                tuple((number, used / density) for number, used in uses if used > 0),
            )
        )
    return tuple(found)


def _doubts(
    kept: Storage | None, stock: tuple[tuple[Kind, float], ...]
) -> tuple[Reason, ...]:
    found = []
    if kept is not None and not kept.fits and kept.room_m3 is not None:
        found.append(
            Reason(
                "storage_too_small",
                f"{kept.fullest.total_m3:.1f} m3 on {kept.fullest.day}",
                f"at most {kept.room_m3:.1f} m3",
                kept.text,
            )
        )
    lying = [f"{kg:.0f} kg of {kind}" for kind, kg in stock if kg > 0]
    if lying:
        found.append(
            Reason(
                "stock_counted",
                ", ".join(lying),
                "a look at the heaps",
                "What lies on site is used first and takes room until then: it is counted"
                " as usual soil and sand, so test it with the new before you mix them.",
            )
        )
    return tuple(found)
