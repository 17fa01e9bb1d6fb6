"""Random planning problems of a realistic size: kilometres, hours, tonnes."""

from __future__ import annotations

import math
import random

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Place, Point
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Window
from logistics.domain.trucks import BodyKind, Cargo, Truck, TruckRates

DAY = 86_400
HOUR = 3_600


def medium_world(
    seed: int, *, hauls: int, trucks: int, days: int, most_kg: int = 60_000
) -> PlanProblem:
    """Hauls between random places of a square of 30 km, trucks of 18 t and 9 t.

    Drops have a break at noon; a third of the hauls is open on a part of the days only.
    """
    rng = random.Random(seed)
    size = 2 * hauls + 2
    spots = [(rng.random() * 30_000, rng.random() * 30_000) for _ in range(size)]
    metres = np.array(
        [[int(1.3 * math.dist(start, end)) for end in spots] for start in spots],
        dtype=np.int64,
    )
    return PlanProblem(
        places=tuple(
            Place(f"p{number}", f"place {number}", Point(46.0, 3.0))
            for number in range(size)
        ),
        distances=DistanceTable(
            metres=metres,
            seconds=-(-metres * 2 // 25),
            reachable=np.ones((size, size), dtype=np.bool_),
            basis="invented",
        ),
        trucks=tuple(
            Truck(
                key=f"t{number}",
                name=f"truck {number}",
                body=BodyKind.TIPPER,
                base=size - 1 - number % 2,
                payload_kg=9_000 if number % 3 == 2 else 18_000,
                body_m3=12.0,
                rates=TruckRates(call_out=8_000, per_hour=6_500, per_km=90),
                max_shift_s=9 * HOUR,
            )
            for number in range(trucks)
        ),
        slots=tuple(
            Slot(truck, f"d{day}", day * DAY + 6 * HOUR, day * DAY + 18 * HOUR)
            for day in range(days)
            for truck in range(trucks)
        ),
        hauls=tuple(_haul(rng, number, days, most_kg) for number in range(hauls)),
    )


def _haul(rng: random.Random, number: int, days: int, most_kg: int) -> Haul:
    first, last = 0, days
    if rng.random() < 1 / 3 and days > 1:
        first = rng.randrange(days)
        last = rng.randint(first + 1, days)
    return Haul(
        key=f"h{number}",
        cargo=Cargo.SUBSOIL,
        origin=2 * number,
        destination=2 * number + 1,
        mass_kg=rng.randint(3_000, most_kg),
        loose_kg_per_m3=rng.choice((1_300.0, 1_500.0)),
        pickup_windows=_open(first, last, (7, 16)),
        drop_windows=_open(first, last, (8, 12), (13, 17)),
        load_s=900,
        unload_s=600,
        loading_fee=500,
    )


def _open(first: int, last: int, *hours: tuple[int, int]) -> tuple[Window, ...]:
    return tuple(
        (day * DAY + opens * HOUR, day * DAY + closes * HOUR)
        for day in range(first, last)
        for opens, closes in hours
    )
