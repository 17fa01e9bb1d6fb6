"""Shapley value and nucleolus against published games.

Games of gains are written as costs below nothing: a cost game of -v has the nucleolus of v
with the sign turned.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from logistics.domain.sharing.games import CostGame
from logistics.domain.sharing.nucleolus import nucleolus
from logistics.domain.sharing.shares import Rule, share_cost
from logistics.domain.sharing.stability import in_core, least_core
from logistics.domain.sharing.values import ShareBounds, shapley, share_bounds
from tests.logistics.domain.sharing.cases import game, listed, made

RUNWAYS = (8, 11, 13, 18)


def test_the_shapley_value_of_the_airport_game():
    """Littlechild and Owen 1973; the runways of 8, 11, 13 and 18 with shares 2, 3, 4 and 9
    as the encyclopaedia article "Airport problem" prints them."""
    airport = made(4, lambda own: max(RUNWAYS[i] for i in own))
    assert [int(own) for own in shapley(airport)] == [2, 3, 4, 9]


def test_the_nucleolus_of_the_airport_game():
    """Littlechild 1974 (from memory): the first shares are the least of c_k / (k + 1) for
    k < n and c_n / n, here 13 / 4, and the last runway bears the rest."""
    airport = made(4, lambda own: max(RUNWAYS[i] for i in own))
    assert nucleolus(airport) == pytest.approx((3.25, 3.25, 3.25, 8.25))


@pytest.mark.parametrize(
    ("estate", "shares"),
    [
        (100, (100 / 3, 100 / 3, 100 / 3)),
        (200, (50, 75, 75)),
        (300, (50, 100, 150)),
    ],
)
def test_the_nucleolus_divides_the_talmuds_estates(estate, shares):
    """Aumann and Maschler 1985: claims of 100, 200 and 300; the divisions as quoted by
    Schecter, "How the Talmud divides an estate among creditors"."""
    claims = (100, 200, 300)

    def conceded(own: tuple[int, ...]) -> int:
        others = sum(claims[i] for i in range(3) if i not in own)
        return min(0, others - int(estate))

    assert nucleolus(made(3, conceded)) == pytest.approx([-own for own in shares])


TVA = (163_520, 140_826, 250_096, 301_607, 378_821, 367_370, 412_584)


def test_the_tennessee_valley_costs_of_navigation_flood_control_and_power():
    """Straffin and Heaney 1981. The costs are as the R package CoopGame carries them; the
    Shapley value and the nucleolus are from memory and follow by hand: pairs save so little
    that the nucleolus halves nothing and gives each a third of the 141,858 saved."""
    valley = listed(3, TVA)
    halves = (235_658, 201_513, 387_997)
    assert shapley(valley) == tuple(Fraction(own, 2) for own in halves)
    assert nucleolus(valley) == pytest.approx((116_234, 93_540, 202_810))
    answer = share_cost(valley)
    assert answer.rule is Rule.IN_CORE
    assert answer.savings == (47_286, 47_286, 47_286)


def test_the_separable_costs_of_the_tennessee_valley():
    """By the definition of separable costs, on the same figures."""
    assert share_bounds(listed(3, TVA)) == (
        ShareBounds(412_584 - 367_370, 163_520),
        ShareBounds(412_584 - 378_821, 140_826),
        ShareBounds(412_584 - 301_607, 250_096),
    )


def test_the_bounds_of_six_swedish_municipalities():
    """Young, Okada and Hashimoto 1979, "Cost allocation in water resources development",
    tables 7 and 8, in 10,000 crowns: costs alone, marginal costs, and the shares of the
    method of separable costs and remaining benefits, which is made of nothing else. They
    agree to the last digit printed, which is one of these units."""
    alone = (2195, 1708, 1091, 1588, 2081, 2198)
    marginal = (1736, 985, 82, 640, 1290, 1406)
    total, everybody = 8382, 0b111111
    costs = {1 << i: own for i, own in enumerate(alone)}
    costs |= {everybody ^ (1 << i): total - own for i, own in enumerate(marginal)}
    water = CostGame(tuple("AHKLMT"), costs | {everybody: total})
    bounds = share_bounds(water)
    assert bounds == tuple(map(ShareBounds, marginal, alone))
    rest = total - sum(own.separable or 0 for own in bounds)
    gains = [own.alone - (own.separable or 0) for own in bounds]
    shares = [
        (own.separable or 0) + rest * gain / sum(gains)
        for own, gain in zip(bounds, gains, strict=True)
    ]
    assert shares == pytest.approx((1954, 1328, 562, 1090, 1666, 1782), abs=1)
    # Over these groups alone the shares cannot leave the bounds either.
    answer = share_cost(water)
    assert not answer.checked
    assert all(
        own.separable is not None and own.separable <= share <= own.alone
        for own, share in zip(bounds, answer.shares, strict=True)
    )


def test_insurers():
    """Lemaire 1991 as quoted by Guajardo and Jörnsten, "Common mistakes in computing the
    nucleolus" (2015): 52,687.50, 24,468.75 and 12,843.75; in halves here."""
    halves = (92_250, 34_875, 11_625, 138_375, 107_625, 61_500, 180_000)
    shares = nucleolus(listed(3, [-own for own in halves]))
    assert [-own / 2 for own in shares] == pytest.approx([52687.5, 24468.75, 12843.75])


def test_broadcasters():
    """Hasan et al. 2011 as quoted by Guajardo and Jörnsten 2015, a game in which the tight
    groups of the first programme must not all be settled: 7.5, 0.5, 1.5, 10.5."""
    costs = {"A": 8, "AB": 8, "ABC": 10, "ABCD": 20, "ABD": 19, "AC": 10, "ACD": 20}
    costs |= {"AD": 19, "B": 1, "BC": 10, "BCD": 13, "BD": 12, "C": 10, "CD": 12}
    own = game(costs | {"D": 11})
    assert nucleolus(own) == pytest.approx((7.5, 0.5, 1.5, 10.5))


def test_manufacturers():
    """Oh and Shin 2012 as quoted by Guajardo and Jörnsten 2015."""
    costs = {"A": 375_144, "AB": 568_232, "ABC": 772_500, "AC": 551_055}
    own = game(costs | {"B": 245_280, "BC": 452_411, "C": 211_239})
    assert nucleolus(own) == pytest.approx((331_695.25, 233_051.25, 207_753.5))


@pytest.mark.parametrize(
    ("count", "gains", "shares"),
    [
        (3, (-1, 0, 1, 3, 4, 2, 5), (8 / 3, 2 / 3, 5 / 3)),
        (
            4,
            (0, 0, 0, 0, 5, 5, 8, 9, 10, 8, 13, 15, 16, 17, 21),
            (3.5, 4.5, 5.5, 7.5),
        ),
    ],
)
def test_games_that_come_with_the_r_package_coopgame(count, gains, shares):
    """The first is from Ferguson's lecture notes on game theory, both as CoopGame tests
    and documents them."""
    own = listed(count, [-value for value in gains])
    assert nucleolus(own) == pytest.approx([-share for share in shares])


def test_nobody_pays_more_than_alone_in_a_game_whose_prenucleolus_would_ask_it():
    """Peleg and Sudhölter, example 5.5.12, as CoopGame quotes it: v(12) = 10, v(123) = 2,
    others 0; the prenucleolus is 3, 3, -4. With nobody below his own value the first two
    share alike by symmetry, and the third gets what is least."""
    own = listed(3, (0, 0, 0, -10, 0, 0, -2))
    assert nucleolus(own) == pytest.approx((-1, -1, 0))


def test_maschlers_game_has_no_core_and_splits_alike():
    """Maschler's game, as CoopGame carries it: pairs gain 60, all three 72. Shares are
    alike by symmetry; each pair lacks 60 - 48."""
    own = listed(3, (0, 0, 0, -60, -60, -60, -72))
    least = least_core(own)
    assert least.excess == pytest.approx(12)
    answer = share_cost(own)
    assert answer.rule is Rule.CAPPED
    assert answer.shares == (-24, -24, -24)
    assert not answer.stable
    assert answer.worst is not None
    assert answer.worst.amount == 12
    assert "A and B by itself would pay less" in answer.reason


def test_the_shapley_value_may_lie_outside_the_core():
    """Shoes: one left, two right (a glove game, common example): all the gain goes to the
    left shoe in the core, not by the Shapley value, which is 2/3, 1/6, 1/6."""
    own = listed(3, (0, 0, 0, -1, -1, 0, -1), scale=6)
    assert [int(own_) for own_ in shapley(own)] == [-4, -1, -1]
    assert not in_core(own, (-4, -1, -1))
    assert share_cost(own).shares == (-6, 0, 0)
