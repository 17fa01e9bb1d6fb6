"""A plan tells each site how to mix what it gets."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from api.documents.answers import plan_document
from api.documents.plan_models import NeedAnswer, PlanAnswer
from api.documents.plan_recipes import plan_recipe
from api.documents.text import plan_text
from logistics.domain.quantities import Spread
from matching.domain.community import plan_community
from matching.domain.materials import Subsoil
from tests.matching.small_documents import (
    Doc,
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

PLACES = {"depot": (0, 0), "pit": (3, 0), "yard": (0, 3), "site": (2, 2)}


def planned(**more: Any) -> PlanAnswer:
    """Fat soil of 40 % clay for nothing, sand at a price, a wall of 2 m3."""
    facts: dict[str, Any] = {
        "offers": [
            soil("fat", "pit", 40, material={"silt_percent": {"likely": 5}}),
            sand("sharp", "yard", 2200),
            bales("straw", "pit", 200, 30),
        ],
        "builds": [build("hut", "site", walls=wall(2))],
        "trucks": [tipper(), flat_bed()],
    } | more
    doc: Doc = document(PLACES, **facts)
    scenario = read(doc)
    return plan_document(
        scenario,
        plan_community(scenario),
        name="a small world",
        currency="EUR",
        zone=ZoneInfo("Europe/Brussels"),
    )


def mineral(plan: PlanAnswer) -> NeedAnswer:
    return plan.builds[0].needs[0]


def test_a_blend_is_told_in_buckets_shares_and_a_batch():
    """Hand-worked: soil is free and sand is not, so that the plan takes the rich edge,
    25 % = 40 s, 62.5 % soil by dry mass. Loose they hold 1247 and 1420 dry kg/m3 (soil
    1471 at 18 % water, sand 1491 at 5 %), so that buckets stand as 65.5 to 34.5."""
    plan = planned()
    recipe = mineral(plan).recipe
    assert recipe
    shares = {own.offer: own.share_percent for own in recipe.shares}
    assert shares["fat"] + shares["sharp"] == 100
    assert abs(shares["fat"] - 62.5) < 0.2
    assert recipe.buckets.startswith("Buckets: ")
    assert recipe.batch
    assert "l of wall" in recipe.batch


def test_the_buckets_of_a_plan_stay_inside_the_window():
    """Property: what the rounded ratio gives is never beyond the edge that the plan, to be
    cheap, lies on."""
    recipe = mineral(planned()).recipe
    assert recipe
    given = float(recipe.buckets.split("gives ")[1].split(" %")[0])
    assert 15 <= given <= 25


def test_straw_and_typed_needs_are_not_blended():
    plan = planned(
        offers=[sand("sharp", "yard", 2200)],
        builds=[build("hut", "site", needs=[needing("sand", 8)])],
    )
    assert mineral(plan).recipe is None
    assert planned().builds[0].needs[1].recipe is None


def test_nothing_supplied_is_nothing_to_mix():
    plan = planned(offers=[bales("straw", "pit", 200, 30)])
    assert mineral(plan).recipe is None


def test_the_text_of_a_plan_has_one_line_on_mixing():
    text = plan_text(planned())
    lines = [line for line in text.splitlines() if "Mix on site" in line]
    assert len(lines) == 1
    assert lines[0].startswith("    Mix on site, buckets: ")
    assert "of Fat to" in lines[0]
    assert "gives" in lines[0]


def test_the_buckets_of_a_safe_plan_hold_at_the_rich_end():
    """Hand-worked: soil of 34 to 45 % clay and sand of 0 to 2 %: 45 s + 2 (1 - s) = 25 at
    53.5 % of soil, and 4 to 3 buckets are 53.9 %, 3 to 2 are 56.8 %. Loose they hold
    1471 / 1.18 and 1491 / 1.05 dry kg/m3, as in the first test."""
    clay = {"low": 34, "likely": 40, "high": 45}
    fat = {"clay_percent": clay, "silt_percent": {"likely": 5}}
    sharp = {
        "kind": "sand",
        "sand": "concrete",
        "clay_percent": {"low": 0, "likely": 1, "high": 2},
    }
    plan = planned(
        certainty="safe",
        offers=[
            soil("fat", "pit", 40, material=fat),
            sand("sharp", "yard", 2200, material=sharp),
            bales("straw", "pit", 200, 30),
        ],
    )
    recipe = mineral(plan).recipe
    assert recipe
    counts = [
        float(own) for own in re.findall(r"([\d.]+) of (?:Fat|Sharp)", recipe.buckets)
    ]
    dry = (counts[0] * 1471 / 1.18, counts[1] * 1491 / 1.05)
    assert (dry[0] * 45 + dry[1] * 2) / sum(dry) <= 25
    assert (dry[0] * 34 + dry[1] * 0) / sum(dry) >= 15


def test_figures_that_no_material_has_are_told_and_do_not_raise():
    """By definition clay and silt are shares of one dry mass: 60 and 60 % cannot be. Buckets
    of the rest alone would be another mix."""
    scenario = read(
        document(
            PLACES,
            offers=[soil("fat", "pit", 40), sand("sharp", "yard", 2200)],
            builds=[build("hut", "site", walls=wall(2))],
            trucks=[tipper()],
        )
    )
    plan = plan_community(scenario)
    fat = scenario.offers[0]
    assert isinstance(fat.material, Subsoil)
    sixty = Spread.exactly(0.6)
    broken = replace(fat, material=replace(fat.material, clay=sixty, silt=sixty))
    recipe = plan_recipe(
        replace(scenario, offers=(broken, *scenario.offers[1:])), plan, 0
    )
    assert recipe
    assert recipe.batch is None
    assert recipe.notes[0].startswith("Fat: ")
    assert "cannot be used" in recipe.buckets
