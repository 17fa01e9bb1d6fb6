"""Each thing that can happen, on a day small enough to reckon by hand (property)."""

from __future__ import annotations

import pytest

from logistics.domain.errors import Refused
from logistics.domain.living.arrivals import Arrival, Facts, LoadAt, Reason
from logistics.domain.living.disruptions import (
    DigStopped,
    MassChanged,
    PlaceClosed,
    RunsLate,
    TruckAdded,
    TruckOut,
    TurnedAway,
)
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import Slot
from logistics.domain.planning.result import StopKind
from tests.logistics.domain.living.day import (
    ADA,
    DOT,
    HOUR,
    anew,
    clock,
    haul,
    kinds,
    moments,
    planned,
    tipper,
    world,
)

BOTH = (0, 1)


def test_nothing_happens_and_nothing_changes():
    problem = world(haul("ada > ben", ADA, 24_000, BOTH))
    plan = planned(problem)
    new = anew(problem, plan, 0)
    assert new.plan.shifts == plan.shifts
    assert set(kinds(new)) == {"kept"}
    assert new.extra_cost == 0


def test_a_truck_that_breaks_down_leaves_its_rest_to_the_next_day():
    """It leaves the depot at 7:30 and each load takes two hours: at 11:00 the first is
    tipped and the second aboard."""
    problem = world(haul("ada > ben", ADA, 24_000, BOTH))
    plan = planned(problem)
    assert [len(shift.trips) for shift in plan.shifts] == [3]
    now = clock(0, 11)
    new = anew(problem, plan, now, TruckOut("tipper-1", now, clock(1, 0)))
    (broken,) = new.past
    assert len(broken.trips) == 1
    assert broken.back.kind is StopKind.LOAD
    assert broken.duration_s == now - broken.leave.begin
    (rest,) = new.plan.shifts
    assert problem.slots[rest.slot].day == "d1"
    assert [trip.load.mass_kg for trip in rest.trips] == [8000, 8000]
    assert kinds(new) == {"kept": 1, "moved": 2}
    assert new.extra_cost > 0


def test_a_second_truck_takes_over_and_its_own_loads_stay():
    problem = world(
        haul("ada > ben", ADA, 24_000, (0,)),
        haul("dot > ben", DOT, 24_000, (0,)),
        trucks=2,
        days=1,
    )
    plan = planned(problem)
    early = min(shift.leave.begin for shift in plan.shifts) - 60
    assert len(plan.shifts) == 2
    gone = plan.shifts[0]
    truck = problem.trucks[problem.slots[gone.slot].truck].key
    new = anew(problem, plan, early, TruckOut(truck, early))
    others = moments(plan.shifts[1:])
    assert set(others) <= set(moments(new.plan.shifts))


def test_a_pit_that_closes_early_moves_what_it_would_have_loaded():
    problem = world(
        haul("ada > ben", ADA, 16_000, BOTH), haul("dot > ben", DOT, 8_000, BOTH)
    )
    plan = planned(problem)
    now = clock(0, 7)
    closed = PlaceClosed("ada", clock(0, 9), clock(1, 0))
    new = anew(problem, plan, now, closed)
    assert not new.plan.unplanned
    for shift in new.plan.shifts:
        for trip in shift.trips:
            if trip.load.haul == 0:
                assert not clock(0, 9) < trip.pickup.end <= clock(1, 0)
    untouched = [own for own in moments(plan.shifts) if own[1] == 1]
    assert set(untouched) <= set(moments(new.plan.shifts))


def test_rain_stops_the_dig_but_not_the_tip():
    problem = world(
        haul("ada > ben", ADA, 16_000, BOTH), haul("dot > ben", DOT, 8_000, (0,))
    )
    plan = planned(problem)
    new = anew(problem, plan, 0, DigStopped("ada", 0, clock(1, 0)))
    days = {
        (trip.load.haul, problem.slots[shift.slot].day)
        for shift in new.plan.shifts
        for trip in shift.trips
    }
    assert days == {(0, "d1"), (1, "d0")}


def test_rain_that_outlasts_the_plan_leaves_loads_behind_with_reasons():
    problem = world(haul("ada > ben", ADA, 16_000, BOTH))
    plan = planned(problem)
    new = anew(problem, plan, 0, DigStopped("ada", 0))
    assert not new.plan.shifts
    assert new.left_after_kg == 16_000
    assert all(own.reasons and own.remedy for own in new.plan.unplanned)
    assert kinds(new) == {"dropped": 2}


@pytest.mark.parametrize("again", [True, False])
def test_a_refused_load_is_charged_and_comes_again_only_if_it_is_wanted(again):
    problem = world(haul("ada > ben", ADA, 16_000, BOTH))
    plan = planned(problem)
    now = plan.shifts[0].trips[0].drop.end
    new = anew(problem, plan, now, TurnedAway(0, 0, comes_again=again))
    carried = sum(t.load.mass_kg for s in new.shifts for t in s.trips)
    assert carried == (24_000 if again else 16_000)
    assert (new.extra_cost > 0) is again
    assert set(moments(plan.shifts)) <= set(moments(new.shifts))


def test_a_refusal_by_ticket_counts_like_one_that_is_told():
    problem = world(haul("ada > ben", ADA, 16_000, BOTH))
    plan = planned(problem)
    now = plan.shifts[0].trips[0].drop.end
    ticket = Arrival(accepted=False, at=now, reason=Reason.TOO_WET)
    by_ticket = anew(problem, plan, now, done=Facts(arrivals={LoadAt(0, 0): ticket}))
    told = anew(problem, plan, now, TurnedAway(0, 0))
    assert by_ticket.plan == told.plan


def test_a_fifth_more_fills_bodies_before_a_truck_is_sent():
    """20 t in loads of 8, 8 and 4: 4 t more fit the last body."""
    problem = world(haul("ada > ben", ADA, 20_000, BOTH))
    plan = planned(problem)
    new = anew(problem, plan, 0, MassChanged("ada > ben", 20))
    assert moments(new.plan.shifts) == moments(plan.shifts)
    assert new.problem.hauls[0].mass_kg == 24_000
    assert new.extra_cost == 0


def test_more_than_the_bodies_hold_gets_a_load_of_its_own():
    problem = world(haul("ada > ben", ADA, 16_000, BOTH))
    plan = planned(problem)
    new = anew(problem, plan, 0, MassChanged("ada > ben", 50))
    assert kinds(new) == {"kept": 2, "added": 1}
    assert new.problem.hauls[0].mass_kg == 24_000


def test_less_of_a_haul_takes_the_last_loads_away():
    problem = world(haul("ada > ben", ADA, 24_000, BOTH))
    plan = planned(problem)
    new = anew(problem, plan, 0, MassChanged("ada > ben", -50))
    masses = [t.load.mass_kg for s in new.plan.shifts for t in s.trips]
    assert masses == [8000, 4000]
    assert set(moments(new.plan.shifts)) == set(moments(plan.shifts)[:2])
    assert new.extra_cost < 0


def test_a_truck_more_carries_what_was_left():
    problem = world(haul("ada > ben", ADA, 48_000, (0,)), days=1)
    plan = plan_hauls(problem)
    assert plan.unplanned
    slot = Slot(0, "d0", clock(0, 7), clock(0, 18))
    new = anew(problem, plan, 0, TruckAdded(tipper(9), (slot,)))
    assert not new.plan.unplanned
    assert set(moments(plan.shifts)) <= set(moments(new.plan.shifts))


def test_a_late_shift_keeps_what_still_fits_and_moves_the_rest():
    """Three loads end at 13:30 and the site closes at 17: an hour is only a delay, five
    hours cost the last two loads their day."""
    problem = world(haul("ada > ben", ADA, 24_000, BOTH))
    plan = planned(problem)
    leave = plan.shifts[0].leave.begin
    hour = anew(problem, plan, leave, RunsLate("tipper-1", "d0", 60))
    before, after = moments(plan.shifts), moments(hour.plan.shifts)
    assert [b[2] + HOUR for b in before] == [a[2] for a in after]
    far = anew(problem, plan, leave, RunsLate("tipper-1", "d0", 300))
    assert not far.plan.unplanned
    days = [problem.slots[s.slot].day for s in far.plan.shifts for _ in s.trips]
    assert days.count("d0") < 3
    assert days.count("d1") == 3 - days.count("d0")


def test_what_is_unknown_or_senseless_is_refused():
    problem = world(haul("ada > ben", ADA, 8_000, BOTH))
    plan = planned(problem)
    for wrong, code in (
        (TruckOut("nobody", 0), "unknown_truck"),
        (PlaceClosed("nowhere", 0), "unknown_place"),
        (MassChanged("nothing", 5), "unknown_haul"),
        (MassChanged("ada > ben", -101), "percent_out_of_range"),
        (RunsLate("tipper-1", "d0", 0), "minutes_out_of_range"),
        (DigStopped("ada", 9, 9), "window_ends_before_it_begins"),
    ):
        with pytest.raises(Refused) as refused:
            anew(problem, plan, 0, wrong)
        assert refused.value.problems[0].code == code


def test_a_load_that_is_being_loaded_when_rain_begins_still_comes():
    problem = world(haul("ada > ben", ADA, 16_000, BOTH))
    plan = planned(problem)
    now = plan.shifts[0].trips[0].pickup.begin + 60
    new = anew(problem, plan, now, DigStopped("ada", now, clock(1, 0)))
    assert moments(plan.shifts)[0] in moments(new.plan.shifts)
    assert not new.plan.unplanned
