"""One lift over all walls of a build, until the walls bring their own."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Course:
    """A lift over all walls: heights and mean thickness in m, m3 of wall."""

    low_m: float
    high_m: float
    placed_m3: float
    thickness_m: float
