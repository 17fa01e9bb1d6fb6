"""One wall: its volume in closed form, and the drawings that are refused."""

from __future__ import annotations

import pytest

from logistics.domain.errors import Refused
from matching.domain.walls.wall import Opening, Wall

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
