"""The whole job for a set of builds: `plan_community(scenario) -> CommunityPlan`.

demands -> pairs that fit -> who supplies whom -> hauls -> shifts -> the bill, the blends,
the saving, and how far the total may lie above the best that can be proven.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import CostLine, HaulPlan, LineKind, LowerBound
from logistics.domain.quantities import Spread, round_half_up
from matching.domain.allocation import (
    Allocation,
    AllocationProblem,
    Move,
    Share,
    allocate,
)
from matching.domain.materials import Straw
from matching.domain.pairing import (
    Pairing,
    agreed_hauls,
    estimated_moves,
    exact_moves,
    least_moves,
    pair_up,
)
from matching.domain.saving import Saving, savings
from matching.domain.scenario import Scenario
from matching.domain.shortage import Shortage, shortages


@dataclass(frozen=True, slots=True)
class Deal:
    """An allotment: moist kg of one offer for one demand, and what the material costs."""

    offer: int
    demand: int
    kg: int
    used_dry_kg: float
    material_cost: int


@dataclass(frozen=True, slots=True)
class Blend:
    """Clay share of what a build uses, at both ends of its soils' ranges and likely."""

    demand: int
    clay: Spread
    window: tuple[float, float]


@dataclass(frozen=True)
class CommunityPlan:
    """The answer. `lines` add up exactly to `total`; all money in minor units.

    `hauls.shifts` count hauls in the order of `deals`.
    """

    pairing: Pairing
    deals: tuple[Deal, ...]
    blends: tuple[Blend, ...]
    short: tuple[Shortage, ...]
    problem: PlanProblem
    hauls: HaulPlan
    lines: tuple[CostLine, ...]
    bound: LowerBound
    allocation: Allocation
    savings: tuple[Saving, ...]
    proven_optimal: bool
    """True if no allocation and no plan cost less, but for rounding."""

    @property
    def total(self) -> int:
        """Sum of all cost lines."""
        return sum(line.amount for line in self.lines)

    @property
    def gap(self) -> float:
        """How much dearer than the proven bound the total may be, as a share of it."""
        return (self.total - self.bound.amount) / abs(self.total) if self.total else 0.0

    @property
    def complete(self) -> bool:
        """Whether every need is met and every haul planned."""
        return not self.short and not self.hauls.unplanned


def plan_community(scenario: Scenario) -> CommunityPlan:
    """Decide who supplies whom and which truck brings it when."""
    pairing = pair_up(scenario)
    exact = exact_moves(pairing)
    estimated = estimated_moves(pairing)
    question = _question(scenario, pairing, estimated)
    allocation = allocate(question)
    joint = None
    if exact is not None:
        limits = tuple(len(slots.slots) for slots in pairing.groups)
        asked = replace(question, moves=exact, limits=limits)
        joint = allocate(asked)
        # Where the days are too few for all that is on offer, what cannot be carried is
        # the planner's to explain; the market's answer stays as it was.
        if sum(joint.short) > sum(allocation.short) + 1:
            joint = None
    decided = joint or allocation
    deals = tuple(_deal(scenario, pairing, share) for share in decided.shares)
    hauls = agreed_hauls(pairing, [(share.pair, share.kg) for share in decided.shares])
    problem = replace(pairing.problem, hauls=hauls)
    plan = plan_hauls(problem)
    lines = _lines(scenario, deals, plan)
    total = sum(line.amount for line in lines)
    return CommunityPlan(
        pairing=pairing,
        deals=deals,
        blends=_blends(scenario, deals),
        short=shortages(scenario, pairing, decided.short),
        problem=problem,
        hauls=plan,
        lines=lines,
        bound=_bound(question, pairing, joint, plan, total),
        allocation=decided,
        savings=savings(scenario, question, decided),
        proven_optimal=_proven(scenario, joint, deals, plan, total),
    )


def _question(
    scenario: Scenario, pairing: Pairing, moves: tuple[Move, ...]
) -> AllocationProblem:
    return AllocationProblem(
        offers=scenario.offers,
        demands=scenario.demands,
        pairs=pairing.pairs,
        moves=moves,
        count_disposal=scenario.count_disposal,
    )


def _deal(scenario: Scenario, pairing: Pairing, share: Share) -> Deal:
    pair = pairing.pairs[share.pair]
    cost = round_half_up(scenario.offers[pair.offer].price.of(share.kg))
    return Deal(pair.offer, pair.demand, share.kg, share.used_dry_kg, cost)


def _lines(
    scenario: Scenario, deals: tuple[Deal, ...], plan: HaulPlan
) -> tuple[CostLine, ...]:
    left = {own.haul: own.mass_kg for own in plan.unplanned}
    lines = []
    for index, deal in enumerate(deals):
        offer = scenario.offers[deal.offer]
        kg = deal.kg - left.get(index, 0)
        lines.append(
            CostLine(
                LineKind.MATERIAL,
                f"{offer.key} > {scenario.demands[deal.demand].key}",
                round_half_up(offer.price.of(kg)),
                f"{kg} kg x {offer.price.minor} per {offer.price.per_kg:g} kg",
            )
        )
        if scenario.count_disposal:
            lines.append(
                CostLine(
                    LineKind.TIPPING_AVOIDED,
                    offer.key,
                    -round_half_up(offer.disposal.per_kg * kg),
                    f"{kg} kg x {offer.disposal.per_kg * 1000:g} per 1000 kg not tipped",
                )
            )
    lines += [line for shift in plan.shifts for line in shift.costs]
    return tuple(line for line in lines if line.amount)


def _blends(scenario: Scenario, deals: tuple[Deal, ...]) -> tuple[Blend, ...]:
    found = []
    for number, demand in enumerate(scenario.demands):
        own = [deal for deal in deals if deal.demand == number and deal.used_dry_kg > 0]
        if demand.clay is None or not own:
            continue
        total = sum(deal.used_dry_kg for deal in own)
        low = likely = high = 0.0
        for deal in own:
            material = scenario.offers[deal.offer].material
            if not isinstance(material, Straw):
                weight = deal.used_dry_kg / total
                low += weight * material.clay.low
                likely += weight * material.clay.likely
                high += weight * material.clay.high
        found.append(Blend(number, Spread(low, likely, high), demand.clay))
    return tuple(found)


def _bound(
    question: AllocationProblem,
    pairing: Pairing,
    joint: Allocation | None,
    plan: HaulPlan,
    total: int,
) -> LowerBound:
    """A bound on the total of any allocation and plan that leave no more short."""
    if joint is not None:
        method = "supply and every shift pattern in one programme"
        amount = joint.bound
    else:
        least = allocate(replace(question, moves=least_moves(pairing)))
        slots = sum(len(group.slots) for group in pairing.groups)
        amount = (
            least.bound - slots
        )  # each shift may have been rounded down by one unit
        method = "cheapest supply with every load at its least empty way"
    if plan.unplanned:
        return LowerBound(min(0, total), "none: a part of the hauls is not planned")
    # Prices and tipping are rounded to whole units, at most half a unit down for each.
    floor = math.ceil(amount - len(question.pairs) - 1e-6)
    return LowerBound(min(total, floor), method)


def _proven(
    scenario: Scenario,
    joint: Allocation | None,
    deals: tuple[Deal, ...],
    plan: HaulPlan,
    total: int,
) -> bool:
    """Whether only rounding to whole kilograms, bales and units parts total and optimum."""
    if joint is None or not joint.optimal or plan.unplanned:
        return False
    rounding = sum(
        2 + abs(offer.price.of(offer.unit_kg)) + offer.disposal.per_kg * offer.unit_kg
        for offer in (scenario.offers[deal.offer] for deal in deals)
    )
    return total - joint.cost <= rounding
