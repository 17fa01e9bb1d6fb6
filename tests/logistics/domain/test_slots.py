"""Slots of a fleet: nights away and weak roads. The rules are the project's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from logistics.domain.errors import Refused
from logistics.domain.fleet import Chassis, laden, on_weak_roads
from logistics.domain.legal.seasons import WeakRoads
from logistics.domain.planning.problem import Slot
from logistics.domain.slots import OwnedTruck, WorkDay, fleet, slots_for
from logistics.domain.trucks import BodyKind, Truck, TruckRates

MONDAY = date(2026, 3, 2)
DAYS = tuple(
    WorkDay(MONDAY + timedelta(days=n), n * 86_400 + 21_600, n * 86_400 + 64_800)
    for n in range(3)
)
TRUCK = Truck(
    "t",
    "Tipper",
    BodyKind.TIPPER,
    0,
    19_500,
    14.0,
    TruckRates(0, 0, 0),
    36_000,
    tare_kg=12_500,
)
PLAIN = Chassis(payload_kg=19_500)
TUESDAY = WeakRoads(MONDAY + timedelta(days=1), MONDAY + timedelta(days=1), 65)


def ends(slots: Sequence[Slot]) -> list[tuple[str, int | None, int | None]]:
    return [(own.day[-2:], own.start, own.end) for own in slots]


def test_a_truck_that_sleeps_at_home_has_one_slot_a_day():
    assert ends(slots_for(DAYS, [4, 4, 4])) == [
        ("02", None, None),
        ("03", None, None),
        ("04", None, None),
    ]
    assert {own.truck for own in slots_for(DAYS, [4, 4, 4])} == {4}


def test_a_night_away_begins_after_the_first_day_and_ends_with_the_last():
    assert ends(slots_for(DAYS, [0, 0, 0], overnight=7)) == [
        ("02", None, None),
        ("02", None, 7),
        ("03", None, None),
        ("03", None, 7),
        ("03", 7, None),
        ("03", 7, 7),
        ("04", None, None),
        ("04", 7, None),
    ]
    assert ends(slots_for(DAYS[:1], [0], overnight=7)) == [("02", None, None)]


def test_weak_roads_make_another_truck_of_the_same_key_on_their_days():
    """0.65 x 32,000 kg less the tare of 12,500 leaves 8,300 kg."""
    own = fleet([OwnedTruck(TRUCK, PLAIN, DAYS)], TUESDAY)
    assert [truck.key for truck in own.trucks] == ["t", "t"]
    assert [truck.payload_kg for truck in own.trucks] == [19_500, 8_300]
    assert [(slot.day[-2:], slot.truck) for slot in own.slots] == [
        ("02", 0),
        ("03", 1),
        ("04", 0),
    ]
    assert own.owners == (0, 0)


def test_a_truck_that_may_carry_nothing_stays_at_home():
    heavy = replace(TRUCK, payload_kg=2_000, tare_kg=12_500)
    chassis = Chassis(payload_kg=2_000)
    own = fleet([OwnedTruck(heavy, chassis, DAYS)], TUESDAY)
    assert len(own.trucks) == 1
    assert [slot.day[-2:] for slot in own.slots] == ["02", "04"]


def test_days_outside_the_season_and_whole_limits_change_nothing():
    later = WeakRoads(date(2026, 5, 1), date(2026, 5, 2))
    assert fleet([OwnedTruck(TRUCK, PLAIN, DAYS)], later).trucks == (TRUCK,)
    whole = on_weak_roads(TRUCK, PLAIN, replace(TUESDAY, axle_percent=100))
    assert whole is not None
    assert whole.payload_kg == 19_500


def test_an_unknown_tare_is_asked_for_by_field():
    unknown = replace(TRUCK, tare_kg=None)
    with pytest.raises(Refused) as refusal:
        fleet([OwnedTruck(unknown, PLAIN, DAYS, field="trucks.3")], TUESDAY)
    assert refusal.value.problems[0].field == "trucks.3.tare_kg"


def test_plate_and_stated_payload_both_count():
    """Common practice, no source: the least of them."""
    plated = laden(TRUCK, Chassis(plated_kg=26_000, payload_kg=19_500))
    assert plated.payload_kg == 13_500
    assert plated.basis is not None
    assert plated.basis.binds == "plated weight: 26,000 kg"
    assert plated.basis.gross_kg == 26_000
    with pytest.raises(Refused, match="nothing says"):
        laden(TRUCK, Chassis())
    with pytest.raises(Refused, match="nothing may be loaded"):
        laden(TRUCK, Chassis(plated_kg=12_000))
