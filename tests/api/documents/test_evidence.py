"""Evidence as documents: every kind goes through document, record and store unchanged."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.documents.evidence import EvidenceDoc, OneTest
from api.documents.material_answers import material_answer
from api.documents.materials import SandDoc, StrawDoc, SubsoilDoc
from api.documents.problems import read_document
from api.documents.questions import SandTestIn, SoilTestIn, StrawTestIn
from api.documents.reading_evidence import evidence_document, read_test
from api.documents.reading_materials import read_material, read_subsoil
from api.documents.scenario import ScenarioDoc
from logistics.domain.errors import Refused
from matching.domain import stored
from matching.domain.grounds import Known
from matching.domain.materials import Material, Straw, Subsoil, cargo
from matching.domain.soil.evidence import Record, Rung
from matching.domain.tested import estimate_for
from matching.domain.tested import tested as soil_with
from tests.matching.small_documents import Doc, build, document, soil, tipper
from tests.matching.small_documents import read as read_small

SAMPLE = {
    "place": "bank by the gate",
    "depth_from_m": 0.4,
    "depth_to_m": 1.1,
    "taken_on": "2026-01-30",
    "tester": "Ada",
    "source": "this heap",
    "rained_since": True,
}
# One of each kind with every field given; two of those that can be told in two ways.
FULL: list[dict[str, Any]] = [
    {
        "kind": "jar",
        "sand_mm": 61.5,
        "silt_mm": 82.0,
        "clay_mm": 101.0,
        "cumulative": True,
        "sand_read_s": 50.0,
        "silt_read_s": 7200.0,
        "clay_read_s": 90_000.0,
        "fall_mm": 120.0,
        "water_c": 18.0,
        "cleared": False,
        "dispersant": True,
    },
    {
        "kind": "laboratory",
        "sieves": None,
        "clay_percent": 33.3,
        "silt_percent": 28.4,
        "sand_percent": 30.1,
        "gravel_percent": 8.2,
        "system": "iso_14688",
        "method": "hydrometer",
    },
    {
        "kind": "laboratory",
        "sieves": [
            {"size_mm": 0.002, "passing_percent": 21.7},
            {"size_mm": 0.063, "passing_percent": 55.1},
            {"size_mm": 2.0, "passing_percent": 97.3},
        ],
        "clay_percent": None,
        "silt_percent": None,
        "sand_percent": None,
        "gravel_percent": None,
        "system": "usda",
        "method": "pipette",
    },
    {"kind": "shrinkage_box", "length_mm": 610.0, "shrinkage_mm": 31.0},
    {"kind": "ribbon", "length_mm": 45.0, "feel": "gritty", "practised": True},
    {"kind": "ball_drop", "fall": "holds"},
    {"kind": "roll", "breaks_at_mm": 2.5, "unbroken_mm": 60.0},
    {"kind": "smell_and_colour", "smell": "earthy", "dark": True, "roots": True},
    {
        "kind": "stone_screen",
        "mesh_mm": 10.0,
        "kept": 1.7,
        "total": 11.0,
        "by_mass": False,
    },
    {
        "kind": "mix_trial",
        "sand_parts": 1.5,
        "parts_by": "dry_mass",
        "box_mm": 610.0,
        "shrinkage_mm": 4.0,
        "box_cracked": False,
        "bricks": "strong",
        "strength_mpa": 1.1,
        "strength_samples": 5,
    },
    {
        "kind": "standing_wall",
        "sand_parts": 1.0,
        "parts_by": "loose_volume",
        "years": 140.0,
        "condition": "sound",
    },
    {"kind": "ticked", "texture": "clay_loam", "words": None},
    {"kind": "ticked", "texture": None, "words": "heavy_clay"},
    {"kind": "soil_map", "texture": "silt_loam", "map_name": "County sheet, 1978"},
]


def read(body: dict[str, Any]) -> EvidenceDoc:
    raw = json.dumps(body | {"sample": SAMPLE}).encode()
    return read_document(OneTest, raw).root


def through_store(material: Material) -> Material:
    kept = json.loads(json.dumps(stored.dump_material(material)))
    return stored.load_material(cargo(material), kept)


@pytest.mark.parametrize("body", FULL, ids=lambda own: str(own["kind"]))
def test_every_kind_comes_back_from_the_store_as_it_was_sent(body):
    """Property."""
    record = read_test(read(body))
    earth = soil_with(Subsoil(clay=estimate_for(NOTHING).clay), (record,))
    kept = through_store(earth)
    assert kept == earth
    assert isinstance(kept, Subsoil)
    answer = evidence_document(kept.tests[0]).model_dump(mode="json")
    assert answer == body | {"sample": SAMPLE}
    assert read_test(evidence_document(record)) == record


def test_the_kinds_tried_here_are_all_there_are():
    kinds = {own["kind"] for own in FULL}
    assert kinds == {kind_of(own) for own in get_args(Record)}


def kind_of(record: Any) -> str:
    return str(record.__dataclass_fields__["kind"].default)


@given(
    st.integers(0, 1000),
    st.integers(0, 1000),
    st.none() | st.integers(0, 20),
)
def test_sheets_in_tenths_of_a_percent_come_back_to_the_tenth(one, other, gravel):
    """Property: no binary fraction shows, and nothing is lost on the way."""
    stones = 0 if gravel is None else gravel
    clay, silt = sorted(
        (one * (1000 - stones) // 1000, other * (1000 - stones) // 1000)
    )
    silt -= clay
    sand = 1000 - stones - clay - silt
    body = {
        "kind": "laboratory",
        "clay_percent": clay / 10,
        "silt_percent": silt / 10,
        "sand_percent": sand / 10,
        "gravel_percent": None if gravel is None else gravel / 10,
    }
    answer = evidence_document(read_test(read(body))).model_dump(mode="json")
    assert {name: answer[name] for name in body} == body


NOTHING = read_subsoil(SubsoilDoc(kind="subsoil"))


def test_a_soil_without_a_word_is_anything_from_sand_to_clay():
    assert (NOTHING.clay.low, NOTHING.clay.high) == (0, 1)
    assert estimate_for(NOTHING).rung is Rung.NOTHING


def scenario(material: dict[str, Any]) -> Doc:
    doc = document(
        {"pit": (0, 0), "site": (3, 0), "depot": (1, 0)},
        offers=[soil("pit", "pit", 32)],
        builds=[
            build(
                "wall",
                "site",
                walls=[{"length_m": 4, "height_m": 2, "thickness_m": 0.5}],
            )
        ],
        trucks=[tipper()],
    )
    doc["offers"][0]["material"] = material
    return doc


def test_a_scenario_file_takes_the_same_tests():
    """The one validator: what REST takes in an offer a file takes too."""
    material: dict[str, Any] = {
        "kind": "subsoil",
        "history": "clear",
        "tests": [body | {"sample": SAMPLE} for body in FULL],
    }
    earth = read_small(scenario(material)).offers[0].material
    assert isinstance(earth, Subsoil)
    assert len(earth.tests) == len(FULL)
    assert estimate_for(earth).rung is Rung.WALL
    material["tests"][0]["sand_mm"] = 900.0
    with pytest.raises(Refused) as refused:
        read_document(ScenarioDoc, json.dumps(scenario(material)).encode())
    first = refused.value.problems[0]
    assert first.code == "goes_backwards"
    assert first.field == "offers.0.material.subsoil.tests.0.jar.clay_mm"


def test_what_the_domain_refuses_names_the_documents_own_place():
    box = {"kind": "shrinkage_box", "length_mm": 100, "shrinkage_mm": 90}
    tests = [box | {"sample": SAMPLE}]
    with pytest.raises(Refused) as refused:
        read_small(scenario({"kind": "subsoil", "tests": tests}))
    assert refused.value.problems[0].field == (
        "offers.0.material.subsoil.tests.0.shrinkage_box.shrinkage_mm"
    )


SAND = {
    "kind": "sand",
    "sand": "concrete",
    "shape": "sharp",
    "sieves": [
        {"size_mm": 0.075, "passing_percent": 4.0},
        {"size_mm": 0.6, "passing_percent": 41.0},
        {"size_mm": 4.75, "passing_percent": 98.0},
    ],
    "fines_percent": 4.0,
    "clayey": "no",
    "salt": "no",
    "chloride_percent": 0.01,
    "shells": "no",
    "sold_by_volume": "yes",
    "moisture_percent": 6.0,
}
STRAW = {
    "kind": "straw",
    "fibre": "rye",
    "strand_mm": 350.0,
    "moisture_percent": 15.0,
    "storage": "barn",
    "mould": "no",
    "smell": "clean",
    "herbicide": "free",
    "harvested_year": 2025,
    "bale": "big_120x70x240",
    "bale_kg": 310,
}


@pytest.mark.parametrize(("body", "form"), [(SAND, SandDoc), (STRAW, StrawDoc)])
def test_sand_and_straw_come_back_from_the_store_as_they_were_sent(body, form):
    """Property."""
    doc = read_document(form, json.dumps(body).encode())
    kept = through_store(read_material(doc, field="material"))
    answer = material_answer(kept).model_dump(mode="json")
    assert {name: answer[name] for name in body} == body


def test_a_named_form_sets_the_mass_and_the_room_of_a_bale():
    """The published table: big squares of 120 x 70 x 240 cm weigh about 300 kg."""
    doc = StrawDoc.model_validate(
        {"kind": "straw", "fibre": "rye", "bale": "big_120x70x240"}
    )
    straw = read_material(doc, field="material")
    assert isinstance(straw, Straw)
    assert straw.bale.kg == 300
    assert straw.bale.m3 == pytest.approx(1.2 * 0.7 * 2.4)
    assert straw.record.moisture is None


def test_a_declared_share_stands_beside_a_smell_and_not_beside_a_ribbon():
    smell = read_test(
        read({"kind": "smell_and_colour", "smell": "none", "dark": False})
    )
    ribbon = read_test(read({"kind": "ribbon", "length_mm": 60}))
    declared = Subsoil(clay=replace(estimate_for(NOTHING).clay, low=0.2, high=0.4))
    assert soil_with(declared, (smell,)).clay == declared.clay
    assert soil_with(declared, (smell, ribbon)).clay != declared.clay
    assert declared.salty is Known.UNKNOWN


@pytest.mark.parametrize("form", [SoilTestIn, SandTestIn, StrawTestIn, OneTest])
def test_every_field_of_a_question_says_what_it_means(form):
    """Property."""
    schema = form.model_json_schema()
    parts = {form.__name__: schema, **schema.get("$defs", {})}
    fields = {
        f"{part}.{name}": field
        for part, own in parts.items()
        for name, field in own.get("properties", {}).items()
    }
    assert len(fields) > 10
    silent = [
        name
        for name, field in fields.items()
        if not field.get("description") and not name.endswith(("_m", "_mm", "_kg"))
    ]
    assert silent == []
