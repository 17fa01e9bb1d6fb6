"""`plan_scenario --replan`: a plan made anew from two files, without a database."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.matching.small_documents import (
    MONDAY,
    build,
    document,
    needing,
    sand,
    tipper,
)

EARLY = f"{MONDAY}T00:00:00+02:00"
OUT = {"kind": "truck_out", "truck": "tipper"}


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """40 t of sand over 2 km; the second truck costs twice as much an hour."""
    doc = document(
        {"depot": (0, 0), "yard": (0, 3), "site": (0, 1)},
        offers=[sand("pit", "yard", 1000)],
        builds=[build("hall", "site", needs=[needing("sand", 40)])],
        trucks=[tipper(), tipper("second", per_hour_minor=12_000)],
    )
    path = tmp_path / "scenario.json"
    path.write_text(json.dumps(doc))
    return path


def run(scenario: Path, *what: dict[str, Any], **rest: Any) -> tuple[int, str, str]:
    """Exit status, standard output and standard error."""
    changes = scenario.with_name("changes.json")
    changes.write_text(json.dumps({"as_of": EARLY, "disruptions": what} | rest))
    return call(scenario, "--replan", str(changes), "--format=json")


def call(scenario: Path, *options: str) -> tuple[int, str, str]:
    out, err, status = StringIO(), StringIO(), 0
    try:
        call_command("plan_scenario", str(scenario), *options, stdout=out, stderr=err)
    except SystemExit as left:
        status = int(str(left.code))
    return status, out.getvalue(), err.getvalue()


def plan(scenario: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(call(scenario, "--format=json")[1])
    return found


def test_a_truck_that_is_out_hands_its_loads_to_the_other_at_its_price(scenario):
    """Property: the extra cost is what the two bills of haulage differ by."""
    before = plan(scenario)
    assert {own["truck"] for own in before["shifts"]} == {"tipper"}
    status, text, _ = run(scenario, OUT)
    after = json.loads(text)
    assert status == 0
    assert {own["truck"] for own in after["shifts"]} == {"second"}
    told = after["replan"]
    assert (told["moved"], told["kept"], told["dropped"]) == (4, 0, 0)
    assert told["haul_before_minor"] == before["haul_cost_minor"]
    assert told["haul_after_minor"] == after["haul_cost_minor"]
    assert told["extra_minor"] == after["total_minor"] - before["total_minor"] > 0
    assert told["replaces"] is None


def test_nothing_happened_and_nothing_is_different(scenario):
    before, (status, text, _) = plan(scenario), run(scenario)
    after = json.loads(text)
    assert (status, after["shifts"], after["lines"]) == (
        0,
        before["shifts"],
        before["lines"],
    )
    assert after["replan"]["extra_minor"] == 0


def test_both_trucks_out_leaves_all_behind_and_says_why(scenario):
    status, text, _ = run(scenario, OUT, OUT | {"truck": "second"})
    after = json.loads(text)
    assert (status, after["status"], after["shifts"]) == (1, "partly_planned", [])
    assert sum(own["moist_kg"] for own in after["unplanned"]) == 40_000
    assert all(own["reasons"] and own["remedy"] for own in after["unplanned"])


def test_a_refused_load_is_named_by_its_shift_and_number_and_comes_again(scenario):
    before = plan(scenario)
    tip = [own for own in before["shifts"][0]["stops"] if own["kind"] == "tip"][1]
    refused = {"kind": "load_refused", "ticket": "0.1"}
    status, text, _ = run(scenario, refused, as_of=tip["end"])
    after = json.loads(text)
    loads = [own for shift in after["shifts"] for own in shift["loads"]]
    assert status == 0
    assert sum(own["moist_kg"] for own in loads) == 50_000
    assert after["replan"]["added"] == 1


def test_the_text_tells_the_difference_in_words(scenario):
    changes = scenario.with_name("changes.json")
    changes.write_text(json.dumps({"as_of": EARLY, "disruptions": [OUT]}))
    status, text, _ = call(scenario, "--replan", str(changes))
    assert status == 0
    assert "Tipper cannot drive" in text
    assert "4 moved, 0 new, 0 dropped" in text
    assert "Second" in text.partition("WHAT IS DIFFERENT")[2]


@pytest.mark.parametrize(
    ("what", "code", "field"),
    [
        (OUT | {"truck": "nobody"}, "unknown_truck", "disruptions[0].truck"),
        (
            {"kind": "load_refused", "ticket": "9.9"},
            "unknown_ticket",
            "disruptions[0].ticket",
        ),
        ({"kind": "truck_joins", "truck": 7}, "truck_without_fleet", "disruptions[0]"),
        (
            OUT | {"ends": f"{MONDAY}T00:00:00+03:00"},
            "window_ends_before_it_begins",
            "disruptions[0].ends",
        ),
    ],
)
def test_what_names_nothing_in_the_plan_is_refused_by_its_field(
    scenario, what, code, field
):
    status, text, said = run(scenario, what)
    assert (status, text) == (2, "")
    assert code in said
    assert field in said


def test_the_shares_of_a_plan_that_no_longer_holds_are_not_told(scenario):
    with pytest.raises(CommandError, match="not allowed with"):
        call(scenario, "--shares", "--replan", "changes.json")
