"""How much fits into one truck body, and cutting a quantity into loads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class Bound(StrEnum):
    """Which limit stops the loading of a body."""

    MASS = "mass"
    VOLUME = "volume"


@dataclass(frozen=True, slots=True)
class Capacity:
    """The largest load of one material in one body, and which limit set it."""

    kg: int
    bound: Bound


def body_capacity(
    *, payload_kg: int, body_m3: float, loose_kg_per_m3: float, unit_kg: int = 1
) -> Capacity:
    """The largest load, in kg, limited by mass and by loose volume.

    `loose_kg_per_m3` is the moist density as loaded: wet clay weighs out before it cubes
    out, straw cubes out long before it weighs out. `unit_kg` is the mass of a piece that
    cannot be cut (a bale); the capacity is a whole number of pieces, rounded down.
    """
    by_volume = math.floor(body_m3 * loose_kg_per_m3 + 1e-6)
    kg = min(payload_kg, by_volume) // unit_kg * unit_kg
    return Capacity(kg, Bound.MASS if payload_kg <= by_volume else Bound.VOLUME)


@dataclass(frozen=True, slots=True)
class PartLoadTerms:
    """A supplier's charge, in minor units, for each load lighter than `below_kg`."""

    charge: int = 0
    below_kg: int = 0

    def due(self, load_kg: int) -> int:
        """The charge for one load of this mass."""
        return self.charge if load_kg < self.below_kg else 0


def _fill(
    total_kg: int, capacities: Sequence[int], floors: Sequence[int]
) -> list[int] | None:
    """Give every trip its floor, then fill them up in order; None if it does not fit."""
    loads = list(floors)
    left = total_kg - sum(floors)
    if left < 0:
        return None
    for index, capacity in enumerate(capacities):
        extra = min(capacity - loads[index], left)
        loads[index] += extra
        left -= extra
    return loads if left == 0 else None


def _fewest_charges(
    total_kg: int,
    capacities: Sequence[int],
    used: Sequence[int],
    unit_kg: int,
    below: int,
) -> list[int] | None:
    """Fill the `used` trips so that as few as possible stay below the charge.

    Of N trips that can hold the least chargeless load b, p must stay lighter when
    (N - p) b + p u + ... would exceed the quantity, u being one piece.
    """
    enough = -(-below // unit_kg) * unit_kg
    floors = [unit_kg if at in used else 0 for at in range(len(capacities))]
    spare = total_kg - sum(floors)
    for at in used:
        if capacities[at] >= enough and 0 <= enough - unit_kg <= spare:
            floors[at] = enough
            spare -= enough - unit_kg
    return _fill(total_kg, capacities, floors)


def cut_into_loads(
    total_kg: int,
    capacities: Sequence[int],
    *,
    unit_kg: int = 1,
    terms: PartLoadTerms,
    use_all: bool = False,
) -> list[int]:
    """Share a quantity among trips, in the trips' order; every capacity is respected.

    Full loads and a rest, unless the last two even, or each load just heavy enough to
    escape the part-load charge, save charges: then the earlier of these that costs least.
    No way to load the trips used costs less. A trip that is not needed gets 0, with
    `use_all` one piece. Quantity and capacities are whole numbers of pieces.
    Raises ValueError if the trips cannot carry the quantity.
    """
    every = range(len(capacities))
    floors = [unit_kg if use_all else 0 for _ in every]
    full = _fill(total_kg, capacities, floors)
    if full is None:
        raise ValueError("the trips cannot carry the quantity")
    used = [index for index, kg in enumerate(full) if kg]
    ways = [full]
    if len(used) > 1:
        ahead, last = used[-2:]
        half = math.ceil((full[ahead] + full[last]) / 2 / unit_kg) * unit_kg
        even = list(full)
        even[ahead], even[last] = half, full[ahead] + full[last] - half
        if all(kg <= most for kg, most in zip(even, capacities, strict=True)):
            ways.append(even)
        level = _fewest_charges(total_kg, capacities, used, unit_kg, terms.below_kg)
        ways += [level] if level else []
    return min(ways, key=lambda way: sum(terms.due(kg) for kg in way if kg))
