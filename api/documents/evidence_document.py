"""From estimates of soils to their documents."""

from __future__ import annotations

from api.documents.answer_parts import percents, ranged, reason_answers
from api.documents.evidence_answers import (
    ContradictionAnswer,
    EstimateAnswer,
    EstimateSummary,
    FindingAnswer,
    NewTestAnswer,
    NextTestAnswer,
    OfferTestsAnswer,
    SoilTestAnswer,
    TextureAnswer,
    VerdictAnswer,
)
from api.documents.plan_models import RangeAnswer
from api.documents.reading_evidence import evidence_document
from logistics.domain.quantities import Spread
from matching.domain.fitness import judge
from matching.domain.materials import Subsoil
from matching.domain.soil.estimate import SoilEstimate, explain
from matching.domain.soil.evidence import Finding
from matching.domain.soil.staleness import NewTest
from matching.domain.soil_fitness import sand_parts
from matching.domain.takeoff import MixTarget
from matching.domain.tested import estimate_for
from matching.domain.verdicts import Verdict


def verdict_answer(verdict: Verdict) -> VerdictAnswer:
    """A verdict as a document."""
    return VerdictAnswer(
        standing=verdict.standing,
        usable=verdict.usable,
        reasons=reason_answers(verdict.reasons),
        cautions=reason_answers(verdict.cautions),
    )


def soil_test_answer(soil: Subsoil, mix: MixTarget) -> SoilTestAnswer:
    """A soil judged for a mix, as a document."""
    parts = sand_parts(soil, mix)
    return SoilTestAnswer(
        estimate=estimate_answer(soil, estimate_for(soil, mix)),
        verdict=verdict_answer(judge(soil, mix)),
        sand_parts=None if parts is None else ranged(parts, 2),
    )


def offer_tests_answer(offer_id: int, soil: Subsoil) -> OfferTestsAnswer:
    """The tests of a stored soil with what they come to, for the usual mix."""
    return OfferTestsAnswer(
        offer=offer_id,
        tests=[evidence_document(own) for own in soil.tests],
        estimate=estimate_answer(soil, estimate_for(soil)),
    )


def estimate_summary(soil: Subsoil) -> EstimateSummary:
    """How well a soil is known, in short."""
    return _summary(soil, estimate_for(soil))


def _summary(soil: Subsoil, found: SoilEstimate) -> EstimateSummary:
    return EstimateSummary(
        tests=len(soil.tests),
        rung=found.rung.name.lower(),
        words=found.rung.words,
        jar_decides=found.jar_decides,
        contradictions=len(found.contradictions),
        clay_percent=percents(found.clay),
    )


def estimate_answer(soil: Subsoil, found: SoilEstimate) -> EstimateAnswer:
    """An estimate as a document."""
    return EstimateAnswer(
        **_summary(soil, found).model_dump(),
        silt_percent=_percents(found.silt),
        stones_percent=_percents(found.stones),
        organic_percent=_percents(found.organic),
        findings=[_finding(own) for own in found.findings],
        quarrels=[
            ContradictionAnswer(kinds=list(own.kinds), text=own.text)
            for own in found.contradictions
        ],
        textures=[TextureAnswer(name=own, words=own.words) for own in found.textures],
        next_tests=[
            NextTestAnswer(kind=own.kind, how=own.how, why=own.why, takes=own.takes)
            for own in found.next_tests
        ],
        set_aside=[_new_test(own.reason, own.kind) for own in found.set_aside],
        stale=[_new_test(own, None) for own in found.stale],
        lines=list(explain(found)),
    )


def _finding(own: Finding) -> FindingAnswer:
    return FindingAnswer(
        kind=own.kind,
        trust=own.rung.words,
        taken_on=own.sample.taken_on,
        place=own.sample.place,
        tester=own.sample.tester,
        says=own.says,
        doubt=own.doubt,
        clay_percent=_percents(own.clay),
        silt_percent=_percents(own.silt),
        stones_percent=_percents(own.stones),
        organic_percent=_percents(own.organic),
    )


def _new_test(own: NewTest, kind: str | None) -> NewTestAnswer:
    return NewTestAnswer(
        kind=kind, code=own.code, text=own.text, clay_stands=own.clay_stands
    )


def _percents(spread: Spread | None) -> RangeAnswer | None:
    return None if spread is None else percents(spread)
