"""Walls cut into lifts."""

from __future__ import annotations

import math

import pytest

from logistics.domain.errors import Refused
from matching.domain.walls.courses import courses
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.volumes import placed_m3
from matching.domain.walls.wall import Opening, Wall


def volumes(walls: tuple[Wall, ...], lift_m: float) -> list[float]:
    return [own.placed_m3 for own in courses(walls, lift_m)]


def test_the_last_course_is_as_high_as_what_is_left():
    """Hand-worked: 2 m in lifts of 0.6: three of 5 x 0.5 x 0.6 = 1.5 m3 and one of 0.2 m,
    0.5 m3."""
    found = courses((Wall(5.0, 2.0, 0.5),), 0.6)
    assert [own.placed_m3 for own in found] == pytest.approx([1.5, 1.5, 1.5, 0.5])
    assert [own.high_m for own in found] == pytest.approx([0.6, 1.2, 1.8, 2.0])
    assert len(courses((Wall(5.0, 2.4, 0.5),), 0.6)) == 4


def test_a_door_is_left_out_of_the_courses_that_it_stands_in():
    """Hand-worked: 4 m of wall, 0.5 thick, 2.5 high; door 1 x 2 m, lintel 1.4 x 0.25 on it.
    Lifts of 0.5: four of 3 x 0.5 x 0.5 = 0.75 m3, then 0.25 x (4 - 1.4) x 0.5 = 0.325 beside
    the lintel and 0.25 x 4 x 0.5 = 0.5 above it, 0.825 m3."""
    door = Opening(1, 2, 1.5, lintel_depth_m=0.25, bearing_m=0.2)
    found = volumes((Wall(4.0, 2.5, 0.5, (door,)),), 0.5)
    assert found == pytest.approx([0.75, 0.75, 0.75, 0.75, 0.825])


def test_an_opening_of_known_height_alone_is_left_out_at_its_height():
    """Hand-worked: a window of 1 x 0.5 m somewhere from 0.5 to 1 m: 2, 1.5, 2 ... of 4 m."""
    window = Opening(1, 0.5, None, 0.5)
    found = volumes((Wall(4.0, 1.5, 0.5, (window,)),), 0.5)
    assert found == pytest.approx([1.0, 0.75, 1.0])


def test_an_opening_without_a_place_thins_all_courses_alike():
    """Hand-worked: 2 m2 of 8 m2 is a quarter; 4 x 0.5 x 0.5 = 1 m3 a course, less that."""
    found = volumes((Wall(4.0, 2.0, 0.5, (Opening(1, 2),)),), 0.5)
    assert found == pytest.approx([0.75] * 4)


def test_a_gable_and_a_taper_give_less_each_time():
    """Hand-worked: a triangle 6 m wide, 3 m high, 0.5 thick in lifts of 1 m: trapezoids of
    mean width 5, 3 and 1 m: 2.5, 1.5, 0.5 m3. A taper from 0.6 to 0.3 over 3 m on 4 m:
    mean thickness 0.55, 0.45, 0.35: 2.2, 1.8, 1.4 m3."""
    gable = Wall(6.0, ((0, 0), (3, 3), (6, 0)), 0.5)
    assert volumes((gable,), 1.0) == pytest.approx([2.5, 1.5, 0.5])
    taper = Wall(4.0, 3.0, 0.6, top_thickness_m=0.3)
    found = courses((taper,), 1.0)
    assert [own.placed_m3 for own in found] == pytest.approx([2.2, 1.8, 1.4])
    assert [own.thickness_m for own in found] == pytest.approx([0.6, 0.5, 0.4])


def test_a_joint_counts_once_in_the_courses_that_both_walls_reach():
    """Hand-worked: 4 m of wall 2 m high, a bench of 2 x 0.6 x 0.5 m that runs 0.25 m into
    it. Lifts of 0.5: 1 + 0.6 - 0.25 x 0.6 x 0.5 = 1.525, then 1 each."""
    bar = Wall(Path(0, 0, (Leg(4, 0),)), 2.0, 0.5)
    bench = Wall(Path(2, 0, (Leg(2, 2),)), 0.5, 0.6)
    found = courses((bar, bench), 0.5)
    assert [own.placed_m3 for own in found] == pytest.approx([1.525, 1, 1, 1])
    assert [own.thickness_m for own in found] == [0.6, 0.5, 0.5, 0.5]
    assert math.fsum(own.placed_m3 for own in found) == pytest.approx(
        placed_m3((bar, bench)), rel=1e-12
    )


def test_no_walls_have_no_courses():
    assert courses((), 0.5) == ()


@pytest.mark.parametrize("lift", [0.0, -0.5, 600.0, math.nan])
def test_a_lift_that_cannot_be_is_refused(lift):
    """Common sense, no source."""
    with pytest.raises(Refused) as refusal:
        courses((Wall(4.0, 2.0, 0.5),), lift)
    assert refusal.value.problems[0].field == "lift_m"
