"""Room for material at sites over time, as the haul engine counts it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from logistics.domain.planning.problem import Haul, Slot, Store
from matching.domain.builds import Build
from matching.domain.lifts.calendar import BuildCalendar
from matching.domain.lifts.pulses import Kind
from matching.domain.lifts.schedule import LOOSE_KG_PER_M3, ScheduledBuild


def stores(
    builds: Sequence[Build],
    hauls: Sequence[tuple[int, Haul]],
    slots: Sequence[Slot],
) -> tuple[Store, ...]:
    """The room of each build that says how much it has and when its lifts use it up.

    `hauls` are (build, haul). By a day the walls have used the same share of all that comes
    or lies there as of their volume; what is used on the day itself does not count yet.
    Without a calendar nobody knows when room gets free: then there is no limit here.
    """
    days = sorted({slot.day for slot in slots})
    found = []
    for number, build in enumerate(builds):
        own = build.scheduled
        calendar = own.calendar if own else None
        coming = [index for index, (site, _) in enumerate(hauls) if site == number]
        if not own or not calendar or build.storage_m3 is None or not coming:
            continue
        lying = _lying_m3(own, build)
        total = lying + sum(
            hauls[index][1].mass_kg / hauls[index][1].loose_kg_per_m3
            for index in coming
        )
        room = tuple(
            (
                day,
                max(0.0, build.storage_m3 - lying)
                + used_by(calendar, date.fromisoformat(day)) * total,
            )
            for day in days
        )
        found.append(Store(build.name, tuple(coming), room))
    return tuple(found)


def used_by(calendar: BuildCalendar, day: date) -> float:
    """Share of the walls that is built before a day."""
    work = [work for lift in calendar.lifts for work in lift.days]
    whole = sum(own.m3 for own in work)
    return sum(own.m3 for own in work if own.day < day) / whole if whole else 0.0


def _lying_m3(own: ScheduledBuild, build: Build) -> float:
    bale = build.schedule.bale if build.schedule else None
    return sum(
        kg / (bale.kg_per_m3 if kind is Kind.STRAW and bale else LOOSE_KG_PER_M3[kind])
        for kind, kg in own.stock
    )
