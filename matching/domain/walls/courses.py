"""Courses: the walls of a build cut into lifts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from matching.domain.walls.sections import volume_between
from matching.domain.walls.sizes import check_number
from matching.domain.walls.volumes import shared
from matching.domain.walls.wall import Wall

LEAST_LIFT_M, MOST_LIFT_M = 0.05, 3.0


@dataclass(frozen=True, slots=True)
class Course:
    """One lift over all walls of a build, between two heights above the plinth, in m.

    `thickness_m` is the greatest thickness that any wall in it has, at its bottom: the
    thickest wall dries last.
    """

    low_m: float
    high_m: float
    placed_m3: float
    thickness_m: float


def courses(walls: tuple[Wall, ...], lift_m: float) -> tuple[Course, ...]:
    """The walls in lifts from the bottom up, the last one as high as what is left.

    Volumes add up to `placed_m3(walls)`. Raises Refused "not_a_sane_size" for the lift.
    """
    edges = lift_edges(max((wall.height_m for wall in walls), default=0.0), lift_m)
    return tuple(_course(walls, low, high) for low, high in pairwise(edges))


def lift_edges(height_m: float, lift_m: float) -> tuple[float, ...]:
    """Heights between lifts, from 0 to the top. Raises Refused "not_a_sane_size"."""
    check_number(lift_m, field="lift_m", least=LEAST_LIFT_M, most=MOST_LIFT_M)
    # 2.4 m in lifts of 0.6 are four, whatever the last bit says.
    count = math.ceil(height_m / lift_m - 1e-9)
    return (*(lift_m * index for index in range(count)), height_m)


def _course(walls: tuple[Wall, ...], low: float, high: float) -> Course:
    alone = math.fsum(volume_between(wall, low, high) for wall in walls)
    twice = math.fsum(own.volume(low, high) for own in shared(walls))
    thickest = max(wall.thickness_at(low) for wall in walls if wall.height_m > low)
    return Course(low, high, alone - twice, thickest)
