"""What walls swallow, against published and computed figures."""

from __future__ import annotations

import pytest

from logistics.domain.materials import LB_PER_YD3, SMALL_BALE
from matching.domain.takeoff import MixTarget, take_off
from matching.domain.walls.wall import Opening, Wall

YD3 = 0.764_555  # m3, UN/CEFACT Recommendation 20 (seen)

# wall m3; moist soil t, moist sand t, bales of 16 kg. job.md 1.0 "Typical builds", computed
# there for soil of 30 % clay; printed to the tonne above 10.
BUILDS = {
    "oven or bench": (1.5, 2.1, 0.9, 3),
    "garden wall": (8.1, 11, 5, 14),
    "community room": (17.6, 25, 11, 30),
    "cottage": (28.5, 40, 18, 49),
    "house": (43, 61, 27, 73),
}


@pytest.mark.parametrize("name", BUILDS)
def test_typical_builds(name):
    wall_m3, soil_t, sand_t, bales = BUILDS[name]
    found = take_off((Wall.straight(wall_m3, 2, 0.5),), MixTarget())
    digit = 0.051 if wall_m3 < 5 else 0.6
    assert found.soil_moist_kg.likely / 1000 == pytest.approx(soil_t, abs=digit)
    assert found.sand_moist_kg.likely / 1000 == pytest.approx(sand_t, abs=digit)
    assert found.straw_kg.likely / 16 == pytest.approx(bales, abs=0.6)


def test_the_sizes_behind_the_typical_builds():
    """10 x 1.8 x 0.45 m; 20 x 2.3 x 0.45 m with 15 % openings (job.md 1.0, computed)."""
    assert Wall.straight(10, 1.8, 0.45).placed_m3 == pytest.approx(8.1)
    room = Wall.straight(20, 2.3, 0.45, (Opening(3.0, 2.3),))
    assert room.placed_m3 == pytest.approx(17.6, abs=0.05)


def test_the_total_is_about_two_tonnes_for_a_cubic_metre_of_wall():
    """job.md 1.0: 1.95 to 2.11 t, whatever the clay of the soil."""
    for clay in (0.20, 0.30, 0.45, 0.60):
        found = take_off((Wall.straight(1, 2, 0.5),), MixTarget(reference_clay=clay))
        total = found.soil_moist_kg.likely + found.sand_moist_kg.likely
        assert 1.94e3 <= total <= 2.12e3


def test_old_cob_lies_inside_the_default_window():
    """Williams-Ellis, analysis of old cob (seen): clay 20.60 %, straw 1.25 %, water and the
    like 1.55 %, the rest stones and sand."""
    mix = MixTarget()
    clay_of_minerals = 20.60 / (100 - 1.25 - 1.55)
    assert mix.clay_low <= clay_of_minerals <= mix.clay_high
    assert clay_of_minerals == pytest.approx(mix.clay_target, abs=0.015)
    assert mix.straw.low == pytest.approx(0.0125)


def test_pure_clay_wants_three_quarters_and_more_of_aggregate():
    """75-85 % sand for 15-25 % clay (practitioner, seen)."""
    for target, sand in ((0.15, 0.85), (0.20, 0.80), (0.25, 0.75)):
        mix = MixTarget(clay_target=target, reference_clay=1.0)
        found = take_off((Wall.straight(1, 2, 0.5),), mix)
        share = found.sand_dry_kg.likely / found.mineral_dry_kg.likely
        assert share == pytest.approx(sand)


def test_a_truckload_of_ten_yards_of_sand_suits_a_small_cob_house():
    """10 yd3 for a house of 200 ft2 or so: common practice, no source. A round house of 200
    ft2 (18.6 m2) has 15.3 m of wall; 2.3 m high, 0.45 m thick, a sixth of it openings."""
    wall = Wall.straight(15.3, 2.3, 0.45, (Opening(2.6, 2.3),))
    lean = take_off((wall,), MixTarget(reference_clay=0.30)).sand_loose_m3
    fat = take_off((wall,), MixTarget(reference_clay=0.50)).sand_loose_m3
    assert 5 <= lean.likely / YD3 <= 15
    assert 5 <= fat.likely / YD3 <= 15
    assert lean.low / YD3 <= 10 <= fat.high / YD3


def test_bales_for_a_cubic_metre():
    """27 kg or 1.7 bales likely (job.md 1.0, computed); 0.5 to 3.5 bales published there.
    50 kg/m3 of earth (seen) lies inside the spread, 1.25 % (seen) is its lower end."""
    found = take_off((Wall.straight(1, 2, 0.5),), MixTarget())
    assert found.straw_kg.likely == pytest.approx(27, abs=0.5)
    assert found.straw_kg.likely / SMALL_BALE.kg == pytest.approx(1.7, abs=0.05)
    assert found.straw_kg.low / SMALL_BALE.kg >= 0.5
    assert found.straw_kg.low <= 50 <= found.straw_kg.high


def test_water_to_a_quarter_of_moisture():
    """190 L for a m3 at 25 %, 110 at 20 and 320 at 33 (job.md 1.0, computed, for the
    minerals with waste and soil of 30 %)."""
    found = take_off((Wall.straight(1, 2, 0.5),), MixTarget())
    assert found.water_l.likely == pytest.approx(190, rel=0.15)
    assert found.water_l.low <= 110
    assert found.water_l.high >= 320


def test_the_dry_density_of_a_wall_spans_the_published_range():
    """French bauge 1400-1700, laboratory cubes 1650-1700 kg/m3 (both seen)."""
    density = MixTarget().dry_density
    assert (density.low, density.high) == (1400, 1700)
    assert 1650 <= density.likely <= 1700


def test_under_ordering_by_bank_volume_is_the_natural_mistake():
    """60 yd3 of wall are no 60 yd3 of truck, but about 83 loose, in soil and sand (job.md 0.4,
    computed with 30 % swell; ours 25 %)."""
    found = take_off((Wall.straight(60 * YD3, 2, 0.5),), MixTarget())
    loose = found.soil_loose_m3.likely + found.sand_loose_m3.likely
    assert loose / YD3 == pytest.approx(83, rel=0.04)
    assert pytest.approx(0.593_276_4, rel=1e-6) == LB_PER_YD3
