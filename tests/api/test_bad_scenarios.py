"""Bad scenario files end in exit status 2 and words that a person can act on."""

from __future__ import annotations

import copy
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from logistics.services.road_import import import_roads
from tests.matching.small_documents import (
    Doc,
    bales,
    build,
    document,
    flat_bed,
    needing,
    sand,
    soil,
    tipper,
    wall,
)
from tests.osm_world import MOMENT, RING, SQUARE, osm_xml, write_osm

BASE = document(
    {"depot": (0, 0), "pit": (6, 0), "yard": (0, 12), "site": (8, 8), "farm": (2, 2)},
    offers=[
        soil("fat", "pit", 50),
        sand("sharp", "yard", 2200),
        bales("straw", "farm", 250, 60),
    ],
    builds=[build("hut", "site", walls=wall(3))],
    trucks=[tipper(), flat_bed()],
)
OFFER, BUILD, TRUCK = ("offers", 0), ("builds", 0), ("trucks", 0)
MATERIAL, PLACE = (*OFFER, "material"), ("places", 0)
STRAW, WALL = ("offers", 2), (*BUILD, "walls", 0)
QUANTITY = (*OFFER, "quantity")
LINE = re.compile(
    r"(?P<code>[a-z0-9_]+): (?P<field>\S+( \([^)]*\))?): (?P<message>.+)"
    r" \(given: (?P<given>.+)\)\. (?P<remedy>\S.+)"
)


def put(path: tuple[str | int, ...], value: object) -> bytes:
    """The good document with one thing changed."""
    doc: Any = copy.deepcopy(BASE)
    spot = doc
    for step in path[:-1]:
        spot = spot[step]
    spot[path[-1]] = value
    return json.dumps(doc).encode()


def without(path: tuple[str | int, ...]) -> bytes:
    doc: Any = copy.deepcopy(BASE)
    spot = doc
    for step in path[:-1]:
        spot = spot[step]
    del spot[path[-1]]
    return json.dumps(doc).encode()


def text(old: str, new: str) -> bytes:
    """The good document with its text changed once."""
    good = json.dumps(BASE)
    assert old in good
    return good.replace(old, new, 1).encode()


def plan(path: Path, *options: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of `plan_scenario`."""
    out, err = io.StringIO(), io.StringIO()
    status = 0
    try:
        call_command("plan_scenario", str(path), *options, stdout=out, stderr=err)
    except SystemExit as leaving:
        status = int(str(leaving.code))
    return status, out.getvalue(), err.getvalue()


def planned(tmp_path: Path, raw: bytes, *options: str) -> tuple[int, str, str]:
    file = tmp_path / "scenario.json"
    file.write_bytes(raw)
    return plan(file, *options)


def mass(amount: float, **rest: Any) -> Doc:
    return {"amount": amount, "unit": "t", "basis": "moist", **rest}


def hours(**span: Any) -> list[Doc]:
    return [{"opens": "08:00", "closes": "12:00"} | span]


# document, code, field
BAD: list[tuple[bytes, str, str]] = [
    # the file
    (b"", "json_invalid", "document"),
    (b" \n", "json_invalid", "document"),
    (b"[" * 10_000_000, "too_large", "document"),
    (b"[" * 100_000, "json_invalid", "document"),
    (b'{"a":' * 100_000, "json_invalid", "document"),
    (bytes(range(256)) * 9, "json_invalid", "document"),
    (json.dumps(BASE).encode("utf-16"), "not_plain_utf8", "document"),
    (b"\xef\xbb\xbf" + json.dumps(BASE).encode(), "not_plain_utf8", "document"),
    (text("a small world", "caf\u00e9").decode().encode("latin-1"), "json_invalid", "document"),
    (json.dumps(BASE).encode() + b"{}", "json_invalid", "document"),
    (b"[]", "model_type", "document"),
    (b"null", "model_type", "document"),
    (text('"version": 1', '"version": 1, "version": 1'), "field_given_twice", "version"),
    (text('"amount": 500', '"amount": 500, "amount": 5'), "field_given_twice", "amount"),
    (text("a small world", "\\ud800"), "json_invalid", "document"),
    (text('"payload_kg": 10000', '"payload_kg": ' + "9" * 6000), "json_invalid", "document"),
    # the frame
    (put(("version",), 2), "literal_error", "version"),
    (put(("colour",), "red"), "extra_forbidden", "colour"),
    (without(("currency",)), "missing", "currency"),
    (put(("currency",), "euro"), "string_pattern_mismatch", "currency"),
    (put(("name",), "  "), "string_too_short", "name"),
    (put(("name",), 7), "string_type", "name"),
    (put(("name",), "bell \x07"), "control_character", "name"),
    (put(("name",), "turned \u202e"), "control_character", "name"),
    (put(("places", 0, "name"), "two\nlines"), "control_character", "places.0.name"),
    (put(("time_zone",), "Mars/Olympus"), "unknown_time_zone", "time_zone"),
    (put(("time_zone",), "localtime"), "unknown_time_zone", "time_zone"),
    (put(("last_day",), "2027-04-04"), "window_ends_before_it_begins", "last_day"),
    (put(("last_day",), "2027-05-06"), "window_ends_before_it_begins", "last_day"),
    (put(("first_day",), 1_806_883_200), "not_a_date", "first_day"),
    (put(("first_day",), "2027-04-05T00:00:00"), "not_a_date", "first_day"),
    (put(("first_day",), "2027-02-30"), "date_from_datetime_parsing", "first_day"),
    (put(("first_day",), "0001-01-01"), "unlikely_year", "first_day"),
    (put(("reach_km",), -5), "greater_than", "reach_km"),
    (put(("objective",), "profit"), "literal_error", "objective"),
    # quantities
    (put((*QUANTITY, "amount"), -5), "greater_than", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), 0), "greater_than", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), "40"), "float_type", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), True), "float_type", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), float("nan")), "finite_number", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), float("-inf")), "finite_number", "offers.0.quantity.amount"),
    (text('"amount": 500', '"amount": 1e400'), "finite_number", "offers.0.quantity.amount"),
    (put((*QUANTITY, "amount"), 1e12), "less_than_equal", "offers.0.quantity.amount"),
    (put((*QUANTITY, "unit"), "barrow"), "literal_error", "offers.0.quantity.unit"),
    (put(QUANTITY, {"amount": 5, "unit": "m3"}), "volume_without_state", "offers.0.quantity.state"),
    (put(QUANTITY, {"amount": 5, "unit": "t"}), "mass_without_basis", "offers.0.quantity.basis"),
    (put(QUANTITY, mass(5, state="loose")), "state_and_basis", "offers.0.quantity"),
    (put(QUANTITY, {"amount": 5, "unit": "yd3", "state": "placed"}), "placed_volume_of_supply", "offers.0.quantity.state"),
    (put(QUANTITY, {"amount": 5, "unit": "bale"}), "bales_of_earth", "offers.0.quantity"),
    (put((*STRAW, "quantity"), {"amount": 5.5, "unit": "bale"}), "part_of_a_bale", "offers.2.quantity.amount"),
    (put((*STRAW, "quantity"), {"amount": 5, "unit": "m3", "state": "loose"}), "straw_not_in_bales", "offers.2.quantity"),
    (put((*OFFER, "min_lot"), mass(501)), "lot_exceeds_offer", "offers.0.min_lot"),
    (put((*OFFER, "min_lot"), {"amount": 5, "unit": "m3", "state": "placed"}), "placed_volume_of_supply", "offers.0.min_lot.state"),
    # offers
    (put((*MATERIAL, "kind"), "gold"), "union_tag_invalid", "offers.0.material"),
    (without((*MATERIAL, "kind")), "union_tag_not_found", "offers.0.material"),
    (put((*MATERIAL, "clay_percent"), 30), "model_type", "offers.0.material.subsoil.clay_percent"),
    (put((*MATERIAL, "clay_percent"), {"likely": 120}), "less_than_equal", "offers.0.material.subsoil.clay_percent.likely"),
    (put((*MATERIAL, "clay_percent"), {"likely": 20, "low": 30}), "range_out_of_order", "offers.0.material.subsoil.clay_percent"),
    (put((*OFFER, "price"), {"minor": 100, "per": "bale"}), "price_unit_mismatch", "offers.0.price.per"),
    (put((*OFFER, "price"), {"minor": 1.5, "per": "t"}), "int_type", "offers.0.price.minor"),
    (put((*STRAW, "price"), {"minor": 100, "per": "m3_loose"}), "price_unit_mismatch", "offers.2.price.per"),
    (put((*OFFER, "disposal"), {"tipping_minor_per_t": -1}), "greater_than_equal", "offers.0.disposal.tipping_minor_per_t"),
    (put((*OFFER, "part_load"), {"charge_minor": 500}), "missing", "offers.0.part_load.below_kg"),
    (put((*OFFER, "place"), "nowhere"), "unknown_place", "offers.0.place"),
    (put((*OFFER, "key"), "sharp"), "key_used_twice", "offers.1.key"),
    (put((*OFFER, "key"), "two words"), "string_pattern_mismatch", "offers.0.key"),
    (put(("offers",), {}), "list_type", "offers"),
    # builds
    (put((*WALL, "height_m"), 0), "greater_than", "builds.0.walls.0.height_m"),
    (put((*WALL, "openings"), [{"width_m": 3, "height_m": 2}]), "openings_exceed_wall", "builds.0.walls.0.openings"),
    (put((*WALL, "openings"), [{"width_m": 0.5, "height_m": 2.5}]), "openings_exceed_wall", "builds.0.walls.0.openings"),
    (put((*BUILD, "walls"), []), "build_without_needs", "builds.0"),
    (put((*BUILD, "mix"), {"clay_low_percent": 30}), "clay_window_out_of_order", "builds.0.mix"),
    (put((*BUILD, "mix"), {"straw_percent": {"likely": 101}}), "less_than_equal", "builds.0.mix.straw_percent.likely"),
    (put((*BUILD, "mix"), {"reference_clay_percent": 10}), "reference_soil_too_lean", "builds.0.mix.reference_clay"),
    (put((*BUILD, "needs"), [{"key": "n", "material": "straw", "quantity": {"amount": 5, "unit": "bale"}}]), "straw_need_not_weighed", "builds.0.needs.0.quantity"),
    (put((*BUILD, "needs"), [{"key": "n", "material": "sand", "quantity": {"amount": 5, "unit": "m3", "state": "placed"}}]), "placed_volume_of_supply", "builds.0.needs.0.quantity.state"),
    (put((*BUILD, "storage_m3"), -1), "greater_than", "builds.0.storage_m3"),
    # trucks
    (put((*TRUCK, "payload_kg"), -1), "greater_than", "trucks.0.payload_kg"),
    (put((*TRUCK, "payload_kg"), 8000.5), "int_type", "trucks.0.payload_kg"),
    (put((*TRUCK, "closes"), "05:00"), "closes_before_it_opens", "trucks.0"),
    (put((*TRUCK, "opens"), "7:00"), "string_pattern_mismatch", "trucks.0.opens"),
    (put((*TRUCK, "body"), "bicycle"), "enum", "trucks.0.body"),
    (put((*TRUCK, "base"), "nowhere"), "unknown_place", "trucks.0.base"),
    (put((*TRUCK, "days"), ["monday"]), "not_a_date", "trucks.0.days.0"),
    # places and roads
    (put((*PLACE, "lat"), 91), "less_than_equal", "places.0.lat"),
    (put((*PLACE, "lon"), -181), "greater_than_equal", "places.0.lon"),
    (put((*PLACE, "lat"), None), "float_type", "places.0.lat"),
    (put((*PLACE, "hours"), hours(closes="07:00")), "closes_before_it_opens", "places.0.hours.0"),
    (put((*PLACE, "hours"), hours(days=["funday"])), "literal_error", "places.0.hours.0.days.0"),
    (put((*PLACE, "access"), {"max_gross_kg": 0}), "greater_than", "places.0.access.max_gross_kg"),
    (put(("places",), []), "too_short", "places"),
    (put(("roads",), {"kind": "network", "name": "absent"}), "network_missing", "roads.name"),
    (put(("roads",), {"kind": "network", "name": "../up"}), "string_pattern_mismatch", "roads.network.name"),
    (put(("roads",), {"kind": "geodesic", "detour_factor": 0.5}), "greater_than_equal", "roads.geodesic.detour_factor"),
    (put(("roads", "metres"), [[0] * 5] * 4), "matrix_shape", "roads.metres"),
    (put(("roads", "seconds"), [[0] * 4] * 5), "matrix_shape", "roads.seconds"),
    (put(("roads", "metres"), [[-1] * 5] * 5), "greater_than_equal", "roads.matrix.metres.0.0"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("raw", "code", "field"), BAD, ids=[f"{n}-{own[1]}" for n, own in enumerate(BAD)]
)
def test_bad_input_is_refused_with_field_given_and_remedy(
    tmp_path, settings, raw, code, field
):
    """Property of the door; no outside source."""
    settings.MARLPIT_NETWORK_ROOT = tmp_path / "networks"
    status, out, err = planned(tmp_path, raw)
    assert (status, out) == (2, "")
    lines = [LINE.fullmatch(line) for line in err.splitlines()]
    assert lines
    assert all(lines), err
    first = lines[0]
    assert first is not None
    assert (first["code"], first["field"]) == (code, field)


def test_every_problem_of_a_document_is_told_at_once(tmp_path):
    doc = copy.deepcopy(BASE)
    doc["offers"][0]["quantity"]["amount"] = -1
    doc["trucks"][0]["payload_kg"] = 0
    doc["colour"] = "red"
    status, out, err = planned(tmp_path, json.dumps(doc).encode())
    assert (status, out) == (2, "")
    assert len(err.splitlines()) == 3


def test_a_file_that_cannot_be_read_is_refused(tmp_path):
    for path in (tmp_path, tmp_path / "absent.json", tmp_path / ("x" * 300)):
        status, out, err = plan(path)
        assert (status, out) == (2, "")
        match = LINE.fullmatch(err.strip())
        assert match is not None
        assert (match["code"], match["field"]) == ("unreadable_file", "file")


def test_a_place_far_from_any_road_is_named(tmp_path, settings):
    settings.MARLPIT_NETWORK_ROOT = tmp_path / "networks"
    file = write_osm(tmp_path, osm_xml(SQUARE, [RING]))
    import_roads(
        file=file, name="default", root=settings.MARLPIT_NETWORK_ROOT, moment=MOMENT
    )
    doc = copy.deepcopy(BASE)
    doc["roads"] = {"kind": "network"}
    for number, place in enumerate(doc["places"]):
        place |= {"lat": 46.0 + 0.001 * number, "lon": 3.0}
    doc["places"][3]["lat"] = 46.5
    status, out, err = planned(tmp_path, json.dumps(doc).encode())
    assert (status, out) == (2, "")
    match = LINE.fullmatch(err.strip())
    assert match is not None, err
    assert match["field"] == "places.3 (site)"
    doc["places"][3]["lat"] = 46.003
    assert planned(tmp_path, json.dumps(doc).encode())[0] == 0


def test_a_network_that_is_not_a_network_is_refused(tmp_path, settings):
    settings.MARLPIT_NETWORK_ROOT = tmp_path / "networks"
    (tmp_path / "networks" / "default").mkdir(parents=True)
    (tmp_path / "networks" / "default" / "arrays.npz").write_bytes(b"not arrays")
    status, out, err = planned(tmp_path, put(("roads",), {"kind": "network"}))
    assert (status, out) == (2, "")
    assert LINE.fullmatch(err.strip())


# Not bad input, but nothing or not all can be done: status 1, with reasons.


def test_no_trucks_at_all_is_a_plan_that_says_why_nothing_moves(tmp_path):
    status, out, err = planned(tmp_path, put(("trucks",), []))
    assert (status, err) == (1, "")
    assert "short" in out


def test_no_offers_at_all_is_a_plan_that_says_what_is_missing(tmp_path):
    status, out, err = planned(tmp_path, put(("offers",), []), "--format", "json")
    assert (status, err) == (1, "")
    needs = json.loads(out)["builds"][0]["needs"]
    assert all(need["short_reason"] for need in needs)


def test_hay_for_straw_is_judged_and_left_out(tmp_path):
    raw = put((*STRAW, "material", "fibre"), "hay")
    status, out, err = planned(tmp_path, raw, "--format", "json")
    assert (status, err) == (1, "")
    answer = json.loads(out)
    straw = next(n for n in answer["builds"][0]["needs"] if n["materials"] == ["straw"])
    assert straw["short_dry_kg"] == pytest.approx(3 * 1650 * 1.1 * 0.015, abs=0.1)
    assert straw["matches"][0]["verdict"] == "unfit"
    assert straw["matches"][0]["reasons"][0]["code"] == "hay"
    assert answer["status"] == "partly_planned"


def test_an_offer_that_ends_before_the_plan_begins_brings_nothing(tmp_path):
    raw = put((*OFFER, "available_until"), "2027-04-04")
    status, out, _ = planned(tmp_path, raw, "--format", "json")
    assert status == 1
    assert all(deal["offer"] != "fat" for deal in json.loads(out)["deals"])


def test_figures_at_the_edge_of_what_is_allowed_do_not_break_the_plan(tmp_path):
    for path, value in (
        ((*QUANTITY, "amount"), 1e-9),
        ((*MATERIAL, "stones_percent"), 100),
        ((*MATERIAL, "moisture_percent"), 100),
        ((*BUILD, "mix"), {"straw_percent": {"likely": 100}}),
        ((*WALL, "thickness_m"), 0.02),
        ((*TRUCK, "payload_kg"), 1),
        ((*TRUCK, "max_shift_hours"), 0.01),
        (("reach_km",), 1e-3),
    ):
        status, out, err = planned(tmp_path, put(path, value), "--format", "json")
        assert status in (0, 1), (path, err)
        assert json.loads(out)["status"] == ("planned", "partly_planned")[status]


def test_places_on_top_of_each_other_and_work_in_no_time_are_planned(tmp_path):
    doc = copy.deepcopy(BASE)
    doc["roads"] |= {"metres": [[0] * 5] * 5, "seconds": [[0] * 5] * 5}
    for offer in doc["offers"]:
        offer["load_minutes"] = 0
    doc["builds"][0]["unload_minutes"] = 0
    doc["trucks"][0]["payload_kg"] = 400
    assert planned(tmp_path, json.dumps(doc).encode())[0] == 0


def test_the_same_document_twice_gives_the_same_plan(tmp_path):
    raw = json.dumps(BASE).encode()
    assert planned(tmp_path, raw, "--format", "json") == planned(
        tmp_path, raw, "--format", "json"
    )


def test_a_whole_plan_is_exit_status_zero_in_both_forms(tmp_path):
    raw = json.dumps(BASE).encode()
    status, out, err = planned(tmp_path, raw)
    assert (status, err) == (0, "")
    assert "WHO SUPPLIES WHOM" in out
    status, out, err = planned(tmp_path, raw, "--format", "json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert (
        sum(line["amount_minor"] for line in answer["lines"]) == answer["total_minor"]
    )


def test_typed_needs_stand_beside_walls(tmp_path):
    raw = put((*BUILD, "needs"), [needing("sand", 4, key="floor")])
    status, out, _ = planned(tmp_path, raw, "--format", "json")
    assert status == 0
    assert len(json.loads(out)["builds"][0]["needs"]) == 3
