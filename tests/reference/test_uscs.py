"""Unified classes, Cu and Cc against published problems."""

from __future__ import annotations

import pytest

from logistics.domain.errors import Refused
from matching.domain.grading import Grading, from_retained
from matching.domain.grounds import Known
from matching.domain.sands.classes import sand_class, symbols, well_graded


def curve(d10: float, d30: float, d60: float, fines: float) -> Grading:
    """A curve through the three sizes, with the fines at 0.075 mm."""
    return Grading(((0.075, fines), (d10, 0.1), (d30, 0.3), (d60, 0.6), (4.75, 1.0)))


@pytest.mark.parametrize(
    ("d10", "d30", "d60", "uniformity", "curvature", "symbol"),
    [
        # Das, Problem 2.2 (seen): Cu 2.57; Cc computed.
        (0.30, 0.41, 0.77, 2.57, 0.73, "SP"),
        # Das, 2.3 A (seen): Cu 17.5; Cc computed.
        (0.20, 1.95, 3.5, 17.5, 5.43, "SP"),
        # Das, 2.3 B: the page prints 8, its own sizes give 8.82.
        (0.17, 0.75, 1.5, 8.82, 2.21, "SW"),
        # An essay page (seen): Cu 7.05, Cc 0.364.
        (0.078, 0.125, 0.55, 7.05, 0.364, "SP"),
    ],
)
def test_published_sizes_give_the_published_coefficients(
    d10, d30, d60, uniformity, curvature, symbol
):
    """Sources beside each row; 3 % fines taken where the page gives none."""
    found = sand_class(curve(d10, d30, d60, 0.03))
    assert found.uniformity == pytest.approx(uniformity, abs=0.01)
    assert found.curvature == pytest.approx(curvature, abs=0.01)
    assert found.symbols == (symbol,)


def test_a_textbook_sieve_sheet_gives_its_shares_finer():
    """Das, Problem 2.1 (solution seen): 0, 40, 60, 89, 140, 122, 210, 56 g and 12 g in the
    pan -> 100, 94.5, 86.3, 74.1, 54.9, 38.1, 9.3, 1.7 % finer (12 of 729 g is 1.65).
    Even-grained, so SP."""
    sieves = (4.75, 2.0, 0.85, 0.425, 0.25, 0.18, 0.15, 0.075)
    sheet = from_retained(sieves, (0, 40, 60, 89, 140, 122, 210, 56), 12)
    assert sheet.sieved_g == 729
    finer = [100 * share for _, share in reversed(sheet.grading.points)]
    printed = [100.0, 94.5, 86.3, 74.1, 54.9, 38.1, 9.3, 1.7]
    assert finer == pytest.approx(printed, abs=0.06)
    assert sand_class(sheet.grading).symbols == ("SP",)


def test_a_handbook_sand_is_well_graded():
    """A civil-engineering page, Example 15.1 (seen): 90, 70, 23, 4 % passing No. 4, 10, 40,
    200; D60 1.50, D30 0.61, D10 0.18 mm. By ASTM D2487 Cu 8.3 and Cc 1.38: SW, by the
    sizes and by the curve through the four sieves."""
    assert well_graded(1.50 / 0.18, 0.61**2 / (0.18 * 1.50))
    found = sand_class(Grading(((0.075, 0.04), (0.425, 0.23), (2.0, 0.7), (4.75, 0.9))))
    assert found.symbols == ("SW",)


@pytest.mark.parametrize(
    ("graded", "fines", "clayey", "names"),
    [
        (Known.YES, 0.049, Known.UNKNOWN, ("SW",)),
        (Known.NO, 0.049, Known.UNKNOWN, ("SP",)),
        (Known.YES, 0.05, Known.NO, ("SW-SM",)),
        (Known.YES, 0.12, Known.YES, ("SW-SC",)),
        (Known.NO, 0.08, Known.NO, ("SP-SM",)),
        (Known.NO, 0.08, Known.UNKNOWN, ("SP-SC", "SP-SM")),
        (Known.NO, 0.121, Known.NO, ("SM",)),
        (Known.YES, 0.3, Known.YES, ("SC",)),
        (Known.UNKNOWN, 0.0, Known.NO, ("SW", "SP")),
    ],
)
def test_fines_choose_single_and_double_names(graded, fines, clayey, names):
    """ASTM D2487 (seen quoted): < 5 % single, 5-12 % double, > 12 % SM or SC."""
    assert symbols(graded, fines, clayey) == names


@pytest.mark.parametrize(
    ("uniformity", "curvature", "spread"),
    [(6, 1, True), (6, 3, True), (5.99, 2, False), (9, 0.99, False), (9, 3.01, False)],
)
def test_the_edges_of_well_graded_sand(uniformity, curvature, spread):
    """ASTM D2487 (seen quoted): Cu >= 6 and 1 <= Cc <= 3."""
    assert well_graded(uniformity, curvature) is spread


def test_unmeasured_fines_leave_every_name_open():
    """Property: 10 % passing the finest sieve of 0.15 mm may be 0 to 10 % fines."""
    found = sand_class(Grading(((0.15, 0.1), (0.6, 0.4), (4.75, 1.0))), Known.NO)
    assert found.fines == (0.0, 0.1)
    assert set(found.symbols) == {"SW", "SW-SM"} or set(found.symbols) == {
        "SP",
        "SP-SM",
    }


@pytest.mark.parametrize(
    "points",
    [
        ((0.075, 0.5), (4.75, 1.0)),
        ((0.075, 0.1), (4.75, 0.5), (20.0, 1.0)),
    ],
)
def test_gravel_and_fine_soil_have_no_sand_class(points):
    """ASTM D2487: sand has under half fines, and under half its grains above 4.75 mm. The
    second: 50 % gravel of 90 % grains."""
    with pytest.raises(Refused) as refusal:
        sand_class(Grading(points))
    assert refusal.value.problems[0].code == "not_a_sand"
