"""Trucks, access cards and loader hours: from documents to values and back, and into plans.

The figures of the eight-wheeler are those of tests/logistics/domain/legal.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any, get_args
from zoneinfo import ZoneInfo

import pytest

from api.documents.answers import plan_document
from api.documents.market import offer_answer
from api.documents.problems import read_document
from api.documents.rest import TruckIn
from api.documents.truck_answers import truck_answer
from api.documents.trucks import RestName, TruckDoc
from logistics.domain.errors import Refused
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.places import Firmness
from logistics.domain.trucks import REST_RULES
from logistics.selectors import list_trucks
from matching.domain.community import plan_community
from matching.domain.requests import PlanRequest
from matching.selectors.offers import get_offer
from matching.selectors.scenarios import gather
from tests.matching.small_documents import build, document, needing, read, sand, tipper
from tests.worlds import (
    MONDAY,
    WEDNESDAY,
    adas_soil,
    bens_build,
    place,
    store_build,
    store_offer,
    store_truck,
)
from tests.worlds import tipper as tipper_in

EIGHT: dict[str, Any] = {
    "payload_kg": None,
    "rule": "uk_aw",
    "road_friendly_suspension": True,
    "body_centre_m": 4.2,
    "axles": [
        {"at_m": 0, "steered": True, "tare_kg": 3400},
        {"at_m": 1.95, "steered": True, "tare_kg": 3300},
        {"at_m": 5.25, "driven": True, "twin_tyres": True, "tare_kg": 2900},
        {"at_m": 6.6, "driven": True, "twin_tyres": True, "tare_kg": 2900},
    ],
}
HIRE: dict[str, Any] = {
    "per_load_minor": 1500,
    "per_tonne_minor": 120,
    "minimum_hire_hours": 4,
    "overtime_after_hours": 8.5,
    "overtime_per_hour_minor": 2500,
    "delivery": {
        "bands": [
            {"up_to_km": 5, "per_load_minor": 4000},
            {"up_to_km": 12.5, "per_load_minor": 5500, "per_tonne_minor": 30},
        ],
        "minimum_kg": 6000,
        "free_unload_minutes": 10,
        "waiting_per_hour_minor": 4800,
    },
    "rest_rule": "EU 561/2006",
    "cleaning_minutes": 12,
    "heaped_m3": 33,
    "turning_m": 22,
    "tip_height_m": 7.5,
}
CARD: dict[str, Any] = {
    "max_axle_kg": 11_500,
    "turning_m": 20,
    "slope_percent": 3,
    "firmness": "firm_when_dry",
    "wires": False,
    "clear_height_m": 9,
}


def world(**rest: Any) -> dict[str, Any]:
    """Sand from a yard to a site, three kilometres apart."""
    trucks = rest.pop("trucks", [tipper(**EIGHT)])
    return document(
        {"depot": (0, 0), "yard": (3, 0), "site": (3, 3), "inn": (6, 3)},
        offers=[sand("sharp", "yard", 1000, **rest.pop("offer", {}))],
        builds=[build("hut", "site", needs=[needing("sand", 30)])],
        trucks=trucks,
        **rest,
    )


def test_a_document_becomes_a_truck_with_all_its_terms():
    (truck,) = read(world(trucks=[tipper(**EIGHT, **HIRE)])).trucks
    assert truck.payload_kg == 19_500
    assert truck.tare_kg == 12_500
    assert truck.basis is not None
    assert truck.basis.binds == "rigid truck with 4 axles: 32,000 kg"
    rates = truck.rates
    assert (rates.per_load, rates.per_tonne) == (1500, 120)
    assert (rates.minimum_hire_s, rates.overtime_after_s) == (14_400, 30_600)
    assert rates.overtime_per_hour == 2500
    assert rates.delivery is not None
    assert [band.up_to_m for band in rates.delivery.bands] == [5000, 12_500]
    assert (rates.delivery.free_unload_s, rates.delivery.minimum_kg) == (600, 6000)
    assert truck.rest == REST_RULES["EU 561/2006"]
    assert (truck.cleaning_s, truck.heaped_m3, truck.turning_m) == (720, 33, 22)


def test_rest_rules_of_documents_are_those_of_the_engine():
    assert set(get_args(RestName)) == set(REST_RULES)


def test_places_loaders_nights_and_own_yards_are_resolved():
    doc = world(
        trucks=[tipper(only_from=["yard"], overnight="inn")],
        offer={"loader_hours": [{"opens": "08:00", "closes": "10:00"}]},
        last_day="2027-04-06",
    )
    doc["places"][2] |= {
        "access": CARD,
        "at_once": 1,
        "loads_a_day": 4,
        "tip": {"lat": 50.001, "lon": 4.001},
    }
    scenario = read(doc)
    site = scenario.places[2]
    assert (site.at_once, site.loads_a_day) == (1, 4)
    assert site.tip is not None
    assert site.tip.lat == 50.001
    assert site.access.firmness is Firmness.FIRM_WHEN_DRY
    assert (site.access.max_axle_kg, site.access.turning_m) == (11_500, 20)
    assert scenario.trucks[0].only_from == frozenset({1})
    assert {(own.day[-2:], own.start, own.end) for own in scenario.slots} == {
        ("05", None, None),
        ("05", None, 3),
        ("06", None, None),
        ("06", 3, None),
    }
    hours = [
        (datetime.fromtimestamp(opens, UTC).hour, closes - opens)
        for opens, closes in scenario.offers[0].loader_windows or ()
    ]
    assert hours == [(6, 7200), (6, 7200)]  # 08:00 in Brussels in April


def test_without_loader_hours_somebody_is_always_there():
    assert read(world()).offers[0].loader_windows is None


def test_on_weak_roads_the_same_truck_carries_less():
    """0.65 x 32 t less 12.5 t: 8.3 t."""
    weak = {"from": "2027-04-06", "until": "2027-05-31", "axle_percent": 65}
    scenario = read(world(last_day="2027-04-07", weak_roads=weak))
    assert [(own.key, own.payload_kg) for own in scenario.trucks] == [
        ("tipper", 19_500),
        ("tipper", 8_300),
    ]
    assert [(own.day[-2:], own.truck) for own in scenario.slots] == [
        ("05", 0),
        ("06", 1),
        ("07", 1),
    ]


def test_the_plan_says_what_was_compared_and_calls_nothing_legal():
    doc = world()
    doc["places"][2]["access"] = CARD | {"max_gross_kg": 33_000}
    scenario = read(doc)
    answer = plan_document(
        scenario,
        plan_community(scenario),
        name="x",
        currency="EUR",
        zone=ZoneInfo("Europe/Brussels"),
    )
    (check,) = answer.truck_checks
    assert (check.truck, check.payload_kg, check.gross_kg) == ("tipper", 19_500, 32_000)
    assert check.binds == "rigid truck with 4 axles: 32,000 kg"
    assert [own.place for own in check.places] == ["depot", "yard", "site"]
    assert check.places[0].load_kg == 0
    lines = {own.line: own for own in check.places[2].lines}
    assert lines["gross weight"].state == "ok"
    assert lines["turning room"].state == "not_known"
    assert lines["slope"].state == "ok"
    assert "legal" not in check.decides
    assert "driver" in check.decides


def bad(doc: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as refusal:
        read(doc)
    assert all(own.remedy for own in refusal.value.problems)
    return [(own.code, own.field) for own in refusal.value.problems]


def axles(*at: float) -> list[dict[str, Any]]:
    return [{"at_m": own} for own in at]


@pytest.mark.parametrize(
    ("terms", "code", "field"),
    [
        ({"payload_kg": None}, "payload_unknown", "payload_kg"),
        ({"rule": "uk_aw"}, "rule_without_axles", "axles"),
        ({"rule": "moon"}, "enum", "rule"),
        ({"plated_gross_kg": 18_000}, "tare_unknown", "tare_kg"),
        ({"axles": axles(0, 4)}, "tare_unknown", "tare_kg"),
        ({"axles": axles(0), "tare_kg": 8000}, "axles_missing", "axles"),
        (
            {"axles": axles(0, 4, 3), "tare_kg": 8000},
            "axles_out_of_order",
            "axles.2.at_m",
        ),
        (
            {"axles": axles(0, 4, 5.3, 6.6, 8), "tare_kg": 8000, "rule": "eu_96_53"},
            "no_limit_for_axles",
            "rule",
        ),
        ({"heaped_m3": 5}, "heaped_below_struck", "heaped_m3"),
        (
            {"overtime_per_hour_minor": 100},
            "overtime_without_hours",
            "overtime_after_hours",
        ),
        (
            {
                "delivery": {
                    "bands": [
                        {"up_to_km": 5, "per_load_minor": 1},
                        {"up_to_km": 5, "per_load_minor": 2},
                    ]
                }
            },
            "bands_out_of_order",
            "delivery.bands",
        ),
        ({"rest_rule": "never"}, "literal_error", "rest_rule"),
        ({"only_from": ["moon"]}, "unknown_place", "only_from.0"),
        ({"only_from": []}, "too_short", "only_from"),
        ({"overnight": "moon"}, "unknown_place", "overnight"),
    ],
)
def test_a_bad_truck_is_refused_by_field(terms, code, field):
    assert bad(world(trucks=[tipper(**terms)])) == [(code, f"trucks.0.{field}")]


def test_other_bad_values_are_refused_by_field():
    weak = {"from": "2027-04-06", "until": "2027-04-05"}
    assert bad(world(weak_roads=weak)) == [
        ("window_ends_before_it_begins", "weak_roads.until")
    ]
    weak = {"from": "2027-04-05", "until": "2027-04-05"}
    doc = world(weak_roads=weak, trucks=[tipper()])
    assert bad(doc) == [("tare_unknown", "trucks.0.tare_kg")]
    doc = world()
    doc["places"][0]["access"] = {"firmness": "mud"}
    assert bad(doc) == [("enum", "places.0.access.firmness")]
    doc = world()
    doc["places"][0]["at_once"] = 0
    assert bad(doc) == [("greater_than_equal", "places.0.at_once")]


def test_a_document_says_again_what_was_read():
    """Property: written and read anew, a truck is the same."""
    doc = {**tipper(**EIGHT, **HIRE), "overnight": "inn", "only_from": ["yard"]}
    first = read_document(TruckDoc, json.dumps(doc).encode())
    again = read_document(TruckDoc, first.model_dump_json().encode())
    assert again == first


@pytest.mark.django_db
def test_rows_keep_all_that_documents_say():
    offer_id = store_offer(
        adas_soil(
            loader_hours=[{"days": ["mon"], "opens": "08:00", "closes": "10:00"}],
            place=place(
                "Ada's pit",
                46.02,
                3.03,
                access=CARD,
                at_once=2,
                loads_a_day=9,
                tip={"lat": 46.021, "lon": 3.031},
            ),
        )
    )
    offer = get_offer(offer_id)
    pit = offer.place.place
    assert (pit.at_once, pit.loads_a_day) == (2, 9)
    assert pit.access.firmness is Firmness.FIRM_WHEN_DRY
    assert (pit.access.wires, pit.access.clear_height_m) == (False, 9)
    assert pit.tip is not None
    assert (pit.tip.lat, pit.tip.lon) == (46.021, 3.031)
    shown = offer_answer(offer)
    assert [(own.day, own.opens.hour) for own in shown.loader_hours] == [("mon", 8)]
    assert shown.place.max_axle_kg == 11_500

    body = tipper_in(**EIGHT, **HIRE, only_from=[offer.place.id])
    body["overnight"] = {"name": "Inn", "lat": 46.03, "lon": 3.02}
    (stored,) = list_trucks([store_truck(body)])
    given = read_document(TruckIn, json.dumps(body).encode())
    answer = truck_answer(stored)
    for name in ("per_load_minor", "minimum_hire_hours", "overtime_after_hours"):
        assert getattr(answer, name) == getattr(given, name)
    assert answer.delivery is not None
    assert answer.delivery.model_dump() == HIRE["delivery"] | {
        "bands": [{"per_tonne_minor": 0} | own for own in HIRE["delivery"]["bands"]]
    }
    assert answer.rest_rule == "EU 561/2006"
    assert answer.payload_kg == 19_500
    assert answer.payload is not None
    assert answer.payload.binds == "rigid truck with 4 axles: 32,000 kg"
    assert answer.only_from == [offer.place.id]
    assert answer.overnight is not None
    assert answer.overnight.name == "Inn"


@pytest.mark.django_db
def test_stored_trucks_plan_with_nights_weak_roads_and_their_own_yard():
    offer = get_offer(
        store_offer(adas_soil(loader_hours=[{"opens": "08:00", "closes": "10:00"}]))
    )
    ben = store_build(bens_build())
    night = {"name": "Inn", "lat": 46.03, "lon": 3.02}
    body = tipper_in(**EIGHT, only_from=[offer.place.id], overnight=night)
    truck = store_truck(body)
    request = PlanRequest((ben,), MONDAY, WEDNESDAY)
    zone = ZoneInfo("UTC")
    found = gather(request, zone=zone)
    (lorry,) = found.trucks
    assert found.places[lorry.base].place.name == "Depot"
    assert lorry.only_from is not None
    assert [found.places[at].id for at in lorry.only_from] == [offer.place.id]
    nights = {own.end for own in found.slots if own.end is not None}
    assert [found.places[at].place.name for at in nights] == ["Inn"]
    assert len(found.slots) == 2 + 4 + 2
    assert len(found.offers[0].loader_windows or ()) == 3

    weak = PlanRequest(
        (ben,), MONDAY, WEDNESDAY, weak_roads=WeakRoads(WEDNESDAY, WEDNESDAY)
    )
    thawed = gather(weak, zone=zone)
    assert [own.payload_kg for own in thawed.trucks] == [19_500, 8_300]
    assert thawed.truck_ids == (truck, truck)


@pytest.mark.django_db
def test_a_yard_that_nobody_stored_is_refused():
    with pytest.raises(Refused) as refusal:
        store_truck(tipper_in(only_from=[987_654]))
    (problem,) = refusal.value.problems
    assert (problem.code, problem.field) == ("unknown_place", "only_from.0")
