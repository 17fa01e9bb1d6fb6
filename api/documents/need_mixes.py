"""The mix for a stored build's need, as a document."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from api.documents.market import StoredNeedAnswer, need_answer
from api.documents.mix_answers import MixAnswer
from api.documents.mix_document import mix_answer
from matching.services.matches import NeedView


class NeedMixAnswer(BaseModel):
    """The cheapest mix of the fit offers in reach. Costs are delivered: the price and the
    haul in full loads, as the ranking of matches estimates it."""

    need: StoredNeedAnswer
    first_day: date
    last_day: date
    reach_km: float
    distance_basis: str
    left_out: int = Field(description="farther offers in reach that were not looked at")
    barred: list[str] = Field(description="fit offers that cannot be brought, and why")
    mix: MixAnswer


def need_mix_answer(view: NeedView) -> NeedMixAnswer:
    """The mix for a need. Raises Refused "need_without_blend"."""
    asked, own = view.request, view.mix
    return NeedMixAnswer(
        need=need_answer(view.need),
        first_day=asked.first_day,
        last_day=asked.last_day,
        reach_km=asked.reach_m / 1000,
        distance_basis=view.scenario.distances.basis,
        left_out=view.left_out,
        barred=[f"{offer.name}: {why}" for offer, why in own.barred],
        mix=mix_answer(own.design, own.question),
    )
