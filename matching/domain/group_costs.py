"""What a group of builds would pay by itself: the best of the plans found for it.

A group's plan is made like any other: its builds alone, with the same trucks and days.
Which material it may have depends on the basis:

* all offers, as if the others were not there;
* as supplied: what the common plan gives to the group and what it leaves over, so that
  nobody counts on a heap that the plan gives to somebody else.

A group may also split, if the plans of its parts neither drive the same truck on a day nor
take more of an offer than there is. And as supplied it may keep its deals and have just
these driven. All are plans that were found, so each is at most an upper bound of the least
cost: what is said of a group is said of the plans found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from logistics.domain.planning.planner import plan_hauls
from logistics.domain.quantities import round_half_up
from logistics.domain.sharing.games import members
from matching.domain.community import CommunityPlan
from matching.domain.materials import Offer
from matching.domain.pairing import agreed_hauls, pair_up
from matching.domain.scenario import Scenario

Planner = Callable[[Scenario], CommunityPlan]


class Basis(StrEnum):
    """What material a group by itself may have."""

    ALL_OFFERS = "all_offers"
    AS_SUPPLIED = "as_supplied"


@dataclass(frozen=True, slots=True)
class Taken:
    """What the common plan gives to a demand of one offer: moist kg, those used for the
    wall among them, by the keys of both."""

    offer: str
    demand: str
    kg: int
    used_kg: int


@dataclass(frozen=True)
class Told:
    """The common plan as people were told it: its total in minor units, who gets what, and
    usable dry kg that each build is left without."""

    total: int
    taken: tuple[Taken, ...]
    missing: tuple[float, ...]


@dataclass(frozen=True)
class Alone:
    """A plan for a group: total in minor units and what is paid of it (the rest are gains),
    usable dry kg missing and brought, moist kg taken of each offer, truck days driven."""

    total: int
    paid: int
    missing: float
    met: float
    takes: Counter[str]
    slots: frozenset[int]


def told_of(scenario: Scenario, plan: CommunityPlan) -> Told:
    """A plan in the terms that shares are made from."""
    missing = [0.0] * len(scenario.builds)
    for own in plan.short:
        missing[scenario.demands[own.demand].build] += own.dry_kg
    left = Counter[int]()
    for trip in plan.hauls.unplanned:
        deal = plan.deals[trip.haul]
        left[trip.haul] = trip.mass_kg
        usable = scenario.offers[deal.offer].material.usable
        missing[scenario.demands[deal.demand].build] += trip.mass_kg * usable
    taken = tuple(
        Taken(
            scenario.offers[own.offer].key,
            scenario.demands[own.demand].key,
            own.kg - left[index],
            min(own.used_kg, own.kg - left[index]),
        )
        for index, own in enumerate(plan.deals)
        if own.kg > left[index]
    )
    return Told(plan.total, taken, tuple(missing))


@dataclass
class GroupPlans:
    """Plans of groups on one basis, each made once."""

    scenario: Scenario
    told: Told
    basis: Basis
    planner: Planner
    found: dict[int, Alone] = field(default_factory=dict)

    def best(self, group: int, price: float) -> Alone:
        """The cheapest plan found for a group, with what is missing at `price` a dry kg."""
        if group not in self.found:
            self.found[group] = self._own(group, price)
        return min(
            (self.found[group], *self._split(group)),
            key=lambda own: worth(own, price),
        )

    def _own(self, group: int, price: float) -> Alone:
        scenario = self._scenario(group)
        plans = [_alone(scenario, self.planner(scenario))]
        if self.basis is Basis.AS_SUPPLIED:
            kept = self._kept(group, scenario)
            plans += [kept] if kept else []
        return min(plans, key=lambda own: worth(own, price))

    def _scenario(self, group: int) -> Scenario:
        if self.basis is Basis.ALL_OFFERS:
            return only(self.scenario, group, None)
        mine = self._demands(group)
        others = Counter[str]()
        for own in self.told.taken:
            if own.demand not in mine:
                others[own.offer] += own.kg
        return only(self.scenario, group, others)

    def _demands(self, group: int) -> frozenset[str]:
        chosen = set(members(group))
        return frozenset(
            own.key for own in self.scenario.demands if own.build in chosen
        )

    def _split(self, group: int) -> Iterable[Alone]:
        """Two plans of parts of the group that can be driven side by side."""
        lowest = group & -group
        for part, one in self.found.items():
            other = self.found.get(group ^ part)
            if part < group and part & lowest and part & group == part and other:
                both = _beside(self.scenario, one, other)
                if both:
                    yield both

    def _kept(self, group: int, scenario: Scenario) -> Alone | None:
        """The group's deals of the common plan, driven by themselves."""
        pairing = pair_up(scenario)
        places = {
            (
                scenario.offers[pair.offer].key,
                scenario.demands[pair.demand].key,
            ): index
            for index, pair in enumerate(pairing.pairs)
        }
        mine = self._demands(group)
        taken = [own for own in self.told.taken if own.demand in mine]
        if any((own.offer, own.demand) not in places for own in taken):
            return None
        hauls = agreed_hauls(
            pairing, [(places[own.offer, own.demand], own.kg) for own in taken]
        )
        plan = plan_hauls(replace(pairing.problem, hauls=hauls))
        if plan.unplanned:
            return None
        offers = {own.key: own for own in scenario.offers}
        bills = [_bill(scenario, offers[own.offer], own) for own in taken]
        return Alone(
            sum(bought - gained for bought, gained in bills) + plan.haul_cost,
            sum(max(0, bought) for bought, _ in bills) + plan.haul_cost,
            sum(self.told.missing[player] for player in members(group)),
            sum(own.used_kg * offers[own.offer].material.usable for own in taken),
            _takes(taken),
            frozenset(shift.slot for shift in plan.shifts),
        )


def worth(own: Alone, price: float) -> int:
    """The total with what is missing at a price for each dry kg."""
    return own.total + round_half_up(price * own.missing)


def only(scenario: Scenario, group: int, others: Counter[str] | None) -> Scenario:
    """The question of some builds alone, without what others take of the offers."""
    builds = tuple(scenario.builds[player] for player in members(group))
    plain = scenario.plain and only(scenario.plain, group, others)
    offers = scenario.offers
    if others:
        offers = tuple(
            replace(own, quantity_kg=left)
            for own in offers
            if (left := _left(own, others[own.key])) > 0
        )
    return replace(scenario, builds=builds, offers=offers, plain=plain)


def _left(offer: Offer, taken: int) -> int:
    return (offer.quantity_kg - taken) // offer.unit_kg * offer.unit_kg


def _alone(scenario: Scenario, plan: CommunityPlan) -> Alone:
    told = told_of(scenario, plan)
    return Alone(
        plan.total,
        plan.paid,
        sum(told.missing),
        sum(own.used_dry_kg for own in plan.deals),
        _takes(told.taken),
        frozenset(shift.slot for shift in plan.hauls.shifts),
    )


def _takes(taken: Iterable[Taken]) -> Counter[str]:
    found = Counter[str]()
    for own in taken:
        found[own.offer] += own.kg
    return found


def _bill(scenario: Scenario, offer: Offer, own: Taken) -> tuple[int, int]:
    """Material, and tipping avoided as far as it counts, rounded like the lines of a
    plan."""
    gained = offer.disposal.per_kg * own.used_kg if scenario.count_disposal else 0.0
    return round_half_up(offer.price.of(own.kg)), round_half_up(gained)


def _beside(scenario: Scenario, one: Alone, other: Alone) -> Alone | None:
    """Two plans side by side; None if they want the same truck on a day, or more of an
    offer than there is, or meet at a place that takes only so many trucks."""
    held = {own.key: own.quantity_kg for own in scenario.offers}
    takes = one.takes + other.takes
    if one.slots & other.slots or any(kg > held[key] for key, kg in takes.items()):
        return None
    if any(own.at_once or own.loads_a_day for own in scenario.places):
        # Who stands where when is not known here, and a split is not worth finding out.
        return None
    return Alone(
        one.total + other.total,
        one.paid + other.paid,
        one.missing + other.missing,
        one.met + other.met,
        takes,
        one.slots | other.slots,
    )
