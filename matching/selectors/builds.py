"""Builds with their walls and needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from logistics.selectors import StoredPlace, place_of
from matching.domain.builds import Build, TypedNeed
from matching.domain.stored import load_mix, load_schedule, load_wall
from matching.models import Build as BuildRow
from matching.models import Need as NeedRow


@dataclass(frozen=True, slots=True)
class StoredNeed:
    """A need with its row id. `cargo` is a material or "mineral"; dry kg; `clay` is the
    window for the share of clay in the blend, None if it does not matter."""

    id: int
    build_id: int
    key: str
    cargo: str
    dry_kg: Spread
    clay: tuple[float, float] | None
    computed: bool


@dataclass(frozen=True, slots=True)
class StoredBuild:
    """A build with its row id, place and needs. `build.place` is 0: see `place`."""

    id: int
    build: Build
    place: StoredPlace
    needs: tuple[StoredNeed, ...]
    deliver_from: date | None
    deliver_until: date | None
    created_at: datetime


def build_of(row: BuildRow) -> StoredBuild:
    """A stored build, its place joined and its walls and needs prefetched."""
    walls = sorted(row.walls.all(), key=lambda wall: wall.position)
    needs = sorted(row.needs.all(), key=lambda need: need.pk)
    build = Build(
        key=f"build-{row.pk}",
        name=row.name,
        place=0,
        walls=tuple(load_wall(wall.shape) for wall in walls),
        mix=load_mix(row.mix),
        needs=tuple(
            TypedNeed(need.key, Cargo(need.cargo), need.dry_kg_likely)
            for need in needs
            if not need.computed
        ),
        unload_s=row.unload_s,
        storage_m3=row.storage_m3,
        schedule=row.schedule and load_schedule(row.schedule),
    )
    return StoredBuild(
        id=row.pk,
        build=build,
        place=place_of(row.place),
        needs=tuple(_need_of(need) for need in needs),
        deliver_from=row.deliver_from,
        deliver_until=row.deliver_until,
        created_at=row.created_at,
    )


def _need_of(row: NeedRow) -> StoredNeed:
    clay = None
    if row.clay_low is not None and row.clay_high is not None:
        clay = (row.clay_low, row.clay_high)
    return StoredNeed(
        id=row.pk,
        build_id=row.build_id,
        key=row.key,
        cargo=row.cargo,
        dry_kg=Spread(row.dry_kg_low, row.dry_kg_likely, row.dry_kg_high),
        clay=clay,
        computed=row.computed,
    )


def _whole() -> QuerySet[BuildRow]:
    return BuildRow.objects.select_related("place").prefetch_related("walls", "needs")


def get_build(build_id: int) -> StoredBuild:
    """One build. Raises Refused "unknown_build"."""
    return get_builds([build_id])[0]


def get_builds(ids: Sequence[int]) -> list[StoredBuild]:
    """Builds in the order of their ids given. Raises Refused "unknown_build"."""
    # Django keeps what no column can hold from `pk=`, but not from `pk__in=`.
    possible = [own for own in ids if own < 2**63]
    found = {row.pk: row for row in _whole().filter(pk__in=possible)}
    for wanted in ids:
        if wanted not in found:
            raise refuse(
                "unknown_build",
                field="builds",
                given=wanted,
                message="there is no such build",
                remedy="List the builds to see which there are.",
            )
    return [build_of(found[wanted]) for wanted in ids]


def list_builds(*, offset: int, limit: int) -> tuple[list[StoredBuild], int]:
    """A page of builds, the newest first, and how many there are in all."""
    page = _whole().order_by("-pk")[offset : offset + limit]
    return [build_of(row) for row in page], BuildRow.objects.count()


def get_need(need_id: int) -> StoredNeed:
    """One need. Raises Refused "unknown_need"."""
    row = NeedRow.objects.filter(pk=need_id).first()
    if row is None:
        raise refuse(
            "unknown_need",
            field="need",
            given=need_id,
            message="there is no such need",
            remedy="Read a build to see its needs.",
        )
    return _need_of(row)
