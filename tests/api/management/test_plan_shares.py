"""`plan_scenario --shares`: the shares beside the plan, as text and as JSON."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from api.documents.text import money
from tests.matching.small_documents import build, document, needing, sand, tipper


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    doc = document(
        {"depot": (0, 0), "yard": (0, 30), "near": (0, 2), "next": (1, 2)},
        offers=[sand("pit", "yard", 1000)],
        builds=[
            build(key, key, needs=[needing("sand", 10)]) for key in ("near", "next")
        ],
        trucks=[tipper()],
    )
    path = tmp_path / "scenario.json"
    path.write_text(json.dumps(doc))
    return path


def output(path: Path, *options: str) -> str:
    out = StringIO()
    call_command("plan_scenario", str(path), *options, stdout=out)
    return out.getvalue()


def test_shares_stand_beside_the_plan_in_json_and_text(scenario):
    """Property: the shares add up to the total of the plan."""
    plan = json.loads(output(scenario, "--format=json", "--shares"))
    shares = plan["shares"]
    assert sum(own["share_minor"] for own in shares["builds"]) == plan["total_minor"]
    text = output(scenario, "--shares")
    assert "SHARING THE COST" in text
    assert all(money(own["share_minor"], "EUR") in text for own in shares["builds"])


def test_without_the_option_nothing_is_shared(scenario):
    assert "shares" not in json.loads(output(scenario, "--format=json"))
    assert "SHARING" not in output(scenario)
