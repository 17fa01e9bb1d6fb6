"""Plans and elevations: scale, openings, dimensions."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pictures.drawing import TIMES, Size
from api.pictures.elevation import wall_elevation
from api.pictures.wall_plan import wall_plan
from matching.domain.walls.heights import Top
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.wall import Kind, Opening, Wall
from tests.api.pictures.drawn import DOOR, WALLS, outside, told

ROUND = Path(-3, 0, (Leg(3, 0, 3), Leg(-3, 0, 3)))


@st.composite
def walls(draw: st.DrawFn) -> Wall:
    """Walls of all proportions with at most two openings that do not touch."""
    length = draw(st.floats(1.0, 60.0))
    ends = st.floats(1.0, 6.0)
    tops: Top = ((0.0, draw(ends)), (length / 2, draw(ends)), (length, draw(ends)))
    openings = [
        Opening(length / 8, 0.6, length * at, draw(st.sampled_from([0.0, 0.2])))
        for at in draw(st.sampled_from([(), (0.1,), (0.1, 0.6)]))
    ]
    turn = draw(st.floats(0, 2 * math.pi))
    end = Leg(length * math.cos(turn), length * math.sin(turn))
    run: float | Path = Path(0, 0, (end,)) if draw(st.booleans()) else length
    if isinstance(run, Path):
        tops = tuple((min(s, run.length_m), h) for s, h in tops)
    return Wall(run, tops, 0.5, tuple(openings), plinth_m=draw(st.floats(0, 1)))


def corners(shape: Any) -> tuple[float, float, float, float]:
    xs, ys = zip(*shape.points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def test_the_plan_is_to_scale_with_its_bar():
    """Hand-worked: a wall 6 m long is three times the bar of 2 m."""
    drawn = wall_plan((Wall(Path(0, 0, (Leg(6, 0),)), 2.4, 0.5),), size=Size.NARROW)
    west, north, east, south = corners(drawn.walls[0].shapes[0])
    metre = (east - west) / 6
    assert (south - north) / metre == pytest.approx(0.5)
    bar = drawn.scale_bar[1].points[1][0] - drawn.scale_bar[0].points[0][0]
    told_m = float(drawn.scale_ends[1].text.split()[0])
    assert bar / metre == pytest.approx(told_m)


def test_north_is_up_and_east_is_right():
    """By convention of plans; the wall at y 5 lies above that at y 0."""
    low = Wall(Path(0, 0, (Leg(4, 0),)), 2, 0.4)
    high = Wall(Path(0, 5, (Leg(4, 5),)), 2, 0.4)
    drawn = wall_plan((low, high))
    assert corners(drawn.walls[1].shapes[0])[3] < corners(drawn.walls[0].shapes[0])[1]
    assert drawn.north is not None


def test_walls_without_a_place_are_dashed_and_have_no_north():
    drawn = wall_plan((Wall(3.0, 2.0, 0.5, kind=Kind.BENCH),))
    assert drawn.north is None
    assert drawn.walls[0].look == "wall-loose"
    assert "no place yet" in told(drawn)


def test_a_round_house_keeps_its_hole():
    drawn = wall_plan((Wall(ROUND, 2.2, 0.5),))
    assert len(drawn.walls[0].shapes[0].holes) == 1
    assert outside(drawn) == []


def test_windows_have_a_pane_and_doors_none():
    wall = Wall(Path(0, 0, (Leg(6, 0),)), 2.4, 0.5, (DOOR, Opening(1, 1, 4, 0.9)))
    (drawn,) = wall_plan((wall,)).walls
    assert (len(drawn.openings), len(drawn.panes)) == (2, 1)


def test_words_along_a_wall_are_never_upside_down():
    """Property: turned by at most a right angle either way."""
    for end in ((5, 0), (-5, 0), (0, 5), (0, -5), (-4, 3)):
        drawn = wall_plan((Wall(Path(0, 0, (Leg(*end),)), 2, 0.4),))
        (sizes,) = (own.sizes for own in drawn.walls)
        assert sizes is not None
        assert -90 <= sizes.turn <= 90


def test_an_opening_of_an_elevation_is_where_the_wall_has_it():
    """Hand-worked: a wall of 6 by 2.4 m; the door from 1.2 to 2.1 m, 2 m high."""
    drawn = wall_elevation(WALLS[0], lift_m=0.5)
    left, top, right, foot = corners(drawn.face)
    metre = (right - left) / 6
    assert foot - top == pytest.approx(2.4 * metre)
    door = corners(drawn.openings[0].shape)
    assert door[0] == pytest.approx(left + 1.2 * metre)
    assert door[2] == pytest.approx(left + 2.1 * metre)
    assert (door[1], door[3]) == pytest.approx((foot - 2 * metre, foot))
    lintel = corners(drawn.lintels[0])
    assert lintel[0] == pytest.approx(left + 1.0 * metre)
    assert corners(drawn.plinth)[3] == pytest.approx(foot + 0.45 * metre)


def test_lifts_are_lines_at_their_heights_cut_by_openings():
    """Hand-worked: lifts of 0.5 m in 2.4 m end at 0.5, 1.0, 1.5 and 2.0; the door cuts the
    lower three in two, and the fourth at its head."""
    drawn = wall_elevation(WALLS[0], lift_m=0.5)
    foot = corners(drawn.face)[3]
    metre = (corners(drawn.face)[2] - corners(drawn.face)[0]) / 6
    heights = sorted(
        {round((foot - own.points[0][1]) / metre, 6) for own in drawn.lifts}
    )
    assert heights == pytest.approx([0.5, 1.0, 1.5, 2.0])
    assert len(drawn.lifts) >= 7


def test_a_gable_has_its_peak_written_above_it():
    """Hand-worked: 3.6 m in the middle of 5 m."""
    drawn = wall_elevation(WALLS[1], 2)
    text = [own for own in drawn.sizes if own.text.startswith("3.60")]
    left, top, right, _ = corners(drawn.face)
    assert text[0].x == pytest.approx((left + right) / 2)
    assert text[0].y < top


def test_an_opening_without_a_place_is_listed():
    wall = Wall.straight(4, 2.4, 0.5, (Opening(0.6, 0.7),))
    assert f"0.60 {TIMES} 0.70" in told(wall_elevation(wall))
    assert "no place yet" in wall_elevation(wall).notes[0].text


@given(walls(), st.sampled_from(Size), st.sampled_from([None, 0.3, 0.9]))
def test_any_wall_stays_within_its_drawings(wall, size, lift_m):
    """Property."""
    assert outside(wall_elevation(wall, lift_m=lift_m, size=size)) == []
    assert outside(wall_plan((wall,), size=size)) == []
