"""Take-off: from the sizes of walls to masses and volumes with their spread."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.takeoff import MixTarget, TakeOff, take_off
from matching.domain.walls.wall import Opening, Wall

ONE = Wall.straight(length_m=5, height_m=2, thickness_m=0.5)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"clay_low": 0.0}, "clay_window_out_of_order"),
        ({"clay_low": 0.21}, "clay_window_out_of_order"),
        ({"clay_high": 0.19}, "clay_window_out_of_order"),
        ({"clay_high": 1.0}, "clay_window_out_of_order"),
        ({"reference_clay": 0.19}, "reference_soil_too_lean"),
    ],
)
def test_a_mix_that_cannot_be_is_refused(change, code):
    with pytest.raises(Refused) as refusal:
        MixTarget(**change)
    assert refusal.value.problems[0].code == code


def test_one_cubic_metre_by_hand():
    """1650 kg/m3 and 10 % waste: 1815 kg dry; 1.5 % straw; 20 % clay from soil of 30 %."""
    found = take_off((Wall.straight(1, 2, 0.5),), MixTarget())
    assert found.placed_m3 == 1
    assert found.straw_kg.likely == pytest.approx(1815 * 0.015)
    assert found.mineral_dry_kg.likely == pytest.approx(1815 * 0.985)
    assert found.soil_dry_kg.likely == pytest.approx(1815 * 0.985 * 2 / 3)
    assert found.sand_dry_kg.likely == pytest.approx(1815 * 0.985 / 3)
    # Moist: 18 % and 5 % of the dry mass.
    assert found.soil_moist_kg.likely == pytest.approx(1815 * 0.985 * 2 / 3 * 1.18)
    assert found.sand_moist_kg.likely == pytest.approx(1815 * 0.985 / 3 * 1.05)
    # Water to 25 % of the minerals, less what they bring.
    minerals = 1815 * 0.985
    brought = minerals * (2 / 3 * 0.18 + 1 / 3 * 0.05)
    assert found.water_l.likely == pytest.approx(minerals * 0.25 - brought)


def test_the_ends_by_hand():
    """1400 and 1700 kg/m3, 5 and 15 % waste, straw 1.25 to 3 %."""
    found = take_off((Wall.straight(1, 2, 0.5),), MixTarget())
    assert found.straw_kg.low == pytest.approx(1400 * 1.05 * 0.0125)
    assert found.straw_kg.high == pytest.approx(1700 * 1.15 * 0.03)
    assert found.mineral_dry_kg.low == pytest.approx(1400 * 1.05 * 0.97)
    assert found.mineral_dry_kg.high == pytest.approx(1700 * 1.15 * 0.9875)


def test_soil_that_is_ready_needs_no_sand():
    found = take_off((ONE,), MixTarget(reference_clay=0.20))
    assert found.sand_dry_kg == Spread(0, 0, 0)
    assert found.soil_dry_kg == found.mineral_dry_kg


sizes = st.floats(min_value=0.1, max_value=50)
walls = st.builds(
    Wall.straight,
    length_m=sizes,
    height_m=st.floats(min_value=0.1, max_value=20),
    thickness_m=st.floats(min_value=0.1, max_value=3),
)


@st.composite
def mixes(draw: st.DrawFn) -> MixTarget:
    low, target, high = sorted(draw(st.floats(0.01, 0.9)) for _ in range(3))
    straw = sorted(draw(st.floats(0, 0.1)) for _ in range(3))
    waste = sorted(draw(st.floats(0, 0.5)) for _ in range(3))
    return MixTarget(
        clay_low=low,
        clay_target=target,
        clay_high=high,
        straw=Spread(*straw),
        waste=Spread(*waste),
        reference_clay=draw(st.floats(target, 1.0)),
    )


def spreads(found: TakeOff) -> list[Spread]:
    return [
        value
        for own in fields(found)
        if isinstance(value := getattr(found, own.name), Spread)
    ]


@given(st.lists(walls, min_size=1, max_size=4), mixes())
@settings(max_examples=60, deadline=None)
def test_low_likely_and_high_stay_in_order_and_not_below_nothing(own, mix):
    """Property."""
    for spread in spreads(take_off(tuple(own), mix)):
        assert 0 <= spread.low <= spread.likely <= spread.high


@given(st.lists(walls, min_size=2, max_size=4), mixes())
@settings(max_examples=60, deadline=None)
def test_a_take_off_of_walls_is_the_sum_of_the_take_offs_of_each(own, mix):
    """Property; water is left out, it cannot go below nothing."""
    whole = take_off(tuple(own), mix)
    parts = [take_off((wall,), mix) for wall in own]
    assert whole.placed_m3 == pytest.approx(sum(part.placed_m3 for part in parts))
    for name in ("mineral_dry_kg", "straw_kg", "soil_moist_kg", "sand_loose_m3"):
        for end in ("low", "likely", "high"):
            total = sum(getattr(getattr(part, name), end) for part in parts)
            assert getattr(getattr(whole, name), end) == pytest.approx(total)


@given(walls, mixes())
@settings(max_examples=60, deadline=None)
def test_soil_and_sand_make_the_minerals_and_hold_the_target_clay(wall, mix):
    """Property: no kilogram is lost, and the clay is recomputed from the parts."""
    found = take_off((wall,), mix)
    soil, sand = found.soil_dry_kg.likely, found.sand_dry_kg.likely
    minerals = found.mineral_dry_kg.likely
    assert soil + sand == pytest.approx(minerals)
    assert soil * mix.reference_clay == pytest.approx(minerals * mix.clay_target)


@given(walls)
def test_an_opening_never_adds_material(wall):
    """Property."""
    hole = Opening(wall.length_m / 3, wall.height_m / 2)
    with_hole = Wall.straight(wall.length_m, wall.height_m, wall.thickness_m, (hole,))
    whole, less = take_off((wall,), MixTarget()), take_off((with_hole,), MixTarget())
    for one, other in zip(spreads(less), spreads(whole), strict=True):
        assert one.high <= other.high * (1 + 1e-12)
