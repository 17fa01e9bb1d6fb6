"""Matches of a demand, ranked by the delivered cost of a cubic metre of finished wall.

A soil is never priced alone: what it costs is what the wall costs with it, including the
sand, or the richer soil, that it forces the builder to buy. So a free heap of fat clay can
lose against a dear heap that is ready as it is dug.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from matching.domain.fitness import Verdict
from matching.domain.materials import Offer, Straw
from matching.domain.pairing import Candidate, Pairing, estimated_moves
from matching.domain.programme import Move
from matching.domain.scenario import Scenario


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

    `recipe` is the cheapest way to meet the whole demand with this offer in it, and
    `cost_per_m3` what it comes to for a m3 of finished wall (for typed needs: for a tonne).
    """

    offer: int
    verdict: Verdict
    metres: int | None
    barrier: str | None
    recipe: tuple[Ingredient, ...]
    cost_per_m3: float | None

    @property
    def total(self) -> float:
        """Cost of the whole recipe."""
        return sum(part.material_cost + part.haul_cost for part in self.recipe)


def rank_matches(
    scenario: Scenario, pairing: Pairing, demand: int
) -> tuple[Match, ...]:
    """All offers for a demand, the cheapest wall first, unusable ones last with reasons."""
    moves = estimated_moves(pairing)
    own = [c for c in pairing.candidates if c.demand == demand]
    pair_of = {
        pair.offer: index
        for index, pair in enumerate(pairing.pairs)
        if pair.demand == demand
    }
    matches = [_match(scenario, pair_of, moves, candidate) for candidate in own]
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


def _match(
    scenario: Scenario,
    pair_of: dict[int, int],
    moves: tuple[Move, ...],
    candidate: Candidate,
) -> Match:
    best: tuple[Ingredient, ...] = ()
    least = math.inf
    if candidate.offer in pair_of:
        for recipe in _recipes(scenario, pair_of, candidate):
            parts = tuple(
                _ingredient(scenario.offers[offer], offer, pair_of[offer], kg, moves)
                for offer, kg in recipe
                if kg > 0
            )
            cost = sum(part.material_cost + part.haul_cost for part in parts)
            if cost < least:
                best, least = parts, cost
    return Match(
        offer=candidate.offer,
        verdict=candidate.verdict,
        metres=candidate.metres,
        barrier=candidate.barrier,
        recipe=best,
        cost_per_m3=least / _measure(scenario, candidate.demand) if best else None,
    )


def _measure(scenario: Scenario, demand: int) -> float:
    """Cubic metres of wall that the demand is for, or tonnes of a typed need."""
    own = scenario.demands[demand]
    return own.wall_m3 or own.dry_kg / 1000


def _recipes(
    scenario: Scenario, pair_of: dict[int, int], candidate: Candidate
) -> Iterator[list[tuple[int, int]]]:
    """Ways to meet the demand: the offer alone, or with one partner at a window's edge.

    With two materials the cost is piecewise linear in the share, so that only shares at
    the window's edges and at the limits of supply need a look.
    """
    demand = scenario.demands[candidate.demand]
    mine = candidate.offer
    if demand.clay is None or _within(_clay(scenario.offers[mine]), demand.clay):
        yield [(mine, _moist(scenario.offers[mine], demand.dry_kg))]
    if demand.clay is None:
        return
    for other in pair_of:
        if other == mine:
            continue
        for share in _shares(scenario, mine, other, demand.clay):
            yield [
                (mine, _moist(scenario.offers[mine], demand.dry_kg * share)),
                (other, _moist(scenario.offers[other], demand.dry_kg * (1 - share))),
            ]


def _shares(
    scenario: Scenario, mine: int, other: int, window: tuple[float, float]
) -> list[float]:
    a, b = _clay(scenario.offers[mine]), _clay(scenario.offers[other])
    if math.isclose(a, b):
        return []
    edges = sorted((edge - b) / (a - b) for edge in window)
    low, high = max(edges[0], 0.0), min(edges[1], 1.0)
    return [share for share in (low, high) if low <= high and 0 < share <= 1]


def _within(clay: float, window: tuple[float, float]) -> bool:
    return window[0] <= clay <= window[1]


def _clay(offer: Offer) -> float:
    return 0.0 if isinstance(offer.material, Straw) else offer.material.clay.likely


def _moist(offer: Offer, dry_kg: float) -> int:
    pieces = math.ceil(dry_kg / offer.material.usable / offer.unit_kg - 1e-6)
    return pieces * offer.unit_kg


def _ingredient(
    offer: Offer, number: int, pair: int, kg: int, moves: tuple[Move, ...]
) -> Ingredient:
    """Price a part at the truck that brings it cheapest, in whole loads."""
    ways = [
        (math.ceil(kg / load) * move.cost, math.ceil(kg / load))
        for move in moves
        for own, _, load in move.trips
        if own == pair
    ]
    cost, loads = min(ways)
    return Ingredient(number, kg, loads, offer.price.of(kg), cost)
