"""Matches of a demand, ranked by the delivered cost of a cubic metre of finished wall.

A soil is never priced alone: what it costs is what the wall costs with it, including the
sand, or the richer soil, that it forces the builder to buy. So a free heap of fat clay can
lose against a dear heap that is ready as it is dug.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from logistics.domain.quantities import End
from matching.domain.builds import Demand
from matching.domain.ends import turned_out
from matching.domain.materials import Offer
from matching.domain.pairing import Candidate, Pairing, estimated_moves
from matching.domain.scenario import Scenario
from matching.domain.verdicts import Verdict

Ways = dict[int, list[tuple[int, float]]]
"""For each pair its loads: kg and the cost of a trip."""
ROOM = 1e-6
"""Shares of a demand closer than this are the same."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One part of a recipe: moist kg of an offer, its loads and cost in minor units."""

    offer: int
    kg: int
    loads: int
    material_cost: float
    haul_cost: float


@dataclass(frozen=True, slots=True)
class Match:
    """An offer for a demand. Costs in minor units; None where it cannot be used.

    `recipe` is the cheapest way to meet the demand with this offer in it, alone or with one
    other; `covers` is the share of the demand that they hold. `cost_per_m3` is what it comes
    to for a m3 of finished wall (for typed needs: for a tonne), `cost_low` and `cost_high`
    what it would if all ground had its least or its most clay; `in_doubt` where no recipe
    would do then. Smallest lots and whole loads are left to the plan.
    """

    offer: int
    verdict: Verdict
    metres: int | None
    barrier: str | None
    recipe: tuple[Ingredient, ...]
    cost_per_m3: float | None
    covers: float = 0.0
    cost_low: float | None = None
    cost_high: float | None = None
    in_doubt: bool = False

    @property
    def total(self) -> float:
        """Cost of the whole recipe."""
        return sum(part.material_cost + part.haul_cost for part in self.recipe)


def rank_matches(
    scenario: Scenario, pairing: Pairing, demand: int
) -> tuple[Match, ...]:
    """All offers for a demand, the cheapest wall first, unusable ones last with reasons."""
    ways: Ways = {}
    for move in estimated_moves(pairing):
        for pair, _, load in move.trips:
            ways.setdefault(pair, []).append((load, move.cost))
    own = [c for c in pairing.candidates if c.demand == demand]
    pair_of = {
        pair.offer: index
        for index, pair in enumerate(pairing.pairs)
        if pair.demand == demand
    }
    ends = [turned_out(scenario, ground=end) for end in (End.LOW, End.HIGH)]
    matches = [
        _with_ends(
            _match(scenario, pair_of, ways, candidate),
            [_match(end, pair_of, ways, candidate).cost_per_m3 for end in ends],
        )
        for candidate in own
    ]
    return tuple(
        sorted(
            matches,
            key=lambda m: (
                m.cost_per_m3 is None,
                m.cost_per_m3 or 0.0,
                m.metres or 0,
                m.offer,
            ),
        )
    )


def _with_ends(match: Match, ends: list[float | None]) -> Match:
    """A match with its costs at both ends of the ground, in order."""
    if match.cost_per_m3 is None:
        return match
    known = [match.cost_per_m3, *(cost for cost in ends if cost is not None)]
    return replace(
        match,
        cost_low=min(known),
        cost_high=max(known),
        in_doubt=any(cost is None for cost in ends),
    )


def _match(
    scenario: Scenario,
    pair_of: dict[int, int],
    ways: Ways,
    candidate: Candidate,
) -> Match:
    best: tuple[Ingredient, ...] = ()
    least, covers = math.inf, 0.0
    if candidate.offer in pair_of:
        for part, recipe in _recipes(scenario, pair_of, candidate):
            parts = tuple(
                _ingredient(scenario.offers[offer], offer, kg, ways[pair_of[offer]])
                for offer, kg in recipe
                if kg > 0
            )
            cost = sum(own.material_cost + own.haul_cost for own in parts) / part
            if part > covers + ROOM or (part > covers - ROOM and cost < least):
                best, least, covers = parts, cost, part
    return Match(
        offer=candidate.offer,
        verdict=candidate.verdict,
        metres=candidate.metres,
        barrier=candidate.barrier,
        recipe=best,
        cost_per_m3=least / _measure(scenario, candidate.demand) if best else None,
        covers=covers,
    )


def _measure(scenario: Scenario, demand: int) -> float:
    """Cubic metres of wall that the demand is for, or tonnes of a typed need."""
    own = scenario.demands[demand]
    return own.wall_m3 or own.dry_kg / 1000


def _recipes(
    scenario: Scenario, pair_of: dict[int, int], candidate: Candidate
) -> Iterator[tuple[float, list[tuple[int, int]]]]:
    """Ways to meet the demand: the offer alone, or with one partner; each with the share of
    the demand that it meets.

    With two materials the cost is piecewise linear in the share, so that only shares at
    the window's edges and at the limits of supply need a look.
    """
    demand = scenario.demands[candidate.demand]
    mine = candidate.offer
    if demand.dry_kg <= 0:
        return
    if demand.blend is None or demand.blend.admits(scenario.offers[mine].material):
        yield from _recipe(scenario, demand.dry_kg, [(mine, 1.0)])
    for other in pair_of:
        if other != mine:
            for share in _shares(scenario, mine, other, demand):
                parts = [(mine, share), (other, 1 - share)]
                yield from _recipe(scenario, demand.dry_kg, parts)


def _recipe(
    scenario: Scenario, dry_kg: float, parts: list[tuple[int, float]]
) -> Iterator[tuple[float, list[tuple[int, int]]]]:
    """Moist kg of parts in these shares, as much as the offers hold."""
    held = [
        _held(scenario.offers[own]) / (dry_kg * share) for own, share in parts if share
    ]
    covers = min(1.0, *held)
    if covers > ROOM:
        yield (
            covers,
            [
                (own, _moist(scenario.offers[own], dry_kg * share * covers))
                for own, share in parts
            ],
        )


def _held(offer: Offer) -> float:
    """Usable dry kg on offer."""
    return offer.quantity_kg * offer.material.usable


def _shares(scenario: Scenario, mine: int, other: int, demand: Demand) -> list[float]:
    """Shares of the first of two materials at the corners of what is possible."""
    one, two = scenario.offers[mine], scenario.offers[other]
    low, high = 0.0, 1.0
    if demand.blend:
        mine_out = demand.blend.excesses(one.material)
        for a, b in zip(mine_out, demand.blend.excesses(two.material), strict=True):
            # share x a + (1 - share) x b must not exceed 0.
            if a > b:
                high = min(high, -b / (a - b))
            elif a < b:
                low = max(low, b / (b - a))
            elif a > 0:
                return []
    limits = (_held(one) / demand.dry_kg, 1 - _held(two) / demand.dry_kg)
    corners = {low, high, *(min(max(limit, low), high) for limit in limits)}
    return sorted(share for share in corners if low <= high and 0 < share <= 1)


def _moist(offer: Offer, dry_kg: float) -> int:
    pieces = math.ceil(dry_kg / offer.material.usable / offer.unit_kg - 1e-6)
    return min(pieces, offer.quantity_kg // offer.unit_kg) * offer.unit_kg


def _ingredient(
    offer: Offer, number: int, kg: int, ways: list[tuple[int, float]]
) -> Ingredient:
    """Price a part at the truck that brings it cheapest, in whole loads."""
    cost, loads = min(
        (math.ceil(kg / load) * trip, math.ceil(kg / load)) for load, trip in ways
    )
    return Ingredient(number, kg, loads, offer.price.of(kg), cost)
