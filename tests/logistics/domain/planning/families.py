"""Tiny random problems of plans whose shifts hang together, and the list of all families."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.places import AccessLimits, Place, Point
from logistics.domain.planning.problem import PlanProblem, Slot, Store
from logistics.domain.trucks import EU_561, US_395, BodyKind, Cargo
from tests.logistics.domain.planning.feature_worlds import (
    DAY,
    QUARTER,
    SHUT,
    by_weight,
    cleaning,
    delivered,
    loader,
    long_drives,
    overtime,
    plain,
    rests,
    small_haul,
    small_truck,
    table,
    windows,
)


@dataclass(frozen=True)
class Family:
    """Problems of one kind; all times are multiples of `grid`."""

    build: Callable[[random.Random], PlanProblem]
    grid: int = 1

    def world(self, seed: int) -> PlanProblem:
        """The problem with this number."""
        return self.build(random.Random(seed))


def _with_gaps(rng: random.Random, ways: DistanceTable) -> DistanceTable:
    """Some ways shut; what stays reachable over other places is reached that way."""
    size = len(ways)
    shut = np.array([[rng.random() < 0.3 for _ in range(size)] for _ in range(size)])
    np.fill_diagonal(shut, val=False)
    seconds = np.where(shut, 10_000, ways.seconds)
    for middle in range(size):
        seconds = np.minimum(seconds, seconds[:, [middle]] + seconds[[middle], :])
    return replace(ways, seconds=seconds, reachable=seconds < 10_000)


def loads_a_day(rng: random.Random) -> PlanProblem:
    """Places that take few loads a day."""
    problem = plain(rng)
    places = tuple(
        replace(place, loads_a_day=rng.choice((None, 1, 1, 2)))
        for place in problem.places
    )
    return replace(problem, places=places)


def stores(rng: random.Random) -> PlanProblem:
    """Room at the site that grows, or shrinks, from day to day."""
    problem = plain(rng)
    which = list(range(len(problem.hauls)))
    found = [
        Store(
            f"store {number}",
            tuple(rng.sample(which, rng.randint(1, len(which)))),
            tuple(
                (day, rng.choice((1.0, 2.5, 4.0, 6.0)))
                for day in rng.choice((("d0", "d1"), ("d0",), ("d1",)))
            ),
        )
        for number in range(rng.randint(1, 2))
    ]
    return replace(problem, stores=tuple(found))


def overnight(rng: random.Random) -> PlanProblem:
    """A truck that may stay the night at a site."""
    problem = plain(rng, days=2, slots=9)
    truck = problem.trucks[0]
    size = len(problem.places)
    away = rng.choice([p for p in range(size) if p != truck.base])
    extra = [
        Slot(0, "d0", 5, SHUT, None, away),
        Slot(0, "d1", DAY + 5, DAY + SHUT, away, None),
    ]
    if rng.random() < 0.3:
        extra.append(Slot(0, "d1", DAY + 5, DAY + SHUT, away, away))
    slots = [slot for slot in problem.slots if slot.truck == 0]
    others = [slot for slot in problem.slots if slot.truck == 1][:1]
    return replace(problem, slots=(*slots, *extra, *others))


def at_once(rng: random.Random) -> PlanProblem:
    """Two or three trucks on one day, and places that admit one at a time."""
    size = 3
    problem = plain(rng, days=1)
    trucks = tuple(
        replace(
            small_truck(rng, number, size), max_shift_s=rng.randint(12, 18), body_m3=7.0
        )
        for number in range(2)
    )
    hauls = tuple(
        replace(
            small_haul(rng, number, size, 1),
            mass_kg=rng.randint(6, 18),
            load_s=rng.randint(2, 5),
            unload_s=rng.randint(1, 4),
            pickup_windows=((6, rng.randint(11, 18)),),
            drop_windows=((6, rng.randint(16, 24)),),
        )
        for number in range(rng.randint(1, 2))
    )
    busy = rng.choice([haul.origin for haul in hauls] + [hauls[0].destination])
    return replace(
        problem,
        places=tuple(
            Place(
                f"p{n}",
                f"place {n}",
                Point(46.0, 3.0),
                at_once=1 if n == busy else None,
            )
            for n in range(size)
        ),
        distances=table(rng, size, 4),
        trucks=trucks,
        slots=tuple(Slot(n, "d0", 2, 28) for n in range(2)),
        hauls=hauls,
    )


def milk_runs(rng: random.Random) -> PlanProblem:
    """Bales from several farms to several builds, riding together."""
    problem = plain(rng, days=1, slots=2)
    trucks = tuple(
        replace(
            t,
            body=BodyKind.FLAT_BED,
            payload_kg=rng.choice((5, 7, 11)),
            body_m3=rng.choice((5.0, 9.0)),
        )
        for t in problem.trucks
    )
    size = len(problem.places)
    hauls = []
    for number in range(rng.randint(2, 3)):
        haul, unit = small_haul(rng, number, size, 1), rng.choice((1, 2, 3))
        hauls.append(
            replace(
                haul,
                cargo=Cargo.STRAW,
                unit_kg=unit,
                mass_kg=unit * rng.randint(1, 3),
                shared=rng.random() < 0.85,
            )
        )
    return replace(problem, trucks=trucks, hauls=tuple(hauls))


def own_ways(rng: random.Random) -> PlanProblem:
    """Trucks that may not use the same roads, and weak ways into places."""
    problem = plain(rng)
    size = len(problem.places)
    own = _with_gaps(rng, table(rng, size, 6))
    places = tuple(
        replace(place, access=AccessLimits(max_gross_kg=rng.choice((None, None, 9))))
        for place in problem.places
    )
    trucks = tuple(replace(t, tare_kg=rng.choice((None, 4))) for t in problem.trucks)
    return replace(
        problem, places=places, trucks=trucks, own_ways={problem.trucks[0].key: own}
    )


def everything(rng: random.Random) -> PlanProblem:
    """Openings, cleaning, rests, overtime, few loads a day, a small store."""
    problem, other = rests(rng), windows(rng)
    hours = other.hauls[0]
    truck = overtime(rng).trucks[0]
    return replace(
        problem,
        places=tuple(
            replace(place, loads_a_day=rng.choice((None, None, 1, 2)))
            for place in problem.places
        ),
        trucks=tuple(replace(t, rates=truck.rates) for t in problem.trucks),
        hauls=(
            replace(
                problem.hauls[0],
                pickup_windows=hours.pickup_windows,
                loader_windows=rng.choice((None, hours.drop_windows)),
            ),
            *problem.hauls[1:],
        ),
        stores=(Store("corner", (0,), (("d0", rng.choice((2.0, 5.0))),)),),
    )


FAMILIES = {
    "plain": Family(plain),
    "windows": Family(windows),
    "loader": Family(loader),
    "cleaning": Family(cleaning),
    "rests": Family(rests),
    "eu_rests": Family(lambda rng: long_drives(rng, EU_561), QUARTER),
    "us_rests": Family(lambda rng: long_drives(rng, US_395), QUARTER),
    "overtime": Family(overtime),
    "by_weight": Family(by_weight),
    "delivered": Family(delivered),
    "loads_a_day": Family(loads_a_day),
    "stores": Family(stores),
    "overnight": Family(overnight),
    "at_once": Family(at_once),
    "milk_runs": Family(milk_runs),
    "own_ways": Family(own_ways),
    "everything": Family(everything),
}
