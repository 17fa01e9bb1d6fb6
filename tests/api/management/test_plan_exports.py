"""`plan_scenario --export`: a file beside the shell, without a database."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from geojson_pydantic import FeatureCollection
from icalendar import Calendar

from tests.matching.small_documents import build, document, needing, sand, tipper


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    doc = document(
        {"depot": (0, 0), "yard": (0, 12), "site": (8, 8)},
        offers=[sand("sharp", "yard", 2200)],
        builds=[build("hut", "site", needs=[needing("sand", 8)])],
        trucks=[tipper()],
    )
    path = tmp_path / "scenario.json"
    path.write_text(json.dumps(doc))
    return path


def written(scenario: Path, *options: str) -> Path:
    out = StringIO()
    call_command(
        "plan_scenario",
        str(scenario),
        "--into",
        str(scenario.parent),
        *options,
        stdout=out,
    )
    return Path(out.getvalue().strip())


def test_an_export_is_written_where_the_command_says(scenario):
    path = written(scenario, "--export", "geojson")
    FeatureCollection.model_validate_json(path.read_bytes())
    assert path.parent == scenario.parent
    path = written(scenario, "--export", "build-calendar", "--of", "hut")
    assert Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    path = written(scenario, "--export", "gpx", "--shift", "1")
    assert path.suffix == ".gpx"


def test_an_export_that_wants_a_choice_is_refused_with_status_two(scenario, capsys):
    """README: exit status 2 is bad input."""
    with pytest.raises(SystemExit) as ended:
        written(scenario, "--export", "gpx")
    assert ended.value.code == 2
    assert "export_needs_choice: shift" in capsys.readouterr().err
    assert not list(scenario.parent.glob("*.gpx"))
