"""Trucks: what a body may carry, what a shift costs, and where a truck may not go."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.access import AccessLine, LineState, compare
from logistics.domain.places import AccessLimits


class BodyKind(StrEnum):
    """The body on the chassis. It decides what can be carried at all."""

    TIPPER = "tipper"
    GRAB = "grab"
    HOOK_LIFT = "hook_lift"
    FLAT_BED = "flat_bed"
    TRAILER = "trailer"


class Cargo(StrEnum):
    """What a load consists of, as far as a truck body is concerned."""

    SUBSOIL = "subsoil"
    SAND = "sand"
    STRAW = "straw"


_TIPPED = frozenset({Cargo.SUBSOIL, Cargo.SAND})
# A tipper, a grab and a container take what can be tipped, a flat bed what can be stacked
# and strapped, a farm trailer with tailboard and racks both (common practice, no source).
CARRIES: dict[BodyKind, frozenset[Cargo]] = {
    BodyKind.TIPPER: _TIPPED,
    BodyKind.GRAB: _TIPPED,
    BodyKind.HOOK_LIFT: _TIPPED,
    BodyKind.FLAT_BED: frozenset({Cargo.STRAW}),
    BodyKind.TRAILER: _TIPPED | {Cargo.STRAW},
}
HEAPED = _TIPPED
"""What may stand above the sides of a body, as far as `heaped_m3` says."""
LOADS_ITSELF = frozenset({BodyKind.GRAB})
"""Bodies that need nobody with a loader at the pickup."""
RAISES = frozenset(BodyKind) - {BodyKind.FLAT_BED}
"""Bodies that need clear air above and level, firm ground below to unload."""


@dataclass(frozen=True, slots=True)
class DeliveryBand:
    """What a supplier charges for a load driven at most `up_to_m` from pickup to drop."""

    up_to_m: int
    per_load: int
    per_tonne: int = 0


@dataclass(frozen=True, slots=True)
class DeliveryTariff:
    """A supplier's own delivery: bands by rising distance; nothing beyond the last one.

    A lighter load is charged as `minimum_kg`. Unloading is free for `free_unload_s`, then
    costs `waiting_per_hour`.
    """

    bands: tuple[DeliveryBand, ...]
    minimum_kg: int = 0
    free_unload_s: int = 0
    waiting_per_hour: int = 0

    def band(self, metres: int) -> DeliveryBand | None:
        """The band that a ride of this length falls into, None beyond the last."""
        return next((own for own in self.bands if metres <= own.up_to_m), None)


@dataclass(frozen=True, slots=True)
class TruckRates:
    """What a truck costs, in minor currency units.

    `call_out` once for each shift that is driven; `per_hour` from leaving the base until
    the return to it, waiting and rests included, at least for `minimum_hire_s`; what lies
    beyond `overtime_after_s` costs `overtime_per_hour` on top; `per_km` for every
    kilometre, loaded or empty; `per_load` for each load and `per_tonne` for what it weighs.
    `delivery` is the tariff of a supplier who brings what he sells, on top of the rest.
    """

    call_out: int
    per_hour: int
    per_km: int
    per_load: int = 0
    per_tonne: int = 0
    minimum_hire_s: int = 0
    overtime_after_s: int | None = None
    overtime_per_hour: int = 0
    delivery: DeliveryTariff | None = None


@dataclass(frozen=True, slots=True)
class RestRule:
    """When a driver must rest, in seconds; None: no such limit.

    A rest of `rest_s` at a place, at the latest after `after_driving_s` of driving or
    `after_work_s` of driving, loading, tipping and cleaning, ends both counts.
    `most_driving_s` is the driving of a whole shift.
    """

    name: str
    rest_s: int
    after_driving_s: int | None = None
    after_work_s: int | None = None
    most_driving_s: int | None = None


EU_561 = RestRule("EU 561/2006", 45 * 60, after_driving_s=16_200, most_driving_s=32_400)
"""Regulation (EC) 561/2006, articles 6 and 7: 45 min after 4.5 h of driving, 9 h a day."""
US_395 = RestRule(
    "US 49 CFR 395.3", 30 * 60, after_driving_s=28_800, most_driving_s=39_600
)
"""49 CFR 395.3: 30 min after 8 h of driving, 11 h of driving."""
REST_RULES = {rule.name: rule for rule in (EU_561, US_395)}


@dataclass(frozen=True, slots=True)
class AxleLoad:
    """What one axle carries: `empty_kg`, and `share` of the load on top of it."""

    empty_kg: float
    share: float


@dataclass(frozen=True, slots=True)
class PayloadBasis:
    """Where a payload comes from: the rule, the gross weight, the limit that set it in
    words, the source, and what was left unchecked."""

    rule: str
    gross_kg: int | None
    binds: str
    source: str
    unchecked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck. `payload_kg` is what may legally be loaded, `body_m3` the struck volume.

    `heaped_m3` is what it takes of material that may stand above its sides. `tare_kg`, the
    outer sizes, the diameter of its turning circle, the height of its raised body and what
    its axles carry are compared with the access cards of places. `cleaning_s` is spent
    at the drop before another cargo may be loaded. A truck with `only_from` loads at these
    places alone. `basis` says where the payload comes from, if not from its owner.
    """

    key: str
    name: str
    body: BodyKind
    base: int
    payload_kg: int
    body_m3: float
    rates: TruckRates
    max_shift_s: int
    tare_kg: int | None = None
    height_m: float | None = None
    width_m: float | None = None
    length_m: float | None = None
    heaped_m3: float | None = None
    rest: RestRule | None = None
    cleaning_s: int = 0
    only_from: frozenset[int] | None = None
    turning_m: float | None = None
    tip_height_m: float | None = None
    axle_loads: tuple[AxleLoad, ...] = ()
    basis: PayloadBasis | None = None

    def volume_m3(self, cargo: Cargo) -> float:
        """Loose volume that the body takes of a cargo, m3."""
        heaped = self.heaped_m3 if cargo in HEAPED else None
        return heaped or self.body_m3

    @property
    def raises(self) -> bool:
        """Whether it works above itself to unload: a raised body, or a grab's arm."""
        return self.body in RAISES

    @property
    def farm(self) -> bool:
        """Whether a tractor pulls it, which soft ground stops later than a lorry."""
        return self.body is BodyKind.TRAILER

    def heaviest_axle_kg(self, load_kg: int) -> float | None:
        """What its heaviest axle carries under a load, None if that is not known."""
        carried = [own.empty_kg + own.share * load_kg for own in self.axle_loads]
        return max(carried, default=None)


def access_lines(
    truck: Truck, access: AccessLimits, load_kg: int
) -> tuple[AccessLine, ...]:
    """Every line of a place's access card against the truck with this load: kept, failed
    or not known, in words. What concerns tipping counts only with a load."""
    return compare(truck, access, load_kg)


def barred_from(truck: Truck, access: AccessLimits, load_kg: int) -> str | None:
    """Say in words why a truck with this load may not enter, or None if nothing stops it.

    The first line of the access card that fails. A size is compared only where both sides
    are known, and a tare that is not known counts as nothing: this never calls a way legal.
    """
    lines = compare(truck, access, load_kg)
    return next((own.words for own in lines if own.state is LineState.FAILS), None)


def load_admitted(truck: Truck, access: AccessLimits) -> int:
    """The largest load, kg, with which the truck keeps the place's limits on gross and axle
    weight, at most its payload. Axles count as far as they are known."""
    most = float(truck.payload_kg)
    if access.max_gross_kg is not None:
        most = min(most, access.max_gross_kg - (truck.tare_kg or 0))
    if access.max_axle_kg is not None:
        for own in truck.axle_loads:
            room = access.max_axle_kg - own.empty_kg
            if room < 0:
                return 0
            if own.share > 0:
                most = min(most, room / own.share)
    return max(int(most + 1e-6), 0)
