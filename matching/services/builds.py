"""Storing builds with what they need."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db import transaction

from logistics.domain.calendar import WeeklyHours
from logistics.domain.errors import refuse
from logistics.domain.places import Place
from logistics.domain.quantities import Spread
from logistics.services.distances import Roads
from logistics.services.places import create_place
from matching.domain.builds import Build, wall_needs
from matching.domain.lifts.schedule import Schedule
from matching.domain.stored import dump_mix, dump_schedule, dump_wall
from matching.models import Build as BuildRow
from matching.models import Need as NeedRow
from matching.models import Wall as WallRow
from matching.selectors.builds import get_build


@dataclass(frozen=True, slots=True)
class BuildDraft:
    """A build to be stored with its place. The keys, `build.place` and `build.windows`
    are not stored: ids and the place's hours stand for them."""

    build: Build
    place: Place
    hours: WeeklyHours
    deliver_from: date | None = None
    deliver_until: date | None = None


@transaction.atomic
def create_build(*, draft: BuildDraft, roads: Roads, at: datetime) -> int:
    """Store a build with its walls and its needs, and return its id.

    Raises Refused "need_too_small" for a need below a kilogram, and "too_far_from_road".
    """
    own = draft.build
    _check_needs(own)
    place_id = create_place(place=draft.place, hours=draft.hours, roads=roads)
    row = BuildRow.objects.create(
        name=own.name,
        place_id=place_id,
        mix=dump_mix(own.mix),
        schedule=own.schedule and dump_schedule(own.schedule),
        deliver_from=draft.deliver_from,
        deliver_until=draft.deliver_until,
        unload_s=own.unload_s,
        storage_m3=own.storage_m3,
        created_at=at,
    )
    WallRow.objects.bulk_create(
        WallRow(
            build=row,
            position=position,
            shape=dump_wall(wall),
            placed_m3=wall.placed_m3,
        )
        for position, wall in enumerate(own.walls)
    )
    NeedRow.objects.bulk_create([*_computed(row, own), *_typed(row, own)])
    return row.pk


@transaction.atomic
def keep_calendar(*, build_id: int, schedule: Schedule) -> None:
    """Give a stored build this calendar in place of any other, and what it then needs.

    Raises Refused "unknown_build", and for a calendar that cannot be kept.
    """
    own = replace(get_build(build_id).build, schedule=schedule)
    row = BuildRow.objects.select_for_update().get(pk=build_id)
    for need in _computed(row, own):
        # Claims hold on to the rows.
        NeedRow.objects.filter(build=row, key=need.key, computed=True).update(
            dry_kg_low=need.dry_kg_low,
            dry_kg_likely=need.dry_kg_likely,
            dry_kg_high=need.dry_kg_high,
        )
    row.schedule = dump_schedule(schedule)
    row.save(update_fields=["schedule"])


def _check_needs(own: Build) -> None:
    for index, need in enumerate(own.needs):
        if need.dry_kg < 1:
            raise refuse(
                "need_too_small",
                field=f"needs.{index}.quantity",
                given=f"{need.dry_kg:g} kg (dry)",
                message="a need below a kilogram is not hauled",
                remedy="Give a larger quantity, or leave it out.",
            )


def _computed(row: BuildRow, own: Build) -> list[NeedRow]:
    wants = wall_needs(own)
    if wants is None:
        return []
    return [
        NeedRow(
            build=row,
            key="mineral",
            cargo="mineral",
            clay_low=own.mix.clay_low,
            clay_high=own.mix.clay_high,
            computed=True,
            **_columns(wants.mineral_dry_kg),
        ),
        NeedRow(
            build=row,
            key="straw",
            cargo="straw",
            computed=True,
            **_columns(wants.straw_kg),
        ),
    ]


def _typed(row: BuildRow, own: Build) -> list[NeedRow]:
    return [
        NeedRow(
            build=row,
            key=need.key,
            cargo=need.cargo,
            computed=False,
            **_columns(Spread.exactly(need.dry_kg)),
        )
        for need in own.needs
    ]


def _columns(dry_kg: Spread) -> dict[str, float]:
    return {
        "dry_kg_low": dry_kg.low,
        "dry_kg_likely": dry_kg.likely,
        "dry_kg_high": dry_kg.high,
    }
