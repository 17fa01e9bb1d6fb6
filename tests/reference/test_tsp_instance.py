"""A published travelling salesman problem, posed as loads that are tipped where they lie.

gr17 (M. Groetschel; TSPLIB, G. Reinelt, ORSA Journal on Computing 3, 1991): 17 cities, the
shortest tour is 2085. One truck lives in the first city and has a load in each other one;
it is paid by the kilometre, so that the cost of its shift is the length of the tour.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Place, Point
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import Haul, PlanProblem, Slot
from logistics.domain.trucks import BodyKind, Cargo, Truck, TruckRates

GR17 = Path(__file__).resolve().parents[1] / "data" / "gr17.txt"
OPTIMUM = 2085
DAY = (0, 86_400)


def _gr17() -> np.ndarray:
    rows = [
        [int(word) for word in line.split()]
        for line in GR17.read_text().splitlines()
        if not line.startswith("#")
    ]
    table = np.zeros((len(rows), len(rows)), dtype=np.int64)
    for at, row in enumerate(rows):
        table[at, : len(row)] = table[: len(row), at] = row
    return table


def _salesman() -> PlanProblem:
    table = _gr17()
    size = len(table)
    return PlanProblem(
        places=tuple(
            Place(f"c{city}", f"city {city}", Point(50.0, 8.0)) for city in range(size)
        ),
        # A kilometre for each unit of length and a second for each kilometre.
        distances=DistanceTable(
            metres=table * 1000,
            seconds=table,
            reachable=np.ones((size, size), dtype=np.bool_),
            basis="TSPLIB gr17",
        ),
        trucks=(
            Truck(
                key="t",
                name="salesman",
                body=BodyKind.TIPPER,
                base=0,
                payload_kg=1,
                body_m3=1.0,
                rates=TruckRates(call_out=0, per_hour=0, per_km=1),
                max_shift_s=86_400,
            ),
        ),
        slots=(Slot(0, "day", *DAY),),
        hauls=tuple(
            Haul(
                key=f"h{city}",
                cargo=Cargo.SUBSOIL,
                origin=city,
                destination=city,
                mass_kg=1,
                loose_kg_per_m3=1.0,
                pickup_windows=(DAY,),
                drop_windows=(DAY,),
                load_s=0,
                unload_s=0,
            )
            for city in range(1, size)
        ),
    )


def test_the_shift_through_the_cities_of_gr17_is_the_published_shortest_tour() -> None:
    """Source: TSPLIB gr17, optimal tour length 2085."""
    plan = plan_hauls(_salesman())
    assert plan.unplanned == ()
    assert len(plan.shifts) == 1
    assert plan.haul_cost == OPTIMUM
    assert plan.bound.amount <= OPTIMUM
