"""Evidence over HTTP: soil, sand and straw judged at once, and tests kept with offers."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from tests.worlds import (
    Body,
    adas_soil,
    dots_sand,
    eves_straw,
    raw,
    row_counts,
    store_offer,
)

pytestmark = pytest.mark.django_db

SAMPLE = {
    "place": "north side",
    "depth_from_m": 0.5,
    "depth_to_m": 1.5,
    "taken_on": "2026-02-01",
    "tester": "Ada",
}
JAR = {"kind": "jar", "sample": SAMPLE, "sand_mm": 60, "silt_mm": 20, "clay_mm": 20}
RIBBON = {"kind": "ribbon", "sample": SAMPLE, "length_mm": 60}
LAB = {
    "kind": "laboratory",
    "sample": SAMPLE,
    "clay_percent": 40,
    "silt_percent": 25,
    "sand_percent": 35,
    "method": "pipette",
}
WALL = {
    "kind": "standing_wall",
    "sample": SAMPLE,
    "sand_parts": 1,
    "parts_by": "dry_mass",
    "years": 80,
    "condition": "sound",
}
SIEVES = [
    (9.5, 0),
    (4.75, 10),
    (2.36, 65),
    (1.18, 100),
    (0.6, 120),
    (0.3, 120),
    (0.15, 65),
]


def send(client: Client, path: str, body: object) -> Any:
    return client.post(f"/api/v1/{path}/", raw(body), content_type="application/json")


def judged(client: Client, path: str, body: object) -> Body:
    answer = send(client, path, body)
    assert answer.status_code == 200, answer.content
    return dict(answer.json())


def soil(*tests: Body, **more: Any) -> Body:
    return {"history": "clear", "tests": list(tests)} | more


def problem(answer: Any) -> tuple[str, str]:
    first = answer.json()["problems"][0]
    return first["code"], first["field"]


def test_a_laboratory_sheet_of_forty_percent_clay_asks_for_one_part_of_sand(client):
    """By hand: 40 % clay in 1 part of soil and 1 of sand is 20 % of the mix."""
    body = judged(client, "soil-tests", soil(LAB))
    clay = body["estimate"]["clay_percent"]
    assert clay["low"] < 40 < clay["high"]
    assert clay["likely"] == pytest.approx(40, abs=1)
    assert body["estimate"]["words"] == "a laboratory"
    assert body["estimate"]["textures"][0]["name"] in {"clay", "clay_loam"}
    assert body["verdict"]["standing"] == "fit_with_sand"
    parts = body["sand_parts"]
    assert parts["low"] < 1 < parts["high"]
    assert parts["likely"] == pytest.approx(1, abs=0.06)


def test_the_target_of_the_mix_moves_the_sand(client):
    """By hand: 40 % clay in a mix of 16 % wants 40 / 16 - 1 = 1.5 parts."""
    body = judged(client, "soil-tests", soil(LAB, mix={"clay_target_percent": 16}))
    assert body["sand_parts"]["likely"] == pytest.approx(1.5, abs=0.08)


def test_a_jar_alone_never_decides(client):
    """The ladder of trust: builders call the jar close to useless."""
    body = judged(client, "soil-tests", soil(JAR))
    assert body["estimate"]["jar_decides"] is True
    assert "jar_alone" in [own["code"] for own in body["verdict"]["cautions"]]
    kinds = [own["kind"] for own in body["estimate"]["next_tests"]]
    assert kinds[-1] == "test_bricks"
    assert "ribbon_and_ball" in kinds


def test_contradicting_tests_are_both_told_and_the_weightier_counts(client):
    body = judged(client, "soil-tests", soil(JAR, LAB))
    estimate = body["estimate"]
    assert estimate["contradictions"] == len(estimate["quarrels"]) == 1
    assert set(estimate["quarrels"][0]["kinds"]) == {"jar", "laboratory"}
    assert {own["kind"] for own in estimate["findings"]} == {"jar", "laboratory"}
    assert estimate["clay_percent"]["likely"] > 30


def test_a_wall_that_stands_overrules_the_laboratory(client):
    """By hand: a sound wall of 1 part sand to 1 of soil by mass, in a window of 15 to
    25 %, puts the soil's clay between 30 and 50 %; the sheet said 70."""
    sheet = LAB | {"clay_percent": 70, "silt_percent": 20, "sand_percent": 10}
    body = judged(client, "soil-tests", soil(sheet, WALL))
    assert body["estimate"]["words"] == "a wall that stands"
    clay = body["estimate"]["clay_percent"]
    assert 25 <= clay["low"] <= clay["likely"] <= clay["high"] <= 55


def test_without_any_test_nothing_is_known_and_the_first_tests_are_named(client):
    body = judged(client, "soil-tests", {})
    clay = body["estimate"]["clay_percent"]
    assert (clay["low"], clay["high"]) == (0, 100)
    assert body["estimate"]["rung"] == "nothing"
    assert body["estimate"]["next_tests"][0]["takes"] == "1 min"
    assert body["verdict"]["standing"] == "not_until"


def test_a_sample_of_another_heap_is_set_aside_and_one_of_another_depth_a_hint(client):
    other = RIBBON | {"sample": SAMPLE | {"source": "the neighbour's heap"}}
    found = judged(client, "soil-tests", soil(other))["estimate"]
    assert [own["code"] for own in found["set_aside"]] == ["new_source"]
    assert found["rung"] == "nothing"
    deep = judged(client, "soil-tests", soil(LAB, depth_from_m=3, depth_to_m=4))[
        "estimate"
    ]
    assert [own["code"] for own in deep["stale"]] == ["new_depth"]
    assert deep["rung"] == "map"


def test_rain_leaves_the_clay_and_asks_for_moisture(client):
    found = judged(client, "soil-tests", soil(LAB, rained_since=True))["estimate"]
    assert [(own["code"], own["clay_stands"]) for own in found["stale"]] == [
        ("rain", True)
    ]
    assert found["rung"] == "laboratory"


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"topsoil": True}, "topsoil"),
        ({"salty": "yes"}, "salty"),
        ({"organic_percent": 6}, "organic"),
        ({"stones_percent": 60}, "stony"),
        ({"history": "suspect"}, "contamination_suspected"),
        ({"history": "unknown"}, "history_unknown"),
        ({"frozen": True}, "frozen"),
    ],
)
def test_facts_of_the_ground_overrule_good_clay(client, facts, code):
    body = judged(client, "soil-tests", soil(LAB, **facts))
    assert body["verdict"]["usable"] is False
    assert code in [own["code"] for own in body["verdict"]["reasons"]]


def test_screened_stones_overrule_the_declared_share(client):
    """By hand: 4 kg of 10 kg stay on the mesh, 40 % where 30 % is the most."""
    screen = {
        "kind": "stone_screen",
        "sample": SAMPLE,
        "mesh_mm": 20,
        "kept": 4,
        "total": 10,
    }
    body = judged(client, "soil-tests", soil(LAB, screen, stones_percent=0))
    stones = body["estimate"]["stones_percent"]
    assert stones["low"] <= 40 <= stones["high"]
    assert "stony" in [own["code"] for own in body["verdict"]["reasons"]]


def test_clay_is_declared_or_tested_but_not_both(client):
    """The brief: tests decide; a smell says nothing of clay, so the word stands beside."""
    declared = {"clay_percent": {"likely": 20}}
    answer = send(client, "soil-tests", soil(RIBBON, **declared))
    assert problem(answer) == ("clay_said_twice", "clay_percent")
    smell = {
        "kind": "smell_and_colour",
        "sample": SAMPLE,
        "smell": "none",
        "dark": False,
    }
    body = judged(client, "soil-tests", soil(smell, **declared))
    assert body["estimate"]["clay_percent"]["likely"] == 20
    assert body["estimate"]["organic_percent"] is not None


def test_a_sand_is_sieved_by_its_grams(client):
    """By hand, of 500 g: passing 98, 85, 65, 41, 17 and 4 percent from 4.75 to 0.15 mm, so
    the modulus is (2 + 15 + 35 + 59 + 83 + 96) / 100 = 2.90; D60 lies between 0.6 and
    1.18 mm where 41 and 65 percent pass: 0.6 (1.18/0.6)^(19/24) = 1.025 mm."""
    grams = [{"size_mm": size, "retained_g": mass} for size, mass in SIEVES]
    retained = {"sieves": grams, "pan_g": 20, "sample_g": 500}
    body = judged(
        client,
        "sand-tests",
        {"sand": "concrete", "shape": "sharp", "retained": retained},
    )
    figures = body["figures"]
    assert figures["fineness_low"] == figures["fineness_high"] == 2.9
    assert figures["d60_mm"] == pytest.approx(1.025, abs=0.001)
    assert figures["uniformity"] == pytest.approx(
        figures["d60_mm"] / figures["d10_mm"], rel=0.001
    )
    assert (figures["loss_percent"], figures["adds_up"]) == (0, True)
    assert body["verdict"]["standing"] == "fit"
    masonry = next(
        own for own in figures["limits"] if own["limit"] == "astm_c144_natural"
    )
    assert masonry["inside"] is False
    assert {"size_mm": 2.36, "passing_percent": 85, "low_percent": 95, "high_percent": 100, "by_points": -10} in masonry["departures"]  # fmt: skip


def test_beach_sand_is_no_sand_for_walls_however_it_is_graded(client):
    body = judged(client, "sand-tests", {"sand": "beach", "salt": "yes"})
    assert body["verdict"]["standing"] == "unfit"
    assert body["figures"] is None
    codes = [own["code"] for own in body["verdict"]["reasons"]]
    assert {"rounded", "salty"} <= set(codes)


def test_straw_is_counted_in_bales_of_its_form(client):
    """By hand: 500 kg in bales of 16 kg are 31.25, so 32; 400 kg are 25; 520 are 32.5."""
    body = judged(
        client,
        "straw-tests",
        {
            "fibre": "wheat",
            "moisture_percent": 14,
            "strand_mm": 300,
            "bale": "two_string",
            "straw_kg": {"likely": 500, "low": 400, "high": 520},
            "needed_on": "2026-05-04",
        },
    )
    assert body["bales"] == {"low": 25, "likely": 32, "high": 33}
    assert body["bale"]["kg"] == 16
    assert body["bale"]["dry_kg_per_m3"] == pytest.approx(16 * 0.86 / 0.1487, abs=0.1)
    assert body["keeping"]["bales"] == 32
    # 4 May 2026 is a Monday: the Friday before.
    assert body["deliver_on"] == "2026-05-01"
    assert body["compostable"] is False
    assert "fire" in [own["code"] for own in body["advice"]]


@pytest.mark.parametrize(
    ("facts", "standing"),
    [
        ({"fibre": "hay"}, "unfit"),
        ({"moisture_percent": 24}, "unfit"),
        ({"mould": "yes"}, "unfit"),
        ({}, "fit"),
    ],
)
def test_straw_is_dry_sound_and_no_hay(client, facts, standing):
    """At most 20 % moisture (residential code, straw-bale appendix)."""
    body = {"fibre": "wheat", "moisture_percent": 14, "strand_mm": 300} | facts
    assert judged(client, "straw-tests", body)["verdict"]["standing"] == standing


def test_questions_store_nothing(client):
    before = row_counts()
    judged(client, "soil-tests", soil(JAR))
    judged(client, "sand-tests", {"sand": "concrete"})
    judged(client, "straw-tests", {"fibre": "wheat"})
    assert row_counts() == before


def test_a_test_added_to_an_offer_moves_its_clay(client):
    offer = store_offer(adas_soil())
    answer = send(client, f"offers/{offer}/tests", RIBBON)
    assert answer.status_code == 201
    assert client.get(answer["Location"]).json() == answer.json()
    sent = {key: answer.json()["tests"][0][key] for key in RIBBON}
    assert sent == RIBBON | {
        "sample": SAMPLE | {"source": "this heap", "rained_since": False}
    }
    material = client.get(f"/api/v1/offers/{offer}/").json()["material"]
    assert material["estimate"]["words"] == "a test by hand"
    assert material["estimate"]["tests"] == 1
    clay = answer.json()["estimate"]["clay_percent"]
    assert material["clay_percent"] == {
        "low": pytest.approx(clay["low"], abs=0.06),
        "likely": pytest.approx(clay["likely"], abs=0.06),
        "high": pytest.approx(clay["high"], abs=0.06),
    }


def test_the_same_test_sent_twice_counts_once(client):
    offer = store_offer(adas_soil())
    send(client, f"offers/{offer}/tests", RIBBON)
    again = send(client, f"offers/{offer}/tests", RIBBON)
    assert (again.status_code, len(again.json()["tests"])) == (201, 1)


def test_an_offer_holds_fifty_tests_and_no_more(client):
    tests = [RIBBON | {"length_mm": length} for length in range(50)]
    offer = store_offer(
        adas_soil(material={"kind": "subsoil", "history": "clear", "tests": tests})
    )
    assert len(client.get(f"/api/v1/offers/{offer}/tests/").json()["tests"]) == 50
    answer = send(client, f"offers/{offer}/tests", JAR)
    assert problem(answer) == ("too_many_tests", "offer")


def test_sand_and_straw_take_no_soil_tests(client):
    for body in (dots_sand(), eves_straw()):
        offer = store_offer(body)
        answer = send(client, f"offers/{offer}/tests", RIBBON)
        assert problem(answer) == ("not_a_soil", "offer")
        listed = client.get(f"/api/v1/offers/{offer}/tests/")
        assert problem(listed) == ("not_a_soil", "offer")


def test_no_offer_no_tests(client):
    assert client.get("/api/v1/offers/999/tests/").status_code == 404
    answer = send(client, "offers/999/tests", RIBBON)
    assert (answer.status_code, problem(answer)[0]) == (404, "unknown_offer")
