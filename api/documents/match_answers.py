"""The offers that suit a need as documents, best first, with the reasons."""

from __future__ import annotations

from api.documents.answer_parts import reason_answers
from api.documents.plan_models import IngredientAnswer, MatchAnswer
from matching.domain.materials import cargo
from matching.domain.pairing import Pairing
from matching.domain.ranking import Match, rank_matches
from matching.domain.scenario import Scenario


def match_answers(
    scenario: Scenario, pairing: Pairing, demand: int
) -> list[MatchAnswer]:
    """The ranked matches of a demand as documents."""
    return [
        _match(scenario, match) for match in rank_matches(scenario, pairing, demand)
    ]


def _minor(cost: float | None) -> int | None:
    return None if cost is None else round(cost)


def _match(scenario: Scenario, match: Match) -> MatchAnswer:
    offer = scenario.offers[match.offer]
    return MatchAnswer(
        offer=offer.key,
        offer_name=offer.name,
        material=cargo(offer.material),
        verdict=match.verdict.standing,
        reasons=reason_answers(match.verdict.reasons),
        cautions=reason_answers(match.verdict.cautions),
        road_km=None if match.metres is None else round(match.metres / 1000, 2),
        barrier=match.barrier,
        price_minor=offer.price.minor,
        price_per_kg=round(offer.price.per_kg, 3),
        cost_per_m3_minor=_minor(match.cost_per_m3),
        cost_low_per_m3_minor=_minor(match.cost_low),
        cost_high_per_m3_minor=_minor(match.cost_high),
        in_doubt=match.in_doubt,
        covers_percent=round(match.covers * 100, 1),
        recipe=[
            IngredientAnswer(
                offer=scenario.offers[part.offer].key,
                offer_name=scenario.offers[part.offer].name,
                moist_kg=part.kg,
                loads=part.loads,
                material_minor=round(part.material_cost),
                haul_minor=round(part.haul_cost),
            )
            for part in match.recipe
        ],
    )
