"""From checked documents of offers to the values that the computation takes."""

from __future__ import annotations

from dataclasses import replace

from api.documents.offered import OfferFields
from api.documents.quantity import Quantity
from api.documents.reading_materials import read_material
from api.documents.reading_parts import within
from logistics.domain.errors import refuse
from logistics.domain.loads import PartLoadTerms
from logistics.domain.materials import BULK, Earth
from logistics.domain.quantities import MassBasis
from matching.domain.grounds import Known
from matching.domain.materials import Disposal, Material, Offer, Price, Sand, Straw


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
    material = _sold(doc, read_material(doc.material, field=f"{field}.material"))
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


def _sold(doc: OfferFields, material: Material) -> Material:
    """A sand is sold as its price says, if its holder says nothing else."""
    if not isinstance(material, Sand) or doc.price is None:
        return material
    if material.record.sold_by_volume is not Known.UNKNOWN:
        return material
    by_volume = Known.NO if doc.price.per == "t" else Known.YES
    return replace(material, record=replace(material.record, sold_by_volume=by_volume))


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
