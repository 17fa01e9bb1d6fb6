"""What a plan costs if walls and ground turn out at the ends of what is known.

Each end is answered anew: as if one had known it before ordering, at estimated haulage.
The difference to the same answer at likely figures is put on top of the plan's total.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

from logistics.domain.quantities import End, Spread, round_half_up
from matching.domain.allocation import allocate
from matching.domain.materials import Material, Offer, Straw
from matching.domain.pairing import estimated_moves, pair_up, supply_question
from matching.domain.programme import AllocationProblem
from matching.domain.scenario import Scenario

NODES, ROUGH = 60, 0.005
"""Ends of the branch and bound: these are estimates."""
ENDS = (End.LOW, End.HIGH)


@dataclass(frozen=True, slots=True)
class CostEnds:
    """Totals in minor units. Where `short_dry_kg` is above 0 the worst end leaves so much
    missing beyond what the plan misses, and `high` pays for the rest alone."""

    low: int
    likely: int
    high: int
    short_dry_kg: float


@dataclass(frozen=True, slots=True)
class Safety:
    """What a plan that holds at the far end costs beyond one at likely figures, which is
    `plain_total`; None where one of the two leaves needs unmet: they buy different things.
    `plain_complete` says whether the plain one met every need."""

    plain_total: int
    price: int | None
    plain_complete: bool


def safely(scenario: Scenario) -> Scenario:
    """The same question with the most that walls may swallow, the wettest material, and
    blends inside their window at both ends of what is known of their parts."""
    offers = tuple(_wettest(own) for own in scenario.offers)
    return replace(scenario, offers=offers, needs_at=End.HIGH, plain=scenario)


def cost_ends(scenario: Scenario, question: AllocationProblem, total: int) -> CostEnds:
    """The total at the cheapest and at the dearest end of needs and ground. `question` is
    the scenario's own, at estimated haulage."""
    base = scenario.plain or scenario
    middle, missing = _estimate(question)
    outcomes = [
        _estimate(_asked(turned_out(base, needs=needs, ground=ground)))
        for needs, ground in product(ENDS, ENDS)
    ]
    worst = max(short for _, short in outcomes) - missing
    costs = [0.0, *(cost - middle for cost, _ in outcomes)]
    return CostEnds(
        low=total + round_half_up(min(costs)),
        likely=total,
        high=total + round_half_up(max(costs)),
        short_dry_kg=worst if worst > 1 else 0.0,
    )


def _asked(scenario: Scenario) -> AllocationProblem:
    pairing = pair_up(scenario)
    return supply_question(scenario, pairing, estimated_moves(pairing))


def _estimate(question: AllocationProblem) -> tuple[float, float]:
    """Cost and dry kg short of the cheapest supply at estimated haulage."""
    answer = allocate(question, nodes=NODES, gap=ROUGH)
    return answer.cost, sum(answer.short)


def turned_out(
    scenario: Scenario, *, needs: End = End.LIKELY, ground: End = End.LIKELY
) -> Scenario:
    """The same question as if the ends were known: how much the walls swallow and how wet
    the material is, and how much clay and silt the ground holds."""
    offers = tuple(
        replace(own, material=_known(own.material, ground, needs))
        for own in scenario.offers
    )
    return replace(scenario, offers=offers, needs_at=needs)


def _known(material: Material, ground: End, wet: End) -> Material:
    if isinstance(material, Straw):
        return material
    clay = Spread.exactly(material.clay.at(ground))
    silt = material.silt and Spread.exactly(
        min(material.silt.at(ground), 1 - clay.likely)
    )
    moisture = Spread.exactly(material.moisture.at(wet))
    return replace(material, clay=clay, silt=silt, moisture=moisture)


def _wettest(offer: Offer) -> Offer:
    material = offer.material
    if isinstance(material, Straw):
        return offer
    moisture = Spread.exactly(material.moisture.high)
    return replace(offer, material=replace(material, moisture=moisture))
