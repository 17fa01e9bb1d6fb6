"""From checked documents of offers to the values that the computation takes."""

from __future__ import annotations

from api.documents.offered import OfferFields, SandDoc, StrawDoc, SubsoilDoc
from api.documents.quantity import Quantity
from api.documents.reading_parts import spread, within
from logistics.domain.errors import refuse
from logistics.domain.loads import PartLoadTerms
from logistics.domain.materials import BULK, MOISTURE, Bale, Earth
from logistics.domain.quantities import MassBasis, Spread
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
            silt=spread(doc.silt_percent) if doc.silt_percent else None,
            clay=spread(doc.clay_percent),
            moisture=wet,
        )
    return Subsoil(
        clay=spread(doc.clay_percent),
        silt=spread(doc.silt_percent) if doc.silt_percent else None,
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
    with within(field, drop="quantity."):
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
