"""From judgements on sand and straw to their documents."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from api.documents.answer_parts import percents
from api.documents.evidence_answers import (
    AdviceAnswer,
    BaleAnswer,
    DepartureAnswer,
    KeepingAnswer,
    LimitAnswer,
    SandFiguresAnswer,
    SandTestAnswer,
    StrawTestAnswer,
)
from api.documents.evidence_document import verdict_answer
from api.documents.plan_models import RangeAnswer
from api.documents.questions import KgRange
from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.fitness import settled
from matching.domain.grading import Grading, Sieving
from matching.domain.grounds import Known
from matching.domain.lifts.pulses import USUAL_LEAD
from matching.domain.materials import Sand, Straw
from matching.domain.sands.classes import sand_class
from matching.domain.sands.fineness import fineness_range
from matching.domain.sands.judging import judge_sand
from matching.domain.sands.limits import (
    LIMITS,
    Departure,
    Limit,
    departures,
    inside,
    unmeasured,
)
from matching.domain.straws.bales import FORMS, BaleCount, bales_for, form_of
from matching.domain.straws.judging import judge_straw
from matching.domain.straws.keeping import ADVICE, keeping
from matching.domain.straws.moisture import dry_kg_per_m3

# Straw comes just in time, the day before it is mixed in, as the calendar of lifts has it.
STRAW_LEAD = timedelta(days=USUAL_LEAD.straw_days)


def sand_test_answer(sand: Sand, sieving: Sieving | None) -> SandTestAnswer:
    """A sand judged, as a document."""
    record = sand.record
    grading = record.grading
    return SandTestAnswer(
        verdict=verdict_answer(settled(judge_sand(record, sand.clay, sand.silt))),
        clay_percent=percents(sand.clay),
        silt_percent=None if sand.silt is None else percents(sand.silt),
        figures=None if grading is None else _figures(grading, sieving, record.clayey),
    )


def _figures(
    grading: Grading, sieving: Sieving | None, clayey: Known
) -> SandFiguresAnswer:
    low, high = fineness_range(grading)
    loss = sieving.loss if sieving else None
    return SandFiguresAnswer(
        fineness_low=round(low, 3),
        fineness_high=round(high, 3),
        d10_mm=_known(lambda: grading.size_at(0.10)),
        d30_mm=_known(lambda: grading.size_at(0.30)),
        d60_mm=_known(lambda: grading.size_at(0.60)),
        uniformity=_known(lambda: grading.uniformity),
        curvature=_known(lambda: grading.curvature),
        unified=_symbols(grading, clayey),
        loss_percent=None if loss is None else round(loss * 100, 3),
        adds_up=sieving.adds_up if sieving else None,
        limits=[_limit(grading, own) for own in Limit],
    )


def _known(figure: Callable[[], float]) -> float | None:
    """The figure, or None where the curve does not reach it."""
    try:
        return round(figure(), 4)
    except Refused:
        return None


def _symbols(grading: Grading, clayey: Known) -> list[str]:
    try:
        return list(sand_class(grading, clayey).symbols)
    except Refused:
        return []


def _limit(grading: Grading, limit: Limit) -> LimitAnswer:
    own = LIMITS[limit]
    out = departures(grading, limit)
    return LimitAnswer(
        limit=limit,
        title=own.title,
        source=own.source,
        seen=own.seen,
        inside=inside(grading, limit),
        departures=[_departure(at) for at in out],
        unmeasured_mm=list(unmeasured(grading, limit)),
    )


def _departure(at: Departure) -> DepartureAnswer:
    return DepartureAnswer(
        size_mm=at.size_mm,
        passing_percent=round(at.passing * 100, 2),
        low_percent=round(at.low * 100, 2),
        high_percent=round(at.high * 100, 2),
        by_points=round(at.by * 100, 2),
    )


def straw_test_answer(
    straw: Straw, wanted: KgRange | None, needed_on: date | None, *, in_year: int
) -> StrawTestAnswer:
    """A lot of straw judged in a year, as a document. Raises Refused for a harvest that is
    still to come."""
    judgement = judge_straw(straw.record, in_year=in_year)
    count = None if wanted is None else bales_for(_kg(wanted), straw.bale)
    bale = _bale(straw)
    return StrawTestAnswer(
        verdict=verdict_answer(settled(judgement)),
        compostable=judgement.compostable,
        bale=bale,
        bales=None
        if count is None
        else RangeAnswer(low=count.low, likely=count.likely, high=count.high),
        keeping=_keeping(count, bale),
        deliver_on=None if needed_on is None else deliver_on(needed_on),
        advice=[
            AdviceAnswer(code=own.code, text=own.text, source=own.source)
            for own in ADVICE
        ],
    )


def deliver_on(needed_on: date) -> date:
    """The day on which straw is to come: the last weekday before it is mixed in, for
    lorries come from Monday to Friday as the calendar of lifts has it."""
    day = needed_on - STRAW_LEAD
    while day.weekday() not in USUAL_LEAD.delivery_weekdays:
        day -= timedelta(days=1)
    return day


def _bale(straw: Straw) -> BaleAnswer:
    record = straw.record
    form = record.form or form_of(straw.bale)
    wet = record.moisture
    return BaleAnswer(
        form=form,
        title=FORMS[form].title,
        named=record.form is not None,
        kg=straw.bale.kg,
        m3=round(straw.bale.m3, 3),
        by_hand=FORMS[form].by_hand,
        dry_kg_per_m3=None if wet is None else round(dry_kg_per_m3(straw.bale, wet), 1),
    )


def _keeping(count: BaleCount | None, bale: BaleAnswer) -> KeepingAnswer | None:
    if count is None or count.likely < 1:
        return None
    room = keeping(count.likely, bale.form)
    return KeepingAnswer(
        bales=room.bales,
        volume_m3=round(room.volume_m3, 2),
        footprint_m2=round(room.footprint_m2, 2),
        height_m=round(room.height_m, 2),
        layers=room.layers,
        pallets=room.pallets,
        tarpaulin_m2=round(room.tarpaulin_m2, 1),
        between_stacks_m=room.between_stacks_m,
    )


def _kg(wanted: KgRange) -> Spread:
    low = wanted.likely if wanted.low is None else wanted.low
    high = wanted.likely if wanted.high is None else wanted.high
    return Spread(low, wanted.likely, high)
