"""From checked documents to the values that the computation takes."""

from __future__ import annotations

from api.documents.reading_calendars import calendar_fields, read_schedule
from api.documents.reading_parts import spread, within
from api.documents.reading_walls import read_walls
from api.documents.scenario import (
    BuildFields,
    MixDoc,
    NeedDoc,
)
from logistics.domain.errors import refuse
from logistics.domain.materials import BULK, MOISTURE, Earth, other_basis
from logistics.domain.quantities import MassBasis, Spread
from logistics.domain.trucks import Cargo
from matching.domain.builds import Build, TypedNeed
from matching.domain.takeoff import MixTarget


def read_mix(doc: MixDoc) -> MixTarget:
    """The mix target. Raises Refused for a window out of order."""
    usual, typed = MixTarget().dry_density, doc.dry_density_kg_per_m3
    # The published spread is that of the usual figure; another one was measured.
    density = usual if typed == usual.likely else Spread.exactly(typed)
    return MixTarget(
        clay_low=doc.clay_low_percent / 100,
        clay_target=doc.clay_target_percent / 100,
        clay_high=doc.clay_high_percent / 100,
        straw=spread(doc.straw_percent),
        dry_density=density,
        waste=spread(doc.waste_percent),
        reference_clay=doc.reference_clay_percent / 100,
        most_fines=doc.most_fines_percent / 100,
    )


def read_build(
    doc: BuildFields,
    key: str,
    place: int,
    open_at: tuple[tuple[int, int], ...] = (),
    *,
    field: str,
) -> Build:
    """A build with its walls, typed needs and calendar."""
    with within(field):
        walls = read_walls(doc.walls)
        mix = read_mix(doc.mix)
    needs = tuple(
        _need(need, f"{field}.needs.{index}") for index, need in enumerate(doc.needs)
    )
    with within(field):
        schedule = read_schedule(doc.calendar) if doc.calendar else None
        build = Build(
            key=key,
            name=doc.name,
            place=place,
            walls=walls,
            mix=mix,
            needs=needs,
            unload_s=round(doc.unload_minutes * 60),
            storage_m3=doc.storage_m3,
            windows=open_at,
            schedule=schedule,
        )
    with within(f"{field}.calendar"), calendar_fields():
        # A calendar that cannot be kept is refused here, not when it is asked for.
        _ = build.scheduled
    return build


def _need(doc: NeedDoc, field: str) -> TypedNeed:
    """A typed need in dry kg at the usual moisture of its material."""
    if doc.material == "straw":
        if doc.quantity.unit == "bale" or doc.quantity.basis is not MassBasis.MOIST:
            raise refuse(
                "straw_need_not_weighed",
                field=f"{field}.quantity",
                given=f"{doc.quantity.amount:g} {doc.quantity.unit}",
                message="bales differ from offer to offer",
                remedy='Give a mass with "basis": "moist"; a small bale has about 16 kg.',
            )
        return TypedNeed(
            doc.key, Cargo.STRAW, doc.quantity.moist_kg(BULK[Earth.SAND], 0.0)
        )
    earth = Earth.SAND if doc.material == "sand" else Earth.COMMON_EARTH
    if doc.quantity.unit == "bale":
        raise refuse(
            "bales_of_earth",
            field=f"{field}.quantity.unit",
            given="bale",
            message="only straw comes in bales",
            remedy="Give a volume with its state or a mass with its basis.",
        )
    wet = MOISTURE[earth].likely
    with within(f"{field}.quantity", drop="quantity."):
        moist = doc.quantity.moist_kg(BULK[earth], wet)
    dry = other_basis(moist, given=MassBasis.MOIST, wanted=MassBasis.DRY, moisture=wet)
    return TypedNeed(doc.key, Cargo(doc.material), dry)
