"""Ranking the offers for one need."""

from __future__ import annotations

from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from logistics.domain.errors import refuse
from logistics.domain.trucks import Cargo
from logistics.services.distances import Roads
from matching.domain.builds import MINERAL
from matching.domain.need_mixes import NeedMix, mix_for
from matching.domain.pairing import Pairing, pair_up
from matching.domain.ranking import Match, rank_matches
from matching.domain.requests import PlanRequest
from matching.domain.scenario import Scenario
from matching.selectors.builds import StoredNeed, get_need
from matching.selectors.scenarios import gather
from matching.services.distances import distances_of, own_distances_of

# Every pair of offers is tried as a recipe, within one request.
MOST_RANKED = 60


@dataclass(frozen=True)
class NeedView:
    """A need seen against the market. `demand` counts the scenario's demands;
    `left_out` offers in reach were not looked at, because they are farther than these."""

    need: StoredNeed
    request: PlanRequest
    scenario: Scenario
    pairing: Pairing
    demand: int
    left_out: int

    @property
    def matches(self) -> tuple[Match, ...]:
        """The offers, the cheapest wall first, unusable ones last with their reasons."""
        return rank_matches(self.scenario, self.pairing, self.demand)

    @property
    def mix(self) -> NeedMix:
        """The cheapest mix of them. Raises Refused "need_without_blend"."""
        return mix_for(self.scenario, self.pairing, self.demand)


def view_need(
    *, need_id: int, request: PlanRequest, zone: ZoneInfo, roads: Roads
) -> NeedView:
    """The offers in reach of the need's build, paired with it; nothing is stored.

    Of the request only days, trucks and reach count. Raises Refused "unknown_need",
    "unknown_truck" and what `distances_of` raises.
    """
    need = get_need(need_id)
    asked = replace(request, build_ids=(need.build_id,))
    kinds = MINERAL if need.cargo == "mineral" else frozenset({Cargo(need.cargo)})
    gathered = gather(asked, zone=zone, kinds=kinds, most_offers=MOST_RANKED)
    scenario = gathered.scenario(
        distances_of(gathered.places, roads=roads),
        asked,
        own_distances_of(gathered.places, gathered.trucks, roads=roads),
    )
    # All that a build wants is ranked at once, whenever it is to come.
    whole = tuple(replace(own, batches=None) for own in scenario.builds)
    scenario = replace(scenario, builds=whole)
    keys = [gathered.need_ids.get(demand.key) for demand in scenario.demands]
    if need_id not in keys:
        raise refuse(
            "need_without_demand",
            field="need",
            given=need_id,
            message="the build does not ask for this any more",
            remedy="Store the build again.",
        )
    return NeedView(
        need=need,
        request=asked,
        scenario=scenario,
        pairing=pair_up(scenario),
        demand=keys.index(need_id),
        left_out=gathered.left_out,
    )
