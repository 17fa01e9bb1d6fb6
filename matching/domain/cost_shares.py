"""A community plan's total shared among its builds: `share_plan(scenario, told)`.

A cooperative cost game: what each group of builds would pay by itself
(`matching.domain.group_costs`) against what all pay together; shared by the nucleolus
(`logistics.domain.sharing.shares`). The total is the plan's own: material, haulage, and
avoided tipping as far as the plan counts it.

**Scarce offers.** First every group may have all offers. If all builds alone then pay less
together than the plan costs, they do so by counting on the same heap or the same truck: no
shares could please them. Then, and where no shares please every group of builds that count
on one heap, a group is reckoned with what the plan gives it and leaves over.

**Needs unmet.** Where a plan leaves something missing, the missing dry kg count at the
dearest price at which any build alone is supplied, for every group alike; the share that is
told is then without it. So nobody looks cheap because he gets less.

**Many builds.** Every group takes a plan. Up to `ALL_GROUPS` builds all groups are planned;
above that single builds, then pairs and all but one, those first whose members gain least
(row generation), at most `MOST_PLANS` of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from logistics.domain.quantities import round_half_up
from logistics.domain.sharing.games import CostGame, group_of
from logistics.domain.sharing.growing import grown
from logistics.domain.sharing.shares import Rule, Sharing, share_cost
from matching.domain.community import plan_community
from matching.domain.group_costs import Alone, Basis, GroupPlans, Planner, Told, worth
from matching.domain.scenario import Scenario

ALL_GROUPS = 5
MOST_PLANS = 16


@dataclass(frozen=True, slots=True)
class BuildShare:
    """A build's part of the total, what its plan alone costs, both in minor units, and
    the usable dry kg that it still has to find elsewhere."""

    build: str
    name: str
    alone: int
    share: int
    missing_dry_kg: float

    @property
    def saving(self) -> int:
        """What it pays less than alone; below 0 it pays more."""
        return self.alone - self.share


@dataclass(frozen=True)
class CostShares:
    """Shares that add up to `total` exactly, and how they came about.

    `scarce` are offers that the builds alone would take more of than there is, by name.
    `groups` are the builds of each group reckoned, with its cost. `words` says which rule
    was used and why.
    """

    total: int
    builds: tuple[BuildShare, ...]
    basis: Basis
    rule: Rule
    stable: bool
    checked: bool
    scarce: tuple[str, ...]
    groups: tuple[tuple[tuple[str, ...], int], ...]
    shapley: tuple[int, ...] | None
    words: str

    @property
    def saving(self) -> int:
        """What all save together against each alone."""
        return sum(own.saving for own in self.builds)


def share_plan(
    scenario: Scenario, told: Told, *, planner: Planner = plan_community
) -> CostShares:
    """Share the total of a plan that was told among the builds of its scenario."""
    count = len(scenario.builds)
    plans = GroupPlans(scenario, told, Basis.ALL_OFFERS, planner)
    singles = [plans.best(1 << player, 0.0) for player in range(count)]
    scarce = _scarce(scenario, singles)
    price = _missing_price(told, singles)
    together = told.total + sum(_missing(told, price))
    played: tuple[CostGame, Sharing] | None = None
    if sum(worth(own, price) for own in singles) >= together:
        played = _played(scenario, plans, price, together)
    if played is None or (scarce and not played[1].stable):
        plans = GroupPlans(scenario, told, Basis.AS_SUPPLIED, planner)
        played = _played(scenario, plans, price, together)
    return _answer(scenario, told, plans.basis, played, (scarce, price))


def _played(
    scenario: Scenario, plans: GroupPlans, price: float, together: int
) -> tuple[CostGame, Sharing]:
    game = _game(scenario, plans, price, together)
    return game, share_cost(game)


def _game(
    scenario: Scenario, plans: GroupPlans, price: float, together: int
) -> CostGame:
    count = len(scenario.builds)
    everybody = (1 << count) - 1
    names = tuple(own.name for own in scenario.builds)

    def cost_of(group: int) -> int:
        return worth(plans.best(group, price), price)

    costs = {1 << player: cost_of(1 << player) for player in range(count)}
    game = CostGame(names, costs | {everybody: together})
    if count <= ALL_GROUPS:
        # Small groups first: larger ones may be made of them.
        others = sorted(range(1, everybody), key=int.bit_count)
        return CostGame(names, {**game.costs, **{own: cost_of(own) for own in others}})
    return grown(game, set(_candidates(count)), cost_of, MOST_PLANS)


def _candidates(count: int) -> Iterator[int]:
    everybody = (1 << count) - 1
    for pair in combinations(range(count), 2):
        yield group_of(pair)
    for player in range(count):
        yield everybody ^ (1 << player)


def _missing(told: Told, price: float) -> tuple[int, ...]:
    return tuple(round_half_up(price * own) for own in told.missing)


def _missing_price(told: Told, singles: list[Alone]) -> float:
    """Minor units a dry kg, the most that a build alone pays; nothing where all is met.
    Gains do not count: what is missing would not be had for less because of them."""
    if not any(told.missing) and not any(own.missing for own in singles):
        return 0.0
    return max((own.paid / own.met for own in singles if own.met > 0), default=0.0)


def _scarce(scenario: Scenario, singles: list[Alone]) -> tuple[str, ...]:
    return tuple(
        offer.name
        for offer in scenario.offers
        if sum(own.takes[offer.key] for own in singles) > offer.quantity_kg
    )


def _answer(
    scenario: Scenario,
    told: Told,
    basis: Basis,
    played: tuple[CostGame, Sharing],
    circumstances: tuple[tuple[str, ...], float],
) -> CostShares:
    (game, sharing), (scarce, price) = played, circumstances
    elsewhere = _missing(told, price)
    builds = tuple(
        BuildShare(build.key, build.name, alone - later, share - later, missing)
        for build, alone, share, later, missing in zip(
            scenario.builds,
            sharing.alone,
            sharing.shares,
            elsewhere,
            told.missing,
            strict=True,
        )
    )
    return CostShares(
        total=told.total,
        builds=builds,
        basis=basis,
        rule=sharing.rule,
        stable=sharing.stable,
        checked=sharing.checked,
        scarce=scarce,
        groups=tuple(
            (tuple(scenario.builds[i].key for i in _in(group)), game.costs[group])
            for group in game.groups
        ),
        shapley=sharing.shapley
        and tuple(
            own - later for own, later in zip(sharing.shapley, elsewhere, strict=True)
        ),
        words=" ".join(_words(basis, sharing, scarce, price)),
    )


def _in(group: int) -> Iterator[int]:
    return (player for player in range(group.bit_length()) if group >> player & 1)


def _words(
    basis: Basis, sharing: Sharing, scarce: tuple[str, ...], price: float
) -> Iterator[str]:
    yield sharing.reason
    if basis is Basis.AS_SUPPLIED:
        wanted = (
            f"there is not enough of {', '.join(scarce)}"
            if scarce
            else (
                "they want the same trucks on the same days, or the plan can be bettered"
            )
        )
        yield (
            "If everybody could pick first, no shares would please all:"
            f" {wanted}. So alone means here: with the material that the plan gives to a"
            " build, or leaves over, and trucks of its own."
        )
    if price > 0:
        yield (
            "What is missing counts alike for all, at the dearest price at which a build"
            " alone is supplied; it is not in the shares."
        )
    yield "The cost of a group is that of the best plan found for it."
