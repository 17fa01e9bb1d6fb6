"""Matches are ranked by the wall that they lead to, not by the price of the heap."""

from __future__ import annotations

import pytest

from matching.domain.pairing import pair_up
from matching.domain.ranking import Match, rank_matches
from matching.domain.verdicts import Standing
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    needing,
    read,
    sand,
    soil,
    tipper,
    wall,
)


def world(offers: list[Doc], **rest: object) -> Doc:
    return document(
        {
            "depot": (0, 0),
            "pit": (3, 0),
            "dig": (12, 0),
            "yard": (0, 20),
            "site": (4, 4),
        },
        offers=offers,
        builds=[build("hut", "site", walls=wall(9), **rest)],
        trucks=[tipper(call_out_minor=0)],
    )


def ranked(doc: Doc, need: int = 0) -> dict[str, Match]:
    scenario = read(doc)
    matches = rank_matches(scenario, pair_up(scenario), need)
    return {scenario.offers[match.offer].key: match for match in matches}


def test_the_free_fat_heap_is_not_the_cheapest_wall():
    """A free heap next door at 60 % clay wants two parts of dear sand from far away; the
    ready soil at 5.00 a tonne wants none (job.md 1.0: price soil and sand together)."""
    found = ranked(
        world(
            [
                soil("fat", "pit", 60, 0),
                soil("ready", "dig", 20, 500),
                sand("sharp", "yard", 2200),
            ]
        )
    )
    assert next(iter(found)) == "ready"
    fat, ready = found["fat"].cost_per_m3, found["ready"].cost_per_m3
    assert fat is not None
    assert ready is not None
    # A fat heap can be thinned with ready soil as well, at the edge of the window.
    assert ready < fat


def test_a_recipe_by_hand():
    """9 m3: 16 090 kg dry. Ready soil alone: 18.99 t moist at 5.00, two loads over 12 km."""
    found = ranked(world([soil("ready", "dig", 20, 500)]))["ready"]
    dry = 9 * 1650 * 1.1 * 0.985
    (part,) = found.recipe
    assert part.kg == pytest.approx(dry * 1.18, abs=1)
    assert part.loads == 2
    assert part.material_cost == pytest.approx(dry * 1.18 * 0.5, abs=1)
    assert found.total == part.material_cost + part.haul_cost
    assert found.cost_per_m3 == pytest.approx(found.total / 9)


def test_two_materials_are_mixed_at_an_edge_of_the_window():
    """Fat at 50 % and dear sand: as little sand as 25 % clay allows, that is 1 : 1."""
    found = ranked(world([soil("fat", "pit", 50, 0), sand("sharp", "yard", 2200)]))
    dry = {}
    for part in found["fat"].recipe:
        dry[part.offer] = part.kg / (1.18 if part.offer == 0 else 1.05)
    assert dry[0] == pytest.approx(dry[1], rel=1e-3)


def test_unusable_offers_come_last_with_their_reason_and_no_price():
    found = ranked(
        world(
            [
                soil("top", "pit", 20, 0, material={"topsoil": True}),
                soil("unknown", "pit", 20, 0, material={"history": "unknown"}),
                soil("ready", "dig", 20, 500),
            ]
        )
    )
    assert next(iter(found)) == "ready"
    assert found["top"].cost_per_m3 is None
    assert found["top"].recipe == ()
    assert found["unknown"].verdict.standing is Standing.NOT_UNTIL


def test_a_lean_soil_alone_makes_no_wall_but_a_rich_one_saves_it():
    lean = soil("lean", "pit", 8, 0)
    assert ranked(world([lean]))["lean"].cost_per_m3 is None
    both = ranked(world([lean, soil("rich", "dig", 40, 0)]))
    assert both["lean"].cost_per_m3 is not None
    assert {part.offer for part in both["lean"].recipe} == {0, 1}


def test_an_offer_out_of_reach_is_shown_with_its_distance():
    doc = world([soil("ready", "dig", 20, 500)]) | {"reach_km": 10}
    found = ranked(doc)["ready"]
    assert found.metres == 12_000
    assert found.barrier is not None
    assert "12.0 km away" in found.barrier
    assert found.cost_per_m3 is None


def test_a_typed_need_is_priced_by_the_dry_tonne():
    doc = world([sand("sharp", "yard", 2000), sand("other", "pit", 2000)])
    doc["builds"] = [build("hut", "site", needs=[needing("sand", 10, "dry")])]
    found = ranked(doc)
    assert list(found) == ["other", "sharp"]
    cost = found["other"].cost_per_m3
    assert cost is not None
    assert cost == pytest.approx(found["other"].total / 10)


def test_an_offer_that_holds_too_little_is_not_ranked_as_if_it_held_enough():
    """By hand: the wall wants 19 t of ready soil, the small heap holds 2 t."""
    found = ranked(
        world([soil("small", "pit", 20, 0, held=2), soil("ready", "dig", 20, 500)])
    )
    carried = [part.kg for part in found["small"].recipe if part.offer == 0]
    assert sum(carried) <= 2000
