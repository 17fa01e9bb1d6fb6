"""The limits of Directive 96/53/EC and of the British regulations.

EU gross weights: legislation.gov.uk/eudr/1996/53/annexes, transportxxl.eu; axles:
transportxxl.eu/axle_loads-9.html. UK gross weights: hgvalliance.com/HGV-maximum-weights;
axles: legislation.gov.uk/nisr/1999/258/schedule/3 (the same for Northern Ireland).
"""

from __future__ import annotations

import pytest

from logistics.domain.errors import Refused
from logistics.domain.legal.axles import Axle, AxleLayout
from logistics.domain.legal.payload import legal_load
from logistics.domain.legal.rules import WeightRule

EU, UK, OLDER = WeightRule.EU, WeightRule.UK, WeightRule.UK_OLDER
# Metres of each axle, and which of them steer and drive (counted from 0).
TWO = ((0, 4.5), {0}, {1})
THREE = ((0, 3.9, 5.25), {0}, {1, 2})
FOUR = ((0, 1.95, 5.25, 6.6), {0, 1}, {2, 3})
SEMI_FIVE = ((0, 3.6, 9.0, 10.3, 11.6), {0}, {1})
SEMI_SIX = ((0, 2.8, 4.15, 9.0, 10.35, 11.7), {0}, {1, 2})


def layout(
    shape: tuple[tuple[float, ...], set[int], set[int]],
    *,
    twins: bool = True,
    soft: bool = True,
    trailer: int = 0,
    kingpin: float | None = None,
) -> AxleLayout:
    at, steered, driven = shape
    axles = tuple(
        Axle(metres, number in steered, number in driven, twins and number in driven)
        for number, metres in enumerate(at)
    )
    return AxleLayout(axles, 9_000, soft, trailer, kingpin)


@pytest.mark.parametrize(
    ("rule", "truck", "gross"),
    [
        (EU, layout(TWO), 18_000),
        (EU, layout(THREE), 26_000),
        (EU, layout(THREE, soft=False), 26_000),  # twin tyres and 9.5 t an axle
        (EU, layout(THREE, twins=False), 25_000),
        (EU, layout(FOUR), 32_000),
        (EU, layout(SEMI_FIVE, trailer=3, kingpin=3.0), 40_000),
        (EU, layout(SEMI_SIX, trailer=3, kingpin=3.4), 40_000),
        (UK, layout(TWO), 18_000),
        (UK, layout(THREE), 26_000),
        (UK, layout(THREE, twins=False), 25_000),
        (UK, layout(FOUR), 32_000),
        (UK, layout(FOUR, twins=False), 30_000),
        (UK, layout(SEMI_FIVE, trailer=3, kingpin=3.0), 40_000),
        (UK, layout(SEMI_SIX, trailer=3, kingpin=3.4), 44_000),
        (OLDER, layout(TWO), 17_000),
        (OLDER, layout(THREE), 25_000),
        (OLDER, layout(FOUR), 30_000),
    ],
)
def test_gross_weights_are_those_published(rule, truck, gross):
    load = legal_load(truck, rule)
    assert load.gross_kg == gross
    assert load.payload_kg == gross - 9_000


@pytest.mark.parametrize(("metres", "gross"), [(6.4, 32_000), (6.2, 31_000)])
def test_four_axles_weigh_at_most_five_tonnes_a_metre(metres, gross):
    """Annex I: 5 x the distance between the extreme axles; 32 t need 6.4 m."""
    shape = ((0, 1.95, metres - 1.35, metres), {0, 1}, {2, 3})
    load = legal_load(layout(shape), EU)
    assert load.gross_kg == gross
    assert ("5 t for each" in load.binds) == (gross == 31_000)


@pytest.mark.parametrize(
    ("apart", "twins", "soft", "kg"),
    [
        (0.9, True, True, 11_500),
        (1.0, True, True, 16_000),
        (1.29, True, True, 16_000),
        (1.3, True, True, 19_000),
        (1.3, False, True, 18_000),
        (1.79, True, True, 19_000),
    ],
)
@pytest.mark.parametrize("rule", [EU, UK])
def test_driving_tandems_bear_what_their_distance_lets_them(
    rule, apart, twins, soft, kg
):
    truck = layout(((0, 4.0, 4.0 + apart), {0}, {1, 2}), twins=twins, soft=soft)
    load = legal_load(truck, rule)
    words = f"axles 2 and 3, {apart:g} m apart: {kg:,} kg"
    if kg + 10_000 < 25_000:
        assert words in load.binds
        assert load.gross_kg == 10_000 + kg
    else:
        assert load.gross_kg == (26_000 if twins else 25_000)


def test_a_driving_axle_carries_eleven_and_a_half_tonnes():
    """Annex I 3.4: 11.5 t driving; 10 t other axles: 21.5 t, more than the 18 t gross."""
    short = layout(((0, 2.5), {0}, {1}))
    assert legal_load(short, UK).gross_kg == 15_000  # 2.5 m x 6000 kg/m (from memory)
    assert legal_load(short, EU).gross_kg == 18_000


def test_four_axles_without_twin_tyres_have_no_figure_in_the_directive():
    with pytest.raises(Refused) as refusal:
        legal_load(layout(FOUR, twins=False), EU)
    (problem,) = refusal.value.problems
    assert (problem.code, problem.field) == ("no_limit_for_axles", "rule")


def test_a_drawbar_has_no_british_figure_here():
    with pytest.raises(Refused, match="no British gross weight"):
        legal_load(layout(SEMI_FIVE, trailer=3), UK)
