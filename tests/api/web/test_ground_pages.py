"""Soil judged on pages: an offer's own page, tests added to it, and the page that stores
nothing.

Figures are compared with what the REST interface answers to the same body, the outside
source of each; page structure is WCAG 2.2 where it is named, else common practice, no
source.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from api.web.asking import questions_of
from api.web.soil_form import SAMPLE
from api.web.soil_forms import CHECKS, FORMS
from matching.domain.soil.nexttests import CheckKind
from matching.models import Offer
from matching.selectors.offers import get_offer
from tests.api.web.reading import Outline, outline
from tests.worlds import adas_soil, dots_sand, eves_straw, store_offer, stored_world

NASTY = '<script>alert(1)</script> & "Sons"'
SAMPLED = {
    "sample.depth_from_m": "1",
    "sample.depth_to_m": "2,5",
    "sample.tester": "Ben",
    "sample.taken_on": "2026-03-02",
    "sample.place": "north side",
}
JAR = {"sand_mm": "60", "silt_mm": "20", "clay_mm": "20"} | SAMPLED
RIBBON = {"length_mm": "35", "feel": "gritty"} | SAMPLED
# A good answer to every kind of form.
TYPED: dict[str, dict[str, str]] = {
    "smell_and_colour": {"smell": "none", "dark": "no"},
    "ribbon": {"length_mm": "35", "feel": "gritty", "practised": "on"},
    "ball_drop": {"fall": "holds"},
    "roll": {"breaks_at_mm": "3"},
    "stone_screen": {"mesh_mm": "20", "kept": "1.5", "total": "15", "by_mass": "kg"},
    "jar": {"sand_mm": "60", "silt_mm": "20", "clay_mm": "20", "silt_read_s": "7.7"},
    "shrinkage_box": {"length_mm": "610", "shrinkage_mm": "40"},
    "laboratory": {
        "clay_percent": "28",
        "silt_percent": "22",
        "sand_percent": "50",
        "system": "iso_14688",
        "method": "pipette",
    },
    "mix_trial": {"sand_parts": "1", "parts_by": "loose_volume", "bricks": "strong"},
    "standing_wall": {"sand_parts": "1", "years": "12", "condition": "sound"},
    "ticked": {"words": "clayey"},
    "soil_map": {"texture": "clay_loam", "map_name": "County survey 1984"},
}


def unknown_soil(**more: Any) -> int:
    return store_offer(
        adas_soil(material={"kind": "subsoil", "history": "clear"} | more)
    )


def hidden(page: Outline, name: str) -> list[str]:
    return [
        own["value"] or ""
        for own in page.every("input")
        if own.get("type") == "hidden" and own.get("name") == name
    ]


def value(page: Outline, name: str) -> str | None:
    return next(own["value"] for own in page.every("input") if own.get("name") == name)


@pytest.mark.django_db
def test_the_list_leads_to_the_page_of_each_offer(client):
    stored_world()
    links = {own.get("href") for own in outline(client.get("/")).every("a")}
    for offer in Offer.objects.all():
        assert f"/offers/{offer.pk}/" in links
        assert offer.name in outline(client.get(f"/offers/{offer.pk}/")).text


@pytest.mark.django_db
def test_a_soil_shows_evidence_contradictions_and_next_tests_as_rest_gives_them(client):
    sample = {
        "depth_from_m": 1,
        "depth_to_m": 2,
        "taken_on": "2026-03-01",
        "tester": "Ada",
    }
    tests = [
        {"kind": "ribbon", "sample": sample, "length_mm": 60},
        {"kind": "ball_drop", "sample": sample, "fall": "shatters"},
    ]
    offer = unknown_soil(tests=tests)
    estimate = client.get(f"/api/v1/offers/{offer}/tests/").json()["estimate"]
    page = outline(client.get(f"/offers/{offer}/"))
    assert estimate["quarrels"]
    for finding in estimate["findings"]:
        assert finding["says"] in page.text
        assert finding["doubt"] in page.text
    for quarrel in estimate["quarrels"]:
        assert quarrel["text"] in page.text
    for step in estimate["next_tests"]:
        assert step["how"] in page.text
        assert step["takes"] in page.text
        kind = CHECKS.get(step["kind"], step["kind"])
        assert any(
            own.get("href") == f"/offers/{offer}/tests/{kind}/"
            for own in page.every("a")
        )
    assert "where this soil may lie" in page.text


@pytest.mark.django_db
def test_ground_of_unknown_past_is_not_until_and_says_what_would_settle_it(client):
    offer = unknown_soil(history="unknown")
    text = outline(client.get(f"/offers/{offer}/")).text
    assert "Not until" in text
    assert "ask for address, past use and depth" in text
    assert "never thinned" in text


@pytest.mark.django_db
def test_sand_and_straw_have_their_figures_curve_and_keeping(client):
    curve = [(4.75, 98), (2.36, 85), (1.18, 70), (0.6, 45), (0.3, 20), (0.15, 5)]
    sieves = [{"size_mm": size, "passing_percent": own} for size, own in curve]
    sand = store_offer(
        dots_sand(material={"kind": "sand", "sand": "concrete", "sieves": sieves})
    )
    text = outline(client.get(f"/offers/{sand}/")).text
    # ASTM C136: (2 + 15 + 30 + 55 + 80 + 95) / 100, worked by hand.
    assert "Finenessmodulus2.77" in text.replace(" ", "")
    assert "Concrete sand (ASTM C33)" in text
    straw = store_offer(eves_straw())
    text = outline(client.get(f"/offers/{straw}/")).text
    assert "200 bales" in text
    assert "two layers of pallets" in text
    assert "must not become compost" in text


@pytest.mark.django_db
def test_every_kind_of_test_has_a_form_that_can_be_filled_in_and_saved(client):
    offer = unknown_soil()
    assert set(TYPED) == set(FORMS)
    page = outline(client.get(f"/offers/{offer}/tests/"))
    for number, (kind, typed) in enumerate(TYPED.items(), start=1):
        address = f"/offers/{offer}/tests/{kind}/"
        assert any(own.get("href") == address for own in page.every("a"))
        assert client.get(address).status_code == 200
        answer = client.post(address, typed | SAMPLED)
        assert answer.status_code == 302, outline(answer).text
        tests = client.get(f"/api/v1/offers/{offer}/tests/").json()["tests"]
        assert len(tests) == number
        assert tests[-1]["kind"] == kind
        assert tests[-1]["sample"]["tester"] == "Ben"
        assert tests[-1]["sample"]["depth_to_m"] == 2.5


@pytest.mark.django_db
def test_units_of_the_form_become_those_of_the_document(client):
    """7.7 h are 27 720 s; a cloudy jar has not cleared; litres are not a mass."""
    offer = unknown_soil()
    client.post(
        f"/offers/{offer}/tests/jar/", TYPED["jar"] | SAMPLED | {"cloudy": "on"}
    )
    stones = TYPED["stone_screen"] | SAMPLED | {"by_mass": "litres"}
    client.post(f"/offers/{offer}/tests/stone_screen/", stones)
    jar, screen = client.get(f"/api/v1/offers/{offer}/tests/").json()["tests"]
    assert jar["silt_read_s"] == 27_720
    assert jar["cleared"] is False
    assert screen["by_mass"] is False


@pytest.mark.django_db
def test_a_whole_curve_can_be_copied_from_a_sheet(client):
    offer = unknown_soil()
    rows = {"size_1": "2", "amount_1": "96", "size_2": "0.063", "amount_2": "48"}
    rows |= {"size_3": "0.002", "amount_3": "27"}
    answer = client.post(f"/offers/{offer}/tests/laboratory/", rows | SAMPLED)
    assert answer.status_code == 302, outline(answer).text
    (sheet,) = client.get(f"/api/v1/offers/{offer}/tests/").json()["tests"]
    assert {own["size_mm"]: own["passing_percent"] for own in sheet["sieves"]} == {
        2: 96,
        0.063: 48,
        0.002: 27,
    }
    rows |= {"amount_2": "99"}
    answer = client.post(f"/offers/{offer}/tests/laboratory/", rows | SAMPLED)
    assert answer.status_code == 400
    assert "more cannot pass a fine sieve" in outline(answer).text.lower()


@pytest.mark.django_db
def test_after_saving_the_page_says_what_has_changed(client):
    offer = unknown_soil()
    first = client.post(f"/offers/{offer}/tests/jar/", JAR, follow=True)
    assert "Clay was 0 to 100 %, now" in outline(first).text
    before = client.get(f"/api/v1/offers/{offer}/tests/").json()["estimate"]
    second = client.post(f"/offers/{offer}/tests/ribbon/", RIBBON, follow=True)
    after = client.get(f"/api/v1/offers/{offer}/tests/").json()["estimate"]
    was, now = before["clay_percent"], after["clay_percent"]
    assert (
        f"Clay was {was['low']:.0f} to {was['high']:.0f} %, now {now['low']:.0f} to"
        f" {now['high']:.0f} %." in outline(second).text
    )
    again = client.post(f"/offers/{offer}/tests/ribbon/", RIBBON, follow=True)
    assert "there already" in outline(again).text
    assert len(get_offer(offer).offer.material.tests) == 2  # type: ignore[union-attr]


@pytest.mark.django_db
def test_nobody_can_write_a_change_into_a_link(client):
    offer = unknown_soil()
    for forged in ("0-100", '{"tests":0}', "a:b:c", "x" * 500):
        answer = client.get(f"/offers/{offer}/", {"was": forged})
        assert answer.status_code == 200
        assert "Clay was" not in outline(answer).text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("kind", "change", "message"),
    [
        ("jar", {"clay_mm": ""}, "Clay: fill this in"),
        ("jar", {"clay_mm": "20 apples"}, "Clay: this is not a number"),
        ("jar", {"clay_mm": "nan"}, "Clay: this is not a number"),
        ("jar", {"clay_mm": "1e3"}, "Clay: this is not a number"),
        (
            "jar",
            {"clay_mm": "1,500"},
            "Clay: this comma can be read in two ways. Write 1500 or 1.5.",
        ),
        ("jar", {"clay_mm": "-3"}, "Clay: must be greater than or equal to 0 mm"),
        ("jar", {"clay_mm": "99999"}, "Clay: must be less than or equal to 1000 mm"),
        ("jar", {"silt_read_s": "99999"}, "Silt marked after: nobody can have"),
        ("jar", {"sample.tester": ""}, "Tested by: fill this in"),
        ("jar", {"sample.tester": "a\u202eb"}, "control characters"),
        ("jar", {"sample.depth_to_m": "0.5"}, "must not be above the upper"),
        ("jar", {"sample.taken_on": "soon"}, "Taken on: this is not a date"),
        ("jar", {"sample.taken_on": "2199-01-01"}, "still to come"),
        ("jar", {"sand_mm": "1", "silt_mm": "1", "clay_mm": "1"}, "less than 10 mm"),
        ("ball_drop", {"fall": ""}, "The ball: choose one"),
        ("ball_drop", {"fall": "bounces"}, "The ball: this is not one of the choices"),
        ("smell_and_colour", {"dark": "perhaps"}, "Dark brown"),
        ("roll", {"breaks_at_mm": ""}, "holds no observation"),
        ("stone_screen", {"kept": "16"}, "Kept by the mesh"),
        ("laboratory", {"clay_percent": "60"}, "must add up to 100"),
        ("laboratory", {"clay_percent": ""}, "belong together"),
        ("mix_trial", {"bricks": ""}, "holds no observation"),
        ("mix_trial", {"strength_samples": "2.5"}, "whole number"),
        ("ticked", {"words": ""}, "one of them"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_what_was_typed_stays(
    client, kind, change, message
):
    offer = unknown_soil()
    answer = client.post(
        f"/offers/{offer}/tests/{kind}/", TYPED[kind] | SAMPLED | change
    )
    assert answer.status_code == 400
    page = outline(answer)
    assert message.lower() in page.text.lower()
    assert value(page, "sample.place") == "north side"
    for name, typed in change.items():
        shown = [own for own in page.every("input") if own.get("name") == name]
        if shown and shown[0].get("type") not in ("radio", "checkbox"):
            assert shown[0]["value"] == typed
    ids = {attrs.get("id") for _, attrs in page.tags}
    for own in page.every("a"):
        if (own.get("href") or "").startswith("#"):
            assert (own["href"] or "")[1:] in ids
    soil = get_offer(offer).offer.material
    assert soil.tests == ()  # type: ignore[union-attr]


@pytest.mark.django_db
def test_a_test_takes_few_fields(client):
    """Under two minutes with one thumb: by the keystroke-level model (Card, Moran and
    Newell 1980, from memory: about 1.5 s to think of and point at a field, 0.5 s a key)
    ten fields of eight keys take a minute; ours ask for seven at most, the date filled."""
    offer = unknown_soil(depth_from_m=1, depth_to_m=2.5)
    for form in FORMS.values():
        page = outline(client.get(f"/offers/{offer}/tests/{form.kind}/"))
        needed = [
            own
            for own in questions_of((*form.groups, *SAMPLE))
            if own.needed and not own.usual
        ]
        empty = [own for own in needed if not own.tiles]
        prefilled = [
            own.name
            for own in empty
            if own.kind.value != "select" and value(page, own.name)
        ]
        assert "sample.taken_on" in prefilled
        assert "sample.depth_from_m" in prefilled
        assert len(needed) - len(prefilled) <= 5, form.kind
        assert value(page, "sample.taken_on") == timezone.localdate().isoformat()
        for own in empty:
            if own.unit:
                control = next(
                    one for one in page.every("input") if one.get("name") == own.name
                )
                assert control["inputmode"] == "decimal"
                described = control["aria-describedby"] or ""
                assert f"{control['id']}-unit" in described


def test_every_test_that_is_advised_has_a_form():
    for kind in CheckKind:
        assert CHECKS.get(kind, kind.value) in FORMS


@pytest.mark.django_db
def test_tests_belong_to_soils_that_there_are(client):
    sand = store_offer(dots_sand())
    soil = unknown_soil()
    for address in (
        "/offers/99/",
        "/offers/99/tests/",
        "/offers/99/tests/jar/",
        f"/offers/{sand}/tests/",
        f"/offers/{sand}/tests/jar/",
        f"/offers/{soil}/tests/gold/",
    ):
        assert client.get(address).status_code == 404
    assert client.post(f"/offers/{sand}/tests/jar/", JAR).status_code == 404
    assert client.put(f"/offers/{soil}/tests/jar/").status_code == 405


@pytest.mark.django_db
def test_a_foreign_page_adds_no_test():
    soil = unknown_soil()
    client = Client(enforce_csrf_checks=True)
    assert client.post(f"/offers/{soil}/tests/jar/", JAR).status_code == 403


@pytest.mark.django_db
def test_tests_are_gathered_on_a_page_that_stores_nothing(
    client, django_assert_num_queries
):
    with django_assert_num_queries(0):
        page = outline(
            client.post("/ground/", {"put": "jar", "history": "clear"} | JAR)
        )
        assert "Jar, 2026-03-02, Ben" in page.text
        carried = hidden(page, "test")
        assert len(carried) == 1
        form = outline(
            client.post(
                "/ground/", {"add": "ribbon", "history": "clear", "test": carried}
            )
        )
        assert hidden(form, "test") == carried
        assert value(form, "sample.tester") == "Ben"
        both = outline(
            client.post(
                "/ground/",
                {"put": "ribbon", "history": "clear", "test": carried} | RIBBON,
            )
        )
        assert len(hidden(both, "test")) == 2
        assert "Clay was" in both.text
        one = outline(
            client.post(
                "/ground/",
                {"drop": "1", "history": "clear", "test": hidden(both, "test")},
            )
        )
        assert len(hidden(one, "test")) == 1
        assert "Ribbon, 2026-03-02, Ben" in one.text
    assert "sessionid" not in client.cookies


@pytest.mark.django_db
def test_the_page_and_rest_come_to_the_same(client):
    page = outline(client.post("/ground/", {"put": "jar", "history": "clear"} | JAR))
    sample = {
        "depth_from_m": 1,
        "depth_to_m": 2.5,
        "tester": "Ben",
        "taken_on": "2026-03-02",
    }
    body = {
        "history": "clear",
        "tests": [
            {
                "kind": "jar",
                "sample": sample,
                "sand_mm": 60,
                "silt_mm": 20,
                "clay_mm": 20,
            }
        ],
    }
    answer = client.post("/api/v1/soil-tests/", body, content_type="application/json")
    found = answer.json()
    clay = found["estimate"]["clay_percent"]
    assert f"{clay['low']:.0f} to {clay['high']:.0f} %" in page.text
    assert found["verdict"]["reasons"][0]["text"] in page.text
    for step in found["estimate"]["next_tests"]:
        assert step["how"] in page.text


@pytest.mark.django_db
@pytest.mark.parametrize(
    "carried",
    ["{", "null", "[]", '{"kind":"jar"}', '{"kind":"gold"}', "x" * 9000, "NaN"],
)
def test_what_no_form_has_sent_is_refused(client, carried):
    answer = client.post("/ground/", {"judge": "1", "test": [carried]})
    assert answer.status_code == 400
    assert "to mend" in outline(answer).text


@pytest.mark.django_db
def test_too_many_tests_are_refused(client):
    page = outline(client.post("/ground/", {"put": "jar", "history": "clear"} | JAR))
    carried = hidden(page, "test") * 51
    answer = client.post("/ground/", {"judge": "1", "test": carried})
    assert answer.status_code == 400
    assert "at most 50 tests" in outline(answer).text


@pytest.mark.django_db
def test_without_a_test_the_page_says_what_to_test_first(client):
    text = outline(client.post("/ground/", {"judge": "1", "history": "clear"})).text
    assert "nothing: no test speaks of clay" in text
    assert "Press a moist ribbon" in text
    suspect = outline(client.post("/ground/", {"judge": "1", "history": "suspect"}))
    assert "Never thin bad soil" in suspect.text
    wrong = client.post("/ground/", {"judge": "1", "history": "blessed"})
    assert wrong.status_code == 400


@pytest.mark.django_db
def test_what_people_type_is_never_markup(client):
    offer = unknown_soil()
    nasty = RIBBON | {"sample.tester": NASTY, "sample.place": NASTY}
    for answer in (
        client.post(f"/offers/{offer}/tests/ribbon/", nasty, follow=True),
        client.post(f"/offers/{offer}/tests/ribbon/", nasty | {"length_mm": NASTY}),
        client.post("/ground/", {"put": "ribbon", "history": "clear"} | nasty),
        client.post("/ground/", {"put": "ribbon"} | nasty | {"length_mm": NASTY}),
    ):
        assert "<script>alert" not in answer.content.decode()
    page = outline(client.get(f"/offers/{offer}/"))
    assert NASTY in page.text
    told = client.post("/ground/", {"put": "ribbon", "history": "clear"} | nasty)
    assert len(hidden(outline(told), "test")) == 1
    again = {"judge": "1", "history": "clear", "test": hidden(outline(told), "test")}
    assert NASTY in outline(client.post("/ground/", again)).text


def checked(answer: Any) -> None:
    """WCAG 2.2: title 2.4.2, headings 1.3.1, labels 3.3.2 and 1.3.1, names of pictures
    1.1.1; nothing inline, so that a content policy may forbid it."""
    page = outline(answer)
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    steps = zip(page.headings, page.headings[1:], strict=False)
    assert all(after <= before + 1 for before, after in steps)
    labelled = {own.get("for") for own in page.every("label")}
    for control in page.every("select") + page.every("input"):
        assert control.get("type") == "hidden" or control["id"] in labelled
    for svg in page.every("svg"):
        named = svg.get("aria-label") or svg.get("aria-labelledby")
        assert svg.get("aria-hidden") == "true" or named
    assert not page.every("style")
    assert not any("style" in attrs for _, attrs in page.tags)
    assert not any(name.startswith("on") for _, own in page.tags for name in own)
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    described = " ".join(own.get("aria-describedby") or "" for _, own in page.tags)
    assert set(described.split()) <= set(ids)
    assert re.search(r"<title>.+ \S Marlpit</title>", answer.content.decode())


@pytest.mark.django_db
def test_pages_are_built_for_people_who_do_not_see_them(client):
    offer = unknown_soil()
    sand, straw = store_offer(dots_sand()), store_offer(eves_straw())
    for kind in FORMS:
        checked(client.get(f"/offers/{offer}/tests/{kind}/"))
        checked(client.post(f"/offers/{offer}/tests/{kind}/", {}))
    client.post(f"/offers/{offer}/tests/jar/", JAR)
    client.post(f"/offers/{offer}/tests/ribbon/", RIBBON | {"length_mm": "90"})
    addresses = [f"/offers/{own}/" for own in (offer, sand, straw)]
    for address in (*addresses, f"/offers/{offer}/tests/", "/judge/", "/ground/"):
        checked(client.get(address))
    checked(client.post("/ground/", {"put": "jar", "history": "clear"} | JAR))
    checked(client.post("/ground/", {"put": "jar"}))


@pytest.mark.django_db
def test_the_ways_in_are_linked_from_every_page(client):
    links = {own.get("href") for own in outline(client.get("/")).every("a")}
    assert "/judge/" in links
    ways = {own.get("href") for own in outline(client.get("/judge/")).every("a")}
    assert {"/ground/", "/sand/", "/straw/"} <= ways
