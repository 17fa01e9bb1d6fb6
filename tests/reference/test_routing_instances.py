"""A published routing problem with a known optimum, posed as milk runs; empty running.

A vehicle is paid by the kilometre alone, so that the cost of a plan is its length.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Place, Point
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import Haul, PlanProblem, Slot
from logistics.domain.planning.result import HaulPlan
from logistics.domain.trucks import BodyKind, Cargo, Truck, TruckRates
from tests.logistics.domain.planning.replay import faults

DATA = Path(__file__).resolve().parents[1] / "data"


def _numbers(name: str) -> list[list[int]]:
    lines = (DATA / name).read_text().splitlines()
    return [
        [int(word) for word in line.split()]
        for line in lines
        if line and not line.startswith("#")
    ]


def _places(size: int) -> tuple[Place, ...]:
    return tuple(Place(f"p{n}", f"place {n}", Point(46, 3)) for n in range(size))


def _table(metres: np.ndarray) -> DistanceTable:
    ways = np.ones(metres.shape, dtype=np.bool_)
    return DistanceTable(metres, metres, ways, "published")


def _vehicle(payload_kg: int, body: BodyKind, longest_s: int) -> Truck:
    rates = TruckRates(call_out=0, per_hour=0, per_km=1000)
    return Truck("v", "vehicle", body, 0, payload_kg, 1e6, rates, longest_s)


def _sound(problem: PlanProblem) -> HaulPlan:
    plan = plan_hauls(problem)
    assert faults(problem, plan) == []
    assert not plan.unplanned
    return plan


def small_shipments() -> PlanProblem:
    """Pickups and deliveries with hours of both; every shipment is one piece."""
    rows = _numbers("small_shipments.txt")
    latest, service = 135_100, 900
    hauls = tuple(
        Haul(
            key=f"h{number}",
            cargo=Cargo.STRAW,
            origin=pickup - 1,
            destination=drop - 1,
            mass_kg=kg,
            loose_kg_per_m3=1.0,
            pickup_windows=((opens, closes + service),),
            drop_windows=((from_s, until_s + service),),
            load_s=service,
            unload_s=service,
            unit_kg=kg,
            shared=True,
        )
        for number, (kg, pickup, opens, closes, drop, from_s, until_s) in enumerate(
            rows[9:]
        )
    )
    truck = _vehicle(50, BodyKind.FLAT_BED, latest)
    return PlanProblem(
        _places(9),
        _table(np.array(rows[:9], dtype=np.int64)),
        (truck, replace(truck, key="w")),
        (Slot(0, "d0", 0, latest), Slot(1, "d0", 0, latest)),
        hauls,
    )


def test_pickups_and_deliveries_of_four_shipments() -> None:
    """Known optimum 65128 (the solution file beside the instance, PyVRP 0.14.1).

    Two shipments are aboard together; the optimum loads all before it tips, as we do.
    """
    plan = _sound(small_shipments())
    assert plan.haul_cost == 65_128
    assert plan.gap < 0.0001


def backhaul() -> PlanProblem:
    """Ten loads of earth S to B, 30 km, ten of sand Y to B', 25 km; B to Y 5, B' to S 8.

    One truck stands at S and works through without end; other ways are as long as over
    these four, which turn in a ring.
    """
    # S, B, Y, B'
    ring = [30, 5, 25, 8]
    metres = np.zeros((4, 4), dtype=np.int64)
    for start in range(4):
        for steps in range(1, 4):
            legs = [ring[(start + step) % 4] for step in range(steps)]
            metres[start, (start + steps) % 4] = 1000 * sum(legs)
    long = 10_000_000
    hauls = tuple(
        Haul(
            key=cargo,
            cargo=cargo,
            origin=origin,
            destination=origin + 1,
            mass_kg=10,
            loose_kg_per_m3=1.0,
            pickup_windows=((0, long),),
            drop_windows=((0, long),),
            load_s=0,
            unload_s=0,
        )
        for cargo, origin in ((Cargo.SUBSOIL, 0), (Cargo.SAND, 2))
    )
    truck = _vehicle(1, BodyKind.TIPPER, long)
    slots = (Slot(0, "d0", 0, long),)
    return PlanProblem(_places(4), _table(metres), (truck,), slots, hauls)


def test_backhauls_leave_a_fifth_of_the_way_empty() -> None:
    """Constructed, solved as a transport of empties: 130 km empty of 680 km, 19.1 %."""
    plan = _sound(backhaul())
    metres = sum(shift.metres for shift in plan.shifts)
    empty = sum(shift.empty_metres for shift in plan.shifts)
    assert (metres, empty) == (680_000, 130_000)
    assert round(100 * empty / metres, 1) == 19.1
    assert plan.bound.amount == 680_000
