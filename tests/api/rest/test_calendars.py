"""Calendars of lifts over HTTP."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.worlds import bens_build, raw

PATH = "/api/v1/calendars/"
MONDAY = date(2027, 5, 3)
EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
# 10 m3 in four lifts of 0.5 m.
WALLS = [{"length_m": 10, "height_m": 2, "thickness_m": 0.5}]


def calendar(**more: Any) -> dict[str, Any]:
    """Nine trained people, 2.475 m3 a day in all at the likely rate, who never miss one."""
    return {
        "first_day": str(MONDAY),
        "weekdays": EVERY_DAY,
        "rain_percent": {"likely": 0},
        "crew": {"trained": 9},
        "drying": {"warm_days": {"likely": 5}},
    } | more


def asked(client: Any, **more: Any) -> Any:
    body = {"walls": WALLS, "calendar": calendar()} | more
    return client.post(PATH, raw(body), content_type="application/json")


def reckoned(client: Any, **more: Any) -> Any:
    answer = asked(client, **more)
    assert answer.status_code == 200, answer.content
    return answer.json()


def total(found: Any, material: str, end: str = "likely") -> float:
    return sum(
        float(pulse["moist_kg"][end])
        for pulse in found["pulses"]
        if pulse["material"] == material
    )


def test_walls_are_raised_in_lifts_that_dry(client):
    """By hand: 2.5 m3 at 9 x 0.275 = 2.475 m3 a day are two days; then five of drying, 4 + 5 = 9.
    A trained person's rate is sourced where the crew is defined."""
    found = reckoned(client)
    assert [lift["placed_m3"] for lift in found["lifts"]] == [2.5] * 4
    assert found["lifts"][0]["first"]["likely"] == str(MONDAY)
    assert found["lifts"][0]["last"]["likely"] == str(MONDAY + timedelta(days=1))
    assert found["lifts"][1]["first"]["likely"] == str(MONDAY + timedelta(days=6))
    assert found["ends"]["early"] <= found["ends"]["likely"] <= found["ends"]["late"]
    assert (found["lift_m"], found["rate_factor"], found["finished"]) == (0.5, 1, False)
    assert "Drying binds" in found["why"]


def test_pulses_sum_to_the_take_off_and_storage_says_whether_it_fits(client):
    """Property, and the room of 1 m3 cannot hold a lift's soil."""
    found = reckoned(client, storage_m3=1)
    left = found["left"]
    for material, field in (
        ("soil", "soil_moist_kg"),
        ("sand", "sand_moist_kg"),
        ("straw", "straw_kg"),
        ("water", "water_l"),
    ):
        for end in ("low", "likely", "high"):
            assert total(found, material, end) == pytest.approx(left[field][end], abs=1)
    assert not found["storage"]["fits"]
    fullest = max(day["total_m3"] for day in found["storage"]["days"])
    assert found["storage"]["fullest"]["total_m3"] == fullest
    assert "storage_too_small" in {own["code"] for own in found["cautions"]}
    soil = next(own for own in found["piles"] if own["material"] == "soil")
    assert [heap["shape"] for heap in soil["heaps"]] == ["cone", "windrow"]
    assert found["straw_stack"]["kg"] == found["straw_stack"]["bales"] * 16


def test_what_is_built_corrects_the_rate_and_what_is_left(client):
    """By hand: k = 10 prior person-days at r = 0.275 m3; 5 m3 in 40 person-days give
    (2.75 + 5) / (2.75 + 11) = 0.5636."""
    built = [{"until": "2027-05-20", "placed_m3": 5, "person_days": 40}]
    found = reckoned(client, calendar=calendar(built=built))
    assert found["rate_factor"] == pytest.approx(7.75 / 13.75, abs=1e-4)
    assert (found["built_m3"], found["left_m3"]) == (5, 5)
    assert len(found["lifts"]) == 2
    # The last record finished a lift, which is dry on 20 + 5 = 25 May.
    assert found["lifts"][0]["first"]["likely"] == "2027-05-25"
    whole = reckoned(client)["left"]["straw_kg"]["likely"]
    assert found["left"]["straw_kg"]["likely"] == pytest.approx(whole / 2, abs=1)


def test_a_finished_build_has_no_lifts_left(client):
    built = [{"until": "2027-05-20", "placed_m3": 10, "person_days": 40}]
    found = reckoned(client, calendar=calendar(built=built))
    assert found["finished"]
    assert (found["lifts"], found["pulses"], found["ends"]) == ([], [], None)


def test_what_lies_on_site_is_not_wanted_again(client):
    """Property: less by what was counted."""
    received = [{"material": "sand", "moist_kg": 5000, "on_hand_kg": 2000}]
    found = reckoned(client, calendar=calendar(received=received))
    plain = reckoned(client)
    assert total(plain, "sand") - total(found, "sand") == pytest.approx(2000, abs=1)
    assert found["stock_kg"] == {"sand": 2000}


def test_small_pulses_are_put_together_to_loads(client):
    """Property: at least the least load each, the sum the same."""
    found = reckoned(client, calendar=calendar(least={"soil_kg": 7000}))
    soil = [own for own in found["pulses"] if own["material"] == "soil"]
    assert [own["lifts"] for own in soil] == [[1, 2], [3, 4]]
    assert total(found, "soil") == pytest.approx(
        found["left"]["soil_moist_kg"]["likely"], abs=1
    )


def test_a_digger_needs_no_figures_and_a_machine_may_have_its_own(client):
    """Property: the more is mixed, the sooner it ends."""
    ends = []
    for machine in (
        None,
        "digger",
        {"m3_per_hour": {"likely": 0.1}, "hours_per_day": 5},
    ):
        crew = {"trained": 9, "machine": machine}
        found = reckoned(client, calendar=calendar(crew=crew))
        ends.append(found["ends"]["likely"])
    assert ends[1] <= ends[0] < ends[2]


def test_another_crew_on_some_weekdays_and_days_off(client):
    """By hand: nobody works but on Saturdays, and 8 May is off: 15 May it is."""
    found = reckoned(
        client,
        calendar=calendar(
            weekdays=["sat"],
            days_off=["2027-05-08"],
            crews=[{"days": ["sat"], "crew": {"trained": 18}}],
        ),
    )
    lift = found["lifts"][0]
    assert lift["first"]["likely"] == lift["last"]["likely"] == "2027-05-15"


@pytest.mark.parametrize(
    ("bad", "code", "field"),
    [
        ({"crew": {}}, "nobody_builds", "calendar.crew"),
        ({"crew": {"trained": 0.001}}, "never_finished", "calendar.crew"),
        ({"lift_m": 0.01}, "too_many_lifts", "calendar.lift_m"),
        ({"weekdays": []}, "too_short", "calendar.weekdays"),
        ({"weekdays": ["funday"]}, "literal_error", "calendar.weekdays.0"),
        (
            {"first_day": "2027-02-30"},
            "date_from_datetime_parsing",
            "calendar.first_day",
        ),
        ({"first_day": 7}, "not_a_date", "calendar.first_day"),
        (
            {"rain_percent": {"likely": 100}},
            "share_out_of_range",
            "calendar.rain_percent",
        ),
        (
            {"rain_percent": {"likely": 10, "low": 20}},
            "range_out_of_order",
            "calendar.rain_percent",
        ),
        (
            {"drying": {"warm_days": {"likely": 500}}},
            "drying_days_out_of_range",
            "calendar.drying",
        ),
        (
            {"drying": {"cold_months": [13]}},
            "less_than_equal",
            "calendar.drying.cold_months.0",
        ),
        (
            {
                "crew": {
                    "trained": 3,
                    "machine": {"m3_per_hour": {"likely": 0}, "hours_per_day": 3},
                }
            },
            "crew_figure_unusable",
            "calendar.crew.machine.m3_per_hour",
        ),
        (
            {"built": [{"until": "2027-05-20", "placed_m3": -1, "person_days": 1}]},
            "greater_than_equal",
            "calendar.built.0.placed_m3",
        ),
        (
            {"received": [{"material": "sand", "moist_kg": 1}] * 2},
            "named_twice",
            "calendar.received",
        ),
        (
            {"crews": [{"days": ["sat", "sat"], "crew": {"trained": 1}}]},
            "named_twice",
            "calendar.crews",
        ),
        (
            {"volunteers": [{"opens": "17:00", "closes": "09:00"}]},
            "closes_before_it_opens",
            "calendar.volunteers.0",
        ),
        ({"weather": "fine"}, "extra_forbidden", "calendar.weather"),
        ({"deliver": "never"}, "literal_error", "calendar.deliver"),
    ],
)
def test_calendars_that_cannot_be_are_refused_by_their_field(client, bad, code, field):
    """The rules are the domain's; here it counts that the document's field comes out."""
    answer = asked(client, calendar=calendar(**bad))
    assert answer.status_code == 400, answer.content
    problem = answer.json()["problems"][0]
    assert (problem["code"], problem["field"]) == (code, field)
    assert problem["remedy"]


@pytest.mark.parametrize(
    "bad",
    [
        b"[]",
        b'{"walls": [], "calendar": {}}',
        b'{"walls": [{"length_m": 4, "height_m": 2, "thickness_m": 0.5}]}',
        b'{"calendar": {"first_day": "2027-05-03", "crew": {"trained": NaN}}}',
        b'{"calendar": {"first_day": "2027-05-03", "crew": {"trained": 1e999}}}',
        b'{"calendar": {"first_day": "9999-12-31", "crew": {"trained": 3}}}',
    ],
)
def test_hostile_bodies_are_refused_with_reasons(client, bad):
    answer = client.post(PATH, bad, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["problems"]


@pytest.mark.django_db
def test_a_stored_build_answers_its_calendar(client):
    """Property: the stored calendar answers as the one that was sent."""
    body = bens_build(walls=WALLS, calendar=calendar(deliver="by_lift"))
    created = client.post("/api/v1/builds/", raw(body), content_type="application/json")
    assert created.status_code == 201, created.content
    assert created.json()["deliver"] == "by_lift"
    answer = client.get(f"{created['Location']}calendar/")
    assert answer.status_code == 200
    assert answer.json() == reckoned(client, calendar=calendar(deliver="by_lift"))


@pytest.mark.django_db
def test_needs_of_a_stored_build_are_those_of_what_is_left(client):
    """By hand: half is built."""
    built = [{"until": "2027-05-20", "placed_m3": 5, "person_days": 40}]
    needs = [
        client.post(
            "/api/v1/builds/",
            raw(bens_build(walls=WALLS, calendar=calendar(built=records))),
            content_type="application/json",
        ).json()["needs"]
        for records in ([], built)
    ]
    for whole, half in zip(*needs, strict=True):
        for end in ("low", "likely", "high"):
            assert half["dry_kg"][end] == pytest.approx(
                whole["dry_kg"][end] / 2, abs=0.2
            )


@pytest.mark.django_db
def test_what_was_built_is_recorded_by_putting_the_calendar_again(client):
    """Property: as if the build had been stored with it; its needs keep their ids."""
    created = client.post(
        "/api/v1/builds/",
        raw(bens_build(walls=WALLS, calendar=calendar())),
        content_type="application/json",
    )
    built = [{"until": "2027-05-20", "placed_m3": 5, "person_days": 40}]
    path = f"{created['Location']}calendar/"
    put = client.put(path, raw(calendar(built=built)), content_type="application/json")
    assert put.status_code == 200, put.content
    assert put.json() == reckoned(client, calendar=calendar(built=built))
    assert client.get(path).json() == put.json()
    before, after = created.json(), client.get(created["Location"]).json()
    assert [own["id"] for own in after["needs"]] == [
        own["id"] for own in before["needs"]
    ]
    for one, other in zip(before["needs"], after["needs"], strict=True):
        assert other["dry_kg"]["likely"] == pytest.approx(
            one["dry_kg"]["likely"] / 2, abs=0.2
        )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("bad", "code", "field"),
    [
        ({"crew": {}}, "nobody_builds", "crew"),
        ({"lift_m": 0.01}, "too_many_lifts", "lift_m"),
        ({"rain_percent": {"likely": 100}}, "share_out_of_range", "rain_percent"),
        ({"weather": "fine"}, "extra_forbidden", "weather"),
    ],
)
def test_a_calendar_that_cannot_be_kept_changes_nothing(client, bad, code, field):
    created = client.post(
        "/api/v1/builds/",
        raw(bens_build(walls=WALLS, calendar=calendar())),
        content_type="application/json",
    )
    path = f"{created['Location']}calendar/"
    before = client.get(path).json()
    answer = client.put(path, raw(calendar(**bad)), content_type="application/json")
    problem = answer.json()["problems"][0]
    assert (answer.status_code, problem["code"], problem["field"]) == (400, code, field)
    assert client.get(path).json() == before


@pytest.mark.django_db
def test_no_calendar_is_put_where_there_is_no_build(client):
    answer = client.put(
        "/api/v1/builds/99/calendar/",
        raw(calendar()),
        content_type="application/json",
    )
    assert answer.status_code == 404


@pytest.mark.django_db
def test_a_build_without_a_calendar_and_no_build_are_not_found(client):
    created = client.post(
        "/api/v1/builds/", raw(bens_build()), content_type="application/json"
    )
    assert created.json()["deliver"] is None
    for path, code in (
        (f"{created['Location']}calendar/", "unknown_calendar"),
        ("/api/v1/builds/999999/calendar/", "unknown_build"),
    ):
        answer = client.get(path)
        assert answer.status_code == 404
        assert answer.json()["problems"][0]["code"] == code


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("bad", "code", "field"),
    [
        ({"walls": []}, "calendar_without_walls", "calendar"),
        (
            {"calendar": calendar(crew={"trained": 0.001})},
            "never_finished",
            "calendar.crew",
        ),
    ],
)
def test_builds_whose_calendar_cannot_be_kept_are_not_stored(client, bad, code, field):
    sand = {
        "key": "floor",
        "material": "sand",
        "quantity": {"amount": 2, "unit": "t", "basis": "dry"},
    }
    body = bens_build(needs=[sand], calendar=calendar()) | bad
    answer = client.post("/api/v1/builds/", raw(body), content_type="application/json")
    problem = answer.json()["problems"][0]
    assert (answer.status_code, problem["code"], problem["field"]) == (400, code, field)
    assert client.get("/api/v1/builds/").json()["count"] == 0
