"""Plans as calendars, read by icalendar and held line by line to RFC 5545."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from api.exports.book import Book
from api.exports.calendar_feeds import driver_calendar, pickup_calendar, site_calendar
from logistics.domain.errors import Refused
from tests.api.exports.plans import (
    MORNING,
    STORED,
    STRANGE,
    book,
    milk_run,
    strange_book,
    two_loads,
)

LINE = re.compile(r"[A-Z0-9-]+(;[A-Z0-9-]+=[^:;]+)*:.*", re.DOTALL)
ONCE = {"UID", "DTSTAMP", "DTSTART"}
FEEDS = {
    "driver": lambda own: driver_calendar(own, "tipper"),
    "site": lambda own: site_calendar(own, "wall"),
    "idle site": lambda own: site_calendar(own, "idle"),
    "pickup": lambda own: pickup_calendar(own, "pit"),
}


def events(body: bytes) -> list[Any]:
    return list(Calendar.from_ical(body).walk("VEVENT"))


def unfolded(body: bytes) -> list[str]:
    return re.sub("\r\n[ \t]", "", body.decode()).split("\r\n")


def check_lines(body: bytes) -> None:
    """RFC 5545: 3.1 (CRLF, at most 75 octets, no octet of a letter apart), 3.3.11 (TEXT),
    3.4 (one object with a component), 3.6.1 and 3.8.7.2 (what an event must have)."""
    assert body.endswith(b"END:VCALENDAR\r\n")
    for line in body.split(b"\r\n"):
        assert len(line) <= 75
        assert b"\n" not in line
        assert b"\r" not in line
        line.decode("utf-8")
    lines = unfolded(body)[:-1]
    assert lines[0] == "BEGIN:VCALENDAR"
    assert all(LINE.fullmatch(own) for own in lines)
    for name in ("PRODID:", "VERSION:2.0"):
        assert sum(own.startswith(name) for own in lines) == 1
    inner = [own for own in lines if own.startswith("BEGIN:")][1:]
    assert inner
    for own in lines:
        name, _, value = own.partition(":")
        if name in {"SUMMARY", "DESCRIPTION", "LOCATION", "NAME", "X-WR-CALNAME"}:
            assert re.fullmatch(r"(?:[^\\,;\x00-\x08\x0a-\x1f\x7f]|\\[\\,;nN])*", value)
    for part in "\n".join(lines).split("BEGIN:VEVENT")[1:]:
        names = [own.partition(":")[0].partition(";")[0] for own in part.split("\n")]
        assert all(names.count(one) == 1 for one in ONCE)


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("own", [book(), strange_book()], ids=["plain", "strange"])
def test_every_line_keeps_the_rules(own, feed):
    check_lines(FEEDS[feed](own))


def test_a_site_sees_what_comes_with_its_mass_limits_cautions_place_and_receipt():
    first, second = events(site_calendar(book(), "wall"))
    assert first["summary"] == "Subsoil, 8.00 t, from Offer soil (Tipper)"
    assert first["dtstart"].dt == datetime(2026, 5, 4, 5, 40, tzinfo=UTC)
    assert first["dtend"].dt == datetime(2026, 5, 4, 5, 50, tzinfo=UTC)
    assert first["location"] == "Ben's garden"
    assert first["geo"].to_ical() == "46.0;3.0"
    text = str(first["description"])
    for words in (
        "8.00 t",
        "full by mass",
        "carries at most 8.00 t and 7.5 m³",
        "Never raise a body under wires.",
        "Nobody stands behind",
        "https://marlpit.example/tickets/K7QM8000/",
    ):
        assert words in text
    assert second["dtstart"].dt > first["dtstart"].dt


def test_a_driver_sees_the_shift_and_each_load_tip_cleaning_and_rest():
    found = events(driver_calendar(book(), "tipper"))
    assert [str(own["summary"]).partition(" ")[0] for own in found] == [
        "Shift:",
        "Load",
        "Tip",
        "Clean",
        "Rest:",
        "Load",
        "Tip",
    ]
    assert found[0]["dtend"].dt - found[0]["dtstart"].dt == timedelta(minutes=140)
    assert len({str(own["uid"]) for own in found}) == len(found)


def test_the_stamps_come_from_the_stored_moment():
    """RFC 5545, 3.8.7: the same plan gives the same feed, whenever it is fetched."""
    for own in events(driver_calendar(book(), "tipper")):
        assert own["dtstamp"].dt == STORED.replace(microsecond=0)
        assert own["last-modified"].dt == STORED.replace(microsecond=0)
    assert site_calendar(book(), "wall") == site_calendar(book(), "wall")


@pytest.mark.parametrize("codes", [True, False], ids=["tickets", "no tickets"])
@pytest.mark.parametrize("feed", ["driver", "site", "pickup"])
def test_a_plan_made_anew_moves_events_and_doubles_none(feed, codes):
    """RFC 5545, 3.8.4.7 and 3.8.7.4: one UID an event for ever, and a higher SEQUENCE."""
    before = events(FEEDS[feed](book(two_loads(MORNING, codes=codes))))
    moved = book(two_loads(MORNING + timedelta(minutes=50), codes=codes))
    after = events(FEEDS[feed](replace(moved, stored_at=STORED + timedelta(hours=3))))
    assert [own["uid"] for own in before] == [own["uid"] for own in after]
    for old, new in zip(before, after, strict=True):
        assert new["sequence"] > old["sequence"]
        assert new["dtstart"].dt != old["dtstart"].dt
        assert int(new["sequence"]) < 2**31


def test_a_load_keeps_its_identity_when_it_changes_trucks_at_the_site():
    other = two_loads(MORNING, truck="grab", truck_name="Grab")
    before, after = (
        {str(own["uid"]) for own in events(site_calendar(one, "wall"))}
        for one in (book(), book(other))
    )
    assert before == after


def test_a_load_keeps_its_identity_when_those_before_it_are_done():
    """Property: the ticket tells loads apart, not their number in what is left."""
    _, second = events(site_calendar(book(), "wall"))
    left = two_loads(MORNING)
    load = left.loads[0].model_copy(update={"ticket": left.loads[1].ticket})
    stops = list(left.stops[:3]) + left.stops[-1:]
    rest = left.model_copy(update={"loads": [load], "stops": stops})
    (only,) = events(site_calendar(book(rest), "wall"))
    assert only["uid"] == second["uid"]


def test_two_feeds_share_no_identity():
    """Property: one calendar may hold all feeds."""
    own = book(two_loads(MORNING), milk_run(MORNING))
    feeds = [
        driver_calendar(own, "tipper"),
        driver_calendar(own, "flat"),
        site_calendar(own, "wall"),
        pickup_calendar(own, "pit"),
        pickup_calendar(own, "farm"),
    ]
    uids = [str(event["uid"]) for body in feeds for event in events(body)]
    assert len(set(uids)) == len(uids)


def test_what_rides_together_is_tipped_as_what_it_is():
    own = book(milk_run(MORNING))
    titles = [str(event["summary"]) for event in events(driver_calendar(own, "flat"))]
    assert titles[1:] == [
        "Load straw, 0.90 t: Eve's farm",
        "Load straw, 0.30 t: Ada's pit",
        "Tip straw, 0.30 t: Ben's garden",
        "Tip straw, 0.90 t: Ben's garden",
    ]


def test_strange_names_come_through_escaping_and_folding():
    (first, _) = events(site_calendar(strange_book(), "wall"))
    assert str(first["location"]) == STRANGE.replace("\x0b", "")


def test_a_calendar_without_loads_is_valid_and_says_so():
    """RFC 5545, 3.4: there is at least one component."""
    body = site_calendar(book(), "idle")
    assert not events(body)
    (note,) = Calendar.from_ical(body).walk("VJOURNAL")
    assert note["summary"] == "No load in this plan"


@pytest.mark.parametrize(
    ("begin", "hours"),
    [
        # The clocks of Brussels go forward at 01:00 UTC on 29 March 2026 and back on
        # 25 October 2026 (Directive 2000/84/EC): a night of 3 h takes 2 or 4 h of clock.
        (datetime(2026, 3, 29, 0, 30, tzinfo=ZoneInfo("Europe/Brussels")), 1),
        (datetime(2026, 10, 25, 1, 30, tzinfo=ZoneInfo("Europe/Brussels")), 1),
        (datetime(2026, 5, 4, 23, 30, tzinfo=ZoneInfo("Europe/Brussels")), 0),
    ],
)
def test_nights_and_the_change_of_clocks_keep_their_length(begin, hours):
    own = book(two_loads(begin.astimezone(UTC)))
    local = [
        stop.model_copy(
            update={
                name: getattr(stop, name).astimezone(ZoneInfo("Europe/Brussels"))
                for name in ("arrive", "begin", "end")
            }
        )
        for stop in own.plan.shifts[0].stops
    ]
    shift = own.plan.shifts[0].model_copy(
        update={"stops": local, "leave": local[0].begin, "back": local[-1].end}
    )
    plan = own.plan.model_copy(update={"shifts": [shift]})
    read = type(plan).model_validate_json(plan.model_dump_json())
    whole, *_ = events(driver_calendar(Book(read, STORED), "tipper"))
    assert whole["dtend"].dt - whole["dtstart"].dt == timedelta(minutes=140)
    assert whole["dtstart"].dt == begin.astimezone(UTC)
    offsets = {stop.begin.utcoffset() for stop in read.shifts[0].stops}
    assert len(offsets) == 1 + hours


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (driver_calendar, "unknown_truck"),
        (site_calendar, "unknown_build"),
        (pickup_calendar, "unknown_place"),
    ],
)
def test_a_feed_of_nobody_is_refused_with_the_keys_there_are(make, code):
    with pytest.raises(Refused) as refused:
        make(book(), "nobody")
    problem = refused.value.problems[0]
    assert problem.code == code
    assert any(key in problem.remedy for key in ("tipper", "wall", "pit"))
