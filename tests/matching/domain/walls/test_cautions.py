"""What a building code says about sizes."""

from __future__ import annotations

import pytest

from matching.domain.walls.cautions import code_remarks
from matching.domain.walls.wall import Kind, Wall

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
