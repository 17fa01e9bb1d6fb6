"""A batch on the tarp, and how many a day makes and swallows."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.materials import SMALL_BALE, Bale
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import Crew, day_m3
from matching.domain.mix.buckets import Ratio
from matching.domain.mix.parts import Part, mineral_dry_kg_per_m3
from matching.domain.takeoff import MixTarget

BUCKET_L = 10.0
"""A builder's bucket, filled level. Five-gallon buckets hold 19 L."""
TARP_L = 80.0
"""Loose litres that two people can roll on a tarp, 60 to 100. A reported batch of 3 + 2.5
five-gallon buckets (theyearofmud 2008-05-21, seen) is 104 L; else common practice."""
HANDFUL_KG = 0.10
"""What both hands grab of loose straw; common practice, no source: weigh your own."""


@dataclass(frozen=True, slots=True)
class Load:
    """One part of a batch: level buckets, moist kg in them and dry kg of it."""

    part: Part
    buckets: float
    moist_kg: float
    dry_kg: float


@dataclass(frozen=True, slots=True)
class Batch:
    """What is mixed at once. `dry_kg` is soil and sand. `water_l` is what to add to what
    the parts bring along. `wall_m3` is placed wall, waste taken off."""

    loads: tuple[Load, ...]
    loose_l: float
    dry_kg: float
    straw_kg: Spread
    handfuls: Spread
    bales: Spread
    water_l: Spread
    wall_m3: Spread


def batch_of(
    ratio: Ratio,
    mix: MixTarget,
    *,
    loose_l: float = TARP_L,
    bucket_l: float = BUCKET_L,
    bale: Bale = SMALL_BALE,
) -> Batch:
    """The batch nearest to `loose_l` in whole and half buckets of `bucket_l` litres.

    A ratio of many buckets makes a larger batch than asked for, never another ratio.
    Raises Refused for sizes that are not positive.
    """
    for field, value in (("loose_l", loose_l), ("bucket_l", bucket_l)):
        if not 0 < value <= 10_000:
            raise refuse(
                "size_not_usable",
                field=field,
                given=value,
                message="a bucket and a batch have a size in litres",
                remedy="Give litres above 0, such as 10 for a bucket and 80 for a tarp.",
            )
    times = _times(ratio, loose_l / bucket_l)
    loads = tuple(_load(part, n * times, bucket_l) for part, n in ratio.buckets)
    dry = sum(load.dry_kg for load in loads)
    straw = straw_of(dry, mix)
    per_m3 = mineral_dry_kg_per_m3(mix)
    return Batch(
        loads=loads,
        loose_l=sum(load.buckets for load in loads) * bucket_l,
        dry_kg=dry,
        straw_kg=straw,
        handfuls=_scaled(straw, 1 / HANDFUL_KG),
        bales=_scaled(straw, 1 / bale.kg),
        water_l=_water(loads, dry, mix),
        wall_m3=Spread(dry / per_m3.high, dry / per_m3.likely, dry / per_m3.low),
    )


def _times(ratio: Ratio, buckets: float) -> float:
    """How often to take a ratio so that no bucket is filled to less than a half."""
    total = sum(n for _, n in ratio.buckets)
    halves = [
        k / 2
        for k in range(1, max(2, int(2 * buckets / total) + 2) + 1)
        if all((k * n).is_integer() for _, n in ratio.buckets)
    ]
    return min(halves, key=lambda k: (abs(k * total - buckets), k))


def _load(part: Part, buckets: float, bucket_l: float) -> Load:
    litres = buckets * bucket_l
    return Load(
        part,
        buckets,
        litres * part.loose_kg_per_m3 / 1000,
        litres * part.dry_kg_per_litre,
    )


def _scaled(spread: Spread, factor: float) -> Spread:
    return Spread(spread.low * factor, spread.likely * factor, spread.high * factor)


def straw_of(mineral_kg: float, mix: MixTarget) -> Spread:
    """Straw for dry kg of soil and sand: a share of all dry mass, itself included."""
    low, likely, high = (
        mineral_kg * share / (1 - share)
        for share in (mix.straw.low, mix.straw.likely, mix.straw.high)
    )
    return Spread(low, likely, high)


def _water(loads: tuple[Load, ...], dry_kg: float, mix: MixTarget) -> Spread:
    shares = tuple((load.part, load.dry_kg / dry_kg) for load in loads)
    return water_of(shares, Spread.exactly(dry_kg), mix)


def water_of(
    shares: tuple[tuple[Part, float], ...], dry_kg: Spread, mix: MixTarget
) -> Spread:
    """Litres to add to dry kg of parts in these shares. Least where the mix is stiff and
    the heaps are wet, most the other way round."""
    wanted = mix.mixing_moisture
    low = wanted.low - sum(share * part.water.high for part, share in shares)
    likely = wanted.likely - sum(share * part.water.likely for part, share in shares)
    high = wanted.high - sum(share * part.water.low for part, share in shares)
    return Spread(
        dry_kg.low * max(0.0, low),
        dry_kg.likely * max(0.0, likely),
        dry_kg.high * max(0.0, high),
    )


@dataclass(frozen=True, slots=True)
class Swallowed:
    """What a day takes of one part, as loaded: moist kg with stones, and loose m3."""

    part: Part
    moist_kg: Spread
    loose_m3: Spread


@dataclass(frozen=True, slots=True)
class MixingDay:
    """A work day if it goes badly, as likely, and well."""

    wall_m3: Spread
    batches: Spread
    swallowed: tuple[Swallowed, ...]
    straw_kg: Spread
    bales: Spread
    water_l: Spread


def mixing_day(batch: Batch, crew: Crew) -> MixingDay:
    """What a crew mixes and places in a dry work day, at the rates of `lifts.crew`
    (novice 0.12-0.15 m3 a person and day, trained 0.25-0.30, machine 0.6-0.9)."""
    return day_of(batch, day_m3(crew))


def day_of(batch: Batch, wall_m3: Spread) -> MixingDay:
    """Batches for so many m3 of placed wall, and what they swallow."""
    batches = _scaled(wall_m3, 1 / batch.wall_m3.likely)
    swallowed = []
    for load in batch.loads:
        moist = load.part.moist_kg(_scaled(batches, load.dry_kg))
        loose = _scaled(moist, 1 / load.part.loose_kg_per_m3)
        swallowed.append(Swallowed(load.part, moist, loose))
    return MixingDay(
        wall_m3=wall_m3,
        batches=batches,
        swallowed=tuple(swallowed),
        straw_kg=_product(batches, batch.straw_kg),
        bales=_product(batches, batch.bales),
        water_l=_product(batches, batch.water_l),
    )


def _product(one: Spread, other: Spread) -> Spread:
    return Spread(one.low * other.low, one.likely * other.likely, one.high * other.high)
