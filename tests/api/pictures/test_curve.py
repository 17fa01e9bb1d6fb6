"""The grading curve: positions on its logarithmic scale, limits, departures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pictures.curve import Scale, curve
from api.pictures.drawing import Size
from matching.domain.grading import Grading, SizeSystem
from matching.domain.sands.limits import Limit
from tests.api.pictures.drawn import FINE, outside, told


@st.composite
def gradings(draw: st.DrawFn) -> Grading:
    sizes = draw(
        st.lists(st.floats(1e-4, 600), min_size=2, max_size=12, unique=True).map(sorted)
    )
    count = len(sizes)
    shares = sorted(draw(st.lists(st.floats(0, 1), min_size=count, max_size=count)))
    return Grading(tuple(zip(sizes, shares, strict=True)))


def test_equal_ratios_of_size_are_equal_lengths():
    """Hand-worked: from 0.01 to 10 mm are three decades; 0.1 mm lies a third along."""
    scale = Scale(0.01, 10, 30, 330, 0, 200)
    assert scale.x(0.01) == pytest.approx(30)
    assert scale.x(0.1) == pytest.approx(130)
    assert scale.x(1) == pytest.approx(230)
    assert scale.x(10) == pytest.approx(330)
    assert (scale.y(0), scale.y(0.25), scale.y(1)) == (200, 150, 0)


def test_measured_sieves_lie_on_the_curve_at_their_logarithms():
    """Hand-worked: 0.1, 1 and 10 mm are evenly spaced on a logarithmic scale."""
    own = Grading(((0.1, 0.2), (1.0, 0.5), (10.0, 1.0)))
    drawn = curve(own, limit=None)
    first, middle, last = (x for x, _ in drawn.curve.points)
    assert middle == pytest.approx((first + last) / 2)
    foot, head = drawn.ground.points[0][1], drawn.ground.points[2][1]
    assert drawn.curve.points[1][1] == pytest.approx((foot + head) / 2)
    assert [(dot.x, dot.y) for dot in drawn.sieves] == list(drawn.curve.points)


def test_a_fine_sand_is_marked_on_the_sieves_where_too_much_passes():
    """ASTM C33 as in sands.limits: 0.3 mm 5 to 30 %, 0.6 mm 25 to 60 %, 0.075 mm to 3 %; by
    interpolation 0.15 and 1.18 mm are too fine as well."""
    drawn = curve(FINE)
    notes = " ".join(own.text for own in drawn.notes).replace("\N{NO-BREAK SPACE}", " ")
    assert len(drawn.faults) == 5
    assert "0.3 mm: 55 % passes, most 30 %" in notes
    assert "0.6 mm: 88 % passes, most 60 %" in notes
    assert [own.number.text for own in drawn.faults] == ["1", "2", "3", "4", "5"]
    assert "0.3 mm: 55" in told(drawn)


def test_a_drop_goes_from_the_share_to_the_curve_and_down_to_the_size():
    """By definition of D60: the size that 60 % is finer than; log-linear here 1 mm."""
    drawn = curve(Grading(((0.1, 0.2), (1.0, 0.6), (10.0, 1.0))), limit=None)
    (across, corner, down) = drawn.drops[-1].points
    assert corner == pytest.approx(drawn.curve.points[1])
    assert across[1] == corner[1]
    assert down[0] == corner[0]
    assert any(own.text.startswith("D60") and "1 mm" in own.text for own in drawn.named)


def test_shares_that_the_curve_does_not_reach_have_no_drop():
    drawn = curve(Grading(((0.1, 0.4), (1.0, 0.7))), limit=None)
    assert [own.text.split()[0] for own in drawn.named] == ["D60"]


def test_limits_on_one_sieve_are_a_gauge_not_a_band():
    """EN 12620 Annex B limits the 0.5 mm sieve alone (see sands.limits)."""
    drawn = curve(FINE, limit=Limit.EN_12620_MEDIUM)
    assert drawn.band is None
    assert len(drawn.gauges) == 3


def test_fractions_are_named_by_the_chosen_system():
    """ISO 14688-1 and USDA bounds as in matching.domain.grading."""
    soil = Grading(((0.001, 0.1), (0.063, 0.5), (2, 0.8), (63, 1.0)))
    iso = curve(soil, limit=None, system=SizeSystem.ISO_14688)
    unified = curve(soil, limit=None, system=SizeSystem.UNIFIED)
    assert [own.text for own in iso.fractions] == ["clay", "silt", "sand", "gravel"]
    assert [own.text for own in unified.fractions] == ["fines", "sand", "gravel"]


@given(gradings(), st.sampled_from([None, *Limit]), st.sampled_from(Size))
def test_any_curve_stays_within_its_drawing_and_never_falls(own, limit, size):
    """Property."""
    drawn = curve(own, limit=limit, size=size)
    assert outside(drawn) == []
    xs = [x for x, _ in drawn.curve.points]
    ys = [y for _, y in drawn.curve.points]
    assert xs == sorted(xs)
    assert ys == sorted(ys, reverse=True)
