"""What each build pays beside what it would pay alone."""

from __future__ import annotations

import pytest

from api.pictures.drawing import Shape, Size
from api.pictures.share_bars import SharePart, share_bars


def ends(shape: Shape) -> tuple[float, float]:
    xs = [x for x, _ in shape.points]
    return min(xs), max(xs)


def test_bars_are_as_long_as_their_amounts_and_gains_lie_left_of_zero():
    """By hand: 400 is twice 200; a build that is paid 100 reaches to the left."""
    picture = share_bars(
        (SharePart("Barn", 400, 200), SharePart("Shed", 100, -100)), "EUR"
    )
    barn, shed = picture.bars
    zero = picture.zero.points[0][0]
    left, right = ends(barn.alone)
    assert left == pytest.approx(zero)
    assert right - left == pytest.approx(2 * (ends(barn.share)[1] - zero))
    assert ends(shed.share)[1] == pytest.approx(zero)
    assert zero - ends(shed.share)[0] == pytest.approx(ends(shed.alone)[1] - zero)


def test_the_figures_stand_in_the_table_with_what_is_saved():
    picture = share_bars((SharePart("Barn", 40_000, 25_050),), "EUR", size=Size.NARROW)
    (row,) = picture.frame.table.rows
    assert [own.replace("\xa0", " ") for own in row] == [
        "Barn",
        "400.00 EUR",
        "250.50 EUR",
        "149.50 EUR",
    ]
