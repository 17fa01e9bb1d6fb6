"""Tiny random problems, one family for each thing a shift or a plan must obey.

A day is 40 s long and a load weighs a few kilograms, so that every plan can be tried
(exhaustive.py); only the families with the rests of the law count in quarters of an hour.
"""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np

from logistics.domain.distances import DistanceTable, Table
from logistics.domain.loads import PartLoadTerms
from logistics.domain.places import Place, Point
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Window
from logistics.domain.trucks import (
    EU_561,
    BodyKind,
    Cargo,
    DeliveryBand,
    DeliveryTariff,
    RestRule,
    Truck,
    TruckRates,
)

DAY = 100
SHUT = 48
QUARTER = 900


def table(rng: random.Random, size: int, longest: int, step: int = 1) -> DistanceTable:
    """Random ways, one way, none longer than over a third place.

    Where a detour were shorter, a truck would do well to carry one load in two.
    """
    seconds = [
        [rng.randint(1, longest) * step for _ in range(size)] for _ in range(size)
    ]
    metres = [[rng.randint(100, 3000) for _ in range(size)] for _ in range(size)]
    ways = np.ones((size, size), dtype=np.bool_)
    return DistanceTable(_closed(metres), _closed(seconds), ways, "invented")


def _closed(rows: list[list[int]]) -> Table:
    found = np.array(rows, dtype=np.int64)
    np.fill_diagonal(found, 0)
    for middle in range(len(rows)):
        found = np.minimum(found, found[:, [middle]] + found[[middle], :])
    return found


def plain(
    rng: random.Random, *, days: int = 2, slots: int = 3, hauls: int | None = None
) -> PlanProblem:
    """Trucks of two sizes, hauls of soil and sand, some part-load charges."""
    size = rng.randint(3, 5)
    trucks = tuple(
        small_truck(rng, number, size) for number in range(rng.randint(1, 2))
    )
    every = [
        Slot(truck, f"d{day}", day * DAY + rng.choice((5, 9)), day * DAY + SHUT)
        for day in range(days)
        for truck in range(len(trucks))
    ]
    return PlanProblem(
        places=tuple(
            Place(f"p{number}", f"place {number}", Point(46.0, 3.0))
            for number in range(size)
        ),
        distances=table(rng, size, 5),
        trucks=trucks,
        slots=tuple(every[:slots]),
        hauls=tuple(
            small_haul(rng, number, size, days)
            for number in range(hauls or rng.randint(1, 3))
        ),
    )


def small_truck(rng: random.Random, number: int, size: int) -> Truck:
    return Truck(
        key=f"t{number}",
        name=f"truck {number}",
        body=BodyKind.TIPPER,
        base=rng.randrange(size),
        payload_kg=rng.choice((5, 7, 9)),
        body_m3=rng.choice((4.0, 7.0)),
        rates=TruckRates(
            call_out=rng.choice((0, 50, 300)),
            per_hour=rng.choice((3600 * 7, 3600 * 3 + 1234)),
            per_km=rng.choice((9, 123)),
        ),
        max_shift_s=rng.randint(25, 36),
    )


def small_haul(rng: random.Random, number: int, size: int, days: int) -> Haul:
    origin = rng.randrange(size)
    return Haul(
        key=f"h{number}",
        cargo=rng.choice((Cargo.SUBSOIL, Cargo.SAND)),
        origin=origin,
        destination=rng.choice([place for place in range(size) if place != origin]),
        mass_kg=rng.randint(1, 12),
        loose_kg_per_m3=rng.choice((1.3, 1.5, 2.0)),
        pickup_windows=_open(rng, days),
        drop_windows=_open(rng, days),
        load_s=rng.randint(1, 3),
        unload_s=rng.randint(0, 2),
        loading_fee=rng.choice((0, 40)),
        part_load=rng.choice((PartLoadTerms(), PartLoadTerms(30, 5))),
    )


def _open(rng: random.Random, days: int) -> tuple[Window, ...]:
    return tuple(
        (day * DAY + rng.randint(0, 12), day * DAY + rng.randint(36, SHUT))
        for day in range(days)
    )


def _narrow(rng: random.Random, days: int) -> tuple[Window, ...]:
    """Two or three short openings a day."""
    found: list[Window] = []
    for day in range(days):
        edges = sorted(rng.sample(range(6, SHUT), rng.choice((4, 4, 6))))
        found += [
            (day * DAY + a, day * DAY + b)
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        ]
    return tuple(found)


def _short(rng: random.Random, days: int) -> tuple[Window, ...]:
    """One short time a day."""
    begins = [day * DAY + rng.randint(10, 38) for day in range(days)]
    return tuple((begin, begin + rng.randint(2, 8)) for begin in begins)


def windows(rng: random.Random) -> PlanProblem:
    """Several openings a day at pickups and drops."""
    problem = plain(rng)
    hauls = tuple(
        replace(haul, pickup_windows=_narrow(rng, 2), drop_windows=_narrow(rng, 2))
        for haul in problem.hauls
    )
    return replace(problem, hauls=hauls)


def loader(rng: random.Random) -> PlanProblem:
    """Somebody with a loader is there at some hours; a grab needs nobody."""
    problem = plain(rng)
    hauls = tuple(
        replace(
            haul,
            loader_windows=rng.choice((None, _short(rng, 2), _short(rng, 2))),
        )
        for haul in problem.hauls
    )
    bodies = (BodyKind.TIPPER, BodyKind.TIPPER, BodyKind.GRAB)
    trucks = tuple(replace(t, body=rng.choice(bodies)) for t in problem.trucks)
    return replace(problem, hauls=hauls, trucks=trucks)


def cleaning(rng: random.Random) -> PlanProblem:
    """Bodies are cleaned between soil, sand and straw."""
    days = rng.choice((1, 1, 2))
    problem = plain(rng, days=days, slots=2, hauls=rng.randint(2, 3))
    bodies = (BodyKind.TIPPER, BodyKind.TRAILER)
    trucks = tuple(
        replace(t, cleaning_s=rng.choice((0, 3, 6)), body=rng.choice(bodies))
        for t in problem.trucks
    )
    cargos = rng.sample(list(Cargo), 3)
    hauls = tuple(
        replace(haul, cargo=cargos[number], mass_kg=rng.randint(1, 7))
        for number, haul in enumerate(problem.hauls)
    )
    return replace(problem, trucks=trucks, hauls=hauls)


def rests(rng: random.Random) -> PlanProblem:
    """Short rules of rest by driving, by work, or both, with cleaning in between."""
    problem = cleaning(rng)
    trucks = tuple(
        replace(
            truck,
            rest=RestRule(
                "short",
                rng.randint(1, 4),
                after_driving_s=rng.choice((None, rng.randint(6, 12))),
                after_work_s=rng.choice((None, rng.randint(8, 14))),
                most_driving_s=rng.choice((None, rng.randint(10, 25))),
            ),
        )
        for truck in problem.trucks
    )
    return replace(problem, trucks=trucks)


def long_drives(rng: random.Random, rule: RestRule) -> PlanProblem:
    """Drives of hours; all in quarters of an hour."""
    day, days = 96 * QUARTER, 2
    size = rng.randint(3, 4)
    problem = plain(rng, days=days, slots=2)
    longest = 10 if rule is EU_561 else 14
    trucks = tuple(
        replace(
            truck,
            base=truck.base % size,
            rest=rule,
            max_shift_s=rng.randint(40, 60) * QUARTER,
            rates=replace(truck.rates, per_hour=rng.choice((6000, 6501))),
        )
        for truck in problem.trucks
    )
    hours = tuple((d * day + 24 * QUARTER, d * day + 84 * QUARTER) for d in range(days))
    broken = tuple(
        (d * day + a * QUARTER, d * day + b * QUARTER)
        for d in range(days)
        for a, b in ((28, 48), (52, 80))
    )
    hauls = []
    for haul in problem.hauls[:2]:
        origin = rng.randrange(size)
        hauls.append(
            replace(
                haul,
                origin=origin,
                destination=rng.choice([p for p in range(size) if p != origin]),
                pickup_windows=rng.choice((hours, broken)),
                drop_windows=rng.choice((hours, broken)),
                load_s=rng.randint(1, 3) * QUARTER,
                unload_s=rng.randint(0, 2) * QUARTER,
            )
        )
    return replace(
        problem,
        places=problem.places[:size]
        if len(problem.places) >= size
        else (*problem.places, *problem.places[: size - len(problem.places)]),
        distances=table(rng, size, longest, QUARTER),
        trucks=trucks,
        slots=tuple(
            replace(
                s,
                earliest=int(s.day[1]) * day + 20 * QUARTER,
                latest=int(s.day[1]) * day + 88 * QUARTER,
            )
            for s in problem.slots
        ),
        hauls=tuple(hauls),
    )


def overtime(rng: random.Random) -> PlanProblem:
    """Hire for a least time, and dearer hours after some time."""
    problem = plain(rng)
    trucks = tuple(
        replace(
            truck,
            rates=replace(
                truck.rates,
                minimum_hire_s=rng.choice((0, 12, 20)),
                overtime_after_s=rng.choice((None, 10, 18)),
                overtime_per_hour=rng.choice((3600 * 4, 9999)),
            ),
        )
        for truck in problem.trucks
    )
    return replace(problem, trucks=trucks)


def by_weight(rng: random.Random) -> PlanProblem:
    """Trucks paid by the hour, by the load and by the tonne side by side."""
    problem = plain(rng)
    trucks = tuple(
        replace(
            truck,
            rates=rng.choice(
                (
                    truck.rates,
                    TruckRates(0, 0, 0, per_load=rng.choice((60, 150))),
                    TruckRates(0, 0, 0, per_tonne=rng.choice((9_300, 25_500))),
                    TruckRates(20, 3600, 50, per_load=25, per_tonne=1_499),
                )
            ),
        )
        for truck in problem.trucks
    )
    return replace(problem, trucks=trucks)


def delivered(rng: random.Random) -> PlanProblem:
    """A supplier who brings what he sells by bands of distance, beside a hired truck."""
    problem = plain(rng)
    near = rng.randint(500, 1500)
    tariff = DeliveryTariff(
        (
            DeliveryBand(near, rng.choice((80, 120)), rng.choice((0, 5_500))),
            DeliveryBand(near + 1000, rng.choice((150, 200)), rng.choice((0, 7_700))),
        ),
        minimum_kg=rng.choice((0, 4)),
        free_unload_s=rng.choice((0, 1)),
        waiting_per_hour=rng.choice((0, 3600 * 11)),
    )
    first = problem.trucks[0]
    own = replace(
        first,
        rates=TruckRates(0, rng.choice((0, 3600)), 0, delivery=tariff),
        only_from=rng.choice((None, frozenset({problem.hauls[0].origin}))),
    )
    return replace(problem, trucks=(own, *problem.trucks[1:]))
