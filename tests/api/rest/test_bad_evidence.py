"""Absurd and hostile evidence is refused at every door, in the document's own words."""

from __future__ import annotations

import json

import pytest

from matching.models import Offer
from tests.api.rest.test_evidence import JAR, LAB, RIBBON, SAMPLE, problem, send, soil
from tests.worlds import adas_soil, store_offer

pytestmark = pytest.mark.django_db

# test of a soil, code, field
BAD_TESTS = [
    (JAR | {"sand_mm": -1}, "greater_than_equal", "jar.sand_mm"),
    (JAR | {"sand_mm": 1, "silt_mm": 1, "clay_mm": 1}, "jar_too_thin", "jar.sand_mm, silt_mm, clay_mm"),
    (JAR | {"cumulative": True, "silt_mm": 10}, "goes_backwards", "jar.clay_mm"),
    (JAR | {"sand_read_s": 900, "silt_read_s": 60}, "goes_backwards", "jar.clay_read_s"),
    (JAR | {"water_c": 95}, "less_than_equal", "jar.water_c"),
    (JAR | {"sand_mm": "60"}, "float_type", "jar.sand_mm"),
    (JAR | {"colour": "red"}, "extra_forbidden", "jar.colour"),
    (JAR | {"sample": SAMPLE | {"tester": ""}}, "string_too_short", "jar.sample.tester"),
    (JAR | {"sample": SAMPLE | {"depth_to_m": 0.1}}, "depths_upside_down", "jar.sample.depth_to_m"),
    (JAR | {"sample": SAMPLE | {"depth_to_m": 400}}, "less_than_equal", "jar.sample.depth_to_m"),
    (JAR | {"sample": SAMPLE | {"taken_on": "2150-01-01"}}, "taken_in_the_future", "jar.sample.taken_on"),
    (JAR | {"sample": SAMPLE | {"place": "a\u202eb"}}, "control_character", "jar.sample.place"),
    (RIBBON | {"length_mm": 900}, "less_than_equal", "ribbon.length_mm"),
    (LAB | {"clay_percent": 60}, "shares_do_not_add_up", "laboratory"),
    (LAB | {"clay_percent": None}, "shares_incomplete", "laboratory"),
    (LAB | {"sieves": [{"size_mm": 0.002, "passing_percent": 20}, {"size_mm": 2, "passing_percent": 100}]}, "curve_and_shares", "laboratory.sieves"),
    ({"kind": "laboratory", "sample": SAMPLE, "sieves": [{"size_mm": 4, "passing_percent": 50}, {"size_mm": 8, "passing_percent": 100}]}, "curve_too_coarse", "laboratory.sieves"),
    ({"kind": "laboratory", "sample": SAMPLE, "sieves": [{"size_mm": 1, "passing_percent": 90}, {"size_mm": 2, "passing_percent": 80}]}, "passing_falls", "laboratory.sieves"),
    ({"kind": "laboratory", "sample": SAMPLE, "sieves": [{"size_mm": 1, "passing_percent": 80}, {"size_mm": 1, "passing_percent": 90}]}, "sieve_twice", "laboratory.sieves"),
    ({"kind": "roll", "sample": SAMPLE}, "nothing_observed", "roll.breaks_at_mm, unbroken_mm"),
    ({"kind": "ticked", "sample": SAMPLE}, "one_texture", "ticked.texture, words"),
    ({"kind": "ticked", "sample": SAMPLE, "words": "sandy", "texture": "clay"}, "one_texture", "ticked.texture, words"),
    ({"kind": "shrinkage_box", "sample": SAMPLE, "length_mm": 600, "shrinkage_mm": 500}, "figure_out_of_range", "shrinkage_box.shrinkage_mm"),
    ({"kind": "stone_screen", "sample": SAMPLE, "mesh_mm": 20, "kept": 11, "total": 10}, "figure_out_of_range", "stone_screen.kept"),
    ({"kind": "mix_trial", "sample": SAMPLE, "sand_parts": 1}, "nothing_observed", "mix_trial.shrinkage_mm, box_cracked, bricks, strength_mpa"),
    ({"kind": "mix_trial", "sample": SAMPLE, "sand_parts": 1, "shrinkage_mm": 5}, "box_length_missing", "mix_trial.box_mm"),
    ({"kind": "soil_map", "sample": SAMPLE, "texture": "clay", "map_name": " "}, "string_too_short", "soil_map.map_name"),
    ({"kind": "dowsing", "sample": SAMPLE}, "union_tag_invalid", "document"),
    ({"kind": "jar"}, "missing", "jar.sample"),
    ({}, "union_tag_not_found", "document"),
    ([], "dict_type", "document"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "code", "field"), BAD_TESTS)
def test_absurd_tests_are_refused_wherever_they_are_sent(client, body, code, field):
    """Property: the same fault is found at each door, in the document's own words."""
    offer = store_offer(adas_soil())
    before = Offer.objects.get(pk=offer).material
    answer = send(client, f"offers/{offer}/tests", body)
    assert (answer.status_code, problem(answer)) == (400, (code, field))
    assert Offer.objects.get(pk=offer).material == before
    inside = "" if field == "document" else f".{field}"
    asked = send(client, "soil-tests", {"tests": [body]})
    assert problem(asked) == (code, f"tests.0{inside}")
    material = {"kind": "subsoil", "tests": [body]}
    offered = send(client, "offers", adas_soil(material=material))
    assert problem(offered) == (code, f"material.subsoil.tests.0{inside}")


def test_what_is_no_number_is_refused_at_every_door(client):
    for path, body in (
        ("soil-tests", soil(JAR)),
        ("sand-tests", {"sand": "concrete", "fines_percent": 20}),
        ("straw-tests", {"fibre": "rye", "strand_mm": 20}),
    ):
        for evil in ("NaN", "Infinity", "1e999", "-1e999"):
            text = json.dumps(body).replace("20", evil, 1)
            answer = client.post(
                f"/api/v1/{path}/", text, content_type="application/json"
            )
            assert answer.status_code == 400, (path, evil)
            assert answer.json()["problems"][0]["remedy"]


def test_a_list_of_tests_has_an_end(client):
    answer = send(client, "soil-tests", {"tests": [RIBBON] * 51})
    assert problem(answer) == ("too_long", "tests")


# sand, code, field
BAD_SAND = [
    ({}, "missing", "sand"),
    ({"sand": "gold"}, "enum", "sand"),
    ({"sand": "concrete", "chloride_percent": -1}, "greater_than_equal", "chloride_percent"),
    ({"sand": "concrete", "sieves": []}, "too_short", "sieves"),
    ({"sand": "concrete", "sieves": [{"size_mm": 0, "passing_percent": 1}, {"size_mm": 1, "passing_percent": 2}]}, "greater_than", "sieves.0.size_mm"),
    ({"sand": "concrete", "retained": {"sieves": [{"size_mm": 1, "retained_g": 10}, {"size_mm": 2, "retained_g": 10}], "pan_g": 5, "sample_g": 500}}, "masses_do_not_add_up", "retained.sample_g"),
    ({"sand": "concrete", "retained": {"sieves": [{"size_mm": 1, "retained_g": 0}, {"size_mm": 2, "retained_g": 0}], "pan_g": 0}}, "nothing_sieved", "retained"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "code", "field"), BAD_SAND)
def test_absurd_sands_are_refused(client, body, code, field):
    answer = send(client, "sand-tests", body)
    assert (answer.status_code, problem(answer)) == (400, (code, field))


# straw, code, field
BAD_STRAW = [
    ({"fibre": "nylon"}, "enum", "fibre"),
    ({"fibre": "rye", "moisture_percent": 100}, "less_than", "moisture_percent"),
    ({"fibre": "rye", "bale": "two_string", "bale_m3": 1}, "bale_size_twice", "bale_m3"),
    ({"fibre": "rye", "bale": "two_string", "bale_kg": 900}, "bale_mass_unlikely", "bale_kg"),
    ({"fibre": "rye", "bale_kg": 900, "bale_m3": 0.1}, "bale_mass_unlikely", "bale_kg"),
    ({"fibre": "rye", "harvested_year": 2199}, "harvest_to_come", "harvested_year"),
    ({"fibre": "rye", "straw_kg": {"likely": 5, "low": 6}}, "range_out_of_order", "straw_kg"),
    ({"fibre": "rye", "straw_kg": 5}, "model_type", "straw_kg"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "code", "field"), BAD_STRAW)
def test_absurd_straw_is_refused(client, body, code, field):
    answer = send(client, "straw-tests", body)
    assert (answer.status_code, problem(answer)) == (400, (code, field))


@pytest.mark.parametrize(
    "facts", [{"kind": "subsoil"}, {"kind": "sand", "sand": "concrete"}]
)
def test_more_than_the_whole_is_refused_where_it_is_read(client, facts):
    """60 % clay and 60 % silt are 120 %; such an offer once broke a page for everybody."""
    sixty = {"likely": 60}
    material = facts | {"clay_percent": sixty, "silt_percent": sixty}
    answer = send(client, "offers", adas_soil(material=material))
    assert answer.status_code == 400
    (own,) = answer.json()["problems"]
    assert own["code"] == "clay_and_silt_beyond_all"
    assert own["field"].endswith("silt_percent")
    assert not Offer.objects.exists()
