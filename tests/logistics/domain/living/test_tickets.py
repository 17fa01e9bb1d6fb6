"""What a ticket may say, and what the tickets of a plan add up to (property)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logistics.domain.errors import Refused
from logistics.domain.living.arrivals import (
    Arrival,
    Finding,
    GateCheck,
    LoadAt,
    Reason,
)
from logistics.domain.living.disruptions import TruckOut
from logistics.domain.living.reconciling import reconcile
from logistics.domain.planning.result import StopKind
from logistics.domain.trucks import EU_561, Cargo
from tests.logistics.domain.living.day import (
    ADA,
    DOT,
    anew,
    clock,
    haul,
    planned,
    tipper,
    world,
)

SUSPECT = GateCheck(asbestos_suspect=True)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"accepted": True}, "amount_missing"),
        ({"accepted": True, "moist_kg": 0}, "amount_missing"),
        ({"accepted": False}, "reason_missing"),
        ({"accepted": True, "moist_kg": 9, "check": SUSPECT}, "suspect_asbestos"),
        (
            {"accepted": True, "moist_kg": 9, "check": GateCheck(smell=Finding.WRONG)},
            "load_in_doubt",
        ),
    ],
)
def test_a_ticket_without_sense_is_refused(given, code):
    """Any visible suspect fragment stops the load (job study 3.1, NSW EPA leaflet)."""
    with pytest.raises(Refused) as refused:
        Arrival(at=0, **given)
    assert refused.value.problems[0].code == code


def test_a_load_with_suspect_asbestos_can_only_be_refused():
    own = Arrival(accepted=False, at=0, reason=Reason.SUSPECT_ASBESTOS, check=SUSPECT)
    assert own.kg(1000) == 0


def test_the_weighbridge_counts_before_the_volume_and_the_volume_before_nothing():
    assert Arrival(accepted=True, at=0, moist_kg=7810, loose_m3=9.0).kg(1000) == 7810
    assert Arrival(accepted=True, at=0, loose_m3=7.5).kg(1200) == 9000


def test_planned_and_arrived_are_reconciled():
    """Of 32 t: 7.6 t weighed, one load refused for good, one refused and wanted, one to
    come."""
    problem = world(haul("ada > ben", ADA, 32_000, (0, 1)))
    plan = planned(problem)
    every = [
        LoadAt(s, t) for s, own in enumerate(plan.shifts) for t in range(len(own.trips))
    ]
    assert len(every) == 4
    wet = Arrival(accepted=False, at=0, reason=Reason.TOO_WET)
    told = {
        every[0]: Arrival(accepted=True, at=0, moist_kg=7600),
        every[1]: replace(wet, comes_again=False),
        every[2]: wet,
    }
    (own,) = reconcile(problem, plan.shifts, told, [32_000])
    assert (own.arrived_kg, own.estimated_kg, own.refused_kg) == (7600, 8000, 16_000)
    assert (own.open_kg, own.given_up_kg) == (8000, 8000)
    assert own.to_come_kg == 32_000 - 7600 - 8000
    assert own.unplanned_kg == own.to_come_kg - 8000
    assert own.estimate_error == pytest.approx(-0.05)


def test_loads_put_into_kept_shifts_are_cleaned_and_rested_for():
    """A sand shift takes over a load of soil of a truck that is out: the body is cleaned
    between the two, and 4.5 h of driving are never passed (the check of plans says so)."""
    soil = haul("ada > ben", ADA, 8_000, (0,))
    sand = replace(haul("dot > ben", DOT, 8_000, (0,)), cargo=Cargo.SAND)
    problem = world(soil, sand, trucks=2, days=1)
    trucks = tuple(
        tipper(number, cleaning_s=900, rest=EU_561, only_from=frozenset((pit,)))
        for number, pit in ((1, ADA), (2, DOT))
    )
    plan = planned(replace(problem, trucks=trucks))
    problem = replace(problem, trucks=(trucks[0], replace(trucks[1], only_from=None)))
    early = clock(0, 6)
    new = anew(problem, plan, early, TruckOut("tipper-1", early))
    (shift,) = new.plan.shifts
    assert not new.plan.unplanned
    assert [stop.kind for stop in shift.stops].count(StopKind.CLEAN) == 1
