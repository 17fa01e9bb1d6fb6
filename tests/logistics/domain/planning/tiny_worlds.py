"""Tiny random planning problems: a day is a minute long, a load weighs a few kilograms."""

from __future__ import annotations

import random

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.loads import PartLoadTerms
from logistics.domain.places import Place, Point
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Window
from logistics.domain.trucks import BodyKind, Cargo, Truck, TruckRates

DAY = 100


def tiny_world(seed: int, *, shut_ways: float = 0.0) -> PlanProblem:
    """A problem small enough to try every plan. `shut_ways` is the share of missing ways."""
    rng = random.Random(seed)
    size = rng.randint(3, 6)
    days = rng.randint(1, 2)
    trucks = tuple(_truck(rng, number, size) for number in range(rng.randint(1, 3)))
    slots = [
        Slot(truck, f"d{day}", day * DAY + rng.choice((5, 5, 9)), day * DAY + 65)
        for day in range(days)
        for truck in range(len(trucks))
    ]
    rng.shuffle(slots)
    return PlanProblem(
        places=tuple(
            Place(f"p{number}", f"place {number}", Point(46.0, 3.0))
            for number in range(size)
        ),
        distances=_table(rng, size, shut_ways),
        trucks=trucks,
        slots=tuple(slots[:3]),
        hauls=tuple(
            _haul(rng, number, size, days)
            for number in range(rng.choice((1, 2, 2, 3, 3)))
        ),
    )


def _truck(rng: random.Random, number: int, size: int) -> Truck:
    return Truck(
        key=f"t{number}",
        name=f"truck {number}",
        body=rng.choice((BodyKind.TIPPER, BodyKind.TIPPER, BodyKind.FLAT_BED)),
        base=rng.randrange(size),
        payload_kg=rng.choice((6, 9, 9, 14)),
        body_m3=rng.choice((5.0, 9.0)),
        rates=TruckRates(
            call_out=rng.choice((0, 50, 400)),
            per_hour=rng.choice((3600 * 7, 3600 * 3 + 1234, 0)),
            per_km=rng.choice((0, 9, 123)),
        ),
        max_shift_s=rng.randint(35, 60),
    )


def _haul(rng: random.Random, number: int, size: int, days: int) -> Haul:
    cargo = rng.choice((Cargo.SUBSOIL, Cargo.SAND, Cargo.SUBSOIL, Cargo.STRAW))
    unit = rng.choice((2, 3)) if cargo is Cargo.STRAW else 1
    origin = rng.randrange(size)
    terms = rng.choice((PartLoadTerms(), PartLoadTerms(30, 6), PartLoadTerms(300, 8)))
    return Haul(
        key=f"h{number}",
        cargo=cargo,
        origin=origin,
        destination=rng.choice([place for place in range(size) if place != origin]),
        mass_kg=rng.randint(1, 26 // unit) * unit,
        loose_kg_per_m3=rng.choice((1.3, 1.5, 2.0)),
        pickup_windows=_windows(rng, days),
        drop_windows=_windows(rng, days),
        load_s=rng.randint(0, 3),
        unload_s=rng.randint(0, 3),
        loading_fee=rng.choice((0, 5, 40)),
        part_load=terms,
        unit_kg=unit,
    )


def _windows(rng: random.Random, days: int) -> tuple[Window, ...]:
    """All day, one half of it, or both with a break; now and then not on every day."""
    found: list[Window] = []
    kind = rng.choice(("all", "break", "morning", "break"))
    for day in range(days):
        if rng.random() < 0.05:
            continue
        start = day * DAY
        noon, after = start + rng.randint(25, 32), start + rng.randint(33, 40)
        if kind == "all":
            found.append((start + rng.randint(0, 15), start + 62))
        elif kind == "break":
            found += [(start + 8, noon), (after, start + 60)]
        else:
            found.append((start + 10, after))
    return tuple(found)


def _table(rng: random.Random, size: int, shut_ways: float) -> DistanceTable:
    """Seconds are closed under detours; metres, along the quickest way, need not be."""
    seconds = np.array(
        [[rng.randint(1, 6) for _ in range(size)] for _ in range(size)], dtype=np.int64
    )
    way = np.array(
        [[rng.random() >= shut_ways for _ in range(size)] for _ in range(size)]
    )
    np.fill_diagonal(seconds, 0)
    np.fill_diagonal(way, True)
    seconds = np.where(way, seconds, 10_000)
    for middle in range(size):
        seconds = np.minimum(seconds, seconds[:, [middle]] + seconds[[middle], :])
    reachable = seconds < 10_000
    metres = np.array(
        [[rng.randint(100, 3000) for _ in range(size)] for _ in range(size)],
        dtype=np.int64,
    )
    np.fill_diagonal(metres, 0)
    # What stands where no way leads must never be read; 0 would be the worst to read.
    return DistanceTable(
        metres=np.where(reachable, metres, 0),
        seconds=np.where(reachable, seconds, 0),
        reachable=reachable,
        basis="invented",
    )
