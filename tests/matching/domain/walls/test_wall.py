"""One wall: its volume in closed form, and the drawings that are refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from logistics.domain.errors import Refused
from matching.domain.walls.paths import Leg, Path, place
from matching.domain.walls.wall import Kind, Opening, Wall

ONE = Wall.straight(length_m=5, height_m=2, thickness_m=0.5)


def test_a_wall_without_holes_is_length_times_height_times_thickness():
    """By hand."""
    assert ONE.face_m2 == 10
    assert ONE.placed_m3 == 5


def test_openings_are_left_out():
    """By hand: 5 x 2 less 1 x 2 less 2 x 0.5 is 7 m2, at 0.5 m 3.5 m3."""
    wall = Wall.straight(5, 2, 0.5, (Opening(1, 2), Opening(2, 0.5)))
    assert wall.face_m2 == pytest.approx(7)
    assert wall.placed_m3 == pytest.approx(3.5)


@pytest.mark.parametrize(
    "opening", [Opening(5, 2), Opening(6, 2), Opening(0.5, 2.1), Opening(100, 0.1)]
)
def test_openings_that_leave_nothing_or_stand_out_are_refused(opening):
    with pytest.raises(Refused) as refusal:
        Wall.straight(5, 2, 0.5, (opening,))
    assert refusal.value.problems[0].code == "openings_exceed_wall"


def gable(**rest: Any) -> Wall:
    """6 m long, 2 m at the ends, 4 m in the middle."""
    return Wall(6.0, ((0.0, 2.0), (3.0, 4.0), (6.0, 2.0)), 0.5, **rest)


def test_a_gable_is_a_rectangle_and_a_triangle():
    """Hand-worked: 6 x 2 + 6 x 2 / 2 = 18 m2; x 0.5 = 9 m3."""
    assert gable().face_m2 == pytest.approx(18)
    assert gable().placed_m3 == pytest.approx(9)
    assert gable().height_m == 4


def test_the_top_is_level_before_the_first_point_and_behind_the_last():
    """Hand-worked: 2 m at 1.5 m high, then 2 m rising to 2.5 m, then 2 m level: 3 + 4 + 5 =
    12 m2."""
    wall = Wall(6.0, ((2.0, 1.5), (4.0, 2.5)), 0.5)
    assert wall.face_m2 == pytest.approx(12)


def test_a_tapered_wall_holds_its_mean_thickness():
    """Hand-worked, prismatoid formula h/6 (A0 + 4 Am + A1) for 5 m of wall, 2.4 m high, 0.6
    at the bottom, 0.4 at the top: 2.4 / 6 x (3 + 4 x 2.5 + 2) = 6 m3."""
    wall = Wall(5.0, 2.4, 0.6, top_thickness_m=0.4)
    assert wall.placed_m3 == pytest.approx(6)
    assert wall.thickness_at(1.2) == pytest.approx(0.5)


def test_a_tapered_triangle():
    """Hand-worked, prismatoid formula: a triangle 6 m wide and 3 m high, 0.6 thick at its
    foot and 0 at its tip would be 3 / 6 x (3.6 + 4 x 3 x 0.3 + 0) = 3.6 m3; with 0.3 at the
    tip: 3 / 6 x (3.6 + 4 x 3 x 0.45 + 0) = 4.5 m3."""
    wall = Wall(6.0, ((0, 0), (3, 3), (6, 0)), 0.6, top_thickness_m=0.3)
    assert wall.placed_m3 == pytest.approx(4.5)


def test_an_opening_in_a_taper_has_the_thickness_at_its_middle():
    """Hand-worked: thickness falls 0.1 m per metre from 0.6. Wall 4 x 2 x 0.5 mean = 4 m3;
    window 1 x 1 from 0.8 to 1.8 m, 0.6 - 0.13 = 0.47 thick: 3.53 m3."""
    wall = Wall(4.0, 2.0, 0.6, (Opening(1, 1, 1.5, 0.8),), top_thickness_m=0.4)
    assert wall.placed_m3 == pytest.approx(3.53)


def test_a_lintel_takes_the_place_of_cob():
    """Hand-worked: 4 x 2.4 = 9.6 m2; door 0.9 x 2 = 1.8; lintel (0.9 + 2 x 0.2) x 0.15 =
    0.195; left 7.605 m2, at 0.45 m 3.42225 m3."""
    door = Opening(0.9, 2.0, 1.0, lintel_depth_m=0.15, bearing_m=0.2)
    assert Wall(4.0, 2.4, 0.45, (door,)).placed_m3 == pytest.approx(3.42225)


def test_the_plinth_holds_no_cob():
    """By definition: heights count from its top."""
    assert Wall(5.0, 2.0, 0.5, plinth_m=0.45).placed_m3 == 5


def test_an_arc_is_as_long_as_its_centre_line():
    """Hand-worked, Pappus's second theorem: half a circle of radius 2 m is 2 pi long; x 0.4 x
    2.5 = 2 pi m3. A quarter of radius 3: chord 3 sqrt 2, rise 3 - 3 / sqrt 2, 1.5 pi long."""
    half = Path(-2, 0, (Leg(2, 0, 2.0),))
    assert Wall(half, 2.5, 0.4).placed_m3 == pytest.approx(2 * math.pi)
    quarter = Path(3, 0, (Leg(0, 3, -(3 - 3 / math.sqrt(2))),))
    assert quarter.length_m == pytest.approx(1.5 * math.pi)


def test_an_arc_bulges_to_the_left_of_the_walk_for_a_rise_above_nothing():
    """By definition: from west to east the left is north."""
    assert place(Path(-2, 0, (Leg(2, 0, 0.5),)), 0.0) == pytest.approx((-2, 0))
    for rise in (0.5, -0.5, 3.0):
        path = Path(-2, 0, (Leg(2, 0, rise),))
        assert place(path, path.length_m / 2) == pytest.approx((0, rise))
        assert place(path, path.length_m) == pytest.approx((2, 0))


def test_an_arc_from_chord_and_rise():
    """Hand-worked: chord 4, rise 1: radius (4 + 1) / 2 = 2.5 m, angle 4 atan 0.5 = 106.26
    degrees, length 2.5 x 1.854590 = 4.636476 m."""
    assert Path(0, 0, (Leg(4, 0, 1.0),)).length_m == pytest.approx(4.636476, abs=1e-6)


@given(st.floats(0.2, 20), st.floats(-20, 20))
def test_an_arc_of_hardly_any_rise_is_its_chord(chord, angle):
    """Property."""
    end = (chord * math.cos(angle), chord * math.sin(angle))
    flat = Path(0, 0, (Leg(*end, 1e-9),))
    assert flat.length_m == pytest.approx(chord)
    assert place(flat, flat.length_m) == pytest.approx(end, abs=1e-9)


def test_a_wall_comes_back_from_json():
    """Property."""
    kept = TypeAdapter(Wall)
    path = Path(0, 0, (Leg(4, 0, 0.5), Leg(4, 3)))
    door = Opening(0.9, 2.0, 1.0, 0.0, 0.15, 0.2)
    for wall in (
        ONE,
        gable(kind=Kind.BENCH, name="south"),
        Wall(path, 2.4, 0.6, (door,), 0.4, Kind.INNER, 0.3),
    ):
        assert kept.validate_python(kept.dump_python(wall, mode="json")) == wall
        assert kept.validate_json(kept.dump_json(wall)) == wall


def leg(*points: tuple[float, float], rise: float = 0.0) -> tuple[Leg, ...]:
    return tuple(Leg(*point, rise) for point in points)


NAN, INF = math.nan, math.inf

REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "no length": (lambda: Wall(0.0, 2, 0.5), "not_a_sane_size"),
    "length not a number": (lambda: Wall(NAN, 2, 0.5), "not_a_sane_size"),
    "height not a number": (lambda: Wall(4.0, NAN, 0.5), "not_a_sane_size"),
    "endless": (lambda: Wall(INF, 2, 0.5), "not_a_sane_size"),
    "millimetres": (lambda: Wall(4.0, 2, 500), "not_a_sane_size"),
    "below nothing": (lambda: Wall(4.0, -2, 0.5), "not_a_sane_size"),
    "no top": (lambda: Wall(4.0, ((0, 0), (4, 0)), 0.5), "not_a_sane_size"),
    "top not a number": (lambda: Wall(4.0, ((0, NAN), (4, 2)), 0.5), "not_a_sane_size"),
    "plinth below": (lambda: Wall(4.0, 2, 0.5, plinth_m=-1), "not_a_sane_size"),
    "no thickness on top": (lambda: Wall(4.0, 2, 0.5, (), 0.0), "not_a_sane_size"),
    "wider on top": (lambda: Wall(4.0, 2, 0.5, (), 0.6), "wall_widens_upwards"),
    "empty top": (lambda: Wall(4.0, (), 0.5), "height_out_of_order"),
    "top walks back": (lambda: Wall(4.0, ((2, 2), (1, 2)), 0.5), "height_out_of_order"),
    "a step": (lambda: Wall(4.0, ((1, 2), (1, 3)), 0.5), "height_out_of_order"),
    "top too far": (lambda: Wall(4.0, ((0, 2), (5, 2)), 0.5), "height_out_of_order"),
    "far away": (lambda: Path(5e6, 0, leg((1, 1))), "not_a_sane_size"),
    "nowhere": (lambda: Path(0, NAN, leg((1, 1))), "not_a_sane_size"),
    "endless rise": (lambda: Path(0, 0, leg((1, 1), rise=INF)), "not_a_sane_size"),
    "no legs": (lambda: Path(0, 0, ()), "path_without_legs"),
    "many legs": (lambda: Path(0, 0, leg(*((i, 1) for i in range(201)))), "path_without_legs"),
    "stands still": (lambda: Path(0, 0, leg((1, 0), (1, 0))), "leg_too_short"),
    "circle in one leg": (lambda: Path(0, 0, leg((0, 0), rise=2)), "leg_too_short"),
    "very long": (lambda: Path(0, 0, leg((2000, 0))), "path_too_long"),
    "eight": (lambda: Path(0, 0, leg((2, 2), (2, 0), (0, 2))), "path_crosses_itself"),
    "there and back": (lambda: Path(0, 0, leg((4, 0), (0, 0))), "path_crosses_itself"),
    "arc across": (lambda: Path(0, 0, (Leg(4, 0, 1.0), Leg(2, 2))), "path_crosses_itself"),
    "tight arc": (lambda: Wall(Path(0, 0, leg((0.4, 0), rise=0.2)), 2, 0.5), "arc_too_tight"),
    "no width": (lambda: Opening(0, 1), "not_a_sane_size"),
    "no height": (lambda: Opening(1, NAN), "not_a_sane_size"),
    "deep lintel": (lambda: Opening(1, 1, lintel_depth_m=-0.1), "not_a_sane_size"),
    "past the end": (lambda: Wall(4.0, 2, 0.5, (Opening(1, 1, 3.5),)), "opening_outside_wall"),
    "above the top": (lambda: Wall(4.0, 2, 0.5, (Opening(1, 1, 1, 1.5),)), "opening_outside_wall"),
    "above the slope": (lambda: gable(openings=(Opening(1, 2.4, 0.2),)), "opening_outside_wall"),
    "bearing past the start": (
        lambda: Wall(4.0, 2, 0.5, (Opening(1, 1, 0.1, 0, 0.1, 0.2),)),
        "opening_outside_wall",
    ),
    "one in another": (
        lambda: Wall(4.0, 2, 0.5, (Opening(1, 1, 1, 0.5), Opening(1, 1, 1.5, 1))),
        "openings_overlap",
    ),
    "lintel into window": (
        lambda: Wall(4.0, 2.5, 0.5, (Opening(1, 1, 1, 0, 0.2), Opening(1, 1, 1, 1.1))),
        "openings_overlap",
    ),
    "windows wider than the wall": (
        lambda: Wall(4.0, 2, 0.5, (Opening(2.1, 1, None, 0.5), Opening(2.1, 1, None, 1))),
        "openings_exceed_wall",
    ),
    "lintels leave nothing": (
        lambda: Wall(1.0, 2, 0.5, (Opening(1, 1.5, lintel_depth_m=0.5),)),
        "openings_exceed_wall",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_built_is_refused_with_field_and_remedy(name):
    """Common sense, no source."""
    draw, code = REFUSED[name]
    with pytest.raises(Refused) as refusal:
        draw()
    problem = refusal.value.problems[0]
    assert problem.code == code
    assert problem.field.startswith("walls.")
    assert problem.given
    assert problem.remedy


def test_openings_and_lintels_may_touch():
    """Common practice, no source: a fanlight upon a door, a door to the very end."""
    wall = Wall(4.0, 2.5, 0.5, (Opening(1, 2, 3), Opening(1, 0.5, 3, 2)))
    assert wall.placed_m3 == pytest.approx((10 - 2.5) * 0.5)


def test_a_round_house_is_two_half_circles():
    """Hand-worked, Pappus's second theorem: radius 2.5, 0.5 thick, 2 m high: 5 pi m3."""
    path = Path(-2.5, 0, (Leg(2.5, 0, 2.5), Leg(-2.5, 0, 2.5)))
    assert path.closed
    assert Wall(path, 2.0, 0.5).placed_m3 == pytest.approx(5 * math.pi)
