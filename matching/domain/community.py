"""The whole job for a set of builds: `plan_community(scenario) -> CommunityPlan`.

demands -> pairs that fit -> who supplies whom -> hauls -> shifts -> the bill, the blends,
the saving, and how far the total may lie above the best that can be proven.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from logistics.domain.planning.choice import Effort
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import CostLine, HaulPlan, LineKind, LowerBound
from logistics.domain.planning.sides import mass_rounding
from logistics.domain.quantities import Spread, round_half_up
from matching.domain.allocation import Allocation, Share, allocate
from matching.domain.blends import BlendWindow, blended
from matching.domain.ends import CostEnds, Safety, cost_ends
from matching.domain.joint import Joint, decide_together
from matching.domain.pairing import (
    Pairing,
    agreed_hauls,
    divisible,
    estimated_moves,
    exact_moves,
    least_moves,
    pair_up,
    supply_question,
)
from matching.domain.programme import AllocationProblem
from matching.domain.room import stores
from matching.domain.saving import Saving, savings
from matching.domain.scenario import Scenario
from matching.domain.shortage import LEAST_SHORT, Shortage, shortages

ROUGH = Effort(close=False)
"""For a first plan, which only says what shifts there are."""


@dataclass(frozen=True, slots=True)
class Deal:
    """An allotment: moist kg of one offer for one demand, `used_kg` of them for the wall
    (the rest comes because of lots and whole loads), and what the material costs."""

    offer: int
    demand: int
    kg: int
    used_kg: int
    used_dry_kg: float
    material_cost: int


@dataclass(frozen=True, slots=True)
class Blend:
    """Clay share, and share of clay and silt, of what a build uses: at both ends of its
    materials' ranges and likely."""

    demand: int
    clay: Spread
    fines: Spread
    window: BlendWindow

    @property
    def in_doubt(self) -> bool:
        """Whether the range of the clay share reaches beyond the window."""
        return (
            self.clay.low < self.window.clay_low - 1e-9
            or self.clay.high > self.window.clay_high + 1e-9
        )


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
    ends: CostEnds
    safety: Safety | None
    proven_optimal: bool
    """True if no allocation and no plan cost less, but for rounding."""

    @property
    def total(self) -> int:
        """Sum of all cost lines."""
        return sum(line.amount for line in self.lines)

    @property
    def paid(self) -> int:
        """Sum of the lines that somebody pays. The total can be near nothing, or negative,
        when holders pay or avoid as much: shares of it would say nothing."""
        return sum(line.amount for line in self.lines if line.amount > 0)

    @property
    def gap(self) -> float:
        """How far the total may lie above the least, as a share of what is paid."""
        return (self.total - self.bound.amount) / self.paid if self.paid else 0.0

    @property
    def complete(self) -> bool:
        """Whether every need is met and every haul planned."""
        return not self.short and not self.hauls.unplanned


def plan_community(scenario: Scenario) -> CommunityPlan:
    """Decide who supplies whom and which truck brings it when.

    Where the plan must be safe, one at likely figures is made too, to price the safety.
    """
    plan = _plan(scenario)
    if scenario.plain is None:
        return plan
    plain = _decide(scenario.plain).best
    alike = plan.complete and plain.complete
    price = plan.total - plain.total if alike else None
    return replace(plan, safety=Safety(plain.total, price, plain.complete))


def _decide(scenario: Scenario) -> _Decision:
    """First by estimated haul costs. Then supply and haulage together: over every shift
    pattern where these are few, over generated patterns otherwise. The cheapest stands.
    """
    pairing = pair_up(scenario)
    question = supply_question(scenario, pairing, estimated_moves(pairing))
    draft = _draft(scenario, pairing, allocate(question), ROUGH)
    exact = exact_moves(pairing)
    joint: Joint | None = None
    if exact is not None:
        limits = tuple(len(slots.slots) for slots in pairing.groups)
        whole = replace(question, moves=exact, limits=limits)
        allocation = allocate(whole)
        parts = divisible(exact, pairing)
        bound = allocation.bound
        if parts != exact:
            bound = allocate(replace(whole, moves=parts)).bound
        joint = Joint(allocation, bound)
    elif not draft.missing_kg:
        joint = decide_together(question, pairing, _seeds(pairing, draft))
    drafts = [draft]
    if joint and joint.allocation:
        drafts.append(_draft(scenario, pairing, joint.allocation, Effort()))
    best = min(drafts, key=lambda own: (round(own.missing_kg), own.total))
    if best is draft:
        best = _draft(scenario, pairing, draft.allocation, Effort())
    exactly = exact is not None
    return _Decision(pairing, question, draft, joint, best, exactly)


def _plan(scenario: Scenario) -> CommunityPlan:
    """What was decided, with everything that is told about it."""
    own = _decide(scenario)
    best, pairing, question = own.best, own.pairing, own.question
    return CommunityPlan(
        pairing=pairing,
        deals=best.deals,
        blends=_blends(scenario, best.deals),
        short=shortages(
            scenario, pairing, best.allocation.short, market=own.draft.allocation.short
        ),
        problem=best.problem,
        hauls=best.plan,
        lines=best.lines,
        bound=_bound(question, pairing, own.joint, best, exact=own.exact),
        allocation=best.allocation,
        savings=savings(scenario, question, best.allocation),
        ends=cost_ends(scenario, question, best.total),
        safety=None,
        proven_optimal=own.exact and _proven(scenario, own.joint, best),
    )


@dataclass(frozen=True)
class _Draft:
    """An allocation with its plan and bill."""

    allocation: Allocation
    deals: tuple[Deal, ...]
    problem: PlanProblem
    plan: HaulPlan
    lines: tuple[CostLine, ...]
    left_dry_kg: float

    @property
    def total(self) -> int:
        return sum(line.amount for line in self.lines)

    @property
    def complete(self) -> bool:
        """Whether every need is met and every haul planned."""
        short = any(dry_kg > LEAST_SHORT for dry_kg in self.allocation.short)
        return not short and not self.plan.unplanned

    @property
    def left_kg(self) -> int:
        return sum(own.mass_kg for own in self.plan.unplanned)

    @property
    def missing_kg(self) -> float:
        """Usable dry kg that nobody supplies or no shift carries."""
        return sum(self.allocation.short) + self.left_dry_kg


@dataclass(frozen=True)
class _Decision:
    """The draft that stands, with all that its proof and its shortages are told from."""

    pairing: Pairing
    question: AllocationProblem
    draft: _Draft
    joint: Joint | None
    best: _Draft
    exact: bool


def _draft(
    scenario: Scenario, pairing: Pairing, allocation: Allocation, effort: Effort
) -> _Draft:
    deals = tuple(_deal(scenario, pairing, share) for share in allocation.shares)
    hauls = agreed_hauls(pairing, [(own.pair, own.kg) for own in allocation.shares])
    sites = [scenario.demands[deal.demand].build for deal in deals]
    room = stores(scenario.builds, list(zip(sites, hauls, strict=True)), scenario.slots)
    problem = replace(pairing.problem, hauls=hauls, stores=room)
    plan = plan_hauls(problem, effort)
    left = sum(
        own.mass_kg * scenario.offers[deals[own.haul].offer].material.usable
        for own in plan.unplanned
    )
    lines = _lines(scenario, deals, plan)
    return _Draft(allocation, deals, problem, plan, lines, left)


def _seeds(pairing: Pairing, draft: _Draft) -> list[Pattern]:
    """The shifts of a plan as patterns over pairs."""
    group_of = {
        slot: number
        for number, group in enumerate(pairing.groups)
        for slot in group.slots
    }
    seeds = []
    for shift in draft.plan.shifts:
        number = group_of[shift.slot]
        pairs = [draft.allocation.shares[trip.load.haul].pair for trip in shift.trips]
        # A pair rides alone in these patterns: a milk run counts as its parts.
        pattern = pattern_of(number, pairing.groups[number], pairs)
        if pattern:
            seeds.append(pattern)
    return seeds


def _deal(scenario: Scenario, pairing: Pairing, share: Share) -> Deal:
    pair = pairing.pairs[share.pair]
    offer = scenario.offers[pair.offer]
    used = min(share.kg, math.ceil(share.used_dry_kg / offer.material.usable - 1e-3))
    cost = round_half_up(offer.price.of(share.kg))
    return Deal(pair.offer, pair.demand, share.kg, used, share.used_dry_kg, cost)


def _lines(
    scenario: Scenario, deals: tuple[Deal, ...], plan: HaulPlan
) -> tuple[CostLine, ...]:
    left = {own.haul: own.mass_kg for own in plan.unplanned}
    lines = []
    for index, deal in enumerate(deals):
        offer = scenario.offers[deal.offer]
        kg = deal.kg - left.get(index, 0)
        used = min(kg, deal.used_kg)
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
                    -round_half_up(offer.disposal.per_kg * used),
                    f"{used} kg x {offer.disposal.per_kg * 1000:g} per 1000 kg not tipped",
                )
            )
    lines += [line for shift in plan.shifts for line in shift.costs]
    return tuple(line for line in lines if line.amount)


def _blends(scenario: Scenario, deals: tuple[Deal, ...]) -> tuple[Blend, ...]:
    found = []
    for number, demand in enumerate(scenario.demands):
        own = [deal for deal in deals if deal.demand == number and deal.used_dry_kg > 0]
        if demand.blend is None or not own:
            continue
        parts = tuple(
            (scenario.offers[deal.offer].material, deal.used_dry_kg) for deal in own
        )
        clay, fines = blended(parts)
        found.append(Blend(number, clay, fines, demand.blend))
    return tuple(found)


def _bound(
    question: AllocationProblem,
    pairing: Pairing,
    joint: Joint | None,
    best: _Draft,
    *,
    exact: bool,
) -> LowerBound:
    """A bound on the total of any allocation and plan that leave no more short."""
    if best.left_kg:
        return LowerBound(
            min(0, best.total), "none: a part of the hauls is not planned"
        )
    if joint and math.isfinite(joint.bound):
        amount = joint.bound
        method = (
            "supply and every shift pattern in one programme"
            if exact
            else "supply and haulage together, column generation"
        )
    else:
        moves = divisible(least_moves(pairing), pairing)
        least = allocate(replace(question, moves=moves))
        # Each shift may have been rounded down by one unit.
        amount = least.bound - sum(len(group.slots) for group in pairing.groups)
        method = "cheapest supply, every load at its least empty way"
    # Prices and tipping are rounded to whole units, at most half a unit down for each.
    rounded = mass_rounding(pairing.problem, pairing.groups) + sum(
        0.5 * bool(offer.price.minor) + 0.5 * bool(offer.disposal.per_kg)
        for offer in (question.offers[pair.offer] for pair in question.pairs)
    )
    floor = math.ceil(amount - rounded - 1e-4)
    return LowerBound(min(best.total, floor), method)


def _proven(scenario: Scenario, joint: Joint | None, best: _Draft) -> bool:
    """Whether only rounding to whole kilograms, bales and units parts total and optimum."""
    if not joint or not joint.allocation or not joint.allocation.optimal:
        return False
    rounding = sum(
        2 + abs(offer.price.of(offer.unit_kg)) + offer.disposal.per_kg * offer.unit_kg
        for offer in (scenario.offers[deal.offer] for deal in best.deals)
    )
    return not best.left_kg and best.total - joint.bound <= rounding
