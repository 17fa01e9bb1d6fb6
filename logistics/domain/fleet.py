"""Trucks with what their axles let them carry, on usual days and on weak roads."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logistics.domain.errors import Refused, refuse
from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.payload import LegalLoad, legal_load
from logistics.domain.legal.rules import RULE_WORDS, WeightRule
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.trucks import AxleLoad, PayloadBasis, Truck


@dataclass(frozen=True, slots=True)
class Chassis:
    """What a truck's payload is found from: axles and rule, the plate, and what its owner
    states; None: not known."""

    layout: AxleLayout | None = None
    rule: WeightRule = WeightRule.PLAIN
    plated_kg: int | None = None
    payload_kg: int | None = None


def laden(truck: Truck, chassis: Chassis) -> Truck:
    """The truck with the payload that its chassis leaves, and where that comes from.

    Raises Refused where nothing says what it may carry, or it may carry nothing.
    """
    if chassis.layout is None:
        return _plain(truck, chassis, None)
    return _by_axles(truck, chassis, chassis.layout, None)


def on_weak_roads(truck: Truck, chassis: Chassis, roads: WeakRoads) -> Truck | None:
    """The same truck on days with weak roads: every limit is cut, its tare is not.

    None where it may carry nothing then. Raises Refused "tare_unknown" for a truck of
    which neither axles nor empty mass are known.
    """
    try:
        if chassis.layout is None:
            return _plain(truck, chassis, roads)
        return _by_axles(truck, chassis, chassis.layout, roads)
    except Refused as refused:
        if refused.problems[0].code == "empty_too_heavy":
            return None
        raise


def _by_axles(
    truck: Truck, chassis: Chassis, layout: AxleLayout, roads: WeakRoads | None
) -> Truck:
    own = legal_load(
        layout,
        chassis.rule,
        plated_kg=chassis.plated_kg,
        stated_kg=chassis.payload_kg,
        share=roads.share if roads else 1.0,
        season=roads.words if roads else "",
    )
    return replace(
        truck,
        payload_kg=own.loaded_kg,
        tare_kg=layout.tare_kg,
        axle_loads=_axle_loads(layout),
        basis=_basis(own),
    )


def _axle_loads(layout: AxleLayout) -> tuple[AxleLoad, ...]:
    tares, shares = layout.axle_tares, layout.load_shares
    if tares is None or shares is None:
        return ()
    return tuple(
        AxleLoad(tare, share) for tare, share in zip(tares, shares, strict=True)
    )


def _basis(own: LegalLoad) -> PayloadBasis:
    spread = () if own.groups else ("how the load spreads over the axles",)
    return PayloadBasis(
        rule=RULE_WORDS[own.rule],
        gross_kg=own.gross_kg,
        binds=own.binding,
        source=own.source,
        unchecked=(*spread, *own.unchecked),
    )


def _plain(truck: Truck, chassis: Chassis, roads: WeakRoads | None) -> Truck:
    """By the plate and the payload stated; no axles are known."""
    tare, season = truck.tare_kg, f", {roads.words}" if roads else ""
    if tare is None and (roads or chassis.plated_kg is not None):
        raise refuse(
            "tare_unknown",
            field="tare_kg",
            given="none",
            message="what may be loaded is a limit on the gross weight less the empty mass",
            remedy="Give tare_kg for this truck.",
        )
    ways = []
    if chassis.payload_kg is not None:
        ways.append((chassis.payload_kg, f"payload stated: {chassis.payload_kg:,} kg"))
    if chassis.plated_kg is not None:
        words = f"plated weight: {chassis.plated_kg:,} kg"
        ways.append((chassis.plated_kg - (tare or 0), words))
    if not ways:
        raise _unknown()
    most, words = min(ways)
    if roads:
        most = int((most + (tare or 0)) * roads.share + 1e-6) - (tare or 0)
    if most <= 0:
        raise refuse(
            "empty_too_heavy",
            field="tare_kg",
            given=tare,
            message=f"nothing may be loaded: {words}{season}",
            remedy="Correct the tare or the plated weight.",
        )
    gross = None if tare is None else most + tare
    basis = PayloadBasis(
        rule=RULE_WORDS[WeightRule.PLAIN],
        gross_kg=gross,
        binds=f"{words}{season}",
        source="the truck's owner",
        unchecked=("axle weights",),
    )
    return replace(truck, payload_kg=most, basis=basis)


def _unknown() -> Refused:
    return refuse(
        "payload_unknown",
        field="payload_kg",
        given="none",
        message="nothing says what the truck may carry",
        remedy="Give payload_kg, plated_gross_kg, or axles with a rule.",
    )
