"""Dated needs: sums, dates, joined loads and the room that they take."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.lifts.calendar import BuildCalendar, build_calendar
from matching.domain.lifts.merging import LeastLoad, merge
from matching.domain.lifts.pulses import (
    Kind,
    Lead,
    LiftNeed,
    Pulse,
    lift_needs,
    pulse_cautions,
    pulses,
    soak_days,
    split,
)
from matching.domain.lifts.storage import Storage, storage, stored_m3
from matching.domain.takeoff import MixTarget, TakeOff, take_off
from matching.domain.walls.courses import Course
from matching.domain.walls.wall import Wall
from tests.matching.domain.lifts.builds import (
    EXACT,
    MONDAY,
    courses,
    days,
    every_day,
    room,
    steady,
)

MIX = MixTarget()
FEW = settings(max_examples=60)


def swallowed(build: tuple[Course, ...], mix: MixTarget = MIX) -> TakeOff:
    """The take-off of a wall with the volume of the lifts."""
    volume = sum(course.placed_m3 for course in build)
    return take_off((Wall(volume, 1.0, 1.0),), mix)


def stock(calendar: BuildCalendar, found: tuple[Pulse, ...], **more: Any) -> Storage:
    kept = storage(calendar, found, **more)
    assert kept is not None
    return kept


def plain(
    build: tuple[Course, ...], per_day: float = 1.5, **lead: Any
) -> tuple[BuildCalendar, tuple[Pulse, ...]]:
    calendar = build_calendar(build, steady(per_day), every_day(), drying=days(7))
    found = pulses(calendar, swallowed(build), clay=EXACT(0.3), lead=Lead(**lead))
    return calendar, found


@FEW
@given(courses(), st.floats(0.15, 0.2), st.floats(0.2, 0.9))
def test_the_needs_of_all_lifts_are_the_take_off_to_the_last_bit(build, target, clay):
    """Property: bit for bit, at each end, for each figure."""
    mix = MixTarget(clay_target=target, reference_clay=clay)
    calendar = build_calendar(build, steady(5.0), every_day())
    whole = swallowed(build, mix)
    needs = lift_needs(calendar, whole)
    names = {f.name for f in fields(LiftNeed)} - {"number", "placed_m3"}
    assert len(names) == 9
    for name in names:
        for end in ("low", "likely", "high"):
            parts = sum(getattr(getattr(need, name), end) for need in needs)
            assert parts == getattr(getattr(whole, name), end)


@given(st.floats(0, 1e7), st.lists(st.floats(0.01, 1), min_size=1, max_size=30))
def test_parts_sum_exactly_and_follow_their_shares(total, weights):
    """Property."""
    shares = [weight / sum(weights) for weight in weights]
    parts = split(total, shares)
    assert sum(parts) == total
    for part, share in zip(parts, shares, strict=True):
        assert part == pytest.approx(total * share, abs=1e-4)
        assert part >= 0


@FEW
@given(courses(), st.floats(0, 30_000), st.floats(0, 30_000), st.floats(0, 60))
def test_joining_loses_nothing_and_never_outgrows_the_room(build, soil, straw, room_m3):
    """Property: each kind keeps its sums, each lift is served once, and the fullest day
    grows no fuller than the room unless it was so before."""
    calendar, found = plain(build)
    least = LeastLoad(soil_kg=soil, sand_kg=soil / 2, straw_kg=straw)
    merged = merge(calendar, found, least, room_m3=room_m3)
    for kind in Kind:
        before = [pulse for pulse in found if pulse.kind is kind]
        after = [pulse for pulse in merged if pulse.kind is kind]
        assert sum(p.kg.likely for p in after) == sum(p.kg.likely for p in before)
        served = sorted(number for pulse in after for number in pulse.lifts)
        assert served == [lift.number for lift in calendar.lifts]
    old, new = stock(calendar, found), stock(calendar, merged)
    assert new.fullest.total_m3 <= max(room_m3, old.fullest.total_m3) + 1e-5


@FEW
@given(courses(), st.floats(0, 30_000))
def test_with_room_enough_every_load_is_worth_its_truck(build, least_kg):
    """Property: below the least only when all of the kind is one load."""
    calendar, found = plain(build)
    merged = merge(calendar, found, LeastLoad(least_kg, least_kg, least_kg))
    for kind in (Kind.SOIL, Kind.SAND, Kind.STRAW):
        row = [pulse for pulse in merged if pulse.kind is kind]
        assert len(row) == 1 or all(p.kg.likely >= least_kg for p in row)


@FEW
@given(courses())
def test_everything_lies_there_before_its_lift_begins(build):
    """Property: due before the first day of work, wanted in order, on delivery days."""
    calendar, found = plain(build)
    lifts = {lift.number: lift for lift in calendar.lifts}
    for pulse in found:
        assert pulse.not_before <= pulse.due
        assert pulse.due < lifts[pulse.lifts[0]].first.likely
        if pulse.kind is not Kind.WATER:
            assert pulse.due.weekday() < 5


@FEW
@given(courses())
def test_the_stock_never_runs_short_and_ends_at_nothing(build):
    """Property: what comes is used up, and never before it came."""
    calendar, found = plain(build)
    kept = stock(calendar, found)
    assert all(min(d.soil_m3, d.sand_m3, d.straw_m3) >= -1e-9 for d in kept.days)
    last = calendar.lifts[-1].days[-1]
    share = last.m3 / calendar.lifts[-1].placed_m3
    of_last = sum(stored_m3(p) for p in found if p.lifts == (len(calendar.lifts),))
    assert kept.days[-1].total_m3 == pytest.approx(share * of_last)


def test_dates_of_one_lift_by_hand():
    """Work begins on Monday 10 May. Soil of 30 % soaks a day and is tipped a day before:
    Saturday 8, so Friday 7; sand and straw the day before: Sunday, so Friday; water runs on
    Sunday, when the soaking begins."""
    build = (Course(0, 0.5, 4.5, 0.45),)
    start = MONDAY + timedelta(days=7)
    calendar = build_calendar(build, steady(1.5), every_day(start))
    found = {p.kind: p for p in pulses(calendar, swallowed(build), clay=EXACT(0.3))}
    friday = date(2027, 5, 7)
    assert found[Kind.SOIL].due == found[Kind.SAND].due == friday
    assert found[Kind.STRAW].due == found[Kind.STRAW].not_before == friday
    assert found[Kind.WATER].due == date(2027, 5, 9)
    assert found[Kind.SOIL].not_before == friday - timedelta(days=14)
    assert found[Kind.SAND].used_until == date(2027, 5, 12)


def test_fat_clay_soaks_longer_and_lean_soil_not_at_all():
    """Overnight at least for clay (weblife.org, seen); a ready mix needs none."""
    assert soak_days(EXACT(0.15)) == EXACT(0)
    assert soak_days(EXACT(0.25)) == EXACT(1)
    fat = soak_days(Spread(0.36, 0.5, 0.6))
    assert 1 <= fat.low < fat.likely < fat.high <= 7


def test_a_stated_soaking_overrules_the_clay_share():
    """By hand: five days and one of tipping before Monday 10 May is Tuesday."""
    build = (Course(0, 0.5, 4.5, 0.45),)
    calendar = build_calendar(build, steady(1.5), every_day(MONDAY + timedelta(days=7)))
    found = pulses(calendar, swallowed(build), clay=EXACT(0.1), lead=Lead(soak_days=5))
    soil = next(p for p in found if p.kind is Kind.SOIL)
    assert soil.due == date(2027, 5, 4)


def test_straw_waits_for_the_roof():
    """By hand: a roof from 5 May lets straw come on that day, two weeks ahead at most."""
    build = (Course(0, 0.5, 4.5, 0.45),)
    start = MONDAY + timedelta(days=7)
    calendar = build_calendar(build, steady(1.5), every_day(start))
    lead = Lead(covered_from=date(2027, 5, 5))
    found = pulses(calendar, swallowed(build), clay=EXACT(0.3), lead=lead)
    straw = next(p for p in found if p.kind is Kind.STRAW)
    assert straw.not_before == date(2027, 5, 5)
    assert not pulse_cautions(found, lead)
    late = Lead(covered_from=date(2027, 6, 1))
    for bare in (late, Lead()):
        cautions = pulse_cautions(found, bare)
        assert [c.code for c in cautions] == ["straw_without_roof"]


def test_the_room_is_said_to_be_enough_or_not():
    """By hand: all for a lift of 4.5 m3 lies there on the Friday before: 1.38 loose m3 of
    soil and sand for a m3 of wall (job.md 1.0, computed with another swell) and bales."""
    calendar, found = plain((Course(0, 0.5, 4.5, 0.45),))
    kept = stock(calendar, found)
    earth = kept.fullest.soil_m3 + kept.fullest.sand_m3
    assert earth == pytest.approx(4.5 * 1.38, rel=0.05)
    full = kept.fullest.total_m3
    assert stock(calendar, found, room_m3=full + 0.1).fits
    small = stock(calendar, found, room_m3=full - 0.1)
    assert not small.fits
    assert "more than the room" in small.text
    assert storage(calendar, ()) is None


def test_without_room_loads_stay_small():
    """By hand: two lifts of soil in one load do not fit where one just does."""
    calendar, found = plain(room(), per_day=3.0)
    full = stock(calendar, found).fullest.total_m3
    least = LeastLoad(soil_kg=18_000)
    tight = merge(calendar, found, least, room_m3=full)
    wide = merge(calendar, found, least, room_m3=10 * full)
    assert len(wide) < len(tight) == len(found)


@pytest.mark.parametrize(
    "lead",
    [
        {"soak_days": -1},
        {"early_days": -1},
        {"delivery_weekdays": ()},
        {"delivery_weekdays": (9,)},
    ],
)
def test_lead_times_that_cannot_be_are_refused(lead):
    with pytest.raises(Refused):
        Lead(**lead)


def test_a_load_below_nothing_is_refused():
    with pytest.raises(Refused):
        LeastLoad(soil_kg=-1)


def test_pulses_can_be_written_down_and_read_again():
    """Property: plain data all through."""
    _, found = plain(room())
    adapter = TypeAdapter(tuple[Pulse, ...])
    assert adapter.validate_json(adapter.dump_json(found)) == found
