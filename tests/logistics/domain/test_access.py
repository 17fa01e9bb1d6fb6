"""Trucks against access cards, line by line.

HSE: tip where it is level, firm and clear overhead (hse.gov.uk/workplacetransport).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from logistics.domain.access import LineState
from logistics.domain.places import AccessLimits, Firmness
from logistics.domain.trucks import (
    AxleLoad,
    BodyKind,
    Cargo,
    Truck,
    TruckRates,
    access_lines,
    barred_from,
    load_admitted,
)
from logistics.domain.vehicle_classes import CLASSES, substitutes

TIPPER = Truck(
    "tipper",
    "Tipper",
    BodyKind.TIPPER,
    0,
    19_500,
    14.0,
    TruckRates(0, 0, 0),
    36_000,
    tare_kg=12_500,
    height_m=3.4,
    width_m=2.5,
    length_m=9.5,
    turning_m=22.0,
    tip_height_m=7.5,
    axle_loads=(AxleLoad(6_500, 0.4), AxleLoad(6_000, 0.6)),
)
LOAD = 10_000


def states(
    access: AccessLimits, truck: Truck = TIPPER, kg: int = LOAD
) -> dict[str, Any]:
    return {own.line: own.state for own in access_lines(truck, access, kg)}


FAILING = [
    (AccessLimits(max_gross_kg=22_499), "gross weight", "weighs 22.5 t"),
    (AccessLimits(max_axle_kg=11_900), "axle weight", "12.0 t on an axle"),
    (AccessLimits(max_height_m=3.39), "height", "3.40 m high"),
    (AccessLimits(max_width_m=2.4), "width", "2.50 m wide"),
    (AccessLimits(max_length_m=9.0), "length", "9.50 m long"),
    (AccessLimits(turning_m=20), "turning room", "turns in 22.0 m"),
    (AccessLimits(slope_percent=6), "slope", "slope of 6 %"),
    (AccessLimits(firmness=Firmness.SOFT), "ground", "soft ground"),
    (AccessLimits(wires=True, clear_height_m=30), "overhead", "overhead wires"),
    (AccessLimits(clear_height_m=7.0), "overhead", "reaches 7.5 m"),
]


@pytest.mark.parametrize(("access", "line", "words"), FAILING)
def test_the_failing_line_is_named_in_words(access, line, words):
    assert states(access)[line] is LineState.FAILS
    reason = barred_from(TIPPER, access, LOAD)
    assert reason is not None
    assert words in reason


@pytest.mark.parametrize(
    ("access", "line"),
    [
        (AccessLimits(max_gross_kg=22_500), "gross weight"),
        (AccessLimits(max_axle_kg=12_000), "axle weight"),
        (AccessLimits(max_height_m=3.4), "height"),
        (AccessLimits(turning_m=22), "turning room"),
        (AccessLimits(slope_percent=5), "slope"),
        (AccessLimits(firmness=Firmness.HARD), "ground"),
        (AccessLimits(wires=False), "overhead"),
        (AccessLimits(clear_height_m=7.5), "overhead"),
    ],
)
def test_a_line_that_is_just_kept_is_ok(access, line):
    assert states(access)[line] is LineState.OK
    assert barred_from(TIPPER, access, LOAD) is None


def test_what_is_not_known_bars_nobody_and_is_said():
    every = states(AccessLimits())
    assert set(every.values()) == {LineState.UNKNOWN}
    unknown = replace(
        TIPPER, tare_kg=None, height_m=None, turning_m=None, tip_height_m=None
    )
    unknown = replace(unknown, axle_loads=())
    card = AccessLimits(
        max_gross_kg=20_000,
        max_axle_kg=5_000,
        max_height_m=2,
        turning_m=10,
        clear_height_m=4,
    )
    found = states(card, unknown)
    for line in ("gross weight", "axle weight", "height", "turning room", "overhead"):
        assert found[line] is LineState.UNKNOWN
    assert barred_from(unknown, card, LOAD) is None


def test_any_truck_turns_in_twenty_five_metres():
    """Directive 96/53/EC, annex I 1.5: within an outer radius of 12.5 m."""
    unknown = replace(TIPPER, turning_m=None)
    assert states(AccessLimits(turning_m=25), unknown)["turning room"] is LineState.OK


def test_an_empty_truck_is_not_asked_where_it_tips():
    card = AccessLimits(slope_percent=20, firmness=Firmness.SOFT, wires=True)
    assert barred_from(TIPPER, card, 0) is None
    assert "slope" not in states(card, kg=0)


def test_a_flat_bed_raises_nothing_and_a_tractor_comes_onto_soft_ground():
    """Short hauls on rough ground: tractor and trailer beat a lorry (rule 27 of the job)."""
    wires = AccessLimits(wires=True, slope_percent=12, firmness=Firmness.HARD)
    assert barred_from(replace(TIPPER, body=BodyKind.FLAT_BED), wires, LOAD) is None
    soft = AccessLimits(firmness=Firmness.SOFT)
    trailer = replace(TIPPER, body=BodyKind.TRAILER)
    assert barred_from(trailer, soft, LOAD) is None
    assert states(soft, trailer)["ground"] is LineState.UNKNOWN
    damp = AccessLimits(firmness=Firmness.FIRM_WHEN_DRY)
    assert states(damp)["ground"] is LineState.UNKNOWN


@pytest.mark.parametrize(
    ("access", "kg"),
    [
        (AccessLimits(), 19_500),
        (AccessLimits(max_gross_kg=20_000), 7_500),
        (AccessLimits(max_axle_kg=9_000), 5_000),
        (AccessLimits(max_axle_kg=6_200), 0),
        (AccessLimits(max_gross_kg=12_000), 0),
    ],
)
def test_the_load_admitted_is_the_largest_that_keeps_the_weights(access, kg):
    """By hand: 9,000 kg on the rear axle are 6,000 and 0.6 of 5,000."""
    assert load_admitted(TIPPER, access) == kg
    if kg:
        assert barred_from(TIPPER, access, kg) is None
        if kg < TIPPER.payload_kg:
            assert barred_from(TIPPER, access, kg + 10) is not None


def test_a_narrow_lane_is_served_by_something_smaller():
    """Common practice: what is too long or too heavy gives way to a smaller kind."""
    lane = AccessLimits(max_gross_kg=18_500, max_length_m=8.0)
    found = [own.kind.key for own in substitutes(lane, Cargo.SAND)]
    assert found[0] == "small_tipper"
    assert "eight_wheeler" not in found
    soft = AccessLimits(firmness=Firmness.SOFT)
    assert {own.kind.body for own in substitutes(soft, Cargo.SUBSOIL)} == {
        BodyKind.TRAILER
    }
    assert substitutes(AccessLimits(max_height_m=1.0), Cargo.SAND) == ()


def test_every_kind_is_explained_and_has_a_source():
    assert {kind.body for kind in CLASSES} == set(BodyKind)
    for kind in CLASSES:
        assert kind.fits.endswith(".")
        assert kind.source
        (own,) = [
            s for s in substitutes(AccessLimits(), _cargo(kind)) if s.kind == kind
        ]
        assert kind.name in own.words


def _cargo(kind: Any) -> Cargo:
    return Cargo.STRAW if kind.body is BodyKind.FLAT_BED else Cargo.SAND
