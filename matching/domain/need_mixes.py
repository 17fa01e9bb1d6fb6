"""The mix for a stored build's need: from the offers in reach, at their delivered cost."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import Refused, refuse
from matching.domain.materials import Offer, Straw
from matching.domain.mixing import MixDesign, MixQuestion, Source, answer, part_of
from matching.domain.pairing import Pairing, estimated_moves
from matching.domain.scenario import Scenario


@dataclass(frozen=True)
class NeedMix:
    """What was asked and the answer; `barred` are fit offers that cannot be brought and
    those whose figures cannot be used, each with its reason."""

    question: MixQuestion
    design: MixDesign
    barred: tuple[tuple[Offer, str], ...]


def mix_for(scenario: Scenario, pairing: Pairing, demand: int) -> NeedMix:
    """The cheapest mix for a demand. Raises Refused "need_without_blend" for one that is
    not computed from walls, or is for straw."""
    wanted = scenario.demands[demand]
    if wanted.blend is None or wanted.wall_m3 is None:
        raise refuse(
            "need_without_blend",
            field="need",
            given=wanted.key,
            message="only what walls want of soil and sand is mixed",
            remedy='Ask for the need with the cargo "mineral" of a build with walls.',
        )
    haul = _haul_per_kg(pairing, demand)
    sources, barred = [], []
    for own in pairing.candidates:
        offer = scenario.offers[own.offer]
        if own.demand != demand or isinstance(offer.material, Straw):
            continue
        if own.verdict.usable and own.offer not in haul:
            barred.append((offer, own.barrier or "no truck can bring it"))
            continue
        # What is not fit goes along, to be left out with its reasons.
        delivered = offer.price.of(1.0) + haul.get(own.offer, 0.0)
        # One offer that cannot be reckoned with must not take the others' mix away.
        wrong = unusable(offer, delivered)
        if wrong is not None:
            barred.append((offer, wrong))
            continue
        sources.append(
            Source(offer.key, offer.name, offer.material, delivered, offer.quantity_kg)
        )
    question = MixQuestion(
        sources=tuple(sources),
        mix=scenario.builds[wanted.build].mix,
        wall_m3=wanted.wall_m3,
        target_first=False,
    )
    return NeedMix(question, answer(question), tuple(barred))


def unusable(offer: Offer, delivered_per_kg: float | None) -> str | None:
    """Why an offer's figures cannot be mixed with; None where they can."""
    try:
        part_of(offer, delivered_per_kg)
    except Refused as refused:
        return " ".join(
            f"{own.message} ({own.given}): {own.remedy}" for own in refused.problems
        )
    return None


def _haul_per_kg(pairing: Pairing, demand: int) -> dict[int, float]:
    """Minor units to bring a kg of each offer, as the ranking estimates a trip, in the
    loads that come cheapest by the kg."""
    found: dict[int, float] = {}
    for move in estimated_moves(pairing):
        for index, _, load in move.trips:
            pair = pairing.pairs[index]
            if pair.demand == demand:
                cost = move.cost / load
                found[pair.offer] = min(cost, found.get(pair.offer, cost))
    return found
