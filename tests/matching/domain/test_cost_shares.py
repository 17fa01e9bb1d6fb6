"""A community plan's total shared among its builds."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from logistics.domain.sharing.shares import Rule
from matching.domain.community import CommunityPlan, plan_community
from matching.domain.cost_shares import CostShares, share_plan
from matching.domain.group_costs import Basis, told_of
from matching.domain.scenario import Scenario
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    needing,
    read,
    sand,
    tipper,
)

# The yard lies far off; the sites are neighbours.
PLACES = {
    "depot": (0, 0),
    "yard": (0, 60),
    "near": (0, 2),
    "next": (1, 2),
    "last": (2, 2),
}


def world(
    needs: dict[str, float],
    held: float = 500,
    offers: list[Doc] | None = None,
    **trucks: Any,
) -> Scenario:
    """Sand for some sites; a truck of 10 t that costs 50.00 to call out."""
    return read(
        document(
            PLACES,
            offers=offers or [sand("pit", "yard", 1000, held)],
            builds=[
                build(place, place, needs=[needing("sand", amount)])
                for place, amount in needs.items()
            ],
            trucks=[tipper(**trucks)],
        )
    )


def shared(scenario: Scenario) -> tuple[CommunityPlan, CostShares]:
    plan = plan_community(scenario)
    return plan, share_plan(scenario, told_of(scenario, plan))


def test_two_sites_that_share_a_call_out_halve_what_they_save():
    """By hand: 10 t each, one shift of two trips. Alone each would call out the truck and
    drive home empty once more; two players halve the saving by the nucleolus."""
    scenario = world({"near": 10, "next": 10})
    plan, answer = shared(scenario)
    alone = [
        plan_community(replace(scenario, builds=(own,))).total
        for own in scenario.builds
    ]
    assert [own.alone for own in answer.builds] == alone
    assert sum(own.share for own in answer.builds) == plan.total
    assert answer.saving == sum(alone) - plan.total > 0
    first, second = (own.saving for own in answer.builds)
    assert abs(first - second) <= 1
    assert (answer.basis, answer.rule) == (Basis.ALL_OFFERS, Rule.IN_CORE)
    assert answer.stable
    assert answer.checked


def test_no_pair_of_three_sites_had_better_leave():
    """By enumeration over all groups, each planned anew."""
    scenario = world({"near": 8, "next": 9, "last": 3})
    plan, answer = shared(scenario)
    share = {own.build: own.share for own in answer.builds}
    assert sum(share.values()) == plan.total
    assert len(answer.groups) == 6
    for group, cost in answer.groups:
        builds = tuple(own for own in scenario.builds if own.key in group)
        by_itself = plan_community(replace(scenario, builds=builds)).total
        assert cost <= by_itself
        assert sum(share[key] for key in group) <= cost
    assert min(own.saving for own in answer.builds) >= 0


def test_a_heap_that_all_count_on_is_named_and_each_is_reckoned_with_its_part():
    """By hand: 10 t at no price and plenty at 30.00 a tonne beside it. Alone each would
    take the free heap; one of them cannot, so all alone pay 300.00 less for material."""
    offers = [sand("gift", "yard", 0, 10), sand("dear", "yard", 3000)]
    scenario = world({"near": 10, "next": 10}, offers=offers)
    plan, answer = shared(scenario)
    assert answer.basis is Basis.AS_SUPPLIED
    assert answer.scarce == ("Gift",)
    assert "not enough of Gift" in answer.words
    assert sum(own.share for own in answer.builds) == plan.total
    assert min(own.saving for own in answer.builds) >= 0
    given = next(
        deal for deal in plan.deals if scenario.offers[deal.offer].key == "gift"
    )
    lucky = scenario.demands[given.demand].build
    paid = [own.share for own in answer.builds]
    assert paid[1 - lucky] - paid[lucky] == pytest.approx(30_000, rel=0.05)


def test_what_is_missing_is_priced_alike_and_left_out_of_the_shares():
    """By hand: 15 t for two needs of 10 t. Dry sand missing counts at the dearest price
    alone; shares still add up to what is paid."""
    scenario = world({"near": 10, "next": 10}, held=15)
    plan, answer = shared(scenario)
    assert not plan.complete
    assert sum(own.share for own in answer.builds) == plan.total
    missing = sum(own.dry_kg for own in plan.short)
    assert sum(own.missing_dry_kg for own in answer.builds) == pytest.approx(missing)
    assert "What is missing counts alike" in answer.words


def test_one_build_pays_its_plan():
    plan, answer = shared(world({"near": 10}))
    assert [own.share for own in answer.builds] == [plan.total]
    assert answer.builds[0].saving == 0


def test_of_many_builds_only_the_groups_that_matter_are_planned():
    """Seven sites: 126 groups, of which the singles and at most `MOST_PLANS` are planned."""
    keys = [f"s{n}" for n in range(7)]
    doc = document(
        {"depot": (0, 0), "yard": (0, 30)}
        | {key: (n, 2) for n, key in enumerate(keys)},
        offers=[sand("pit", "yard", 1000)],
        builds=[build(key, key, needs=[needing("sand", 1.5)]) for key in keys],
        trucks=[tipper(f"t{n}") for n in range(2)],
    )
    scenario = read(doc)
    asked: list[int] = []

    def planner(own: Scenario) -> CommunityPlan:
        asked.append(len(own.builds))
        return plan_community(own)

    plan = plan_community(scenario)
    answer = share_plan(scenario, told_of(scenario, plan), planner=planner)
    assert sum(own.share for own in answer.builds) == plan.total
    assert not answer.checked
    assert answer.shapley is None
    assert "of those looked at" in answer.words
    assert len(asked) == 7 + 16


def test_three_sites_of_which_two_could_have_the_free_heap_are_reckoned_as_supplied():
    """By hand: 20 t at no price suffice for two of three; any two alone would pay less than
    two thirds of what all three pay, so that only what each is given can be compared."""
    offers = [sand("gift", "yard", 0, 20), sand("dear", "yard", 3000)]
    scenario = world({"near": 10, "next": 10, "last": 10}, offers=offers)
    plan, answer = shared(scenario)
    assert answer.basis is Basis.AS_SUPPLIED
    assert answer.scarce == ("Gift",)
    assert sum(own.share for own in answer.builds) == plan.total
    assert min(own.saving for own in answer.builds) >= 0


def test_builds_that_share_nothing_pay_what_they_pay_alone():
    """By hand: two sites on either side of the depot, each beside its own pit, with a
    truck that costs nothing: nothing is saved, nothing lost."""
    doc = document(
        {
            "depot": (0, 0),
            "east": (9, 0),
            "west": (9, 9),
            "here": (9, 1),
            "there": (9, 8),
        },
        offers=[sand("one", "east", 500), sand("two", "west", 500)],
        builds=[
            build(key, key, needs=[needing("sand", 10)]) for key in ("here", "there")
        ],
        trucks=[tipper(call_out_minor=0, per_hour_minor=0, per_km_minor=0)],
    )
    _, answer = shared(read(doc))
    assert answer.rule is Rule.ALONE
    assert answer.saving == 0
    assert "just that" in answer.words
