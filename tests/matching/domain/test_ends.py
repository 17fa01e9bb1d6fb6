"""What a plan costs if walls and ground turn out at the ends of what is known."""

from __future__ import annotations

import pytest

from logistics.domain.quantities import End
from matching.domain.ends import safely, turned_out
from matching.domain.materials import Subsoil
from matching.domain.pairing import pair_up
from matching.domain.ranking import rank_matches
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    needing,
    planned,
    read,
    sand,
    soil,
    tipper,
    wall,
)

PLACES = {"depot": (0, 0), "pit": (3, 0), "yard": (0, 20), "site": (4, 4)}
STRAWLESS = {"straw_percent": {"likely": 0}}


def world(offers: list[Doc], **rest: object) -> Doc:
    return document(
        PLACES,
        offers=offers,
        builds=[build("hut", "site", **({"walls": wall(9), "mix": STRAWLESS} | rest))],
        trucks=[tipper()],
    )


def loam(low: float, likely: float, high: float, **more: object) -> Doc:
    clay = {"likely": likely, "low": low, "high": high}
    return soil("pit", "pit", likely, 0, material={"clay_percent": clay} | more)


def test_what_is_known_exactly_costs_the_same_at_both_ends():
    """A typed need of earth whose moisture was measured has nothing to be uncertain of."""
    doc = world(
        [soil("pit", "pit", 30, 700, material={"moisture_percent": 15})],
        walls=[],
        needs=[needing("subsoil", 20)],
    )
    ends = planned(doc).ends
    assert ends.low == ends.likely == ends.high
    assert ends.short_dry_kg == 0


def test_the_ends_enclose_the_total():
    plan = planned(world([loam(22, 30, 40), sand("sharp", "yard", 2200)]))
    assert plan.ends.low < plan.total < plan.ends.high
    assert plan.ends.likely == plan.total


def test_richer_ground_makes_dearer_walls_where_sand_is_dear():
    """Free earth at 40 % clay needs (0.40 - 0.25) / 0.25 = 0.6 parts of sand; at 22 % none."""
    scenario = read(world([loam(22, 30, 40), sand("sharp", "yard", 2200)]))
    match = rank_matches(scenario, pair_up(scenario), 0)[0]
    assert match.cost_low is not None
    assert match.cost_per_m3 is not None
    assert match.cost_high is not None
    assert match.cost_low < match.cost_per_m3 < match.cost_high
    assert not match.in_doubt


def test_ground_that_may_be_too_lean_is_in_doubt():
    """At 12 % clay nothing here brings the mix to 15."""
    scenario = read(world([loam(12, 18, 24), sand("sharp", "yard", 2200)]))
    matches = {own.offer: own for own in rank_matches(scenario, pair_up(scenario), 0)}
    assert matches[0].in_doubt


def test_what_would_be_missing_at_the_worst_end_is_said():
    """Only as much earth as the likely wall takes: the larger wall stays short."""
    doc = world(
        [
            loam(20, 20, 20)
            | {"quantity": {"amount": 19.5, "unit": "t", "basis": "moist"}}
        ]
    )
    likely = read(doc)
    assert likely.demands[0].dry_kg < 19_500 / 1.18
    plan = planned(doc)
    assert plan.complete
    assert plan.ends.short_dry_kg > 0


@pytest.mark.parametrize("end", list(End))
def test_a_known_end_leaves_no_range(end):
    scenario = turned_out(read(world([loam(22, 30, 40)])), needs=end, ground=end)
    material = scenario.offers[0].material
    assert isinstance(material, Subsoil)
    assert (
        material.clay.low
        == material.clay.high
        == {"low": 0.22, "likely": 0.3, "high": 0.4}[end]
    )


def test_a_safe_question_asks_for_the_most_and_the_wettest():
    """18 % moisture may be 25 (common practice, no source): a wet tonne holds less earth."""
    plain = read(world([loam(22, 30, 40)]))
    safe = safely(plain)
    takeoff = plain.builds[0].takeoff
    assert takeoff is not None
    assert safe.demands[0].dry_kg == takeoff.mineral_dry_kg.high
    assert safe.offers[0].material.usable == pytest.approx(1 / 1.25)
    assert safe.plain is plain
