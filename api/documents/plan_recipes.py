"""The blends of a plan as they are mixed on site: buckets, shares and a batch."""

from __future__ import annotations

from api.documents.mix_document import batch_text, buckets
from api.documents.plan_models import PlanRecipeAnswer, PlanShareAnswer
from matching.domain.community import CommunityPlan
from matching.domain.materials import Straw
from matching.domain.mixing import Site, as_mixed, part_of
from matching.domain.scenario import Scenario


def plan_recipe(
    scenario: Scenario, plan: CommunityPlan, demand: int
) -> PlanRecipeAnswer | None:
    """How to mix what a plan brings for a demand; None where nothing is blended."""
    wanted = scenario.demands[demand]
    if wanted.blend is None:
        return None
    used = [
        (part_of(offer, None), deal.used_dry_kg)
        for deal in plan.deals
        if deal.demand == demand and deal.used_dry_kg > 0
        for offer in (scenario.offers[deal.offer],)
        if not isinstance(offer.material, Straw)
    ]
    mixed = as_mixed(used, scenario.builds[wanted.build].mix, Site())
    if mixed is None:
        return None
    counted = buckets(mixed)
    return PlanRecipeAnswer(
        buckets=counted.text,
        shares=[
            PlanShareAnswer(
                offer=dose.part.key,
                offer_name=dose.part.name,
                share_percent=round(dose.share * 100, 1),
            )
            for dose in mixed.recipe.doses
        ],
        batch=batch_text(mixed.batch) if mixed.batch else None,
        notes=[note.text for note in mixed.recipe.notes],
    )
