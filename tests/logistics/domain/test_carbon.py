"""Greenhouse gases of driving."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logistics.domain.carbon import ANY, HEAVY, LIGHT, MIDDLE, factor_of, footprint
from logistics.domain.planning.result import Load, Shift, Stop, StopKind, Trip
from logistics.domain.trucks import BodyKind, Truck, TruckRates

TIPPER = Truck(
    "t", "Tipper", BodyKind.TIPPER, 0, 18_000, 12.0, TruckRates(0, 0, 0), 36_000, 8_000
)


@pytest.mark.parametrize(
    ("factor", "half"),
    [(LIGHT, 0.50103), (MIDDLE, 0.62832), (HEAVY, 0.94152), (ANY, 0.80803)],
)
def test_the_published_figures_at_half_a_load_lie_half_way(factor, half):
    """UK Government GHG Conversion Factors 2025, HGV (all diesel), rigid, 50 % laden."""
    assert factor.at(0.5) == pytest.approx(half, abs=2e-5)


def test_a_published_tonne_kilometre_of_a_full_heavy_rigid():
    """The same table gives 0.12436 kg CO2e a tonne km at 100 %: 1.10905 kg a km over the
    load that the two imply, 8.918 t."""
    assert HEAVY.full / 0.12436 == pytest.approx(8.918, abs=0.001)
    assert HEAVY.at(2.0) == HEAVY.full


@pytest.mark.parametrize(
    ("tare", "payload", "factor"),
    [
        (3_000, 4_500, LIGHT),
        (3_000, 4_501, MIDDLE),
        (7_000, 10_000, MIDDLE),
        (8_000, 18_000, HEAVY),
        (None, 9_000, ANY),
        (None, 18_000, HEAVY),
    ],
)
def test_a_truck_is_classed_by_its_weight_when_full(tare, payload, factor):
    assert factor_of(replace(TIPPER, tare_kg=tare, payload_kg=payload)) is factor


def stop(kind: StopKind, metres: int, trip: int | None = None) -> Stop:
    return Stop(kind, 0, 0, 0, 0, metres, 0, trip)


def driven(*, empty_m: int, loaded_m: int, kg: int) -> Shift:
    pickup = stop(StopKind.LOAD, empty_m, 0)
    drop = stop(StopKind.TIP, loaded_m, 0)
    return Shift(
        slot=0,
        stops=(stop(StopKind.LEAVE, 0), pickup, drop, stop(StopKind.RETURN, empty_m)),
        trips=(Trip(Load(0, kg, 1.0, None), pickup, drop),),
        costs=(),
    )


def test_empty_kilometres_count():
    """By hand: 10 km out and 10 km back empty at 0.774, 20 km with 9 of 18 t at 0.941525."""
    own = footprint([(driven(empty_m=10_000, loaded_m=20_000, kg=9_000), TIPPER)])
    assert own.empty_kg_co2e == pytest.approx(20 * 0.774)
    assert own.kg_co2e == pytest.approx(20 * 0.774 + 20 * 0.941525)
    assert own.tonne_km == pytest.approx(180)
    assert own.grams_per_tonne_km == pytest.approx(own.kg_co2e / 180 * 1000)


def test_nothing_driven_has_no_footprint():
    own = footprint([])
    assert (own.kg_co2e, own.grams_per_tonne_km) == (0, None)
