"""Supply and haulage decided over generated patterns, against the brute force."""

from __future__ import annotations

import pytest

from matching.domain import community
from matching.domain.allocation import allocate
from matching.domain.joint import decide_together
from matching.domain.pairing import estimated_moves, pair_up, supply_question
from tests.matching.brute_force import cheapest
from tests.matching.small_documents import (
    bales,
    build,
    document,
    flat_bed,
    needing,
    read,
    sand,
    soil,
    tipper,
    wall,
)

WORLDS = [
    document(
        {
            "depot": (25, 40),
            "pit": (0, 20),
            "site": (10, 15),
            "near": (20, 5),
            "far": (15, 40),
        },
        offers=[
            soil("clay", "pit", 45),
            sand("a", "near", 1500),
            sand("b", "far", 1500),
        ],
        builds=[
            build(
                "hut",
                "site",
                needs=[needing("sand", 10), needing("subsoil", 10, key="e")],
            )
        ],
        trucks=[tipper(call_out_minor=0)],
    ),
    *(
        document(
            {
                "depot": (0, 0),
                "pit": (6, 0),
                "dig": (30, 0),
                "yard": (0, 12),
                "site": (8, 8),
            },
            offers=[
                soil("fat", "pit", 50),
                soil("ready", "dig", 20, price),
                sand(
                    "sharp",
                    "yard",
                    2200,
                    part_load={"charge_minor": 3000, "below_kg": 7000},
                ),
                bales("straw", "pit", 250, 60),
            ],
            builds=[build("hut", "site", walls=wall(9))],
            trucks=[
                tipper(payload_kg=12_000, max_shift_hours=5),
                tipper("small", payload_kg=6000, max_shift_hours=3),
                flat_bed(),
            ],
        )
        for price in (200, 900, 1700)
    ),
]


@pytest.mark.parametrize("doc", WORLDS)
def test_the_bound_over_generated_patterns_never_exceeds_the_optimum(doc):
    """Outside source: brute force. The allocation over some patterns cannot beat it."""
    best = cheapest(doc)
    scenario = read(doc)
    pairing = pair_up(scenario)
    question = supply_question(scenario, pairing, estimated_moves(pairing))
    draft = community._draft(scenario, pairing, allocate(question), community.ROUGH)
    joint = decide_together(question, pairing, community._seeds(pairing, draft))
    assert joint.bound <= best.cost + 1
    assert joint.bound >= 0.9 * best.cost
    assert joint.allocation is not None
    assert joint.allocation.cost == pytest.approx(best.cost, rel=1e-3)
