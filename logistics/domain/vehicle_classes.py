"""Kinds of trucks for people who have never ordered one: what fits where, and what else
would do where a truck does not fit.

Sizes are those of a usual truck of its kind and stand for nothing but an order of magnitude.
Their source is common practice, unless said otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.access import AccessLine, LineState, compare
from logistics.domain.places import AccessLimits
from logistics.domain.trucks import CARRIES, RAISES, BodyKind, Cargo

COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True)
class VehicleClass:
    """One kind of truck in plain words. Masses kg, sizes m; `tip_height_m` with the body
    raised or the arm at work."""

    key: str
    name: str
    body: BodyKind
    axles: int
    tare_kg: int
    payload_kg: int
    body_m3: float
    length_m: float
    width_m: float
    height_m: float
    turning_m: float
    tip_height_m: float | None
    fits: str
    source: str = COMMON

    @property
    def raises(self) -> bool:
        """Whether it raises a body or an arm to unload."""
        return self.body in RAISES

    @property
    def farm(self) -> bool:
        """Whether a tractor pulls it."""
        return self.body is BodyKind.TRAILER

    def heaviest_axle_kg(self, load_kg: int) -> None:
        """Not known of a kind: axles differ from truck to truck."""


CLASSES = (
    VehicleClass(
        "pickup_trailer",
        "car trailer or pickup",
        BodyKind.TRAILER,
        *(2, 1_500, 700, 0.5, 6.0, 2.0, 2.0, 13.0, None),
        "Goes wherever a car goes; half a cubic metre of sand is all that it carries.",
        "700 kg, half a yard of sand: rocksanddirt.com",
    ),
    VehicleClass(
        "farm_trailer",
        "tractor with tipping trailer",
        BodyKind.TRAILER,
        *(3, 8_000, 10_000, 8.0, 10.5, 2.55, 3.0, 16.0, 5.5),
        "Fields, tracks and soft yards where a lorry would sink; slow, so for a few"
        " kilometres only. Carries straw as well.",
        "short hauls on rough ground: forum4farming.com 2931; sizes common practice",
    ),
    VehicleClass(
        "small_tipper",
        "small tipper, 2 axles",
        BodyKind.TIPPER,
        *(2, 8_500, 9_500, 6.5, 6.9, 2.4, 3.0, 16.0, 5.5),
        "Village lanes and most drives from 3 m wide; turns in a farmyard.",
        "gross 18 t: Directive 96/53/EC; sizes common practice",
    ),
    VehicleClass(
        "six_wheeler",
        "tipper, 3 axles",
        BodyKind.TIPPER,
        *(3, 11_500, 14_500, 10.0, 8.4, 2.5, 3.3, 19.0, 6.5),
        "Firm lanes and yards with room to turn a bus.",
        "gross 26 t: Directive 96/53/EC; sizes common practice",
    ),
    VehicleClass(
        "eight_wheeler",
        "tipper, 4 axles",
        BodyKind.TIPPER,
        *(4, 12_500, 19_500, 14.0, 9.5, 2.5, 3.4, 22.0, 7.5),
        "The cheapest tonne where the way is wide, firm and level: at least 3 m between"
        " the gateposts, hard standing at the end.",
        "gross 32 t: UK regulations of 1998; 3 m lane: selfbuild.ie; else common practice",
    ),
    VehicleClass(
        "grab",
        "grab lorry, 4 axles",
        BodyKind.GRAB,
        *(4, 15_500, 16_500, 12.0, 9.5, 2.5, 3.8, 22.0, 5.8),
        "Loads itself over a fence or a wall from the road: nobody with a digger is needed."
        " Its arm needs clear air.",
        "3.8 m to pass, 2 m more to work: abcgrabs.co.uk; else common practice",
    ),
    VehicleClass(
        "hook_lift",
        "hook-lift with container",
        BodyKind.HOOK_LIFT,
        *(3, 12_500, 13_500, 12.0, 8.5, 2.5, 3.5, 19.0, 6.5),
        "Leaves a container to be filled by hand and comes back for it.",
    ),
    VehicleClass(
        "articulated_tipper",
        "tractor unit with tipping semi-trailer",
        BodyKind.TIPPER,
        *(5, 14_500, 25_500, 22.0, 15.0, 2.55, 3.7, 25.0, 9.5),
        "Quarry to yard on wide roads; tips only with cab and trailer in line on level,"
        " hard ground. Not for building plots.",
        "gross 40 t: Directive 96/53/EC; in line: hse.gov.uk; else common practice",
    ),
    VehicleClass(
        "flat_bed",
        "flat bed for bales",
        BodyKind.FLAT_BED,
        *(3, 9_000, 12_000, 45.0, 10.0, 2.5, 3.9, 20.0, None),
        "Stacked bales, 3.9 m high: mind trees and wires along the lane.",
    ),
)


@dataclass(frozen=True, slots=True)
class Substitute:
    """A kind of truck that no line of an access card keeps away with a usual load, and the
    lines of which nothing is known."""

    kind: VehicleClass
    open: tuple[AccessLine, ...]

    @property
    def words(self) -> str:
        """The advice in a sentence."""
        load = (
            f"about {self.kind.payload_kg / 1000:g} t, {self.kind.body_m3:g} m3 a load"
        )
        return f"A {self.kind.name} would fit ({load}). {self.kind.fits}"


def substitutes(access: AccessLimits, cargo: Cargo) -> tuple[Substitute, ...]:
    """The kinds of trucks that carry this and fit the card, the largest load first."""
    found = []
    for kind in CLASSES:
        lines = compare(kind, access, kind.payload_kg)
        fails = any(own.state is LineState.FAILS for own in lines)
        if cargo in CARRIES[kind.body] and not fails:
            left = tuple(own for own in lines if own.state is LineState.UNKNOWN)
            found.append(Substitute(kind, left))
    return tuple(sorted(found, key=lambda own: -own.kind.payload_kg))
