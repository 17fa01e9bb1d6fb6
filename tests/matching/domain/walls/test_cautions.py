"""What a building code says about sizes."""

from __future__ import annotations

import pytest

from matching.domain.walls.cautions import code_remarks
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.wall import Kind, Opening, Wall

# Height, thickness, thickness at the top, what is remarked. IRC 2021 Appendix AU, at second
# hand (job notes: reference values 3.1): 254 mm, 610 mm in the top two thirds, 6096 mm.
CASES = [
    (2.4, 0.45, None, set()),
    (2.4, 0.254, None, set()),
    (2.4, 0.25, None, {"wall_thin"}),
    (2.4, 0.45, 0.25, {"wall_thin"}),
    (2.4, 0.610, None, set()),
    (2.4, 0.62, None, {"wall_thick_above"}),
    # 0.7 falls to 0.61 at a third of its height: 0.7 - 0.27 / 3.
    (2.4, 0.7, 0.43, set()),
    (2.4, 0.7, 0.45, {"wall_thick_above"}),
    (6.2, 0.6, None, {"wall_high", "wall_slender"}),
    # Ten times as high as thick: common practice, no source.
    (3.1, 0.3, None, {"wall_slender"}),
    (3.0, 0.3, None, set()),
]


@pytest.mark.parametrize(("height", "thick", "top", "codes"), CASES)
def test_sizes_beyond_the_code_are_remarked(height, thick, top, codes):
    found = code_remarks((Wall(4.0, height, thick, top_thickness_m=top),))
    assert {own.code for own in found if own.wall == 0} == codes


def test_the_plinth_counts_towards_the_height_of_the_building():
    """The limit is that of the building: 5.8 + 0.45 m is above 6.096."""
    wall = Wall(4.0, 5.8, 0.6, plinth_m=0.45)
    (high,) = (own for own in code_remarks((wall,)) if own.code == "wall_high")
    assert high.found == pytest.approx(6.25)


def test_a_bench_may_be_thick_and_every_remark_leaves_the_last_word_to_local_code():
    """Common practice, no source: a bench is no wall."""
    found = code_remarks((Wall(2.0, 0.45, 0.9, kind=Kind.BENCH), Wall(2.0, 2.4, 0.9)))
    assert [(own.code, own.wall) for own in found] == [
        ("one_storey", None),
        ("wall_thick_above", 1),
    ]
    for own in found:
        assert "local code" in own.words
        assert "licensed" in own.words


def wall(start: tuple[float, float], end: tuple[float, float], *own: Opening) -> Wall:
    return Wall(Path(*start, (Leg(*end),)), 2.4, 0.4, own)


DOOR = Opening(0.9, 2.0, at_m=2.0)
FRONT = wall((0, 0), (6, 0), DOOR)


@pytest.mark.parametrize(
    ("other", "remarked"),
    [
        # The door lies from 2.0 to 2.9 m along the front; half a wall is 0.2 m.
        (wall((2.4, 3), (2.4, 0)), True),
        (wall((2.4, 0), (2.4, 3)), True),
        (wall((2.4, 3), (2.4, 0.19)), True),
        (wall((2.4, 3), (2.4, 0.21)), False),
        (wall((3.05, 3), (3.05, 0)), True),
        (wall((3.1, 3), (3.1, 0)), False),
        (wall((1.8, 3), (1.8, 0)), False),
        # It goes on along the front: a straight joint takes nothing of the door.
        (wall((6, 0), (9, 0)), False),
        (Wall.straight(3, 2.4, 0.4), False),
    ],
)
def test_a_wall_that_ends_in_a_doorway_is_remarked(other, remarked):
    """By hand; that a wall fills the door which it runs into is a property of the plan."""
    found = [
        own for own in code_remarks((FRONT, other)) if own.code == "wall_end_in_opening"
    ]
    assert bool(found) is remarked
    for own in found:
        assert own.wall == 1
        assert "Wall 2 ends in an opening of wall 1" in own.words


def test_a_bench_below_a_window_is_not_in_it_and_one_in_a_doorway_is():
    """By hand: the sill is 0.9 m up and the bench 0.45 m high."""
    window = wall((0, 0), (6, 0), Opening(0.9, 1.0, at_m=2.0, sill_m=0.9))
    run = Path(2.4, 2.0, (Leg(2.4, 0.0),))
    bench = Wall(run, 0.45, 0.4, kind=Kind.BENCH)
    for front, count in ((window, 0), (FRONT, 1)):
        found = [own.code for own in code_remarks((front, bench))]
        assert found.count("wall_end_in_opening") == count
