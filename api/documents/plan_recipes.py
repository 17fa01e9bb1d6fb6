"""The blends of a plan as they are mixed on site: buckets, shares and a batch."""

from __future__ import annotations

from collections.abc import Sequence

from api.documents.mix_document import batch_text, buckets
from api.documents.plan_models import PlanRecipeAnswer, PlanShareAnswer
from matching.domain.community import CommunityPlan
from matching.domain.materials import Offer, Straw
from matching.domain.mixing import Site, as_mixed, part_of
from matching.domain.need_mixes import unusable
from matching.domain.scenario import Scenario


def plan_recipe(
    scenario: Scenario, plan: CommunityPlan, demand: int
) -> PlanRecipeAnswer | None:
    """How to mix what a plan brings for a demand; None where nothing is blended. The
    buckets of a safe plan hold at both ends of what is known, as its blend does."""
    wanted = scenario.demands[demand]
    if wanted.blend is None:
        return None
    # A safe scenario has its offers at their wettest; buckets are filled as likely.
    offers = (scenario.plain or scenario).offers
    used = [
        (offer, deal.used_dry_kg)
        for deal in plan.deals
        if deal.demand == demand and deal.used_dry_kg > 0
        for offer in (offers[deal.offer],)
        if not isinstance(offer.material, Straw)
    ]
    wrong = [
        f"{offer.name}: {why}" for offer, _ in used if (why := unusable(offer, None))
    ]
    if wrong:
        return _not_told(used, wrong)
    mixed = as_mixed(
        [(part_of(offer, None), kg) for offer, kg in used],
        scenario.builds[wanted.build].mix,
        Site(),
        safe=scenario.plain is not None,
    )
    if mixed is None:
        return None
    return PlanRecipeAnswer(
        buckets=buckets(mixed).text,
        shares=_shares(used),
        batch=batch_text(mixed.batch) if mixed.batch else None,
        notes=[note.text for note in mixed.recipe.notes],
    )


def _shares(used: Sequence[tuple[Offer, float]]) -> list[PlanShareAnswer]:
    whole = sum(kg for _, kg in used)
    return [
        PlanShareAnswer(
            offer=offer.key,
            offer_name=offer.name,
            share_percent=round(kg / whole * 100, 1),
        )
        for offer, kg in used
    ]


def _not_told(
    used: Sequence[tuple[Offer, float]], wrong: list[str]
) -> PlanRecipeAnswer:
    """Buckets of the rest alone would be another mix than the one planned."""
    return PlanRecipeAnswer(
        buckets="No buckets: figures of a material cannot be used, see the notes.",
        shares=_shares(used),
        batch=None,
        notes=wrong,
    )
