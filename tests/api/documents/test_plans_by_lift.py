"""Plans that bring each lift's material in its own time, read from the plan document."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from api.documents.answers import plan_document
from matching.domain.builds import wall_needs
from matching.domain.community import plan_community
from matching.domain.scenario import Scenario
from tests.matching.small_documents import (
    Doc,
    bales,
    build,
    document,
    flat_bed,
    read,
    sand,
    soil,
    tipper,
    wall,
)

ZONE = ZoneInfo("Europe/Brussels")
FIRST = date(2027, 5, 3)
EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def world(last: int = 27, site_hours: list[Doc] | None = None, **more: Any) -> Doc:
    """10 m3 in four lifts from Saturday 15 May on, two weekends of drying apart, and four
    weeks to bring what they want. Volunteers are there at weekends from 9 to 17."""
    calendar = {
        "first_day": "2027-05-15",
        "weekdays": ["sat", "sun"],
        "crew": {"trained": 10},
        "rain_percent": {"likely": 0},
        "drying": {"warm_days": {"likely": 5}},
        "volunteers": [{"opens": "09:00", "closes": "17:00"}],
        "lead": {"delivery_days": EVERY_DAY},
        "deliver": "by_lift",
    } | more
    doc = document(
        {
            "depot": (0, 0),
            "pit": (0, 6),
            "yard": (0, 12),
            "farm": (6, 0),
            "site": (8, 8),
        },
        offers=[
            soil("clay", "pit", 32),
            sand("sharp", "yard", 2200),
            bales("straw", "farm", 250, 200),
        ],
        builds=[build("hut", "site", walls=wall(10), calendar=calendar)],
        trucks=[tipper(), flat_bed()],
        hours={"site": site_hours or [{"opens": "07:00", "closes": "19:00"}]},
    )
    days = {"first_day": str(FIRST), "last_day": str(FIRST + timedelta(days=last))}
    return doc | days


def planned(doc: Doc) -> tuple[Scenario, Any]:
    scenario = read(doc)
    plan = plan_document(
        scenario,
        plan_community(scenario),
        name="by lift",
        currency="EUR",
        zone=ZONE,
    )
    return scenario, plan.model_dump(mode="json")


@pytest.fixture(scope="module")
def by_lift() -> tuple[Scenario, Any]:
    return planned(world())


def tips(plan: Any) -> list[tuple[str, datetime, datetime]]:
    """For each tipping its need, begin and end."""
    found = []
    for shift in plan["shifts"]:
        stops = [stop for stop in shift["stops"] if stop["kind"] == "tip"]
        for stop, load in zip(stops, shift["loads"], strict=True):
            need = plan["deals"][load["deal"]]["need"]
            begin, end = (datetime.fromisoformat(stop[at]) for at in ("begin", "end"))
            found.append((need, begin, end))
    return found


def test_every_load_is_tipped_in_the_days_of_its_lift(by_lift):
    """Property of the plan document alone."""
    _, plan = by_lift
    assert plan["status"] == "planned"
    needs = {need["need"]: need for need in plan["builds"][0]["needs"]}
    assert len(tips(plan)) >= len(needs)
    for need, begin, _ in tips(plan):
        own = needs[need]
        assert own["not_before"] <= str(begin.date()) <= own["due"]


def test_no_load_is_tipped_among_volunteers_on_a_work_day():
    """job.md: delivery hours apart from volunteer hours. The site opens on the days of the
    volunteers alone, so that every load from the first lift on meets them."""
    weekends = [{"days": ["sat", "sun"], "opens": "07:00", "closes": "19:00"}]
    _, plan = planned(world(site_hours=weekends))
    met = [own for own in tips(plan) if own[1].date() >= date(2027, 5, 15)]
    assert met
    for _, begin, end in met:
        assert end.time() <= time(8, 30) or begin.time() >= time(17, 30)


def test_straw_comes_after_the_soil_of_its_lift(by_lift):
    """Straw just in time, soil early enough to soak (issue 3)."""
    _, plan = by_lift
    last: dict[str, datetime] = {}
    for need, begin, _ in tips(plan):
        last[need] = max(begin, last.get(need, begin))
    lifts = {need.rpartition("-")[2] for need in last if "straw" in need}
    assert lifts
    for lift in lifts:
        assert last[f"hut/mineral-{lift}"] < last[f"hut/straw-{lift}"]


def test_what_is_planned_and_what_is_left_for_later_sum_to_what_the_walls_want(by_lift):
    """Property."""
    scenario, plan = by_lift
    wants = wall_needs(scenario.builds[0])
    assert wants is not None
    own = plan["builds"][0]
    for name, whole in (
        ("mineral", wants.mineral_dry_kg.likely),
        ("straw", wants.straw_kg.likely),
    ):
        now = sum(n["dry_kg"] for n in own["needs"] if name in n["need"])
        later = sum(n["dry_kg"]["likely"] for n in own["later"] if name in n["need"])
        assert now + later == pytest.approx(whole, abs=1)
    assert own["later"]
    assert all(late["not_before"] > "2027-05-30" for late in own["later"])


def test_lines_of_a_plan_by_lift_add_up(by_lift):
    """Property: the bill of every plan."""
    _, plan = by_lift
    assert sum(line["amount_minor"] for line in plan["lines"]) == plan["total_minor"]


def test_bringing_by_lift_never_costs_less_than_at_once_where_nothing_is_left_out():
    """Property: whoever may bring at any time may also bring by lift. Both are proven
    optimal or within their gaps."""
    doc = world(last=30, first_day="2027-05-08", drying={"warm_days": {"likely": 1}})
    _, dated = planned(doc)
    doc["builds"][0]["calendar"]["deliver"] = "at_once"
    _, at_once = planned(doc)
    assert dated["builds"][0]["later"] == []
    assert dated["status"] == at_once["status"] == "planned"
    assert at_once["lower_bound_minor"] <= dated["total_minor"]


def test_at_once_avoids_volunteers_too():
    """The site is open on Saturdays alone, from 15 May among volunteers."""
    doc = world(
        site_hours=[{"days": ["sat"], "opens": "07:00", "closes": "19:00"}],
        deliver="at_once",
    )
    _, plan = planned(doc)
    assert tips(plan)
    for _, begin, end in tips(plan):
        assert begin.weekday() == 5
        if begin.date() >= date(2027, 5, 15):
            assert end.time() <= time(8, 30) or begin.time() >= time(17, 30)


def test_a_site_that_opens_only_among_volunteers_is_short_with_the_reason():
    """Nobody tips among volunteers, even if nothing can be built then."""
    doc = world(
        first_day=str(FIRST),
        site_hours=[{"days": ["sat"], "opens": "09:00", "closes": "17:00"}],
    )
    _, plan = planned(doc)
    assert plan["status"] == "partly_planned"
    assert plan["shifts"] == []
    barriers = {
        match["barrier"]
        for need in plan["builds"][0]["needs"]
        for match in need["matches"]
    }
    assert barriers == {"the site takes no delivery on any of these days"}


def test_a_safe_plan_by_lift_orders_the_most_of_each_lift(by_lift):
    """Property: the high end of the take-off."""
    _, likely = by_lift
    scenario, safe = planned(world() | {"certainty": "safe"})
    wants = wall_needs(scenario.builds[0])
    assert wants is not None
    for one, other in zip(
        likely["builds"][0]["needs"], safe["builds"][0]["needs"], strict=True
    ):
        assert one["need"] == other["need"]
        assert one["dry_kg"] <= other["dry_kg"]
    asked = sum(d.dry_kg for d in scenario.demands if d.blend)
    assert asked <= wants.mineral_dry_kg.high + 1
