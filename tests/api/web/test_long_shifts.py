"""Shifts with rests, cleaning and milk runs, on the page and in the text (property)."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

from api.documents.text import plan_text
from api.exports.wording import DOING
from api.web.plan_page import plan_context
from api.web.roads import routes_geojson
from api.web.timeline import arrives_loaded, chart, spans
from logistics.domain.planning.result import StopKind
from tests.api.exports.plans import milk_run, plan, two_loads

BEGIN = datetime.fromisoformat("2027-04-05T07:00:00+02:00")
MILK_RUN_LOADED = [False, False, True, True, True, False]


def test_every_kind_of_stop_has_a_word():
    assert set(DOING) == set(StopKind)


def test_the_page_names_rests_and_cleaning():
    (shift,) = plan_context(plan([two_loads(BEGIN)]))["shifts"]
    assert [own.doing for own in shift.stops][3:5] == ["Clean the body", "Rest"]


def test_the_text_names_rests_and_cleaning():
    text = plan_text(plan([two_loads(BEGIN)]))
    assert "08:00 clean the body at Garden" in text.replace("Ben's garden", "Garden")
    assert "08:20 rest at" in text


def test_the_drawing_leaves_no_gap_at_rests_and_cleaning():
    shift = two_loads(BEGIN)
    found = list(spans(shift))
    assert {"rest", "clean"} <= {own.doing for own in found}
    assert found[0].begin == shift.leave
    assert found[-1].end == shift.back
    for one, other in pairwise(found):
        assert other.begin - one.end < timedelta(minutes=1)
    (row,) = chart([shift], 1000).rows
    assert any("rests at" in own.title for own in row.pieces)


def test_a_milk_run_drives_loaded_until_the_last_bale_is_off():
    shift = milk_run(BEGIN)
    assert list(arrives_loaded(shift.stops)) == MILK_RUN_LOADED
    ways = [own.doing for own in spans(shift) if own.doing in ("loaded", "empty")]
    assert ways == ["loaded" if own else "empty" for own in MILK_RUN_LOADED[1:]]


def test_the_map_shows_the_same_ways_loaded():
    legs = routes_geojson(plan([milk_run(BEGIN)]), None)["features"]
    told = {
        (own["properties"]["from"], own["properties"]["to"]): own["properties"][
            "loaded"
        ]
        for own in legs
    }
    names = [own.place_name for own in milk_run(BEGIN).stops]
    for step in range(1, len(names)):
        ends = (names[step - 1], names[step])
        if ends[0] != ends[1]:
            assert told[ends] is MILK_RUN_LOADED[step]


def test_a_shift_that_goes_on_loaded_drives_loaded_to_its_first_drop():
    stops = milk_run(BEGIN).stops
    assert list(arrives_loaded([stops[0], *stops[3:]])) == [False, True, True, False]
