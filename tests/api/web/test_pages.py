"""The pages as a browser without scripts gets them.

Figures are compared with the plan document or the bodies in `tests.worlds`, which are the
outside source of each; page structure is checked against WCAG 2.2 where it is named, and
is common practice, no source, elsewhere.
"""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from django.core.management import call_command

from api.documents.text import money
from tests.api.web.reading import DAYS, outline, planned
from tests.worlds import (
    Body,
    adas_soil,
    bens_build,
    flat_bed,
    place,
    store_build,
    store_offer,
    store_truck,
    stored_world,
    tipper,
)

NASTY = '<script>alert(1)</script> & "Sons"'


@pytest.mark.django_db
def test_the_first_page_says_what_is_on_offer_and_on_what_terms(client):
    stored_world()
    text = outline(client.get("/")).text
    assert "Ada's heap" in text
    assert "28 to 36 % clay, likely 32 %" in text
    # 40 t moist at 1.90 t/m3 in the ground, and at that density over 1.30 when loose.
    assert "40.0 t moist" in text
    assert "loose" in text
    assert "in the ground" in text
    assert "14.00 EUR per tonne" in text
    assert "2.50 EUR per bale of" in text
    assert "200 bales" in text
    assert "Mon to Fri 07:00 to 17:00" in text
    assert "Fit with sand" in text


@pytest.mark.django_db
def test_a_price_below_nothing_is_what_the_holder_pays(client):
    store_offer(adas_soil(price={"minor": -450, "per": "t"}))
    assert "They pay 4.50 EUR per tonne" in outline(client.get("/")).text


@pytest.mark.django_db
def test_the_list_is_filtered_by_material(client):
    stored_world()
    text = outline(client.get("/", {"kind": "straw"})).text
    assert "Eve's straw" in text
    assert "Ada's heap" not in text
    assert "1 offer of straw" in text


@pytest.mark.django_db
@pytest.mark.parametrize("query", [{"kind": "gold"}, {"page": "x"}, {"page": "-3"}])
def test_a_senseless_filter_shows_everything(client, query):
    stored_world()
    answer = client.get("/", query)
    assert answer.status_code == 200
    assert "3 offers" in outline(answer).text


@pytest.mark.django_db
def test_more_offers_take_no_more_queries(client, django_assert_num_queries):
    """One for the page and one for the count."""
    store_offer(adas_soil())
    with django_assert_num_queries(2):
        client.get("/")
    for number in range(12):
        store_offer(adas_soil(name=f"Heap {number}"))
    with django_assert_num_queries(2):
        assert "13 offers" in outline(client.get("/")).text


@pytest.mark.django_db
def test_more_builds_take_no_more_queries(client, django_assert_num_queries):
    """Builds, walls, needs and the count."""
    store_build(bens_build())
    with django_assert_num_queries(4):
        client.get("/builds/")
    for number in range(5):
        store_build(bens_build(name=f"Wall {number}"))
    with django_assert_num_queries(4):
        client.get("/builds/")


@pytest.mark.django_db
def test_more_offers_take_no_more_queries_on_the_page_of_a_build(
    client, django_assert_max_num_queries
):
    world = stored_world()
    with django_assert_max_num_queries(30) as few:
        client.get(f"/builds/{world.build}/")
    for number in range(8):
        store_offer(adas_soil(name=f"Heap {number}"))
    with django_assert_max_num_queries(len(few)):
        client.get(f"/builds/{world.build}/")


@pytest.mark.django_db
def test_a_build_shows_its_take_off_as_the_rest_interface_gives_it(client):
    world = stored_world()
    takeoff = client.get(f"/api/v1/builds/{world.build}/").json()["takeoff"]
    text = outline(client.get(f"/builds/{world.build}/")).text
    assert f"{takeoff['placed_m3']:.1f} m³ of wall in place" in text
    for edge in ("low", "likely", "high"):
        assert f"{takeoff['soil_moist_kg'][edge] / 1000:.1f} t" in text
        assert f"{takeoff['straw_kg'][edge]:,.0f} kg" in text


@pytest.mark.django_db
def test_a_build_ranks_the_offers_as_the_rest_interface_does(client):
    store_offer(adas_soil(name="Topsoil", material=topsoil()))
    world = stored_world()
    page = outline(client.get(f"/builds/{world.build}/"))
    needs = client.get(f"/api/v1/builds/{world.build}/").json()["needs"]
    for need in needs:
        window = {"first_day": "2026-03-02", "last_day": "2026-03-15"}
        matches = client.get(f"/api/v1/needs/{need['id']}/matches/", window).json()
        best = matches["matches"][0]
        assert f"{money(best['cost_per_m3_minor'], 'EUR')} delivered" in page.text
        for part in best["recipe"]:
            assert f"{part['moist_kg'] / 1000:.1f} t {part['offer_name']}" in page.text
    assert "Topsoil rots and shrinks in a wall" in page.text


def topsoil() -> Body:
    return {
        "kind": "subsoil",
        "clay_percent": {"likely": 20},
        "topsoil": True,
        "history": "clear",
    }


@pytest.mark.django_db(transaction=True)
def test_names_that_people_type_are_never_markup(client):
    store_offer(adas_soil(name=NASTY, place=place(NASTY, 46.02, 3.03)))
    build = store_build(bens_build(name=NASTY))
    store_truck(tipper(name=NASTY))
    store_truck(flat_bed())
    plan, _ = planned(client, build)
    for answer in (
        client.get("/"),
        client.get("/builds/"),
        client.get(f"/builds/{build}/"),
        client.get("/plans/"),
        plan,
    ):
        page = answer.content.decode()
        assert "<script>alert" not in page
        assert NASTY in outline(answer).text


@pytest.mark.django_db
def test_what_is_not_there_is_not_found(client):
    gone = uuid4()
    for address in (
        "/builds/7/",
        f"/plans/{gone}/",
        f"/plans/{gone}/progress.json",
        f"/plans/{gone}/routes.geojson",
        "/nowhere/",
    ):
        answer = client.get(address)
        assert answer.status_code == 404
        assert "nothing at this address" in outline(answer).text
    assert client.post(f"/plans/{gone}/cancel/").status_code == 404
    assert client.post("/builds/7/plan/", DAYS).status_code == 404


@pytest.mark.django_db
def test_empty_lists_say_so(client):
    assert "on offer now" in outline(client.get("/")).text
    assert "No build has been entered yet" in outline(client.get("/builds/")).text
    assert "No plan has been asked for yet" in outline(client.get("/plans/")).text


@pytest.mark.django_db(transaction=True)
def test_pages_are_built_for_people_who_do_not_see_them(client):
    """WCAG 2.2: language 3.1.1, title 2.4.2, headings 1.3.1, skip link 2.4.1, labels
    3.3.2, tables 1.3.1; and no inline code, so that a content policy may forbid it."""
    world = stored_world()
    plan, _ = planned(client, world.build)
    titles = set()
    for answer in (
        client.get("/"),
        client.get("/builds/"),
        client.get(f"/builds/{world.build}/"),
        client.get("/plans/"),
        plan,
    ):
        page = outline(answer)
        assert page.every("html")[0]["lang"]
        titles.add(re.findall(r"<title>(.*?)</title>", answer.content.decode())[0])
        assert page.headings[0] == 1
        assert page.headings.count(1) == 1
        steps = zip(page.headings, page.headings[1:], strict=False)
        assert all(after <= before + 1 for before, after in steps)
        assert page.every("a")[0]["href"] == "#main"
        assert page.every("main")[0]["id"] == "main"
        labelled = {own.get("for") for own in page.every("label")}
        for control in page.every("select") + page.every("input"):
            assert control.get("type") == "hidden" or control["id"] in labelled
        tables = answer.content.decode().count("<table")
        assert tables == len(page.every("caption"))
        assert all("scope" in own for own in page.every("th"))
        for svg in page.every("svg"):
            assert svg.get("aria-hidden") == "true" or (
                svg.get("aria-label") or svg.get("aria-labelledby")
            )
        for script in page.every("script"):
            assert script.get("src") or script["type"] == "application/json"
        assert not page.every("style")
        assert not any("style" in attrs for _, attrs in page.tags)
        assert not any(name.startswith("on") for _, own in page.tags for name in own)
        ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
        assert len(ids) == len(set(ids))
    assert len(titles) == 5


@pytest.mark.django_db
def test_every_static_file_that_pages_name_is_there_once_collected(
    client, settings, tmp_path
):
    """The manifest refuses a page that names a file it has not seen."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {
            "BACKEND": "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"
        }
    }
    ignored = ["drf_spectacular_sidecar*", "admin*", "rest_framework*"]
    call_command("collectstatic", interactive=False, verbosity=0, ignore=ignored)
    stored_world()
    page = outline(client.get("/"))
    named = [own["href"] for own in page.every("link")]
    named += [own["src"] for own in page.every("script") if "src" in own]
    assert len(named) == 7
    for address in named:
        assert address is not None
        file = address.removeprefix("/static/")
        assert re.search(r"\.[0-9a-f]{12}\.", file)
        assert (tmp_path / "static" / file).is_file()


def test_the_process_says_that_it_is_alive(client):
    assert client.get("/healthz").content == b"ok\n"
