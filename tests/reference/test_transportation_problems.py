"""Published transportation problems, posed to the allocation programme.

Each unit of supply is a load of one tonne of sand, whose price is nothing; carrying one from
supplier i to customer j costs c_ij. Sources are named beside each problem, as seen or from
memory; every optimum was also recomputed with a linear programme outside the project.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from matching.domain.allocation import allocate
from matching.domain.builds import Demand
from matching.domain.materials import Offer, Sand
from matching.domain.programme import AllocationProblem, Move, Pair
from matching.domain.sands.records import Called, SandRecord

LOAD = 1000
DRY_SAND = Sand(SandRecord(Called.CONCRETE), moisture=Spread.exactly(0.0))


class Posed(NamedTuple):
    costs: list[list[float]]
    supply: list[int]
    demand: list[int]
    optimum: float


PROBLEMS = {
    # Winston, Operations Research, "Powerco": data seen (a university course page), answer
    # seen quoted.
    "powerco": Posed(
        [[8, 6, 10, 9], [9, 12, 13, 7], [14, 9, 16, 5]],
        [35, 50, 40],
        [45, 20, 30, 30],
        1020,
    ),
    # Hillier and Lieberman, "P & T": data seen, answer from memory and recomputed.
    "p-and-t": Posed(
        [[464, 513, 654, 867], [352, 416, 690, 791], [995, 682, 388, 685]],
        [75, 125, 100],
        [80, 65, 70, 85],
        152_535,
    ),
    # Taha, "SunRay": data and answer from memory, recomputed.
    "sunray": Posed(
        [[10, 2, 20, 11], [12, 7, 9, 20], [4, 14, 16, 18]],
        [15, 25, 10],
        [5, 15, 15, 15],
        435,
    ),
    # Hitchcock 1941: data and answer from memory, recomputed.
    "hitchcock": Posed(
        [[10, 5, 6, 7], [8, 2, 7, 6], [9, 3, 4, 8]],
        [25, 25, 50],
        [15, 20, 30, 35],
        535,
    ),
    # Dantzig's two plants and three markets: 90 per case and thousand miles, answer in
    # thousands; more supply than demand. From memory, recomputed.
    "dantzig": Posed(
        [[0.225, 0.153, 0.162], [0.225, 0.162, 0.126]],
        [350, 600],
        [325, 300, 275],
        153.675,
    ),
    # A 4 x 6 exercise: data seen in a public repository, answer recomputed only.
    "four-by-six": Posed(
        [
            [5, 10, 3, 9, 5, 12],
            [1, 2, 6, 1, 2, 6],
            [6, 5, 1, 6, 4, 8],
            [9, 10, 6, 8, 9, 7],
        ],
        [100, 250, 190, 210],
        [120, 140, 170, 90, 110, 120],
        2700,
    ),
}


def posed(own: Posed) -> AllocationProblem:
    offers = tuple(
        Offer(f"s{i}", f"Supplier {i}", 0, DRY_SAND, units * LOAD)
        for i, units in enumerate(own.supply)
    )
    demands = tuple(
        Demand(f"d{j}", j, frozenset({Cargo.SAND}), float(units * LOAD), None)
        for j, units in enumerate(own.demand)
    )
    pairs: list[Pair] = []
    moves: list[Move] = []
    for i, row in enumerate(own.costs):
        for j, cost in enumerate(row):
            most = min(own.supply[i], own.demand[j]) * LOAD
            moves.append(Move(float(cost), ((len(pairs), 1, LOAD),)))
            pairs.append(Pair(i, j, most, LOAD))
    return AllocationProblem(offers, demands, tuple(pairs), tuple(moves))


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_optimum_is_the_published_one(name):
    own = PROBLEMS[name]
    answer = allocate(posed(own))
    assert answer.cost == pytest.approx(own.optimum, rel=1e-6)
    assert answer.bound == pytest.approx(own.optimum, rel=1e-6)
    assert answer.optimal
    assert not any(answer.short)


@pytest.mark.parametrize("name", PROBLEMS)
def test_the_shares_cost_what_the_answer_says(name):
    """Property: cells may differ from the book's, the sum may not."""
    own = PROBLEMS[name]
    asked = posed(own)
    total = 0.0
    for share in allocate(asked).shares:
        pair = asked.pairs[share.pair]
        assert share.kg % LOAD == 0
        total += share.kg / LOAD * own.costs[pair.offer][pair.demand]
    assert total == pytest.approx(own.optimum, rel=1e-6)
