"""Offers, builds, trucks and matches over HTTP: what people send and get."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from logistics.services.distances import Roads
from tests.osm_world import RING, SQUARE, imported, osm_xml
from tests.worlds import (
    adas_soil,
    bens_build,
    dots_sand,
    eves_straw,
    flat_bed,
    place,
    raw,
    row_counts,
    store_build,
    store_offer,
    store_truck,
    stored_world,
    tipper,
)

pytestmark = pytest.mark.django_db


def post(client: Client, path: str, body: object) -> Any:
    return client.post(f"/api/v1/{path}/", raw(body), content_type="application/json")


def test_an_offer_is_added_and_read_at_its_location(client):
    answer = post(client, "offers", adas_soil())
    assert answer.status_code == 201
    body = answer.json()
    assert body["quantity_kg"] == body["free_kg"] == 40_000
    assert body["material"]["clay_percent"] == {"low": 28, "likely": 32, "high": 36}
    assert body["material"]["history"] == "clear"
    assert body["place"]["hours"][0] == {
        "day": "mon",
        "opens": "07:00:00",
        "closes": "17:00:00",
    }
    assert client.get(answer["Location"]).json() == body


def test_a_volume_is_weighed_by_its_state(client):
    """Common earth as the densities' source has it: 1 m3 in the bank is 1.25 m3 loose."""
    bank = {"amount": 10, "unit": "m3", "state": "bank"}
    loose = {"amount": 12.5, "unit": "m3", "state": "loose"}
    first = post(client, "offers", adas_soil(quantity=bank)).json()["quantity_kg"]
    second = post(client, "offers", adas_soil(quantity=loose)).json()["quantity_kg"]
    assert first == pytest.approx(18_391, abs=2)  # 3100 lb/yd3 x 10 m3
    assert second == pytest.approx(first, abs=2)


def test_sand_and_straw_are_answered_in_their_own_terms(client):
    sand = post(client, "offers", dots_sand()).json()
    straw = post(client, "offers", eves_straw()).json()
    assert (sand["material"]["sand"], sand["price_minor"]) == ("concrete", 1400)
    assert (straw["material"]["fibre"], straw["price_per_kg"]) == ("wheat", 16.0)
    assert straw["quantity_kg"] == 3200
    assert straw["material"]["clay_percent"] is None


def test_a_build_is_added_with_its_take_off_and_needs(client):
    answer = post(client, "builds", bens_build())
    assert answer.status_code == 201
    body = answer.json()
    assert body["takeoff"]["placed_m3"] == 7.2
    mineral = body["takeoff"]["mineral_dry_kg"]
    assert mineral["low"] < mineral["likely"] < mineral["high"]
    assert [need["key"] for need in body["needs"]] == ["mineral", "straw"]
    assert body["needs"][0]["clay_window_percent"] == [15, 25]
    assert client.get(answer["Location"]).json() == body


def test_a_truck_is_added_and_listed(client):
    answer = post(client, "trucks", tipper(opens="06:30"))
    assert answer.status_code == 201
    listed = client.get("/api/v1/trucks/").json()
    assert listed["results"] == [answer.json()]
    assert listed["results"][0]["opens"] == "06:30:00"


def test_lists_are_paged_without_gaps_or_doubles(client):
    """Property: the pages together are all entries, each once."""
    ids = [store_offer(dots_sand(name=f"Sand {number}")) for number in range(5)]
    address, seen = "/api/v1/offers/?page_size=2", []
    pages = 0
    while address:
        page = client.get(address).json()
        assert page["count"] == 5
        seen += [own["id"] for own in page["results"]]
        address, pages = page["next"], pages + 1
    assert pages == 3
    assert seen == sorted(ids, reverse=True)
    last = client.get("/api/v1/offers/?page_size=2&page=3").json()
    assert (
        last["previous"].endswith("page=2&page_size=2") or "page=2" in last["previous"]
    )
    beyond = client.get("/api/v1/offers/?page=1000000").json()
    assert (beyond["results"], beyond["next"]) == ([], None)


def test_builds_and_trucks_are_paged(client):
    for number in range(3):
        store_build(bens_build(name=f"Wall {number}"))
        store_truck(tipper(name=f"Truck {number}"))
    builds = client.get("/api/v1/builds/?page_size=2&page=2").json()
    trucks = client.get("/api/v1/trucks/?page_size=2&page=2").json()
    assert [own["name"] for own in builds["results"]] == ["Wall 0"]
    assert [own["name"] for own in trucks["results"]] == ["Truck 2"]


def test_offers_are_filtered_by_kind(client):
    world = stored_world()
    found = client.get("/api/v1/offers/?kind=straw").json()
    assert [own["id"] for own in found["results"]] == [world.straw]


def test_offers_near_a_place_come_nearest_first(client):
    """Distances by the ellipsoid: 0.02 degrees of latitude at 46 N are 2.223 km."""
    for name, lat in (("B", 46.04), ("A", 46.02), ("C", 46.3)):
        store_offer(dots_sand(name=name, place=place(name, lat, 3.0)))
    found = client.get("/api/v1/offers/?near=46.0,3.0&within_km=10").json()
    assert [own["name"] for own in found["results"]] == ["A", "B"]
    assert found["count"] == 2
    assert found["results"][0]["straight_km"] == pytest.approx(2.223, abs=0.001)
    second = client.get(
        "/api/v1/offers/?near=46.0,3.0&within_km=10&page_size=1&page=2"
    ).json()
    assert [own["name"] for own in second["results"]] == ["B"]


def test_listing_offers_takes_as_many_queries_for_many_as_for_one(
    client, django_assert_num_queries
):
    for number in range(4):
        store_offer(dots_sand(name=f"Sand {number}"))
    with django_assert_num_queries(2):
        client.get("/api/v1/offers/")
    with django_assert_num_queries(2):
        client.get("/api/v1/offers/?near=46.0,3.0")
    for number in range(4):
        store_build(bens_build(name=f"Wall {number}"))
    with django_assert_num_queries(4):
        client.get("/api/v1/builds/")


def test_matches_of_a_need_carry_costs_recipes_and_reasons(client):
    world = stored_world()
    store_offer(
        adas_soil(
            name="Topsoil",
            material=adas_soil()["material"] | {"topsoil": True},
        )
    )
    needs = client.get(f"/api/v1/builds/{world.build}/").json()["needs"]
    answer = client.get(
        f"/api/v1/needs/{needs[0]['id']}/matches/?first_day=2026-03-02&last_day=2026-03-04"
    )
    assert answer.status_code == 200
    body = answer.json()
    best, worst = body["matches"][0], body["matches"][-1]
    assert best["cost_per_m3_minor"] > 0
    assert {part["offer_name"] for part in best["recipe"]} == {
        "Ada's heap",
        "Dot's sand",
    }
    assert best["road_km"] > 0
    assert worst["offer_name"] == "Topsoil"
    assert worst["cost_per_m3_minor"] is None
    assert worst["reasons"]
    assert "no road network" in body["distance_basis"]
    assert body["left_out"] == 0


def test_matches_are_for_the_next_fortnight_by_default(client):
    world = stored_world()
    need = client.get(f"/api/v1/builds/{world.build}/").json()["needs"][1]
    body = client.get(f"/api/v1/needs/{need['id']}/matches/").json()
    assert body["first_day"] < body["last_day"]
    assert body["matches"][0]["offer_name"] == "Eve's straw"


def test_with_roads_a_place_must_lie_by_one(client, settings, tmp_path):
    """500 m: the project's own limit for a place to be reachable by truck."""
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    settings.MARLPIT_NETWORK = "world"
    near = post(client, "offers", adas_soil(place=place("Gate", 46.0, 3.005)))
    assert near.status_code == 201
    before = row_counts()
    for body, path, field in (
        (adas_soil(place=place("Field", 46.02, 3.005)), "offers", "place"),
        (bens_build(place=place("Sea", 0.0, 0.0)), "builds", "place"),
        (flat_bed(base=place("Moor", 46.02, 3.02)), "trucks", "base"),
    ):
        answer = post(client, path, body)
        assert answer.status_code == 422
        (problem,) = answer.json()["problems"]
        assert (problem["code"], problem["field"]) == ("too_far_from_road", field)
        assert problem["remedy"]
    assert row_counts() == before


def test_distances_follow_the_roads_when_there_are_some(client, settings, tmp_path):
    imported(tmp_path, osm_xml(SQUARE, [RING]))
    settings.MARLPIT_NETWORK = "world"
    roads = Roads(settings.MARLPIT_NETWORK_ROOT, "world")
    assert roads.network == "world"
    post(client, "offers", adas_soil(place=place("Gate", 46.01, 3.01)))
    post(client, "trucks", tipper(base=place("Depot", 46.0, 3.01)))
    build = post(client, "builds", bens_build(place=place("Garden", 46.0, 3.0))).json()
    body = client.get(f"/api/v1/needs/{build['needs'][0]['id']}/matches/").json()
    assert "network 'world'" in body["distance_basis"]
    # Along two sides of the square: 1111.7 m north and 774 m east (WGS 84).
    assert body["matches"][0]["road_km"] == pytest.approx(1.886, abs=0.01)
