"""What was checked of each truck, in the words of the text and of the plan page.

The figures of the eight-wheeler are those of tests/logistics/domain/legal; the rest is the
project's own (property).
"""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string

from api.documents.answers import plan_document
from api.documents.check_words import check_words
from api.documents.plan_models import PlanAnswer
from api.documents.text import KINDS, plan_text
from api.documents.truck_checks import LineCheck
from api.web.plan_page import plan_context
from logistics.domain.access import LineState
from logistics.domain.planning.result import LineKind
from matching.domain.community import plan_community
from tests.api.documents.test_trucks import CARD, EIGHT, world
from tests.api.web.reading import Outline
from tests.matching.small_documents import read, tipper


def planned(**trucks: Any) -> PlanAnswer:
    doc = world(trucks=[tipper(**EIGHT | trucks)])
    doc["places"][2]["access"] = CARD | {"max_gross_kg": 33_000}
    scenario = read(doc)
    return plan_document(
        scenario,
        plan_community(scenario),
        name="x",
        currency="EUR",
        zone=ZoneInfo("Europe/Brussels"),
    )


def test_the_text_says_what_a_truck_loads_by_which_rule_and_what_sets_it():
    text = plan_text(planned())
    assert (
        "loads at most 19.50 t (32.00 t in all), by UK Authorised Weight Regulations"
        in text
    )
    assert "What sets it: rigid truck with 4 axles: 32,000 kg" in text
    assert "Plated weight, posted signs and the driver decide." in text


def test_the_text_names_what_nobody_can_tell_and_not_what_is_kept():
    text = plan_text(planned())
    assert (
        "turning room: the truck has a turning circle that is not known,"
        " there is room for 20.0 m" in text
    )
    assert "Nobody said of Depot: gross weight, axle weight, height, width" in text
    assert "the limit is 33.0 t" not in text
    assert "DOES NOT PASS" not in text


def test_a_line_that_fails_is_named_with_the_place_and_the_load_aboard():
    plan = planned()
    (check,) = plan.truck_checks
    sunk = LineCheck(line="ground", state=LineState.FAILS, words="would sink")
    site = check.places[2].model_copy(update={"lines": [sunk]})
    check = check.model_copy(update={"places": [site]})
    load = f"{site.load_kg / 1000:.2f}"
    line = f"Site, with {load} t aboard: ground: the truck would sink"
    assert site.load_kg > 0
    assert check_words(check).fails == (line,)
    text = plan_text(plan.model_copy(update={"truck_checks": [check]}))
    assert f"DOES NOT PASS: {line}" in text


def test_every_line_of_a_check_is_told_once():
    (check,) = planned(turning_m=18).truck_checks
    own = check_words(check)
    told = [*own.fails, *own.look]
    for place in check.places:
        for line in place.lines:
            single = sum(
                text.startswith(f"{place.place_name},") and f": {line.line}: " in text
                for text in told
            )
            listed = sum(
                place.place_name in text.split(": ")[0].split("; ")
                and line.line in text.split(": ")[1].split(", ")
                for text in (*own.silent, *own.kept)
            )
            assert single + listed == 1


def test_places_that_say_the_same_are_named_together():
    (check,) = planned().truck_checks
    yard = check.places[0].model_copy(update={"place_name": "yard"})
    check = check.model_copy(update={"places": [check.places[0], yard]})
    (line,) = check_words(check).silent
    assert line.startswith("Depot; yard: gross weight")


def test_the_page_says_the_same_folded_away():
    plan = planned()
    page = Outline(render_to_string("web/truck_checks.html", plan_context(plan)))
    own = check_words(plan.truck_checks[0])
    assert page.every("details") == [{"class": "fold"}]
    assert "What was checked of each truck" in page.text
    assert "32.00 t in all" in page.text
    assert own.binds in page.text
    assert "Nobody said" in page.text
    assert all(line in page.text for line in (*own.look, *own.silent))
    assert "Plated weight, posted signs and the driver decide." in page.text


def test_a_plan_without_checks_shows_no_section():
    plan = planned().model_copy(update={"truck_checks": []})
    assert "WHAT WAS CHECKED" not in plan_text(plan)
    page = render_to_string("web/truck_checks.html", plan_context(plan))
    assert not page.strip()


def test_every_kind_of_cost_has_a_word():
    assert set(KINDS) == set(LineKind)


def test_a_bill_with_every_term_of_hire_is_told_whole():
    text = plan_text(planned(per_load_minor=1500, per_tonne_minor=120))
    assert "Trucks' charge a load" in text
    assert "Trucks' charge a tonne" in text
