"""The replay must catch what it is there to catch: each rule is broken in one way.

The plan stays as it is and the question behind it changes, or the other way round; the
plan is made by hand, so that this does not depend on what the planner can do.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from logistics.domain.distances import DistanceTable
from logistics.domain.loads import Bound
from logistics.domain.places import AccessLimits, Place, Point
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Store
from logistics.domain.planning.result import (
    CostLine,
    HaulPlan,
    LineKind,
    Load,
    LowerBound,
    Shift,
    Stop,
    StopKind,
    Trip,
    Unplanned,
)
from logistics.domain.trucks import (
    BodyKind,
    Cargo,
    DeliveryBand,
    DeliveryTariff,
    RestRule,
    Truck,
    TruckRates,
)
from tests.logistics.domain.planning.replay import faults

KM, MINUTE = 1000, 60


def _haul(key: str, origin: int, destination: int, kg: int) -> Haul:
    return Haul(
        key=key,
        cargo=Cargo.STRAW,
        origin=origin,
        destination=destination,
        mass_kg=kg,
        loose_kg_per_m3=100.0,
        pickup_windows=((0, 36_000),),
        drop_windows=((0, 36_000),),
        load_s=600,
        unload_s=300,
        unit_kg=20,
        shared=True,
    )


PROBLEM = PlanProblem(
    places=tuple(Place(f"p{n}", f"place {n}", Point(46, 3)) for n in range(4)),
    distances=DistanceTable(
        metres=np.full((4, 4), 10 * KM) - 10 * KM * np.eye(4, dtype=np.int64),
        seconds=np.full((4, 4), 1200) - 1200 * np.eye(4, dtype=np.int64),
        reachable=np.ones((4, 4), dtype=np.bool_),
        basis="ten kilometres in twenty minutes between any two",
    ),
    trucks=(
        Truck(
            key="t",
            name="flat bed",
            body=BodyKind.FLAT_BED,
            base=0,
            payload_kg=1000,
            body_m3=10.0,
            rates=TruckRates(call_out=5000, per_hour=6000, per_km=100),
            max_shift_s=20_000,
            tare_kg=3000,
            rest=RestRule("rule", 900, after_driving_s=3600, after_work_s=6000),
            cleaning_s=120,
        ),
    ),
    slots=(Slot(0, "d0", 0, 30_000),),
    hauls=(_haul("a", 1, 3, 400), _haul("b", 2, 3, 520), _haul("c", 1, 3, 40)),
)


def _stop(
    kind: StopKind, place: int, begin: int, end: int, trip: int | None = None
) -> Stop:
    drives = kind not in {StopKind.LEAVE, StopKind.REST, StopKind.CLEAN}
    leg = 1200 if drives else 0
    return Stop(kind, place, begin, begin, end, 10 * KM if drives else 0, leg, trip)


# Two farms, one build: 20 min, load 10, 20 min, load 10, rest 15, 20 min, tip 5 (haul b
# first, then a at the same place), 20 min home.
LEAVE = _stop(StopKind.LEAVE, 0, 0, 0)
FIRST = _stop(StopKind.LOAD, 1, 1200, 1800, 0)
SECOND = _stop(StopKind.LOAD, 2, 3000, 3600, 1)
REST = _stop(StopKind.REST, 2, 3600, 4500)
TIP = _stop(StopKind.TIP, 3, 5700, 6000, 1)
LAST = Stop(StopKind.TIP, 3, 6000, 6000, 6300, 0, 0, 0)
BACK = _stop(StopKind.RETURN, 0, 7500, 7500)
# 7500 s at 60.00 an hour are 125.00, 40 km at 1.00 are 40.00.
SHIFT = Shift(
    slot=0,
    stops=(LEAVE, FIRST, SECOND, REST, TIP, LAST, BACK),
    trips=(
        Trip(Load(0, 400, 4.0, None), FIRST, LAST, body=0),
        Trip(Load(1, 520, 5.2, None), SECOND, TIP, body=0),
    ),
    costs=(
        CostLine(LineKind.CALL_OUT, "t", 5000, ""),
        CostLine(LineKind.DRIVING_TIME, "t", 12_500, ""),
        CostLine(LineKind.DRIVING_DISTANCE, "t", 4000, ""),
    ),
)
PLAN = HaulPlan(
    shifts=(SHIFT,),
    unplanned=(Unplanned(2, 40, "x", (), "", proven=False),),
    haul_cost=21_500,
    bound=LowerBound(20_000, "guess"),
    proven_optimal=False,
)

Change = Callable[[PlanProblem], PlanProblem]
Damage = Callable[[HaulPlan], HaulPlan]


def _truck(**change: object) -> Change:
    return lambda p: replace(p, trucks=(replace(p.trucks[0], **change),))  # type: ignore[arg-type]


def _rates(**change: object) -> Change:
    rates = replace(PROBLEM.trucks[0].rates, **change)  # type: ignore[arg-type]
    return _truck(rates=rates)


def _rule(**change: object) -> Change:
    return _truck(rest=replace(RestRule("rule", 900), **change))  # type: ignore[arg-type]


def _first(**change: object) -> Change:
    return lambda p: replace(
        p,
        hauls=(replace(p.hauls[0], **change), *p.hauls[1:]),  # type: ignore[arg-type]
    )


def _place(number: int, **change: object) -> Change:
    def change_it(problem: PlanProblem) -> PlanProblem:
        places = list(problem.places)
        places[number] = replace(places[number], **change)  # type: ignore[arg-type]
        return replace(problem, places=tuple(places))

    return change_it


def _slot(**change: object) -> Change:
    return lambda p: replace(p, slots=(replace(p.slots[0], **change),))  # type: ignore[arg-type]


def _tariff(up_to_m: int) -> DeliveryTariff:
    return DeliveryTariff((DeliveryBand(up_to_m, 100),), waiting_per_hour=1200)


ASKED: list[tuple[str, Change]] = [
    ("another length", lambda p: replace(p, own_ways={"t": replace(p.distances, metres=p.distances.metres + 1)})),
    ("no way leads", lambda p: replace(p, distances=replace(p.distances, reachable=p.distances.reachable & False))),
    ("pickup is closed", _first(pickup_windows=((0, 1500), (1500, 9000)))),
    ("drop is closed", _first(drop_windows=((6001, 9000),))),
    ("without a loader", _first(loader_windows=((1300, 9000),))),
    ("without a loader", _first(loader_windows=())),
    ("loading trip 0 takes", _first(load_s=500)),
    ("tipping trip 0 takes", _first(unload_s=500)),
    ("aboard are too much", _truck(payload_kg=919)),
    ("aboard are too much", _truck(body_m3=9.1)),
    ("weight 3920 is too much for place 2", _place(2, access=AccessLimits(max_gross_kg=3919))),
    ("height 3.5 is too much", lambda p: _place(0, access=AccessLimits(max_height_m=3.4))(_truck(height_m=3.5)(p))),
    ("a flat_bed carries sand", _first(cargo=Cargo.SAND)),
    ("where it does not load", _truck(only_from=frozenset({2}))),
    ("may not ride with another", _first(shared=False)),
    ("names the limit|says another volume", _first(loose_kg_per_m3=50.0)),
    ("pieces are 30 kg", _first(unit_kg=30)),
    ("driving since a rest is 2400", _rule(after_driving_s=2399)),
    ("work since a rest is 3600", _rule(after_work_s=3599)),
    ("driving of the shift is 4800", _rule(most_driving_s=4799)),
    ("work since a rest is 6[0-9]+", _rule(rest_s=901, after_work_s=4000)),
    ("longer than the longest", _truck(max_shift_s=7499)),
    ("outside the hours", _slot(earliest=1)),
    ("outside the hours", _slot(latest=7499)),
    ("it goes from 0 to 0, not 0 to 3", _slot(end=3)),
    ("is left at", _truck(base=1)),
    ("2 loads at place 3 on d0", _place(3, loads_a_day=1)),
    ("m3 in barn on d0", lambda p: replace(p, stores=(Store("barn", (0, 1), (("d0", 9.1),)),))),
    ("m3 in barn on d5", lambda p: replace(p, stores=(Store("barn", (1,), (("d5", 5.1),)),))),
    ("overtime is billed at 0, due is 25", _rates(overtime_after_s=7400, overtime_per_hour=900)),
    ("driving_time is billed at 12500, due is 13000", _rates(minimum_hire_s=7800)),
    ("per_load is billed at 0, due is 14", _rates(per_load=7)),
    # 0.4 t and 0.52 t at 12.51 are 500.4 and 650.52, each rounded.
    ("per_tonne is billed at 0, due is 1151", _rates(per_tonne=1251)),
    ("delivery is billed at 0, due is 200", _rates(delivery=_tariff(10 * KM))),
    ("waiting is billed at 0, due is 200", _rates(delivery=_tariff(10 * KM))),
    ("farther than the tariff", _rates(delivery=_tariff(9 * KM))),
    ("loading is billed at 0, due is 9", _first(loading_fee=9)),
    ("haul 0: 400 of 420 kg", _first(mass_kg=420)),
]  # fmt: skip


@pytest.mark.parametrize(("fault", "change"), ASKED, ids=[own[0] for own in ASKED])
def test_a_plan_that_breaks_one_rule_is_caught(fault: str, change: Change) -> None:
    """Property; the figures in the faults are worked by hand from the times above."""
    assert faults(PROBLEM, PLAN) == []
    with pytest.raises(AssertionError, match=fault):
        _sound(change(PROBLEM), PLAN)


def _sound(problem: PlanProblem, plan: HaulPlan) -> None:
    found = faults(problem, plan)
    if found:
        raise AssertionError("; ".join(found))


def _shift(**change: object) -> Damage:
    return lambda plan: replace(plan, shifts=(replace(SHIFT, **change),))  # type: ignore[arg-type]


def _stops(*stops: Stop) -> Damage:
    return _shift(stops=stops)


CLEAN = _stop(StopKind.CLEAN, 2, 4500, 4620)

ANSWERED: list[tuple[str, Damage]] = [
    ("it rests on the road", _stops(LEAVE, FIRST, SECOND, replace(REST, place=1), TIP, LAST, BACK)),
    ("a clean is not where the truck stands", _stops(LEAVE, FIRST, SECOND, REST, replace(CLEAN, place=1), TIP, LAST, BACK)),
    ("a full body is cleaned", _stops(LEAVE, FIRST, SECOND, REST, CLEAN, TIP, LAST, BACK)),
    ("it arrives at", _stops(LEAVE, FIRST, SECOND, TIP, LAST, BACK)),
    ("not every trip is loaded and tipped", _stops(LEAVE, FIRST, SECOND, REST, TIP, BACK)),
    ("tipped without being aboard", _stops(LEAVE, SECOND, TIP, FIRST, LAST, LAST, BACK)),
    ("after the first of its body was tipped", _stops(LEAVE, SECOND, FIRST, TIP, FIRST, LAST, BACK)),
    ("onto another body's load", _shift(trips=(SHIFT.trips[0], replace(SHIFT.trips[1], body=1)))),
    ("loaded elsewhere", _shift(trips=(replace(SHIFT.trips[0], pickup=SECOND), SHIFT.trips[1]))),
    ("leaving to returning", _stops(FIRST, SECOND, REST, TIP, LAST, BACK)),
    ("call_out is billed at 0", _shift(costs=SHIFT.costs[1:])),
    ("lines sum to 21500", lambda plan: replace(plan, haul_cost=21_400)),
    ("is above the cost", lambda plan: replace(plan, bound=LowerBound(21_501, ""))),
    ("called proven", lambda plan: replace(plan, proven_optimal=True)),
    ("haul 2: 0 of 40 kg", lambda plan: replace(plan, unplanned=())),
    ("drives 2 shifts on d0", lambda plan: replace(plan, shifts=(SHIFT, SHIFT))),
    ("drives two shifts at once", lambda plan: replace(plan, shifts=(SHIFT, SHIFT))),
]  # fmt: skip


@pytest.mark.parametrize(
    ("fault", "damage"), ANSWERED, ids=[own[0] for own in ANSWERED]
)
def test_a_damaged_plan_is_caught(fault: str, damage: Damage) -> None:
    """Property."""
    with pytest.raises(AssertionError, match=fault):
        _sound(PROBLEM, damage(PLAN))


def test_one_truck_at_once_is_counted_over_all_shifts_but_touching_ends_are_not() -> (
    None
):
    """Property: two flat beds in step tip together; one a tipping later does not."""
    narrow = _place(3, at_once=1)(
        replace(
            PROBLEM,
            trucks=(PROBLEM.trucks[0], replace(PROBLEM.trucks[0], key="u")),
            slots=(PROBLEM.slots[0], replace(PROBLEM.slots[0], truck=1)),
        )
    )

    def twin(later: int) -> HaulPlan:
        def moved(stop: Stop) -> Stop:
            times = {n: getattr(stop, n) + later for n in ("arrive", "begin", "end")}
            return replace(stop, **times)

        trips = tuple(
            replace(t, pickup=moved(t.pickup), drop=moved(t.drop)) for t in SHIFT.trips
        )
        other = replace(
            SHIFT, slot=1, stops=tuple(map(moved, SHIFT.stops)), trips=trips
        )
        return replace(PLAN, shifts=(SHIFT, other))

    def crowded(later: int) -> bool:
        return any(
            "trucks at place 3" in fault for fault in faults(narrow, twin(later))
        )

    assert [crowded(later) for later in (0, 599, 600, 601)] == [
        True,
        True,
        False,
        False,
    ]


def test_another_cargo_is_loaded_only_after_cleaning() -> None:
    """Property: Bound, cargo and cleaning of two tippers' loads in a row, by hand."""
    haul = replace(PROBLEM.hauls[0], cargo=Cargo.SAND, shared=False, unit_kg=1)
    sand = replace(haul, destination=2, mass_kg=1000)
    soil = replace(sand, key="s", cargo=Cargo.SUBSOIL, origin=2, destination=1)
    truck = replace(PROBLEM.trucks[0], body=BodyKind.TIPPER, rest=None)
    problem = replace(PROBLEM, trucks=(truck,), hauls=(sand, soil))
    one, tip = (
        _stop(StopKind.LOAD, 1, 1200, 1800, 0),
        _stop(StopKind.TIP, 2, 3000, 3300, 0),
    )
    clean = _stop(StopKind.CLEAN, 2, 3300, 3420)

    def plan(*, cleaned: bool) -> HaulPlan:
        start = 3420 if cleaned else 3300
        two = Stop(StopKind.LOAD, 2, start, start, start + 600, 0, 0, 1)
        end = _stop(StopKind.TIP, 1, start + 1800, start + 2100, 1)
        back = _stop(StopKind.RETURN, 0, start + 3300, start + 3300)
        stops = (LEAVE, one, tip, *([clean] if cleaned else []), two, end, back)
        load = Load(0, 1000, 10.0, Bound.MASS)
        trips = (Trip(load, one, tip, 0), Trip(replace(load, haul=1), two, end, 1))
        hours = 6000 * (start + 3300) / 3600
        costs = (
            SHIFT.costs[0],
            replace(SHIFT.costs[1], amount=int(hours + 0.5)),
            SHIFT.costs[2],
        )
        cost = sum(line.amount for line in costs)
        shift = Shift(0, stops, trips, costs)
        return HaulPlan((shift,), (), cost, LowerBound(0, ""), proven_optimal=False)

    found = faults(problem, plan(cleaned=False))
    assert found == ["shift 0: subsoil is loaded after sand without cleaning"]
    assert faults(problem, plan(cleaned=True)) == []
