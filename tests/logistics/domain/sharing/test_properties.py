"""Properties of shares over random games; no source but the definitions."""

from __future__ import annotations

from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.sharing.games import CostGame, group_of, members
from logistics.domain.sharing.growing import grown
from logistics.domain.sharing.nucleolus import nucleolus
from logistics.domain.sharing.rounding import whole_shares
from logistics.domain.sharing.shares import Rule, share_cost
from logistics.domain.sharing.stability import in_core, least_core, worst
from logistics.domain.sharing.values import shapley
from tests.logistics.domain.sharing.cases import listed, made

COSTS = st.integers(-300, 3000)


@st.composite
def games(draw: st.DrawFn, least: int = 1, most: int = 4) -> CostGame:
    count = draw(st.integers(least, most))
    size = (1 << count) - 1
    return listed(count, draw(st.lists(COSTS, min_size=size, max_size=size)))


@st.composite
def covered(draw: st.DrawFn) -> CostGame:
    """Every site is reached by one of some rounds that each cost once: like haulage, such
    games may have an empty core, and no group costs more than its parts."""
    count = draw(st.integers(2, 5))
    everyone = (1 << count) - 1
    rounds = draw(
        st.dictionaries(st.integers(1, everyone), st.integers(1, 999), min_size=2)
    )
    for player in range(count):
        rounds.setdefault(1 << player, 700)

    def cost(own: tuple[int, ...]) -> int:
        want = group_of(own)
        best = {0: 0}
        for reached in range(1, want + 1):
            if reached & want == reached:
                best[reached] = min(
                    best[reached & ~run] + price
                    for run, price in rounds.items()
                    if run & reached
                )
        return best[want]

    return made(count, cost)


@given(games())
@settings(max_examples=60, deadline=None)
def test_shares_add_up_exactly(own: CostGame) -> None:
    answer = share_cost(own)
    assert sum(answer.shares) == own.total
    assert all(isinstance(share, int) for share in answer.shares)


@given(games(least=2))
@settings(max_examples=60, deadline=None)
def test_stable_means_that_no_group_pays_more_than_its_cost(own: CostGame) -> None:
    """By enumeration."""
    answer = share_cost(own)
    fine = all(
        sum(answer.shares[i] for i in members(group)) <= cost
        for group, cost in own.costs.items()
    )
    assert answer.stable == fine
    assert answer.worst is not None
    assert answer.stable == (answer.worst.amount <= 0)


@given(covered())
@settings(max_examples=40, deadline=None)
def test_nobody_pays_more_than_alone_where_parts_cost_no_less(own: CostGame) -> None:
    answer = share_cost(own)
    assert min(answer.savings) >= 0
    assert answer.rule is not Rule.UNCAPPED


@given(covered())
@settings(max_examples=40, deadline=None)
def test_the_nucleolus_lies_in_the_least_core(own: CostGame) -> None:
    """With a core that is not empty the least excess is the same with and without caps."""
    least = least_core(own).excess
    found = worst(own, nucleolus(own))
    assert found is not None
    if least <= 0:
        assert found.amount == pytest.approx(least, abs=1e-5)
    else:
        assert found.amount >= least - 1e-5


@given(games(least=3, most=3))
@settings(max_examples=40, deadline=None)
def test_whole_shares_are_stable_if_any_near_the_nucleolus_are(own: CostGame) -> None:
    """By trying all whole shares within three units of it."""
    real = nucleolus(own)
    near = [
        (round(real[0]) + first, round(real[1]) + second)
        for first, second in product(range(-3, 4), repeat=2)
    ]
    best = min(_greatest(own, (a, b, own.total - a - b)) for a, b in near)
    found = _greatest(own, whole_shares(own, real))
    assert (found <= 0) == (best <= 0)


def _greatest(own: CostGame, shares: tuple[int, ...]) -> int:
    return max(
        sum(shares[i] for i in members(group)) - cost
        for group, cost in own.costs.items()
        if group != own.everybody
    )


@given(games(least=2, most=4))
@settings(max_examples=60, deadline=None)
def test_the_nucleolus_beats_every_small_change_of_it(own: CostGame) -> None:
    """Sorted excesses, greatest first, of shares moved by a little between two players."""
    shares = nucleolus(own)
    count = len(shares)
    mine = _excesses(own, shares)
    capped = sum(own.alone) >= own.total
    for giver, taker in product(range(count), repeat=2):
        moved = list(shares)
        moved[giver] += 0.5
        moved[taker] -= 0.5
        if giver == taker or (capped and moved[giver] > own.alone[giver] + 1e-9):
            continue
        theirs = _excesses(own, moved)
        first = next(
            (b - a for a, b in zip(mine, theirs, strict=True) if abs(a - b) > 1e-4), 1.0
        )
        assert first > 0


def _excesses(own: CostGame, shares: tuple[float, ...] | list[float]) -> list[float]:
    return sorted(
        (
            sum(shares[i] for i in members(group)) - cost
            for group, cost in own.costs.items()
            if group != own.everybody
        ),
        reverse=True,
    )


@given(games(), st.permutations(range(4)))
@settings(max_examples=60, deadline=None)
def test_the_order_of_the_players_does_not_matter(
    own: CostGame, order: list[int]
) -> None:
    count = len(own.players)
    place = [at for at in order if at < count]
    turned = CostGame(
        own.players,
        {
            group_of(place[i] for i in members(group)): cost
            for group, cost in own.costs.items()
        },
    )
    there = nucleolus(turned)
    assert [there[place[i]] for i in range(count)] == pytest.approx(
        nucleolus(own), abs=1e-4
    )
    assert sum(shapley(own)) == own.total


def test_a_dozen_players_are_shared_at_once():
    """The shares of the airport game by the formula of `test_published_games`; 4,095
    groups enter the programme only as they matter."""
    runways = [1000 * (k + 1) for k in range(12)]
    own = made(12, lambda group: max(runways[i] for i in group))
    shares = share_cost(own).shares
    assert sum(shares) == own.total
    assert in_core(own, shares)
    first = min(*(runways[k] / (k + 2) for k in range(11)), runways[-1] / 12)
    assert shares[0] == pytest.approx(first, abs=1)


def test_groups_reckoned_one_by_one_lead_to_the_shares_of_the_whole_game():
    """Property: with all groups reckoned nothing is left to differ."""
    whole = made(4, lambda own: 100 + 10 * max(own) + 7 * len(own))
    start = {group: whole.costs[group] for group in (1, 2, 4, 8, 15)}
    asked: list[int] = []

    def cost_of(group: int) -> int:
        asked.append(group)
        return whole.costs[group]

    pairs = [group_of(own) for own in combinations(range(4), 2)]
    own = grown(CostGame(whole.players, start), whole.costs, cost_of, most=99)
    assert share_cost(own).shares == share_cost(whole).shares
    assert len(asked) == len(set(asked)) == 10
    fewer = grown(CostGame(whole.players, start), pairs, cost_of, most=2)
    assert len(fewer.costs) == 7
    assert not share_cost(fewer).checked
    assert "of those looked at" in share_cost(fewer).reason


def test_a_cent_that_cannot_be_split_is_told_from_an_empty_core():
    """By hand: three in pairs that pay 1 each and 1 together: halves would please all."""
    own = listed(3, (1, 1, 1, 1, 1, 1, 1))
    assert share_cost(own).stable
    tight = listed(3, (2, 2, 2, 2, 2, 2, 3))
    assert share_cost(tight).shares == (1, 1, 1)
    odd = listed(4, (9, 9, 9, 9, 1, 1, 1, 1, 1, 1, 9, 9, 9, 9, 2))
    answer = share_cost(odd)
    assert "whole units" in answer.reason
    assert sum(answer.shares) == 2


def test_one_player_pays_all_and_savings_of_nothing_are_told():
    assert share_cost(CostGame(("A",), {1: 5})).shares == (5,)
    answer = share_cost(listed(2, (3, 4, 7)))
    assert answer.rule is Rule.ALONE
    assert answer.savings == (0, 0)


def test_a_total_dearer_than_apart_is_said():
    answer = share_cost(listed(2, (3, 4, 9)))
    assert answer.rule is Rule.UNCAPPED
    assert answer.shares == (4, 5)
    assert "more than each alone" in answer.reason


def test_a_game_without_the_cost_of_a_single_player_is_refused():
    with pytest.raises(Refused, match="each player alone"):
        CostGame(("A", "B"), {1: 4, 3: 6})
    with pytest.raises(Refused, match="every group"):
        shapley(CostGame(("A", "B", "C"), {1: 4, 2: 4, 4: 4, 7: 6}))
