"""Trucks: what a body may carry, what a shift costs, and where a truck may not go."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.places import AccessLimits


class BodyKind(StrEnum):
    """The body on the chassis. It decides what can be carried at all."""

    TIPPER = "tipper"
    FLAT_BED = "flat_bed"


class Cargo(StrEnum):
    """What a load consists of, as far as a truck body is concerned."""

    SUBSOIL = "subsoil"
    SAND = "sand"
    STRAW = "straw"


# A tipper takes what can be tipped, a flat bed what can be stacked and strapped
# (common practice, no source).
CARRIES: dict[BodyKind, frozenset[Cargo]] = {
    BodyKind.TIPPER: frozenset({Cargo.SUBSOIL, Cargo.SAND}),
    BodyKind.FLAT_BED: frozenset({Cargo.STRAW}),
}


@dataclass(frozen=True, slots=True)
class TruckRates:
    """What a truck costs, in minor currency units.

    `call_out` once for each shift that is driven; `per_hour` from leaving the base until
    the return to it, waiting included; `per_km` for every kilometre, loaded or empty.
    """

    call_out: int
    per_hour: int
    per_km: int


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck. `payload_kg` is what may legally be loaded, `body_m3` the loose volume.

    `tare_kg` and the outer sizes are compared with the access limits of places.
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


def barred_from(truck: Truck, access: AccessLimits, load_kg: int) -> str | None:
    """Say in words why a truck with this load may not enter, or None if nothing stops it.

    A size is compared only where both sides are known, and a tare that is not known counts
    as nothing: this never calls a way legal.
    """
    if access.max_gross_kg is not None:
        gross = (truck.tare_kg or 0) + load_kg
        if gross > access.max_gross_kg:
            return f"weighs {gross / 1000:.1f} t, the limit is {access.max_gross_kg / 1000:.1f} t"
    sizes = (
        ("high", truck.height_m, access.max_height_m),
        ("wide", truck.width_m, access.max_width_m),
        ("long", truck.length_m, access.max_length_m),
    )
    for word, size, limit in sizes:
        if size is not None and limit is not None and size > limit:
            return f"is {size:.2f} m {word}, the limit is {limit:.2f} m"
    return None
