"""Mix design over HTTP: "I have 40 % clay from here and a sandy heap there, what do I
order?"."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.rest.test_strange_input import STRANGE, changed, paths
from tests.worlds import (
    Body,
    adas_soil,
    bens_build,
    dots_sand,
    raw,
    row_counts,
    store_build,
    store_offer,
    stored_world,
)

Answer = dict[str, Any]


def heap(name: str, clay: Body | float, **more: Any) -> Body:
    """A clear subsoil without silt, so that shares can be worked by hand."""
    own = clay if isinstance(clay, dict) else {"likely": clay}
    facts = {
        "kind": "subsoil",
        "clay_percent": own,
        "silt_percent": {"likely": 0},
        "history": "clear",
    }
    return {"name": name, "material": facts | more}


def question(**more: Any) -> Body:
    """Ada's clay and a sandy heap."""
    materials = [heap("Ada's clay", 40), heap("Sandy heap", 5)]
    return {"materials": materials} | more


def ask(client: Client, body: object) -> Any:
    return client.post("/api/v1/mixes/", raw(body), content_type="application/json")


def answered(client: Client, body: Body) -> Answer:
    answer = ask(client, body)
    assert answer.status_code == 200, answer.content
    found: Answer = answer.json()
    return found


def problem(client: Client, body: object) -> tuple[int, str, str]:
    answer = ask(client, body)
    own = answer.json()["problems"][0]
    assert own["remedy"]
    return answer.status_code, own["code"], own["field"]


def shares(answer: Answer) -> dict[str, float]:
    return {
        own["name"]: own["share_percent"]
        for own in answer["outcome"]["recipe"]["doses"]
    }


def test_forty_percent_clay_and_a_sandy_heap_worked_by_hand(client):
    """40 s + 5 (1 - s) = 20: s = 3/7 = 42.9 %. 10 m3 take 17 878 dry kg (1650 x 1.1 x
    0.985 each): 7662 dry, 9041 moist kg of clay at 18 % water, over 1471 kg/m3 loose
    6.1 m3; 12 055 kg of the sandy heap, 8.2 m3."""
    answer = answered(client, question(wall_m3=10))
    assert shares(answer) == {"Ada's clay": 42.9, "Sandy heap": 57.1}
    clay, sandy = answer["orders"]
    assert clay["moist_kg"]["likely"] == 9041
    assert sandy["moist_kg"]["likely"] == 12_055
    assert clay["text"].startswith(
        "Order 9.0 t (6.8 to 10.3) of Ada's clay, about 6.1 m3"
    )
    assert "(4.7 to 7.0)" in clay["text"]
    assert answer["buckets"]["text"] == (
        "Buckets: 3 of Ada's clay to 4 of Sandy heap; gives 20.0 % clay."
    )
    assert answer["basis"] == "10.00 m3 of wall in place, waste included"


def test_a_fifty_fifty_soil_takes_one_sand_to_one_soil(client):
    """Trade fact, common practice, no source: soil of 40 % clay goes one to one with clean
    sand, by dry mass. In buckets: loose soil holds 1471 / 1.18 = 1247, sand 1491 / 1.05 =
    1420 dry kg/m3, so one to one gives 40 x 1247 / 2667 = 18.7 % clay."""
    sand = {
        "name": "Dot's sand",
        "material": {
            "kind": "sand",
            "sand": "concrete",
            "shape": "sharp",
            "clay_percent": {"likely": 0},
            "silt_percent": {"likely": 0},
        },
    }
    answer = answered(client, {"materials": [heap("Ada's clay", 40), sand]})
    assert shares(answer) == {"Ada's clay": 50, "Dot's sand": 50}
    weighed = [own["weigh_kg"] for own in answer["outcome"]["recipe"]["doses"]]
    assert weighed == [59, 52.5]
    assert answer["basis"].startswith("1 m3 of wall")


def test_one_soil_alone_says_what_it_lacks(client):
    """Hand-worked: 40 % clay to the target of 20 takes one part of clean sand."""
    answer = answered(client, {"materials": [heap("Ada's clay", 40)]})
    assert answer["outcome"]["recipe"] is None
    assert answer["outcome"]["reason"]["code"] == "too_rich"
    assert "Add 1 part of sand" in answer["outcome"]["reason"]["text"]
    assert answer["orders"] == []
    assert answer["buckets"] is answer["batch"] is answer["day"] is None


def test_contaminated_ground_is_left_out_and_the_answer_says_so(client):
    """Never thin bad soil with clean soil (regulators, as the job's notes have it). At 20 %
    clay and free it would otherwise be the whole recipe."""
    body = question(wall_m3=5)
    body["materials"].append(
        heap("Old yard", 20, history="suspect") | {"delivered_minor_per_t": 0}
    )
    answer = answered(client, body)
    assert set(shares(answer)) == {"Ada's clay", "Sandy heap"}
    yard = answer["materials"][2]
    assert (yard["verdict"], yard["allowed"]) == ("not_until", False)
    assert yard["reasons"][0]["code"] == "contamination_suspected"
    said = answer["left_out"][0]
    assert said.startswith("Old yard is left out, and must not be blended in")
    assert "laboratory" in said


def test_nothing_fits_with_every_reason_given(client):
    body = {
        "materials": [
            heap("Garden", 20, topsoil=True),
            heap("Nobody knows", 20, history="unknown"),
        ]
    }
    answer = answered(client, body)
    assert answer["outcome"]["reason"]["code"] == "nothing_offered"
    assert len(answer["left_out"]) == 2
    assert "Topsoil" in answer["left_out"][0]


def test_supply_that_does_not_reach_says_what_is_missing(client):
    body = question(wall_m3=10)
    body["materials"][0]["amount"] = {"amount": 2, "unit": "t", "basis": "moist"}
    answer = answered(client, body)
    assert answer["outcome"]["reason"]["code"] == "not_enough"
    assert answer["outcome"]["short_dry_kg"] > 0


def test_walls_and_their_volume_give_the_same_order(client):
    """6 x 2.4 x 0.5 m are 7.2 m3, by hand."""
    walls = [{"length_m": 6, "height_m": 2.4, "thickness_m": 0.5}]
    drawn = answered(client, question(walls=walls))
    typed = answered(client, question(wall_m3=7.2))
    assert drawn["orders"] == typed["orders"]
    assert drawn["straw"] == typed["straw"]


def test_a_dry_mass_is_ordered_exactly(client):
    """Hand-worked: 7 t dry are 3 t and 4 t, 3540 and 4720 kg at 18 % water."""
    answer = answered(client, question(mix_dry_kg=7000))
    assert [own["moist_kg"]["likely"] for own in answer["orders"]] == [3540, 4720]
    # 1.5 % of all dry mass: 7000 x 0.015 / 0.985 = 106.6 kg, seven bales of 16 kg.
    assert answer["straw"]["straw_kg"]["likely"] == 106.6
    assert answer["straw"]["bales"]["likely"] == 7
    assert "Order 7 bales of straw" in answer["straw"]["text"]


def test_a_day_for_a_crew_with_its_cautions(client):
    """Eight novices of whom 20 % stay away at 0.14 m3, and one trained at 0.275: 1.171
    (rates: lifts.crew). Nobody to lead is said."""
    led = answered(client, question(crew={"novices": 8, "trained": 1}))
    assert led["day"]["wall_m3"]["likely"] == 1.17
    assert [own["name"] for own in led["day"]["swallowed"]] == [
        "Ada's clay",
        "Sandy heap",
    ]
    alone = answered(client, question(crew={"novices": 8}))
    assert any("Helpers without a lead" in own for own in alone["cautions"])
    machine = answered(client, question(crew={"trained": 2, "machine": True}))
    assert machine["day"]["wall_m3"]["likely"] == 1.5  # 0.75 each


def test_buckets_batches_and_bales_are_those_asked_for(client):
    """Three to four buckets: one and a half times are 10.5 of 15 l, the nearest to 150."""
    answer = answered(
        client,
        question(bucket_l=15, batch_l=150, bale={"kg": 10, "m3": 0.1}, mix_dry_kg=7000),
    )
    assert answer["batch"]["loose_l"] == 157.5
    assert [own["buckets"] for own in answer["batch"]["loads"]] == [4.5, 6]
    assert answer["straw"]["bales"]["likely"] == 11


def unsure(**more: Any) -> Body:
    """A fat soil from 20 to 60 % clay and a sand, at a price."""
    fat = heap("Ada's clay", {"low": 20, "likely": 40, "high": 60})
    sand = heap("Sandy heap", 0)
    return {
        "materials": [
            fat | {"delivered_minor_per_t": 1000},
            sand | {"delivered_minor_per_t": 2000},
        ],
        "wall_m3": 10,
    } | more


def test_doubt_names_edges_worth_and_the_tests_that_would_settle_it(client):
    doubt = answered(client, unsure())["doubt"]
    assert doubt["name"] == "Ada's clay"
    assert len(doubt["crossed"]) == 2
    assert "15.0 %" in doubt["crossed"][0]
    assert "crack" in doubt["crossed"][1]
    kinds = [own["kind"] for own in doubt["tests"]]
    assert kinds == [
        "ribbon_and_ball",
        "jar",
        "shrinkage_box",
        "laboratory",
        "test_bricks",
    ]
    worth = {own["kind"]: own["worth_minor"] for own in doubt["tests"]}
    assert doubt["worth_minor"] >= worth["laboratory"] > worth["jar"]
    assert doubt["cost_now_minor"] - doubt["cost_known_minor"] == pytest.approx(
        doubt["worth_minor"], abs=1
    )


def test_without_prices_the_worth_is_said_to_be_unknown(client):
    body = unsure()
    del body["materials"][1]["delivered_minor_per_t"]
    doubt = answered(client, body)["doubt"]
    assert doubt["worth_minor"] is None
    assert doubt["worth_unknown"]["code"] == "worth_unknown"
    assert "Sandy heap" in doubt["worth_unknown"]["found"]


def test_an_end_of_the_ground_without_a_mix_is_said_beside_the_orders(client):
    """Soil of 12 % clay and sand never make 15 %."""
    body = unsure()
    clay = {"low": 12, "likely": 30, "high": 30}
    body["materials"][0]["material"]["clay_percent"] = clay
    answer = answered(client, body)
    (note,) = answer["orders_note"]
    assert "lean end of the ground no mix is possible: find a richer soil" in note
    assert answered(client, unsure())["orders_note"] == []
    # The clay that the buckets may really give stands beside them.
    assert "% clay (8.0 to 20.0)" in answer["buckets"]["text"]


def test_straw_without_a_recipe_is_for_the_walls_alone(client):
    answer = answered(client, {"materials": [heap("Ada's clay", 40)], "wall_m3": 1})
    assert answer["outcome"]["recipe"] is None
    assert answer["straw"]["text"].startswith("For the walls whatever the mix")


def test_a_small_order_is_told_in_its_own_size(client):
    """Hand-worked: of 1 kg dry 3/7 are 0.43 dry and 0.51 moist kg at 18 % of water; 1.5 %
    of straw make one bale, and what holds stones is screened."""
    body = question(mix_dry_kg=1)
    body["materials"][0] = heap("Ada's clay", 40, stones_percent=0)
    body["materials"][1] = heap("Sandy heap", 5, stones_percent=10)
    answer = answered(client, body)
    assert answer["orders"][0]["text"].startswith("Order 0.51 kg (")
    assert "yet" not in " ".join(own["text"] for own in answer["orders"])
    assert answer["straw"]["text"].startswith("Order 1 bale of straw")
    assert "of Sandy heap (screened)" in answer["buckets"]["text"]
    assert "of Ada's clay to" in answer["buckets"]["text"]
    assert "Sandy heap (screened)" in answer["batch"]["text"]


def test_a_safe_mix_is_priced_beside_the_likely_one(client):
    """Property: safe recipes lie in the window at both ends, and cost no less when the
    cheapest is asked for."""
    body = unsure(aim="cost")
    body["materials"][0]["material"]["clay_percent"] = {
        "low": 35,
        "likely": 40,
        "high": 45,
    }
    safe = answered(client, body)["safe"]
    assert safe["recipe"]["clay_percent"]["low"] >= 15
    assert safe["recipe"]["clay_percent"]["high"] <= 25
    assert safe["extra_minor"] > 0
    assert safe["buckets"]["text"].startswith("Buckets:")


def test_nobody_promises_a_share_by_code(client):
    cautions = " ".join(answered(client, question())["cautions"])
    for said in ("test bricks", "No wall code", "licensed professional"):
        assert said in cautions


BAD: list[tuple[str, Body, str, str]] = [
    (
        "two amounts",
        {"wall_m3": 1, "mix_dry_kg": 1},
        "amount_given_twice",
        "mix_dry_kg",
    ),
    ("no wall", {"wall_m3": 0}, "greater_than_equal", "wall_m3"),
    ("no materials", {"materials": []}, "too_short", "materials"),
    ("unknown field", {"colour": "red"}, "extra_forbidden", "colour"),
    ("a crew of nobody", {"crew": {}}, "crew_of_nobody", "crew"),
    (
        "a mix of straw",
        {"mix": {"straw_percent": {"likely": 100}}},
        "too_much_straw",
        "mix.straw_percent",
    ),
    (
        "the same name twice",
        {"materials": [heap("A", 40), heap("A", 5)]},
        "name_used_twice",
        "materials",
    ),
    (
        "more than the whole",
        {"materials": [heap("A", 60, silt_percent={"likely": 60}), heap("B", 5)]},
        "clay_and_silt_beyond_all",
        "materials.0.material.subsoil.silt_percent",
    ),
    (
        "a placed heap",
        {
            "materials": [
                heap("A", 40)
                | {"amount": {"amount": 1, "unit": "m3", "state": "placed"}}
            ]
        },
        "placed_volume_of_supply",
        "materials.0.amount.state",
    ),
    (
        "straw as a part",
        {"materials": [{"name": "S", "material": {"kind": "straw", "fibre": "wheat"}}]},
        "union_tag_invalid",
        "materials.0.material",
    ),
]


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [own[1:] for own in BAD],
    ids=[own[0] for own in BAD],
)
def test_what_cannot_be_mixed_is_refused_where_it_stands(client, more, code, field):
    assert problem(client, question(**more)) == (400, code, field)


def test_figures_that_are_none_are_refused(client):
    for figure in ("NaN", "Infinity", "1e400"):
        text = json.dumps(question()).replace("40", figure, 1)
        answer = client.post("/api/v1/mixes/", text, content_type="application/json")
        assert answer.status_code == 400, figure
    torn = client.post("/api/v1/mixes/", b"{", content_type="application/json")
    assert torn.status_code == 400
    form = client.post("/api/v1/mixes/", {"materials": "x"})
    assert form.status_code == 415
    assert client.get("/api/v1/mixes/").status_code == 405


FULL = unsure(
    mix={"clay_low_percent": 14, "straw_percent": {"likely": 2}},
    crew={"novices": 3, "trained": 1, "machine": True},
    bale={"kg": 12, "m3": 0.12},
    wrong_order={
        "rush_percent": 40,
        "second_delivery_minor": 900,
        "leftover_minor_per_t": 50,
    },
    aim="cost",
    bucket_l=19,
    batch_l=100,
)
FULL["materials"][0]["amount"] = {"amount": 90, "unit": "t", "basis": "moist"}


@pytest.mark.slow
@settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(path=st.sampled_from(paths(FULL)), value=STRANGE)
def test_one_strange_value_is_answered_or_refused_and_never_a_fault(
    client, path, value
):
    """Property: what comes back is an answer or a list of problems."""
    answer = ask(client, changed(copy.deepcopy(FULL), path, value))
    assert answer.status_code in {200, 400, 413, 422}, answer.content
    if answer.status_code != 200:
        assert answer.json()["problems"]


def test_the_full_body_is_sound_before_it_is_changed(client):
    answer = answered(client, FULL)
    assert answer["outcome"]["recipe"]
    assert answer["doubt"]["worth_minor"] > 0


@pytest.mark.django_db
def test_a_stored_need_gets_the_cheapest_mix_of_the_offers_in_reach(client):
    """Hand-worked: Ada's soil is free and holds 32 %, Dot's sand is at 14.00 a tonne, so
    that the cheapest mix takes as much soil as the window allows: 25 % clay, 78.1 %."""
    world = stored_world()
    store_offer(
        adas_soil(
            name="Old yard", material=adas_soil()["material"] | {"history": "suspect"}
        )
    )
    before = row_counts()
    need = client.get(f"/api/v1/builds/{world.build}/").json()["needs"][0]["id"]
    query = "?first_day=2026-03-02&last_day=2026-03-04"
    answer = client.get(f"/api/v1/needs/{need}/mix/{query}")
    assert answer.status_code == 200, answer.content
    body = answer.json()
    assert shares(body["mix"]) == {"Ada's heap": 78.1, "Dot's sand": 21.9}
    assert body["mix"]["outcome"]["recipe"]["cost_minor"]["likely"] > 0
    assert body["mix"]["basis"].startswith("7.20 m3")
    assert body["mix"]["left_out"][0].startswith("Old yard is left out")
    assert body["need"]["id"] == need
    assert row_counts() == before


@pytest.mark.django_db
def test_an_offer_that_no_truck_can_bring_is_barred_with_its_reason(client):
    """There is no truck at all."""
    store_offer(adas_soil())
    store_offer(dots_sand())
    build = store_build(bens_build())
    need = client.get(f"/api/v1/builds/{build}/").json()["needs"][0]["id"]
    body = client.get(f"/api/v1/needs/{need}/mix/?first_day=2026-03-02").json()
    assert len(body["barred"]) == 2
    assert "no truck" in body["barred"][0]
    assert body["mix"]["outcome"]["reason"]["code"] == "nothing_offered"


@pytest.mark.django_db
def test_a_need_for_straw_is_not_mixed(client):
    world = stored_world()
    straw = client.get(f"/api/v1/builds/{world.build}/").json()["needs"][1]["id"]
    answer = client.get(f"/api/v1/needs/{straw}/mix/?first_day=2026-03-02")
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["code"] == "need_without_blend"
    assert client.get("/api/v1/needs/999999/mix/").status_code == 404
    assert client.get(f"/api/v1/needs/{straw}/mix/?reach=1").status_code == 400


def test_a_window_too_narrow_for_buckets_is_weighed(client):
    """Hand-worked on the fifty-fifty soil: 100 kg of dry mix are 50 kg of soil with 18 %
    water, 59.0 kg, and 50 kg of the sandy heap with 7.3 %; no ratio
    of buckets hits 20.00 %."""
    mix = {
        "clay_low_percent": 19.999,
        "clay_target_percent": 20,
        "clay_high_percent": 20.001,
    }
    sand = heap("Sandy heap", 0, moisture_percent=7.3)
    body = {"materials": [heap("Ada's clay", 40), sand], "mix": mix}
    answer = answered(client, body)
    assert answer["buckets"]["buckets"] == []
    assert "Weigh it: 59.0 kg of Ada's clay" in answer["buckets"]["text"]
    assert answer["batch"] is None


def test_a_soil_known_by_a_ribbon_wants_only_tests_that_are_trusted_more(client):
    """The ladder of trust: jar < hands < box < laboratory (cob builders' lists, as
    soil.evidence has it). The range is what the ribbon leaves, not a declaration."""
    sample = {
        "depth_from_m": 0.5,
        "depth_to_m": 1,
        "taken_on": "2026-03-01",
        "tester": "Ben",
    }
    felt = {
        "name": "Ada's clay",
        "material": {
            "kind": "subsoil",
            "history": "clear",
            "tests": [{"kind": "ribbon", "sample": sample, "length_mm": 60}],
        },
    }
    sand = heap("Sandy heap", 2)
    answer = answered(client, {"materials": [felt, sand], "wall_m3": 5})
    doubt = answer["doubt"]
    assert doubt["clay_percent"]["low"] < doubt["clay_percent"]["high"]
    assert [own["kind"] for own in doubt["tests"]] == [
        "shrinkage_box",
        "laboratory",
        "test_bricks",
    ]
