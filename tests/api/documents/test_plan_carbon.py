"""CO2e and avoided tipping in the plan document."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from api.documents.answers import plan_document
from api.documents.plan_models import PlanAnswer
from api.documents.text import plan_text
from matching.domain.community import plan_community
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


def planned(**site: Any) -> PlanAnswer:
    doc = document(
        {"depot": (0, 0), "pit": (0, 6), "yard": (0, 12), "site": (8, 8)},
        offers=[
            soil("clay", "pit", 32, disposal={"tipping_minor_per_t": 900}),
            sand("sharp", "yard", 2200),
            bales("straw", "yard", 250, 200),
        ],
        builds=[build("hut", "site", **site)],
        trucks=[tipper(), flat_bed()],
    )
    scenario = read(doc)
    return plan_document(
        scenario,
        plan_community(scenario),
        name="x",
        currency="EUR",
        zone=ZoneInfo("UTC"),
    )


def test_the_footprint_of_a_plan_is_that_of_its_legs():
    """By hand from the document: factors of `logistics.domain.carbon`, trucks of unknown
    tare (all rigids: 0.67912 empty, 0.93695 full), load over payload on each leg."""
    plan = planned(walls=wall(10))
    payload = 10_000
    total, empty = 0.0, 0.0
    for shift in plan.shifts:
        loads, aboard = iter(shift.loads), 0
        for stop in shift.stops:
            kg = stop.leg_km * (0.67912 + (0.93695 - 0.67912) * aboard / payload)
            total += kg
            empty += 0 if aboard else kg
            if stop.kind == "load":
                aboard += next(loads).moist_kg
            elif stop.kind == "tip":
                aboard = 0
    assert plan.carbon is not None
    assert plan.carbon.kg_co2e == pytest.approx(total, abs=0.1)
    assert plan.carbon.empty_kg_co2e == pytest.approx(empty, abs=0.1)
    assert plan.carbon.kg_co2e_per_wall_m3 == pytest.approx(total / 10, abs=0.02)
    assert "2025" in plan_text(plan)
    assert "kg a m3 of wall" in plan_text(plan)


def test_tipping_avoided_is_a_figure_of_its_own_and_the_sum_of_its_lines():
    plan = planned(walls=wall(10))
    lines = [own.amount_minor for own in plan.lines if own.kind == "tipping_avoided"]
    assert lines
    assert plan.tipping_avoided_minor == -sum(lines) > 0


def test_nothing_is_told_for_a_m3_of_wall_where_something_is_not_for_walls():
    plan = planned(needs=[needing("sand", 12)])
    assert plan.carbon is not None
    assert plan.carbon.kg_co2e > 0
    assert plan.carbon.kg_co2e_per_wall_m3 is None
