"""Worked examples of handbooks on hauling earth: cycle, number of trucks, production."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.production import (
    Cycle,
    Fleet,
    balance_number,
    cheapest_fleet,
    drive_s,
    trucks_to_keep_busy,
)

MILE_M = 1609.344
HOUR_S, MINUTE_S = 3600, 60
# A round of 39.5 min, of which loading takes 5.5 min; how the rest divides is not given.
# 12.53 m3 an hour and truck, and 90 m3 an hour of the loader, both come from 8.25 m3.
COURSE = Cycle(
    load_s=5.5 * MINUTE_S, ride_s=20 * MINUTE_S, tip_s=0, back_s=14 * MINUTE_S
)
LOAD_M3 = 8.25

seconds = st.floats(0, 7200)
cycles = st.builds(Cycle, st.floats(30, 3600), seconds, seconds, seconds)


def test_the_cycle_of_a_truck_on_seven_miles_of_road() -> None:
    """12 yd3 at 95 yd3/h, 7 mi at 30 and at 40 mph, 3 min to dump: 0.126 + 0.233 + 0.050
    + 0.175 = 0.584 h (scribd.com/document/472604844)."""
    mph = MILE_M / 1000
    cycle = Cycle(
        load_s=12 / 95 * HOUR_S,
        ride_s=drive_s(7 * MILE_M, 30 * mph),
        tip_s=3 * MINUTE_S,
        back_s=drive_s(7 * MILE_M, 40 * mph),
    )
    parts = (cycle.load_s, cycle.ride_s, cycle.tip_s, cycle.back_s)
    hours = [round(part / HOUR_S, 3) for part in parts]
    assert hours == [0.126, 0.233, 0.050, 0.175]
    # The sum of the rounded parts is printed; the parts unrounded give 0.5846.
    assert cycle.total_s / HOUR_S == pytest.approx(0.584, abs=0.001)


def test_the_balance_number_of_trucks() -> None:
    """39.5 / 5.5 = 7.18 (NPTEL notes, lesson "Balance number of trucks", allrounder.ai)."""
    assert round(balance_number(COURSE), 2) == 7.18
    assert trucks_to_keep_busy(COURSE) == 8


@pytest.mark.parametrize(
    ("trucks", "m3"), [(1, 12.53), (5, 62.65), (6, 75.18), (7, 87.71), (8, 90.0)]
)
def test_production_grows_with_the_trucks_until_the_loader_is_busy(
    trucks: int, m3: float
) -> None:
    """12.53 m3/h a truck, 62.65 with 5, 75.18 with 6, 90 at most (the same lesson); 7
    times 12.53 is reckoned."""
    fleet = Fleet(COURSE, LOAD_M3, trucks)
    assert fleet.m3_per_hour == pytest.approx(m3, abs=0.02)


def test_the_match_factor_of_seven_trucks() -> None:
    """7 x 5.5 / 39.5 = 0.975, the definition of Burt and Caccetta, Int. J. Mining,
    Reclamation and Environment 21(4), 2007."""
    fleet = Fleet(COURSE, LOAD_M3, 7)
    assert round(fleet.match_factor, 3) == 0.975
    assert fleet.loader_waits_s == pytest.approx(39.5 * 60 - 7 * 5.5 * 60)
    assert fleet.truck_waits_s == 0


@given(cycles, st.integers(1, 40), st.integers(1, 4))
def test_trucks_or_loaders_wait_but_never_both(
    cycle: Cycle, trucks: int, loaders: int
) -> None:
    """Property: a match factor below 1 makes loaders wait, above 1 trucks."""
    fleet = Fleet(cycle, 8.0, trucks, loaders)
    assert min(fleet.loader_waits_s, fleet.truck_waits_s) == 0
    round_s = cycle.total_s + fleet.truck_waits_s
    assert fleet.m3_per_hour == pytest.approx(trucks * 8.0 / round_s * HOUR_S)
    if not math.isclose(fleet.match_factor, 1):
        assert (fleet.match_factor < 1) == (fleet.loader_waits_s > 0)


@given(cycles, st.integers(1, 3), st.integers(1, 20_000), st.integers(0, 40_000))
def test_no_other_number_of_trucks_is_cheaper(
    cycle: Cycle, loaders: int, truck: int, loader: int
) -> None:
    """Oracle: every number of trucks up to twice the balance number."""
    best = cheapest_fleet(
        cycle, 8.0, truck_per_hour=truck, loader_per_hour=loader, loaders=loaders
    )
    most = 2 * trucks_to_keep_busy(cycle, loaders)
    costs = [
        Fleet(cycle, 8.0, trucks, loaders).minor_per_m3(truck, loader)
        for trucks in range(1, min(most, 60) + 1)
    ]
    assert best.minor_per_m3(truck, loader) <= min(costs) * (1 + 1e-9)


def test_what_is_no_duration_or_number_is_refused_by_name() -> None:
    """Property: bad input names its field."""
    for field, make in (
        ("load_s", lambda: Cycle(0, 1, 1, 1)),
        ("tip_s", lambda: Cycle(1, 1, -1, 1)),
        ("kmh", lambda: drive_s(1000, 0)),
        ("trucks", lambda: Fleet(COURSE, 8.0, 0)),
        ("load_m3", lambda: Fleet(COURSE, math.nan, 1)),
        ("loaders", lambda: balance_number(COURSE, 0)),
    ):
        with pytest.raises(Refused, match=field):
            make()
