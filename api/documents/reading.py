"""From checked documents to the values that the computation takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import time

from api.documents.offered import OfferFields, SandDoc, StrawDoc, SubsoilDoc
from api.documents.parts import Access, Hours, Range
from api.documents.quantity import Quantity
from api.documents.scenario import (
    BuildFields,
    MixDoc,
    NeedDoc,
    PlaceDoc,
    TruckFields,
    WallDoc,
)
from logistics.domain.calendar import (
    ALWAYS,
    Span,
    WeeklyHours,
)
from logistics.domain.errors import Refused, refuse
from logistics.domain.loads import PartLoadTerms
from logistics.domain.materials import BULK, MOISTURE, Bale, Earth, other_basis
from logistics.domain.places import AccessLimits, Place, Point
from logistics.domain.quantities import MassBasis, Spread
from logistics.domain.trucks import Cargo, Truck, TruckRates
from matching.domain.builds import Build, TypedNeed
from matching.domain.materials import (
    Disposal,
    Material,
    Offer,
    Price,
    Sand,
    Straw,
    Subsoil,
)
from matching.domain.sands.records import SandRecord
from matching.domain.straws.records import StrawRecord
from matching.domain.takeoff import MixTarget
from matching.domain.walls.wall import Opening, Wall

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@contextmanager
def _within(field: str, *, drop: str = "") -> Iterator[None]:
    """Name the place in the document of what the domain refuses inside."""
    try:
        yield
    except Refused as refused:
        raise Refused(
            *(
                replace(own, field=f"{field}.{own.field.removeprefix(drop)}")
                for own in refused.problems
            )
        ) from None


def read_access(doc: Access) -> AccessLimits:
    """Access limits as they are compared."""
    return AccessLimits(
        doc.max_gross_kg, doc.max_height_m, doc.max_width_m, doc.max_length_m
    )


def read_place(doc: PlaceDoc) -> Place:
    """A place."""
    return Place(doc.key, doc.name, Point(doc.lat, doc.lon), read_access(doc.access))


def read_hours(spans: Sequence[Hours]) -> WeeklyHours:
    """Weekly hours; none given means always open. Overlapping spans are joined."""
    if not spans:
        return ALWAYS
    days: list[tuple[Span, ...]] = []
    for name in _WEEKDAYS:
        own = sorted(
            (time.fromisoformat(span.opens), time.fromisoformat(span.closes))
            for span in spans
            if name in span.days
        )
        joined: list[Span] = []
        for opens, closes in own:
            if joined and opens <= joined[-1].closes:
                joined[-1] = Span(joined[-1].opens, max(closes, joined[-1].closes))
            else:
                joined.append(Span(opens, closes))
        days.append(tuple(joined))
    return WeeklyHours(tuple(days))


def _spread(doc: Range, scale: float = 0.01) -> Spread:
    low = doc.likely if doc.low is None else doc.low
    high = doc.likely if doc.high is None else doc.high
    return Spread(low * scale, doc.likely * scale, high * scale)


def read_material(doc: SubsoilDoc | SandDoc | StrawDoc) -> Material:
    """What is on offer."""
    if isinstance(doc, StrawDoc):
        return Straw(
            StrawRecord(
                plant=doc.fibre,
                strand_mm=doc.strand_mm,
                moisture=doc.moisture_percent / 100,
            ),
            bale=Bale(doc.bale_kg, doc.bale_m3),
        )
    if isinstance(doc, SandDoc):
        wet = _moisture(doc.moisture_percent, Earth.SAND)
        return Sand(
            SandRecord(called=doc.sand),
            silt=_spread(doc.silt_percent) if doc.silt_percent else None,
            clay=_spread(doc.clay_percent),
            moisture=wet,
        )
    return Subsoil(
        clay=_spread(doc.clay_percent),
        silt=_spread(doc.silt_percent) if doc.silt_percent else None,
        earth=doc.earth,
        stones=doc.stones_percent / 100,
        organic=doc.organic_percent / 100,
        topsoil=doc.topsoil,
        history=doc.history,
        moisture=_moisture(doc.moisture_percent, doc.earth),
    )


def _moisture(percent: float | None, earth: Earth) -> Spread:
    return MOISTURE[earth] if percent is None else Spread.exactly(percent / 100)


def offered_kg(quantity: Quantity, material: Material, *, field: str) -> int:
    """Moist kg of a quantity of this material, rounded down to whole kg or bales."""
    if isinstance(material, Straw):
        if quantity.unit == "bale":
            return int(quantity.amount) * material.bale.kg
        if quantity.basis is MassBasis.MOIST:
            kg = quantity.moist_kg(BULK[Earth.SAND], 0.0)
            return int(kg / material.bale.kg + 1e-9) * material.bale.kg
        raise refuse(
            "straw_not_in_bales",
            field=field,
            given=f"{quantity.amount:g} {quantity.unit}",
            message="straw is counted in bales or weighed as it is",
            remedy='Give "unit": "bale", or a mass with "basis": "moist".',
        )
    if quantity.unit == "bale":
        raise refuse(
            "bales_of_earth",
            field=field,
            given="bale",
            message="only straw comes in bales",
            remedy="Give a volume with its state or a mass with its basis.",
        )
    with _within(field, drop="quantity."):
        return int(quantity.moist_kg(material.bulk, material.moisture.likely) + 1e-6)


def read_offer(
    doc: OfferFields,
    key: str,
    place: int,
    open_at: tuple[tuple[int, int], ...],
    *,
    field: str,
) -> Offer:
    """An offer as it is matched. Raises Refused for units that do not suit the material."""
    material = read_material(doc.material)
    quantity = offered_kg(doc.quantity, material, field=f"{field}.quantity")
    lot = (
        offered_kg(doc.min_lot, material, field=f"{field}.min_lot")
        if doc.min_lot
        else 0
    )
    if lot > quantity:
        raise refuse(
            "lot_exceeds_offer",
            field=f"{field}.min_lot",
            given=f"{lot} kg",
            message="the smallest lot is larger than the whole offer",
            remedy="Give a smaller lot or a larger quantity.",
        )
    part = doc.part_load
    return Offer(
        key=key,
        name=doc.name,
        place=place,
        material=material,
        quantity_kg=quantity,
        price=_price(doc, material, field),
        min_lot_kg=lot,
        whole_loads=doc.whole_loads,
        haul_payer=doc.haul_payer,
        disposal=Disposal(
            doc.disposal.tipping_minor_per_t, doc.disposal.haulage_minor_per_t
        ),
        load_s=round(doc.load_minutes * 60),
        loading_fee=doc.loading_fee_minor,
        part_load=PartLoadTerms(part.charge_minor, part.below_kg)
        if part
        else PartLoadTerms(),
        windows=open_at,
    )


def _price(doc: OfferFields, material: Material, field: str) -> Price:
    if doc.price is None:
        return Price()
    if doc.price.per == "t":
        return Price(doc.price.minor, 1000.0)
    straw = isinstance(material, Straw)
    if straw != (doc.price.per == "bale"):
        raise refuse(
            "price_unit_mismatch",
            field=f"{field}.price.per",
            given=doc.price.per,
            message="this unit does not suit the material",
            remedy="Straw is priced per bale or t, earth and sand per m3_loose or t.",
        )
    if isinstance(material, Straw):
        return Price(doc.price.minor, float(material.bale.kg))
    return Price(doc.price.minor, material.bulk.loose_kg_per_m3)


def read_mix(doc: MixDoc) -> MixTarget:
    """The mix target. Raises Refused for a window out of order."""
    usual, typed = MixTarget().dry_density, doc.dry_density_kg_per_m3
    # The published spread is that of the usual figure; another one was measured.
    density = usual if typed == usual.likely else Spread.exactly(typed)
    return MixTarget(
        clay_low=doc.clay_low_percent / 100,
        clay_target=doc.clay_target_percent / 100,
        clay_high=doc.clay_high_percent / 100,
        straw=_spread(doc.straw_percent),
        dry_density=density,
        waste=_spread(doc.waste_percent),
        reference_clay=doc.reference_clay_percent / 100,
        most_fines=doc.most_fines_percent / 100,
    )


def _wall(doc: WallDoc, number: int) -> Wall:
    holes = tuple(Opening(own.width_m, own.height_m) for own in doc.openings)
    try:
        return Wall.straight(doc.length_m, doc.height_m, doc.thickness_m, holes)
    except Refused as refused:
        given = f"wall {number + 1} with {len(holes)} openings"
        raise Refused(
            *(replace(own, given=given) for own in refused.problems)
        ) from None


def read_build(
    doc: BuildFields,
    key: str,
    place: int,
    open_at: tuple[tuple[int, int], ...],
    *,
    field: str,
) -> Build:
    """A build with its walls and typed needs."""
    with _within(field):
        walls = tuple(_wall(wall, number) for number, wall in enumerate(doc.walls))
        mix = read_mix(doc.mix)
    needs = tuple(
        _need(need, f"{field}.needs.{index}") for index, need in enumerate(doc.needs)
    )
    with _within(field):
        return Build(
            key=key,
            name=doc.name,
            place=place,
            walls=walls,
            mix=mix,
            needs=needs,
            unload_s=round(doc.unload_minutes * 60),
            storage_m3=doc.storage_m3,
            windows=open_at,
        )


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
    with _within(f"{field}.quantity", drop="quantity."):
        moist = doc.quantity.moist_kg(BULK[earth], wet)
    dry = other_basis(moist, given=MassBasis.MOIST, wanted=MassBasis.DRY, moisture=wet)
    return TypedNeed(doc.key, Cargo(doc.material), dry)


def read_truck(doc: TruckFields, key: str, base: int) -> Truck:
    """A truck."""
    return Truck(
        key=key,
        name=doc.name,
        body=doc.body,
        base=base,
        payload_kg=doc.payload_kg,
        body_m3=doc.body_m3,
        rates=TruckRates(doc.call_out_minor, doc.per_hour_minor, doc.per_km_minor),
        max_shift_s=round(doc.max_shift_hours * 3600),
        tare_kg=doc.tare_kg,
        height_m=doc.height_m,
        width_m=doc.width_m,
        length_m=doc.length_m,
    )
