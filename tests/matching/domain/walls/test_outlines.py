"""Shapes for drawings."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon

from matching.domain.walls.outlines import Box, Ring, elevation, plan
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.wall import Kind, Opening, Wall

DOOR = Opening(1, 2, 1.5, lintel_depth_m=0.25, bearing_m=0.2)


def area(ring: Ring) -> float:
    return float(Polygon(ring.outer, ring.inner).area)


def test_two_walls_at_a_corner_are_drawn_to_the_outer_corner():
    """Hand-worked: 4 m centre lines, 0.5 thick: the box runs from -0.25 to 4."""
    walls = (
        Wall(Path(0, 0, (Leg(4, 0),)), 2.0, 0.5, name="south"),
        Wall(Path(0, 0, (Leg(0, 4),)), 2.0, 0.5, kind=Kind.INNER),
    )
    drawn = plan(walls)
    assert drawn.low == pytest.approx((-0.25, -0.25))
    assert drawn.high == pytest.approx((4, 4))
    assert [own.number for own in drawn.walls] == [1, 2]
    assert [own.name for own in drawn.walls] == ["south", ""]
    assert [area(own.rings[0]) for own in drawn.walls] == pytest.approx([2, 2])
    assert set(drawn.walls[0].rings[0].outer) == {
        (-0.25, -0.25),
        (0.25, 0.25),
        (4, 0.25),
        (4, -0.25),
    }


def test_a_door_is_a_gap_with_its_sizes():
    """Hand-worked: a wall of 4 m from (1, 0) going north, door from 1.5 to 2.5 m."""
    wall = Wall(Path(1, 0, (Leg(1, 4),)), 2.5, 0.5, (DOOR,))
    (drawn,) = plan((wall,)).walls
    assert sorted(area(ring) for ring in drawn.rings) == pytest.approx([0.75, 0.75])
    (gap,) = drawn.openings
    assert gap.middle == pytest.approx((1, 2))
    assert (gap.width_m, gap.height_m, gap.sill_m) == (1, 2, 0)
    assert {(round(x, 6), round(y, 6)) for x, y in gap.corners} == {
        (0.75, 1.5),
        (1.25, 1.5),
        (1.25, 2.5),
        (0.75, 2.5),
    }


def test_a_round_house_is_one_ring_with_a_hole():
    """Hand-worked: pi (2.2^2 - 1.8^2) = 1.6 pi m2; a point a degree makes it a trifle less."""
    path = Path(-2, 0, (Leg(2, 0, 2.0), Leg(-2, 0, 2.0)))
    (drawn,) = plan((Wall(path, 2.0, 0.4),)).walls
    (ring,) = drawn.rings
    assert len(ring.inner) == 1
    assert area(ring) == pytest.approx(1.6 * math.pi, rel=2e-4)


def test_a_wall_without_a_place_lies_below_the_others():
    """By definition: a metre below what stands further north, as long as it is."""
    walls = (Wall(3.0, 2.5, 0.5, (DOOR,)), Wall(Path(0, 0, (Leg(4, 0),)), 2.0, 0.5))
    loose, fixed = plan(walls).walls
    assert (loose.placed, fixed.placed) == (False, True)
    xs = [x for ring in loose.rings for x, _ in ring.outer]
    ys = [y for ring in loose.rings for _, y in ring.outer]
    assert (min(xs), max(xs)) == pytest.approx((0, 3))
    assert (min(ys), max(ys)) == pytest.approx((-1.75, -1.25))
    assert len(loose.rings) == 2
    assert plan(walls).low == pytest.approx((0, -1.75))


def test_a_plan_of_nothing_is_empty():
    assert plan(()).walls == ()


def test_a_wall_is_unrolled_with_plinth_door_lintel_and_lifts():
    """Hand-worked: a gable of 4 m, 2.5 m at the ends and 3.5 in the middle. Lifts of 1 m: at
    1 m it stands beside the door, at 2 m beside the lintel or upon the door's head, at 3 m
    from 1 to 3 m along."""
    top = ((0.0, 2.5), (2.0, 3.5), (4.0, 2.5))
    wall = Wall(4.0, top, 0.5, (DOOR, Opening(0.5, 0.5)), plinth_m=0.45)
    drawn = elevation(wall, 1.0)
    assert list(drawn.outline) == [(0, 0), (4, 0), (4, 2.5), (2, 3.5), (0, 2.5)]
    assert drawn.openings == (Box((1.5, 0), (2.5, 2)),)
    assert drawn.lintels[0].low == pytest.approx((1.3, 2))
    assert drawn.lintels[0].high == pytest.approx((2.7, 2.25))
    assert drawn.plinth
    assert list(drawn.plinth.low) == [0, -0.45]
    assert drawn.loose == (Opening(0.5, 0.5),)
    assert [own.height_m for own in drawn.lifts] == [1, 2, 3]
    assert list(drawn.lifts[0].spans) == [(0, 1.5), (2.5, 4)]
    assert list(drawn.lifts[2].spans) == [pytest.approx((1, 3))]


def test_corners_of_the_path_are_marked_along_an_unrolled_wall():
    """Hand-worked: 3 m, a corner, half a circle of radius 1, pi m long, straight on."""
    path = Path(0, 0, (Leg(3, 0), Leg(3, 2, -1.0), Leg(1, 2)))
    drawn = elevation(Wall(path, 2.0, 0.4))
    assert drawn.corners == pytest.approx((3, 3 + math.pi))
    assert drawn.plinth is None
    assert drawn.lifts == ()
    # A half circle is two quarters inside, which is no corner.
    assert elevation(Wall(3.0, 2.0, 0.4)).corners == ()
