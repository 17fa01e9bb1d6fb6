"""How much fits into one truck body, and cutting a quantity into loads."""

from __future__ import annotations

import math
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


def _fill(total_kg: int, capacities: list[int], floors: list[int]) -> list[int] | None:
    """Give every trip its floor, then fill them up in order; None if it does not fit."""
    loads = list(floors)
    left = total_kg - sum(floors)
    for index, capacity in enumerate(capacities):
        extra = min(capacity - loads[index], left)
        loads[index] += extra
        left -= extra
    return loads if left == 0 else None


def cut_into_loads(
    total_kg: int, capacities: list[int], *, unit_kg: int = 1, terms: PartLoadTerms
) -> list[int]:
    """Share a quantity among trips, in the trips' order; every capacity is respected.

    Three ways are tried: full loads and a rest, the last two even, and each load just
    heavy enough to escape the part-load charge. The one with the lowest charges is taken,
    the earlier at equal charges. A trip that is not needed gets 0.
    Raises ValueError if the trips cannot carry the quantity.
    """
    full = _fill(total_kg, capacities, [0] * len(capacities))
    if full is None:
        raise ValueError("the trips cannot carry the quantity")
    used = [index for index, kg in enumerate(full) if kg]
    ways = [full]
    if len(used) > 1:
        ahead, last = used[-2:]
        half = math.ceil((full[ahead] + full[last]) / 2 / unit_kg) * unit_kg
        even = list(full)
        even[ahead], even[last] = half, full[ahead] + full[last] - half
        ways.append(even)
        enough = math.ceil(terms.below_kg / unit_kg) * unit_kg
        floors = [enough if index in used else 0 for index in range(len(capacities))]
        if sum(floors) <= total_kg:
            level = _fill(total_kg, capacities, floors)
            ways += [level] if level else []
    fits = [
        way
        for way in ways
        if all(0 <= kg <= most for kg, most in zip(way, capacities, strict=True))
    ]
    return min(fits, key=lambda way: sum(terms.due(kg) for kg in way if kg))
