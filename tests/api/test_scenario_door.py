"""The commands for scenario files as a shell sees them, and the schema of the files."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.core.management import call_command

from tests.matching.random_documents import random_world
from tests.matching.small_documents import (
    build,
    document,
    flat_bed,
    needing,
    sand,
    tipper,
)

ROOT = Path(__file__).resolve().parents[2]
GOOD = document(
    {"depot": (0, 0), "yard": (0, 12), "site": (8, 8)},
    offers=[sand("sharp", "yard", 2200)],
    builds=[build("hut", "site", needs=[needing("sand", 8)])],
    trucks=[tipper()],
)
UNITS = (
    "_kg",
    "_m",
    "_m3",
    "_mm",
    "_km",
    "_kmh",
    "_minor",
    "_percent",
    "_minutes",
    "_hours",
    "_s",
    "_g",
    "_c",
    "_mpa",
)


def shell(
    tmp_path: Path, doc: object, *options: str
) -> subprocess.CompletedProcess[bytes]:
    file = tmp_path / "scenario.json"
    file.write_text(json.dumps(doc))
    return subprocess.run(
        [sys.executable, "manage.py", "plan_scenario", str(file), *options],
        cwd=ROOT,
        env={**os.environ, "MARLPIT_DATA_DIR": str(tmp_path / "data")},
        capture_output=True,
        timeout=120,
        check=False,
    )


def test_a_whole_plan_leaves_with_status_zero_and_one_document(tmp_path):
    ended = shell(tmp_path, GOOD, "--format", "json")
    assert ended.returncode == 0
    assert json.loads(ended.stdout)["status"] == "planned"


def test_a_part_of_a_plan_leaves_with_status_one_and_one_document(tmp_path):
    ended = shell(tmp_path, GOOD | {"trucks": [flat_bed()]}, "--format", "json")
    assert ended.returncode == 1
    assert json.loads(ended.stdout)["status"] == "partly_planned"


def test_a_refusal_leaves_with_status_two_and_nothing_on_stdout(tmp_path):
    ended = shell(tmp_path, GOOD | {"currency": "?"}, "--format", "json")
    assert (ended.returncode, ended.stdout) == (2, b"")
    assert ended.stderr.startswith(b"string_pattern_mismatch: currency: ")
    assert b"Traceback" not in ended.stderr


@pytest.mark.parametrize("seed", [97, 98])
def test_no_line_of_a_compiled_solver_slips_into_the_document(tmp_path, seed):
    """World 97 makes the solver print a debugging line past all Python streams."""
    ended = shell(tmp_path, random_world(seed), "--format", "json")
    assert ended.returncode == 0, ended.stderr
    assert ended.stdout.startswith(b"{")
    assert json.loads(ended.stdout)["total_minor"]


def test_the_text_form_has_no_such_line_either(tmp_path):
    ended = shell(tmp_path, random_world(97))
    assert ended.returncode == 0
    assert b"Highs" not in ended.stdout


def schema() -> dict[str, Any]:
    out = io.StringIO()
    call_command("scenario_schema", stdout=out)
    return dict(json.loads(out.getvalue()))


def test_the_schema_is_a_valid_json_schema():
    """Outside source: the meta-schema of JSON Schema 2020-12, in the jsonschema package."""
    jsonschema.Draft202012Validator.check_schema(schema())


def test_every_field_of_the_schema_says_what_it_means_or_has_a_unit_in_its_name():
    """Property."""
    whole = schema()
    parts = {"ScenarioDoc": whole, **whole["$defs"]}
    silent = [
        f"{part}.{name}"
        for part, own in parts.items()
        for name, field in own.get("properties", {}).items()
        if not field.get("description") and not name.endswith(UNITS)
    ]
    assert silent == []
    fields = sum(len(own.get("properties", {})) for own in parts.values())
    assert fields > 80


def test_numbers_with_a_dimension_say_their_unit_in_name_or_description():
    """Property. Money is in minor units, shares in percent, positions in degrees."""
    words: tuple[str, ...] = (
        *UNITS,
        "percent",
        "degrees",
        "minor",
        "metres",
        "kg",
        "m3",
        "factor",
    )
    words += ("days", "hours", "people", "months", "unit as said for the field")
    words += ("trucks", "loads", "axles")
    bare = []
    whole = schema()
    for part, own in {"ScenarioDoc": whole, **whole["$defs"]}.items():
        for name, field in own.get("properties", {}).items():
            kinds = {field.get("type")} | {
                o.get("type") for o in field.get("anyOf", [])
            }
            said = f"{name} {field.get('description', '')}"
            if kinds & {"number", "integer"} and not any(w in said for w in words):
                bare.append(f"{part}.{name}")
    # The unit of an amount is its own field; a version has none.
    assert sorted(bare) == ["Quantity.amount", "ScenarioDoc.version"]


@pytest.mark.parametrize("doc", [GOOD, random_world(1), random_world(2)])
def test_documents_that_are_planned_validate_against_the_schema(doc):
    jsonschema.validate(doc, schema())


def test_the_demo_scenario_validates_against_the_schema():
    demo = json.loads((ROOT / "demo_fixtures" / "scenario.json").read_text())
    jsonschema.validate(demo, schema())
    broken = demo | {"first_day": 7}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema())
