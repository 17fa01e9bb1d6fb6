"""What a published building code says about the sizes of cob walls. Facts, not advice.

IRC 2021, Appendix AU (cob, monolithic adobe), quoted at second hand: one storey, a
building of at most 20 ft (6.096 m), walls at least 10 in (254 mm) thick and at most 24 in
(610 mm) in their top two thirds. Slenderness: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from matching.domain.walls.doorways import ends_in_openings
from matching.domain.walls.wall import Kind, Wall

LEAST_THICKNESS_M = 0.254
MOST_THICKNESS_M = 0.610
MOST_HEIGHT_M = 6.096
MOST_SLENDERNESS = 10.0
SOURCE = "IRC 2021, Appendix AU"
PRACTICE = "common practice, no source"
LOCAL = (
    "Your local code decides, and it may ask for a design by a licensed professional."
)


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark. `wall` counts from 0, None for all; `found` and `limit` in m, or a
    ratio for slenderness, None where there is nothing to measure."""

    code: str
    wall: int | None
    found: float | None
    limit: float | None
    source: str
    words: str


def code_remarks(walls: tuple[Wall, ...]) -> tuple[Remark, ...]:
    """What the sizes of these walls call for; never empty, benches and buttresses apart.
    A wall or bench that ends in another's opening is remarked too."""
    found = [
        Remark(
            "one_storey",
            None,
            None,
            None,
            SOURCE,
            f"The appendix covers buildings of one storey only. {LOCAL}",
        )
    ]
    for index, wall in enumerate(walls):
        if wall.kind is not Kind.BENCH:
            found += _remarks(index, wall)
    found += [
        Remark(
            "wall_end_in_opening",
            own.wall,
            None,
            None,
            PRACTICE,
            f"Wall {own.wall + 1} ends in an opening of wall {own.other + 1},"
            f" {own.opening.width_m:g} m wide: it would fill part of it. Move the wall or"
            " the opening, unless that is meant.",
        )
        for own in ends_in_openings(walls)
    ]
    return tuple(found)


def _remarks(index: int, wall: Wall) -> list[Remark]:
    thin = wall.thickness_at(wall.height_m)
    # Thickness only falls with height, so a third of the way up shows the most above it.
    thick = wall.thickness_at(wall.height_m / 3)
    slender = wall.height_m / ((wall.thickness_m + thin) / 2)
    high = wall.plinth_m + wall.height_m
    checks = (
        (
            "wall_thin",
            thin < LEAST_THICKNESS_M - 1e-9,
            thin,
            LEAST_THICKNESS_M,
            "thinner than the appendix allows anywhere",
        ),
        (
            "wall_thick_above",
            thick > MOST_THICKNESS_M + 1e-9,
            thick,
            MOST_THICKNESS_M,
            "thicker than the appendix allows in the top two thirds",
        ),
        (
            "wall_high",
            high > MOST_HEIGHT_M + 1e-9,
            high,
            MOST_HEIGHT_M,
            "with its plinth higher than the appendix allows the building",
        ),
        (
            "wall_slender",
            slender > MOST_SLENDERNESS + 1e-9,
            slender,
            MOST_SLENDERNESS,
            "slender: many times as high as thick on average",
        ),
    )
    return [
        Remark(
            code,
            index,
            value,
            limit,
            PRACTICE if code == "wall_slender" else SOURCE,
            f"Wall {index + 1} is {words}: {value:.3g} against {limit:g}. {LOCAL}",
        )
        for code, broken, value, limit, words in checks
        if broken
    ]
