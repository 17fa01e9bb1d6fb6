"""What walls hold together: joints are counted once and corners are full."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from matching.domain.walls.courses import courses
from matching.domain.walls.heights import Top
from matching.domain.walls.paths import Leg, Path, Point
from matching.domain.walls.volumes import overlap_m3, placed_m3
from matching.domain.walls.wall import Opening, Wall

RECTANGLE: tuple[Point, ...] = ((0, 0), (6, 0), (6, 4), (0, 4))


def wall(start: Point, end: Point, height: Any = 2.0, **rest: Any) -> Wall:
    return Wall(Path(*start, (Leg(*end),)), height, **({"thickness_m": 0.5} | rest))


def ring(corners: tuple[Point, ...], **rest: Any) -> tuple[Wall, ...]:
    return tuple(
        wall(corner, corners[(i + 1) % len(corners)], **rest)
        for i, corner in enumerate(corners)
    )


def turned(point: Point, angle: float) -> Point:
    x, y = point
    return (
        x * math.cos(angle) - y * math.sin(angle),
        x * math.sin(angle) + y * math.cos(angle),
    )


def test_a_rectangle_is_its_centre_line_times_thickness_times_height():
    """Hand-worked, centre-line method: 20 x 0.5 x 2 = 20 m3. Or: outer 6.5 x 4.5 less inner
    5.5 x 3.5 is 29.25 - 19.25 = 10 m2, x 2."""
    assert placed_m3(ring(RECTANGLE)) == pytest.approx(20, rel=1e-12)
    legs = tuple(Leg(*point) for point in (*RECTANGLE[1:], RECTANGLE[0]))
    one = Wall(Path(0, 0, legs), 2.0, 0.5)
    assert one.placed_m3 == pytest.approx(20)
    assert placed_m3((one,)) == pytest.approx(20, rel=1e-12)


def test_two_walls_meet_at_a_right_angle():
    """Hand-worked: 4 m centre lines, 0.5 thick. One wall runs through to the outer corner,
    4.25 m, the other up to its inner face, 3.75 m: 8 x 0.5 = 4 m2, at 2 m 8 m3."""
    corner = (wall((0, 0), (4, 0)), wall((0, 0), (0, 4)))
    assert placed_m3(corner) == pytest.approx(8)
    assert overlap_m3(corner) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("sides", [3, 5, 6, 12])
def test_a_regular_polygon_of_walls(sides):
    """Hand-worked: area between two regular polygons of inradius r + t/2 and r - t/2 is
    n tan(pi/n) ((r + t/2)^2 - (r - t/2)^2) = n tan(pi/n) 2 r t; r = 3, t = 0.4, 2 m high."""
    out = 3 / math.cos(math.pi / sides)
    corners = tuple(turned((out, 0), 2 * math.pi * i / sides) for i in range(sides))
    expected = sides * math.tan(math.pi / sides) * 2 * 3 * 0.4 * 2
    found = placed_m3(ring(corners, thickness_m=0.4))
    assert found == pytest.approx(expected, rel=1e-9)


def test_walls_of_two_thicknesses_meet_at_a_corner():
    """Hand-worked: x wall 4 m, 0.6 thick, y wall 3 m, 0.4 thick, 2 m high. Outer corner
    0.4 x 0.6 = 0.24 m2; the rest (4 - 0.2) x 0.6 + (3 - 0.3) x 0.4 = 3.36; together 3.6 m2,
    which is 4 x 0.6 + 3 x 0.4."""
    corner = (
        wall((0, 0), (4, 0), thickness_m=0.6),
        wall((0, 0), (0, 3), thickness_m=0.4),
    )
    assert placed_m3(corner) == pytest.approx(7.2)


def test_a_tee_counts_its_joint_once():
    """Hand-worked: the stem runs half a thickness, 0.25 m, into the bar, 0.5 wide, 2 m high:
    0.25 m3. Bar 4 x 0.5 x 2 = 4, stem 3 x 0.5 x 2 = 3, together 6.75 m3."""
    bar, stem = wall((0, 0), (4, 0)), wall((2, 0), (2, 3))
    assert overlap_m3((bar, stem)) == pytest.approx(0.25)
    assert placed_m3((bar, stem)) == pytest.approx(6.75)
    halves = (wall((0, 0), (2, 0)), wall((2, 0), (4, 0)), stem)
    assert placed_m3(halves) == pytest.approx(6.75)


def test_a_low_bench_meets_a_wall_as_high_as_the_bench():
    """Hand-worked: a bench 0.45 m high and 0.6 thick runs 0.25 m into a wall: 0.25 x 0.6 x
    0.45 = 0.0675 m3."""
    bench = wall((2, 0), (2, 2), 0.45, thickness_m=0.6)
    assert overlap_m3((wall((0, 0), (4, 0)), bench)) == pytest.approx(0.0675)


def test_a_stem_that_ends_at_the_face_shares_nothing():
    """Hand-worked: it only touches."""
    assert overlap_m3((wall((0, 0), (4, 0)), wall((2, 0.25), (2, 3)))) == pytest.approx(
        0, abs=1e-9
    )


def test_a_crossing_of_tapered_walls():
    """Hand-worked: both 0.5 less 0.1 m a metre, 2 and 3 m high. Shared: integral from 0 to 2
    of (0.5 - 0.1 z)^2 = (0.5^3 - 0.3^3) / 0.3 = 0.098 / 0.3 = 0.326667 m3."""
    one = wall((0, 0), (4, 0), top_thickness_m=0.3)
    other = wall((2, -2), (2, 2), 3.0, top_thickness_m=0.2)
    assert overlap_m3((one, other)) == pytest.approx(0.098 / 0.3, rel=1e-12)


def test_a_wall_under_a_gable_slope():
    """Hand-worked: the gable rises from 0 to 3 m over 6 m. A wall of 0.4 m runs 0.25 m into
    it at 3 m along and is higher. Shared: width 0.4 x depth 0.25 x the mean height of the
    slope over it, 1.5 = 0.15 m3; kinks at 1.4 and 1.6 m."""
    slope = wall((0, 0), (6, 0), ((0, 0), (6, 3)))
    other = wall((3, 0), (3, 4), 2.5, thickness_m=0.4)
    assert overlap_m3((slope, other)) == pytest.approx(0.15, abs=5e-6)


def test_a_wall_across_a_round_wall():
    """Hand-worked: a straight wall through the middle of a ring of centre radius 2 and
    thickness 0.4, 0.3 thick: twice the area between the circles 2.2 and 1.8 within 0.15 of
    the middle line. Half chord areas F(R) = 0.15 sqrt(R^2 - 0.15^2) + R^2 asin(0.15 / R):
    F(2.2) - F(1.8) = 0.659489 - 0.539375 = 0.120114 a side, 0.240228 both, at 2 m high 0.480456 m3."""

    def strip(radius: float) -> float:
        return 0.15 * math.sqrt(radius**2 - 0.15**2) + radius**2 * math.asin(
            0.15 / radius
        )

    round_ = Wall(Path(-2, 0, (Leg(2, 0, 2.0), Leg(-2, 0, 2.0))), 2.0, 0.4)
    across = wall((-4, 0), (4, 0), thickness_m=0.3)
    shared = 2 * 2 * (strip(2.2) - strip(1.8))
    assert overlap_m3((round_, across)) == pytest.approx(shared, rel=1e-3)
    assert overlap_m3((round_,)) == pytest.approx(0, abs=1e-9)


def test_a_round_end_goes_on_in_a_straight_wall_without_loss():
    """Hand-worked: a horseshoe of two straight walls of 3 m and half a circle of radius 2:
    (6 + 2 pi) x 0.4 x 2."""
    legs = (Leg(3, 0), Leg(3, 4, -2.0), Leg(0, 4))
    horseshoe = Wall(Path(0, 0, legs), 2.0, 0.4)
    expected = (6 + 2 * math.pi) * 0.8
    assert placed_m3((horseshoe,)) == pytest.approx(expected, rel=1e-12)


def test_an_arc_meets_a_wall_at_a_corner():
    """Hand-worked bound: the corner is full, so it differs from centre line times thickness
    by less than the corner itself, 0.5 x 0.5 x 2 m3, by far."""
    bow, straight = Wall(Path(0, 0, (Leg(4, 0, 1.0),)), 2.0, 0.5), wall((4, 0), (8, 0))
    alone = bow.placed_m3 + straight.placed_m3
    assert placed_m3((bow, straight)) == pytest.approx(alone, abs=0.005)


def test_walls_without_a_place_share_nothing():
    """By definition."""
    walls = (Wall(4.0, 2.0, 0.5), Wall(4.0, 2.0, 0.5), wall((0, 0), (4, 0)))
    assert overlap_m3(walls) == 0
    assert placed_m3(walls) == 12


def test_the_same_wall_drawn_twice_counts_once():
    """Property."""
    one = wall((0, 0), (4, 0), ((0, 2), (2, 3), (4, 2)))
    assert placed_m3((one, one)) == pytest.approx(one.placed_m3)


def test_a_wall_that_runs_into_an_opening_fills_it():
    """Hand-worked: the door of 1 x 2 m stands where the stem of 0.5 m runs in by 0.25: what
    the stem fills is counted with the stem, nothing is shared."""
    bar = wall((0, 0), (4, 0), openings=(Opening(1, 2, 1.5),), height=2.0)
    stem = wall((2, 0), (2, 3))
    assert overlap_m3((bar, stem)) == pytest.approx(0, abs=1e-9)
    assert placed_m3((bar, stem)) == pytest.approx(3 + 3)


def test_openings_without_a_place_thin_a_joint_too():
    """Hand-worked: openings of 2 m2 in 8 m2 leave three quarters of the bar, 3 m3; the stem
    is whole. Where they meet, 0.25 m3, the stem counts and three quarters of it are taken
    off: 3 + 3 - 0.1875."""
    bar = wall((0, 0), (4, 0), openings=(Opening(1, 2),))
    stem = wall((2, 0), (2, 3))
    assert placed_m3((bar, stem)) == pytest.approx(5.8125)


def test_a_wall_that_comes_back_beside_itself_counts_that_once():
    """Hand-worked: a hairpin 3 m long and 0.4 m wide of 0.5 m walls: a block of 3.25 x 0.9
    less nothing, 2.925 m2, 2 m high."""
    hairpin = Wall(Path(0, 0, (Leg(3, 0), Leg(3, 0.4), Leg(0, 0.4))), 2.0, 0.5)
    assert placed_m3((hairpin,)) == pytest.approx(5.85)


heights = st.floats(0.3, 4)
cells = st.integers(-3, 3).map(float)


@st.composite
def openings(draw: st.DrawFn, length: float, height: float) -> tuple[Opening, ...]:
    """None, or one: with its place or not, with a lintel or not."""
    if draw(st.booleans()):
        return ()
    wide = length * draw(st.floats(0.1, 0.4))
    tall = height * draw(st.floats(0.1, 0.5))
    at = draw(st.none() | st.floats(0.2, 0.5).map(lambda share: share * length))
    sill = draw(st.none() | st.floats(0, 0.3).map(lambda share: share * height))
    lintel = draw(st.sampled_from((0.0, 0.05)))
    return (Opening(wide, tall, at, sill, lintel * height, 0.05 * length),)


@st.composite
def placed(draw: st.DrawFn) -> Wall:
    """A straight or curved wall on a small grid, so that walls meet often."""
    start = (draw(cells), draw(cells))
    end = (draw(cells), draw(cells.filter(lambda y: y != start[1])))
    rise = draw(st.sampled_from((0.0, 0.0, 0.8, -0.5)))
    path = Path(*start, (Leg(*end, rise * math.dist(start, end) / 2),))
    height = draw(heights)
    low = height * draw(st.floats(0.75, 1))
    slope = ((0.0, low), (path.length_m * 0.99, height))
    top: float | Top = slope if draw(st.booleans()) else height
    thick = draw(st.floats(0.1, 0.4))
    return Wall(
        path,
        top,
        thick,
        draw(openings(path.length_m, low)),
        draw(st.none() | st.just(thick * 0.6)),
    )


several = st.lists(placed(), min_size=1, max_size=4).map(tuple)


@given(several, st.floats(0.2, 1.5))
@settings(max_examples=30)
def test_courses_add_up(walls, lift):
    """Property."""
    found = courses(walls, lift)
    total = placed_m3(walls)
    assert math.fsum(own.placed_m3 for own in found) == pytest.approx(total, rel=1e-9)
    assert all(own.placed_m3 > -5e-5 for own in found)
    assert found[0].low_m == 0
    assert found[-1].high_m == max(own.height_m for own in walls)


@given(several)
@settings(max_examples=30)
def test_together_walls_hold_at_most_their_sum_and_at_least_the_largest(walls):
    """Property; where arcs meet at corners a little more than the sum is right."""
    alone = [own.placed_m3 for own in walls]
    assert max(alone) * 0.98 <= placed_m3(walls) <= sum(alone) * 1.02


@given(several, st.floats(-3.2, 3.2), st.floats(-50, 50), st.floats(-50, 50))
@settings(max_examples=20)
def test_moving_and_turning_all_walls_keeps_the_volume(walls, angle, east, north):
    """Property."""

    def moved(own: Wall) -> Wall:
        assert isinstance(own.run, Path)
        x, y = turned((own.run.x_m, own.run.y_m), angle)
        ends = [(turned((leg.x_m, leg.y_m), angle), leg.rise_m) for leg in own.run.legs]
        legs = tuple(Leg(a + east, b + north, rise) for (a, b), rise in ends)
        return Wall(
            Path(x + east, y + north, legs),
            own.height,
            own.thickness_m,
            own.openings,
            own.top_thickness_m,
        )

    again = placed_m3(tuple(moved(own) for own in walls))
    assert again == pytest.approx(placed_m3(walls), abs=5e-5)


@given(several, st.lists(st.floats(0.05, 0.95), min_size=1, max_size=4, unique=True))
@settings(max_examples=20)
def test_cutting_a_straight_wall_in_pieces_keeps_the_volume(walls, shares):
    """Property: pieces in line, joined end to end, with another wall across or not."""
    start, end = (-3.0, 0.5), (3.0, 0.5)
    marks = [0.0, *sorted(share * 6 for share in shares), 6.0]
    assume(min(b - a for a, b in pairwise(marks)) >= 0.05)
    pieces = tuple(
        wall((start[0] + a, 0.5), (start[0] + b, 0.5)) for a, b in pairwise(marks)
    )
    legs = tuple(Leg(start[0] + mark, 0.5) for mark in marks[1:])
    whole = wall(start, end)
    expected = placed_m3((whole, *walls))
    assert placed_m3((*pieces, *walls)) == pytest.approx(expected, abs=5e-5)
    poly = Wall(Path(*start, legs), 2.0, 0.5)
    assert placed_m3((poly, *walls)) == pytest.approx(expected, abs=5e-5)


@given(several, st.data())
@settings(max_examples=30)
def test_an_opening_never_adds_volume(walls, data):
    """Property."""
    first = walls[0]
    bare = Wall(first.run, first.height, first.thickness_m, (), first.top_thickness_m)
    holes = data.draw(openings(first.length_m, min(h for _, h in first.top)))
    pierced = Wall(
        first.run, first.height, first.thickness_m, holes, first.top_thickness_m
    )
    before, after = placed_m3((bare, *walls[1:])), placed_m3((pierced, *walls[1:]))
    assert after <= before + 5e-5
