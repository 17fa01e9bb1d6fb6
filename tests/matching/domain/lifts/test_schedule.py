"""The whole of a build on the calendar, and its dated needs on the days of a plan.

Sums and dates are properties or worked by hand; the rates behind them are sourced where
they are defined.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.calendar import ALWAYS, Span, WeeklyHours
from logistics.domain.errors import Refused
from logistics.domain.quantities import End
from logistics.domain.trucks import Cargo
from matching.domain.builds import Build, TypedNeed, demands, wall_needs
from matching.domain.dated import dated
from matching.domain.lifts.batches import OVERDUE_DAYS, Gate, batches
from matching.domain.lifts.merging import LeastLoad
from matching.domain.lifts.progress import Built, Received
from matching.domain.lifts.pulses import Kind, Lead
from matching.domain.lifts.schedule import Schedule, scheduled, usual_lift_m
from matching.domain.takeoff import MixTarget, take_off_of
from matching.domain.walls.wall import Kind as WallKind
from matching.domain.walls.wall import Wall
from tests.matching.domain.lifts.builds import MONDAY, days, every_day, steady

UTC_ZONE = ZoneInfo("UTC")
MIX = MixTarget()
# 10 m x 2 m x 0.5 m = 10 m3, in four lifts of 0.5 m and 2.5 m3.
WALLS = (Wall.straight(10, 2, 0.5),)
NINE_TO_FIVE = WeeklyHours.daily(Span(time(9), time(17)))
SEVEN_TO_SEVEN = WeeklyHours.daily(Span(time(7), time(19)))


def schedule(**more: Any) -> Schedule:
    """A lift in two days and a half, five days of drying: 2.5 m3 at 1 m3 a day."""
    usual: dict[str, Any] = {
        "crew": steady(1.0),
        "pattern": every_day(),
        "drying": days(5),
        "lead": Lead(delivery_weekdays=tuple(range(7))),
        "by_lift": True,
    }
    return Schedule(**usual | more)


def hut(**more: Any) -> Build:
    return Build("hut", "Hut", 0, walls=WALLS, schedule=schedule(**more))


def plan_days(first: date, count: int) -> tuple[date, ...]:
    return tuple(first + timedelta(days=n) for n in range(count))


def days_of(windows: Iterable[tuple[int, int]]) -> set[date]:
    return {datetime.fromtimestamp(begin, UTC).date() for begin, _ in windows}


def test_lifts_follow_each_other_with_their_drying_between():
    """By hand: three work days (1 + 1 + 0.5 m3), and the next five days after the third:
    2 + 5 = 7 days on."""
    own = scheduled(WALLS, MIX, schedule())
    assert own.calendar is not None
    firsts = [lift.first.likely for lift in own.calendar.lifts]
    assert firsts == [MONDAY + timedelta(days=7 * n) for n in range(4)]


def test_a_lift_is_as_high_as_the_thinnest_wall_is_wide_and_benches_do_not_count():
    """Keefe, as `lift_height` quotes him; 0.6 m at most in fine soils."""
    outer, inner = Wall.straight(5, 2, 0.55), Wall.straight(3, 2, 0.3)
    bench = Wall(2.0, 0.5, 0.25, kind=WallKind.BENCH)
    assert usual_lift_m((outer, inner, bench)) == 0.3
    assert usual_lift_m((outer, bench)) == 0.55
    assert usual_lift_m((Wall.straight(5, 2, 0.9),)) == 0.6
    assert usual_lift_m((bench,)) == 0.25


def test_a_bench_thinner_than_the_lifts_are_high_is_cautioned():
    """Keefe, as `lift_height` quotes him: no higher than wide. The bench of 0.3 m stands
    0.45 m high beside lifts of 0.6 m; one as low as it is wide needs no word."""

    def told(bench_high: float) -> list[str]:
        bench = Wall(2.0, bench_high, 0.3, kind=WallKind.BENCH)
        walls = (Wall.straight(5, 2.4, 0.6), bench)
        own = scheduled(walls, MIX, schedule())
        assert own.lift_m == 0.6
        return [
            caution.found
            for caution in own.cautions
            if caution.code == "lift_higher_than_wall_is_wide"
        ]

    assert told(0.45) == ["wall 2: 0.45 m"]
    assert told(0.3) == []


@settings(max_examples=40)
@given(
    placed=st.floats(0, 9.5),
    least=st.floats(0, 20_000),
    soil=st.floats(0, 9000),
    by_lift=st.booleans(),
)
def test_pulses_and_batches_sum_to_what_is_left_less_what_lies_there(
    placed, least, soil, by_lift
):
    """Property: putting loads together neither loses nor adds."""
    own_schedule = schedule(
        built=(Built(MONDAY, placed, 4.0),),
        received=(Received(Kind.SOIL, soil, on_hand_kg=soil),),
        least=LeastLoad(least, least, least / 100),
        by_lift=by_lift,
    )
    own = scheduled(WALLS, MIX, own_schedule)
    left = take_off_of(10 - placed, MIX)
    assert own.takeoff.mineral_dry_kg.likely == pytest.approx(
        left.mineral_dry_kg.likely
    )
    came = {
        kind: sum(p.kg.likely for p in own.pulses if p.kind is kind) for kind in Kind
    }
    assert came[Kind.SAND] == pytest.approx(left.sand_moist_kg.likely)
    assert came[Kind.STRAW] == pytest.approx(left.straw_kg.likely)
    assert came[Kind.SOIL] == pytest.approx(
        max(0.0, left.soil_moist_kg.likely - soil), abs=1e-3
    )
    wants = wall_needs(Build("hut", "Hut", 0, walls=WALLS, schedule=own_schedule))
    assert wants is not None
    dated_kg = {
        need: sum(b.dry_kg.likely for b in batches(own) if b.need == need)
        for need in ("mineral", "straw")
    }
    assert dated_kg["mineral"] == pytest.approx(wants.mineral_dry_kg.likely)
    assert dated_kg["straw"] == pytest.approx(wants.straw_kg.likely)


def test_with_nothing_built_or_received_a_calendar_asks_for_what_the_walls_do():
    """Property."""
    plain = Build("hut", "Hut", 0, walls=WALLS)
    assert wall_needs(plain) == wall_needs(hut(by_lift=False))


def test_a_finished_build_wants_nothing():
    own = scheduled(WALLS, MIX, schedule(built=(Built(MONDAY, 10.0, 10),)))
    assert own.calendar is None
    assert own.takeoff.placed_m3 == 0
    assert (own.pulses, batches(own), own.storage) == ((), (), None)


def test_sand_alone_is_wanted_where_the_soil_for_a_lift_lies_there():
    """By hand: all the soil of the first lift is on site, its sand is not."""
    first = scheduled(WALLS, MIX, schedule()).single
    lying = next(p.kg.high for p in first if p.kind is Kind.SOIL)
    own = scheduled(WALLS, MIX, schedule(received=(Received(Kind.SOIL, lying, lying),)))
    found = {batch.lifts: batch for batch in batches(own) if batch.need == "mineral"}
    assert found[(1,)].cargoes == {Cargo.SAND}
    assert found[(4,)].cargoes == {Cargo.SAND, Cargo.SUBSOIL}
    assert any(caution.code == "stock_counted" for caution in own.cautions)


def test_each_lift_is_a_demand_in_its_own_days():
    """Property: windows lie between the first and the last day wanted."""
    build = dated(hut(), Gate(ALWAYS, UTC_ZONE), plan_days(date(2027, 4, 10), 60))
    found = demands((build,))
    assert [d.key for d in found] == [
        *(f"hut/mineral-{n}" for n in range(1, 5)),
        *(f"hut/straw-{n}" for n in range(1, 5)),
    ]
    for demand in found:
        assert demand.days is not None
        assert demand.windows
        first, last = demand.days
        assert all(first <= day <= last for day in days_of(demand.windows))
    whole = wall_needs(build)
    assert whole is not None
    for end in End:
        mineral = [d for d in demands((build,), at=end) if d.blend]
        assert sum(d.dry_kg for d in mineral) == pytest.approx(
            whole.mineral_dry_kg.at(end)
        )
    assert sum(d.wall_m3 or 0 for d in found if d.blend) == pytest.approx(10)


def test_what_is_overdue_comes_in_the_first_open_days():
    build = dated(hut(), Gate(ALWAYS, UTC_ZONE), plan_days(MONDAY, 20))
    assert build.batches is not None
    first = build.batches[0]
    assert first.due < MONDAY
    assert first.windows is not None
    assert days_of(first.windows) == set(plan_days(MONDAY, OVERDUE_DAYS))


def test_what_nobody_wants_yet_is_left_for_a_later_plan():
    build = dated(hut(), Gate(ALWAYS, UTC_ZONE), plan_days(MONDAY, 3))
    assert build.batches is not None
    later = [batch for batch in build.batches if batch.windows is None]
    assert later
    assert all(batch.not_before > MONDAY + timedelta(days=2) for batch in later)
    asked = {demand.key for demand in demands((build,))}
    assert not asked & {f"hut/{batch.key}" for batch in later}


def test_a_delivery_moves_ahead_where_the_site_is_shut_on_its_day():
    """By hand: straw is due on Sunday 2 May; the site opens on Fridays alone."""
    fridays = WeeklyHours.daily(Span(time(8), time(12)), weekdays=(4,))
    build = dated(hut(), Gate(fridays, UTC_ZONE), plan_days(date(2027, 4, 19), 20))
    assert build.batches is not None
    straw = next(batch for batch in build.batches if batch.need == "straw")
    assert straw.due == date(2027, 5, 2)
    assert straw.windows is not None
    assert days_of(straw.windows) == {date(2027, 4, 30)}


def test_a_site_that_is_never_open_leaves_no_moment():
    gate = Gate(ALWAYS, UTC_ZONE, last=date(2027, 1, 1))
    build = dated(hut(), gate, plan_days(MONDAY, 10))
    assert build.windows == ()
    assert {batch.windows for batch in build.batches or ()} <= {(), None}


@pytest.mark.parametrize("by_lift", [True, False])
def test_no_truck_comes_among_volunteers_on_a_work_day(by_lift):
    """job.md: delivery hours apart from volunteer hours. Half an hour on either side."""
    build = dated(
        hut(by_lift=by_lift, volunteers=NINE_TO_FIVE),
        Gate(SEVEN_TO_SEVEN, UTC_ZONE),
        plan_days(date(2027, 4, 26), 14),
    )
    everything = [build.windows, *(b.windows or () for b in build.batches or ())]
    seen = set()
    for begin, end in (window for windows in everything for window in windows):
        opens, closes = (datetime.fromtimestamp(at, UTC) for at in (begin, end))
        seen.add(opens.date() >= MONDAY)
        if opens.date() >= MONDAY:
            assert closes.time() <= time(8, 30) or opens.time() >= time(17, 30)
        else:
            assert (opens.time(), closes.time()) == (time(7), time(19))
    assert seen == {True, False}


def test_sand_comes_in_the_time_of_its_soil_only_by_lift():
    """One blend is chosen for both, so they are one demand."""
    for by_lift in (True, False):
        own = scheduled(WALLS, MIX, schedule(by_lift=by_lift))
        soil, sand = (
            [p.due for p in own.pulses if p.kind is kind]
            for kind in (Kind.SOIL, Kind.SAND)
        )
        assert (soil == sand) is by_lift


def test_too_little_room_is_said():
    own = scheduled(WALLS, MIX, schedule(), 1.0)
    assert own.storage is not None
    assert not own.storage.fits
    assert "storage_too_small" in {caution.code for caution in own.cautions}


def test_what_lies_on_site_takes_room_until_it_is_used():
    """By hand: 30.4 t at 2480 lb/yd3 (1471 kg/m3, as the material is counted) are 20.7 m3,
    all of it there on the first day of work, and nothing of soil still to come."""
    stock = (Received(Kind.SOIL, 30_400, 30_400),)
    own = scheduled(WALLS, MIX, schedule(received=stock), 10.0)
    assert own.storage is not None
    assert not own.storage.fits
    assert own.storage.fullest.soil_m3 == pytest.approx(20.66, abs=0.01)
    assert "storage_too_small" in {caution.code for caution in own.cautions}
    plenty = scheduled(WALLS, MIX, schedule(received=stock), 100.0)
    assert plenty.storage is not None
    assert plenty.storage.fits
    soil = [day.soil_m3 for day in plenty.storage.days]
    comes = sum(p.loose_m3.likely for p in own.pulses if p.kind is Kind.SOIL)
    whole = own.whole.soil_loose_m3.likely
    assert min(soil) < soil[0]
    # Before the last work day all is used but that day's part and what nobody wants.
    last = plenty.storage.days[-1]
    assert own.calendar is not None
    part = own.calendar.lifts[-1].days[-1].m3 / 10
    left = max(0.0, 30_400 / 1471.3 + comes - whole)
    assert last.soil_m3 == pytest.approx(whole * part + left, abs=0.05)


def test_straw_that_lies_there_takes_the_room_of_its_bales():
    """By hand: 160 kg in bales of 16 kg and 0.149 m3 are ten, 1.49 m3."""
    own = scheduled(
        WALLS, MIX, schedule(received=(Received(Kind.STRAW, 160, 160),)), 100.0
    )
    plain = scheduled(WALLS, MIX, schedule(), 100.0)
    assert own.storage is not None
    assert plain.storage is not None
    # On the first day of all only what lay there is stored: soil comes, straw does not yet.
    assert own.storage.days[0].straw_m3 == pytest.approx(1.49, abs=0.01)
    assert plain.storage.days[0].straw_m3 == 0


def test_lifts_without_number_are_refused():
    high = (Wall.straight(5, 20, 0.5),)
    with pytest.raises(Refused) as refused:
        scheduled(high, MIX, schedule(lift_m=0.1))
    assert refused.value.problems[0].code == "too_many_lifts"


def test_a_calendar_needs_walls_and_its_numbered_keys():
    need = TypedNeed("mineral-1", Cargo.SAND, 1000.0)
    broken: tuple[tuple[dict[str, Any], str], ...] = (
        ({"walls": ()}, "calendar_without_walls"),
        ({"needs": (need,)}, "key_used_twice"),
    )
    for bad, code in broken:
        with pytest.raises(Refused) as refused:
            replace(hut(), **bad)
        assert refused.value.problems[0].code == code
    assert Build("hut", "Hut", 0, walls=WALLS, needs=(need,)).needs == (need,)
