"""What is drawn: the timeline, the roads and the ways, and what is said in words.

The outside source of each figure is the document that is drawn, or the invented map in
demo_fixtures; the rest is common practice, no source.
"""

from __future__ import annotations

import re
from datetime import datetime, time, timedelta
from pathlib import Path

import pytest
from django.core.cache import cache

from api.documents.market import HoursAnswer
from api.documents.plan_models import PlanAnswer, ShiftAnswer, StopAnswer
from api.documents.text import KINDS
from api.templatetags import units
from api.web.bill import bill
from api.web.maps import plan_places
from api.web.offers import hours_words, window_words
from api.web.roads import roads_geojson, routes_geojson
from api.web.timeline import chart, spans
from api.web.words import bound_words, price_words
from logistics.domain.planning.result import StopKind
from logistics.domain.trucks import Cargo
from logistics.services.road_import import import_roads
from logistics.services.road_store import open_network
from tests.osm_world import MOMENT
from tests.worlds import stored_world

DEMO = Path(__file__).resolve().parents[3] / "demo_fixtures" / "roads.osm.pbf"
MOST_BYTES = 300_000


@pytest.fixture(scope="module")
def demo_root(tmp_path_factory):
    root = tmp_path_factory.mktemp("networks")
    import_roads(file=DEMO, name="default", root=root, moment=MOMENT)
    return root


@pytest.fixture
def plan(client, transactional_db):
    """Ben's wall planned over straight lines."""
    world = stored_world()
    days = {"first_day": "2026-03-02", "last_day": "2026-03-04"}
    page = client.post(f"/builds/{world.build}/plan/", days)["Location"]
    job = client.get(f"/api/v1{page}").json()
    return page, PlanAnswer.model_validate(job["plan"])


def at(clock: str) -> datetime:
    return datetime.fromisoformat(f"2026-03-02T{clock}:00+01:00")


def stop(
    kind: StopKind,
    arrive: str,
    begin: str,
    end: str,
    minutes: float,
    name: str = "Pit",
) -> StopAnswer:
    return StopAnswer(
        kind=kind,
        place=name.lower(),
        place_name=name,
        arrive=at(arrive),
        begin=at(begin),
        end=at(end),
        leg_km=minutes / 2,
        leg_minutes=minutes,
    )


def one_shift() -> ShiftAnswer:
    """Leave at 7, wait 10 min for the pit to open, load, break 20 min, tip, drive home."""
    return ShiftAnswer(
        truck="t",
        truck_name="Tipper",
        day="2026-03-02",
        leave=at("07:00"),
        back=at("09:20"),
        km=60,
        empty_km=40,
        tonne_km=200,
        paid_hours=2.333,
        cost_minor=100,
        loads=[],
        stops=[
            stop(StopKind.LEAVE, "07:00", "07:00", "07:00", 0, "Depot"),
            stop(StopKind.LOAD, "07:20", "07:30", "07:45", 20, "Pit"),
            stop(StopKind.TIP, "08:35", "08:35", "08:45", 30, "Site"),
            stop(StopKind.RETURN, "09:20", "09:20", "09:20", 35, "Depot"),
        ],
    )


def test_a_shift_is_told_without_gaps_and_says_when_it_waits():
    told = [(own.doing, f"{own.begin:%H:%M}") for own in spans(one_shift())]
    assert told == [
        ("empty", "07:00"),
        ("wait", "07:20"),
        ("load", "07:30"),
        ("wait", "07:45"),
        ("loaded", "08:05"),
        ("tip", "08:35"),
        ("empty", "08:45"),
    ]


def test_lengths_in_the_drawing_are_as_the_times_are():
    """Property: one hour is as wide everywhere, and the drawing stays inside its frame."""
    drawing = chart([one_shift()], 1000)
    (row,) = drawing.rows
    hour = drawing.hours[1][0] - drawing.hours[0][0]
    minutes = [20, 10, 15, 20, 30, 10, 35]
    for piece, length in zip(row.pieces, minutes, strict=True):
        assert piece.width == pytest.approx(hour * length / 60, abs=0.2)
    assert row.pieces[0].x == drawing.hours[0][0]
    assert row.pieces[-1].x + row.pieces[-1].width <= drawing.width
    assert "07:30 to 07:45 loads at Pit" in [piece.title for piece in row.pieces]


def test_a_narrow_drawing_drops_hours_that_would_touch():
    early, late = one_shift(), one_shift()
    late.stops[-1].end = late.back = at("07:00") + timedelta(hours=15)
    drawing = chart([early, late], 350)
    gaps = [b[0] - a[0] for a, b in zip(drawing.hours, drawing.hours[1:], strict=False)]
    assert min(gaps) >= 28


def test_no_shift_makes_an_empty_drawing():
    assert chart([], 350).rows == ()


@pytest.mark.parametrize(
    ("minor", "per_kg", "material", "words"),
    [
        (0, 1000, Cargo.SUBSOIL, "free"),
        (-450, 1000, Cargo.SUBSOIL, "they pay 4.50 EUR per tonne"),
        (260, 15, Cargo.STRAW, "2.60 EUR per bale of 15 kg"),
        (1800, 1490, Cargo.SAND, "18.00 EUR per 1.49 t (1 m³)"),
    ],
)
def test_prices_are_said_as_people_say_them(minor, per_kg, material, words):
    said = price_words(minor, per_kg, material, "EUR")
    assert said.replace("\xa0", " ") == words


def test_figures_carry_their_units():
    shown = [
        units.tonnes(17667, 2),
        units.m3(1234.56),
        units.km(5.36),
        units.hours(6.6606),
        units.minutes(25.2),
        units.cost(-7920, "EUR"),
        units.weekday("2027-05-12"),
    ]
    assert [own.replace("\xa0", " ") for own in shown] == [
        "17.67 t",
        "1,234.6 m³",
        "5.4 km",
        "6 h 40 min",
        "25 min",
        "\u221279.20 EUR",
        "Wed 12 May 2027",
    ]


def span(day: str, opens: str, closes: str) -> HoursAnswer:
    return HoursAnswer(
        day=day, opens=time.fromisoformat(opens), closes=time.fromisoformat(closes)
    )


def test_opening_hours_of_like_days_stand_together():
    hours = [span(day, "07:00", "16:00") for day in ("mon", "tue", "wed")]
    hours += [span("sat", "07:00", "11:30"), span("sat", "13:00", "15:00")]
    assert hours_words(hours) == (
        "Mon to Wed 07:00 to 16:00",
        "Sat 07:00 to 11:30 and 13:00 to 15:00",
    )
    assert hours_words([]) == ()
    always = [
        span(day, "00:00", "23:59")
        for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    ]
    assert hours_words(always) == ()


def test_days_that_do_not_follow_each_other_are_not_joined():
    hours = [span(day, "07:00", "16:00") for day in ("mon", "thu")]
    assert hours_words(hours) == ("Mon 07:00 to 16:00", "Thu 07:00 to 16:00")


def test_windows_are_said_with_one_end_or_both():
    first, last = at("07:00").date(), at("07:00").date() + timedelta(days=2)
    assert window_words(first, last) == "Mon 2 Mar to Wed 4 Mar 2026"
    years = window_words(first, last.replace(year=2027))
    assert years == "Mon 2 Mar 2026 to Thu 4 Mar 2027"
    assert window_words(first, first) == "Mon 2 Mar 2026"
    assert window_words(first, None) == "from Mon 2 Mar 2026"
    assert window_words(None, last) == "until Wed 4 Mar 2026"
    assert window_words(None, None) == "at any date"


def test_the_bound_is_said_in_money_not_in_percent(plan):
    """A gap in percent of a total near nothing says nothing."""
    _, document = plan
    loose = document.model_copy(
        update={"total_minor": -100, "lower_bound_minor": -600, "proven_optimal": False}
    )
    said = bound_words(loose).replace("\xa0", " ")
    assert "less than \u22126.00 EUR" in said
    assert "at most 5.00 EUR dearer" in said


def test_two_entries_at_one_spot_are_one_place_on_the_map(plan):
    _, document = plan
    depots = [own for own in plan_places(document) if own.name == "Depot"]
    assert sum(own.name == "Depot" for own in document.places) == 2
    assert [own.role for own in depots] == ["base"]


def test_the_roads_of_the_demo_are_drawn_in_less_than_300_kb(
    client, settings, demo_root
):
    settings.MARLPIT_NETWORK_ROOT = demo_root
    cache.clear()
    answer = client.get("/roads.geojson")
    assert len(answer.content) < MOST_BYTES
    tiers = {own["properties"]["tier"] for own in answer.json()["features"]}
    assert tiers == {"major", "middle", "minor"}
    box = open_network(demo_root).extent
    for feature in answer.json()["features"]:
        for line in feature["geometry"]["coordinates"]:
            assert len(line) > 1
            for lon, lat in line:
                assert box.west - 1e-4 <= lon <= box.east + 1e-4
                assert box.south - 1e-4 <= lat <= box.north + 1e-4


def test_a_large_network_leaves_out_the_lanes_before_the_trunk_roads(
    demo_root, monkeypatch
):
    monkeypatch.setattr("api.web.roads.MOST_POINTS", 6_000)
    tiers = [
        own["properties"]["tier"]
        for own in roads_geojson(open_network(demo_root))["features"]
    ]
    assert "minor" not in tiers
    assert "major" in tiers


def test_without_a_network_there_are_no_roads_and_the_ways_are_straight(client, plan):
    page, document = plan
    assert client.get("/roads.geojson").json()["features"] == []
    ways = client.get(f"{page}routes.geojson").json()["features"]
    at_place = {own.key: [own.lon, own.lat] for own in document.places}
    legs = [
        [at_place[before.place], at_place[after.place]]
        for shift in document.shifts
        for before, after in zip(shift.stops, shift.stops[1:], strict=False)
        if before.place != after.place
    ]
    assert [own["geometry"]["coordinates"][0] for own in ways] == legs


def test_with_a_network_the_ways_follow_its_roads(demo_root, plan):
    _, document = plan
    roads = open_network(demo_root)
    box = roads.extent
    moved = [
        own.model_copy(
            update={
                "lat": box.south + (box.north - box.south) * (0.3 + 0.08 * number),
                "lon": box.west + (box.east - box.west) * (0.3 + 0.06 * number),
            }
        )
        for number, own in enumerate(document.places)
    ]
    ways = routes_geojson(document.model_copy(update={"places": moved}), roads)
    lines = [own["geometry"]["coordinates"][0] for own in ways["features"]]
    assert max(len(line) for line in lines) > 20


def test_a_place_off_the_network_is_joined_by_a_straight_line(demo_root, plan):
    """The plan's places lie 40 km off the invented map."""
    _, document = plan
    ways = routes_geojson(document, open_network(demo_root))["features"]
    assert ways
    assert all(len(own["geometry"]["coordinates"][0]) == 2 for own in ways)


@pytest.mark.django_db
def test_a_recipe_is_drawn_by_weight_and_a_blend_only_once(client):
    world = stored_world()
    need = client.get(f"/api/v1/builds/{world.build}/").json()["needs"][0]
    days = {"first_day": "2026-03-02", "last_day": "2026-03-15"}
    matches = client.get(f"/api/v1/needs/{need['id']}/matches/", days).json()["matches"]
    first, second = [own for own in matches if own["recipe"]][:2]
    weights = [part["moist_kg"] for part in first["recipe"]]
    assert len(weights) == 2
    assert sorted(weights) == sorted(part["moist_kg"] for part in second["recipe"])
    page = client.get(f"/builds/{world.build}/").content.decode()
    bars = re.findall(r'<svg class="bar".*?</svg>', page, re.DOTALL)
    drawn = [float(own) for own in re.findall(r'width="([\d.]+)"', bars[0])]
    shares = [100 * own / sum(weights) for own in weights]
    assert drawn == pytest.approx(shares, abs=0.01)
    assert "The same recipe as match 1." in page


def test_what_is_to_pay_and_what_is_avoided_make_the_total(plan):
    _, document = plan
    own = bill(document)
    assert own.avoided_minor < 0
    assert own.to_pay_minor + own.avoided_minor == document.total_minor
    kept = {line.kind: 0 for line in document.lines}
    for line in document.lines:
        kept[line.kind] += line.amount_minor
    assert {KINDS[kind]: amount for kind, amount in kept.items()} == {
        group.title: group.subtotal_minor for group in own.groups
    }


@pytest.mark.django_db
def test_tiles_are_asked_for_only_when_a_server_is_set(client, settings):
    stored_world()
    assert 'data-tiles=""' in client.get("/").content.decode()
    settings.MARLPIT_TILE_URL = "https://tiles.example/{z}/{x}/{y}.png"
    settings.MARLPIT_TILE_CREDIT = "<b>Tiles</b> by nobody"
    answer = client.get("/")
    page = answer.content.decode()
    assert 'data-tiles="https://tiles.example/{z}/{x}/{y}.png"' in page
    assert 'data-tile-credit="&lt;b&gt;Tiles&lt;/b&gt; by nobody"' in page
    # Tile servers refuse requests without a referrer.
    assert answer["Referrer-Policy"] == "strict-origin-when-cross-origin"
