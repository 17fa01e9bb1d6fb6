"""The answer what to order and how to mix it, rounded for reading and put into words."""

from __future__ import annotations

from collections.abc import Iterator

from api.documents.answer_parts import percents, ranged, reason_answer, reason_answers
from api.documents.mix_answers import (
    BucketsAnswer,
    CountAnswer,
    DoseAnswer,
    DoubtAnswer,
    LoadOfBatchAnswer,
    MixAnswer,
    MixBatchAnswer,
    MixDayAnswer,
    MixOrderAnswer,
    MixOutcomeAnswer,
    MixStrawAnswer,
    MixVerdictAnswer,
    RecipeAnswer,
    SafeAnswer,
    SettlingAnswer,
    SwallowedAnswer,
)
from api.documents.plan_models import RangeAnswer
from logistics.domain.quantities import Spread, round_half_up
from matching.domain.lifts.crew import crew_cautions
from matching.domain.mix.batches import Batch, MixingDay
from matching.domain.mix.buckets import Ratio, by_mass
from matching.domain.mix.doubt import Doubt
from matching.domain.mix.knowing import Knowing
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.recipe import Recipe
from matching.domain.mixing import Judged, MixDesign, Mixed, MixQuestion, Purchase
from matching.domain.soil_fitness import BRICKS_FIRST
from matching.domain.verdicts import Reason

CURES = {
    "too_lean": "find a richer soil",
    "too_rich": "find sand or a leaner soil",
    "too_silty": "find clean coarse sand",
    "not_enough": "find more of what is there",
}
"""What would help at an end of the ground without a recipe, by the code of the reason."""

CAUTIONS = (
    "Make test bricks of the very mix first, and a shrinkage box: figures alone mislead.",
    "No wall code that we know prescribes a share of clay: the window is practitioners'."
    " Codes test the mix. Local code decides.",
    "Walls that carry loads need a design by local code and a licensed professional.",
    "Buckets are level and hold the material as loose and as damp as it was delivered: a"
    " wet or trodden heap fills them differently. Weigh one of each now and then.",
    "Judge every load at the gate: the first can be clean and a later one not.",
)


def mix_answer(design: MixDesign, question: MixQuestion) -> MixAnswer:
    """The design as a document; money in whole minor units."""
    mixed, crew = design.mixed, question.site.crew
    basis = _basis(question)
    return MixAnswer(
        basis=basis,
        orders=[_order(own, design.ends.likely) for own in design.purchases],
        orders_note=list(_without_ends(design)),
        straw=_straw(design, question),
        water_l=ranged(design.water_l, 0) if design.water_l else None,
        mineral_dry_kg=ranged(design.mineral_kg, 0),
        materials=[_verdict(own) for own in design.judged],
        left_out=[_left_out(own) for own in design.left_out],
        outcome=outcome(design.ends.likely),
        buckets=buckets(mixed) if mixed else None,
        batch=batch(mixed.batch) if mixed and mixed.batch else None,
        day=_day(design.day) if design.day else None,
        lean_end=outcome(design.ends.lean),
        rich_end=outcome(design.ends.rich),
        safe=_safe(design),
        doubt=_doubt(design.doubt) if design.doubt else None,
        cautions=[
            *CAUTIONS,
            *(own.text for own in (crew_cautions(crew) if crew else ())),
        ],
    )


def _basis(question: MixQuestion) -> str:
    if question.wall_m3 is not None:
        return f"{question.wall_m3:.2f} m3 of wall in place, waste included"
    if question.dry_kg is not None:
        return f"{question.dry_kg / 1000:.2f} t of soil and sand, dry"
    return "1 m3 of wall in place, waste included"


def _verdict(own: Judged) -> MixVerdictAnswer:
    return MixVerdictAnswer(
        key=own.source.key,
        name=own.source.name,
        verdict=own.verdict.standing,
        allowed=own.verdict.usable,
        reasons=reason_answers(own.verdict.reasons),
        cautions=reason_answers(own.verdict.cautions),
    )


def _left_out(own: Judged) -> str:
    said = " ".join(
        each.text for each in own.verdict.reasons if each.code != BRICKS_FIRST.code
    )
    return f"{own.source.name} is left out, and must not be blended in: {said}"


def _without_ends(design: MixDesign) -> Iterator[str]:
    if isinstance(design.ends.likely, NoRecipe):
        return
    for end, own in (("lean", design.ends.lean), ("rich", design.ends.rich)):
        if isinstance(own, NoRecipe):
            cure = CURES.get(own.reason.code, "find another soil, or sand")
            yield (
                f"At the {end} end of the ground no mix is possible: {cure}. The ends of the"
                " orders reach only as far as one is. Settle that by a test, or have a"
                " further heap in view, before any truck moves."
            )


def _order(own: Purchase, recipe: Recipe | NoRecipe) -> MixOrderAnswer:
    name, kg, m3 = own.part.name, own.moist_kg, own.loose_m3
    used = isinstance(recipe, Recipe) and recipe.share_of(own.part.key) > 0
    if used:
        text = (
            f"Order {_mass(kg)} of {name}, about {_number(m3.likely)} m3 loose"
            f" ({_number(m3.low)} to {_number(m3.high)})."
        )
    else:
        text = (
            f"Order nothing of {name} yet: up to {_most(kg.high)} would be wanted if the"
            " ground turns out at an end of its range."
        )
    return MixOrderAnswer(
        key=own.part.key,
        name=name,
        text=text,
        moist_kg=ranged(kg, 0 if kg.likely >= 10 or not used else 2),
        loose_m3=ranged(m3, 2 if m3.likely >= 0.1 or not used else 4),
    )


def _most(kg: float) -> str:
    return (
        f"{kg:.1f} kg"
        if kg < 10
        else f"{kg:.0f} kg"
        if kg < 1000
        else f"{kg / 1000:.1f} t"
    )


def _mass(kg: Spread) -> str:
    if kg.high < 10:
        return f"{kg.likely:.2f} kg ({kg.low:.2f} to {kg.high:.2f})"
    if kg.high < 1000:
        return f"{kg.likely:.0f} kg ({kg.low:.0f} to {kg.high:.0f})"
    ends = f"{kg.low / 1000:.1f} to {kg.high / 1000:.1f}"
    return f"{kg.likely / 1000:.1f} t ({ends})"


def _number(value: float) -> str:
    places = 1 if value >= 1 else 2 if value >= 0.1 else 4
    return f"{value:.{places}f}"


def _straw(design: MixDesign, question: MixQuestion) -> MixStrawAnswer:
    kg, bales = design.straw_kg, design.bales
    each = question.site.bale.kg
    noun = "bale" if bales.likely == 1 else "bales"
    text = (
        f"rder {bales.likely} {noun} of straw ({bales.low} to {bales.high}) of {each}"
        f" kg: {kg.likely:.0f} kg ({kg.low:.0f} to {kg.high:.0f}). Bring straw just in time"
        " and keep it dry."
    )
    alone = isinstance(design.ends.likely, NoRecipe)
    return MixStrawAnswer(
        text=f"For the walls whatever the mix, once there is one: o{text}"
        if alone
        else f"O{text}",
        straw_kg=ranged(kg, 1),
        bales=RangeAnswer(low=bales.low, likely=bales.likely, high=bales.high),
    )


def outcome(own: Recipe | NoRecipe) -> MixOutcomeAnswer:
    """A recipe, or why there is none."""
    if isinstance(own, NoRecipe):
        short = own.short_dry_kg
        return MixOutcomeAnswer(
            recipe=None,
            reason=reason_answer(own.reason),
            short_dry_kg=None if short is None else round(short, 1),
        )
    return MixOutcomeAnswer(recipe=_recipe(own), reason=None)


def _recipe(own: Recipe) -> RecipeAnswer:
    weights = by_mass(own, 100.0)
    return RecipeAnswer(
        doses=[
            DoseAnswer(
                key=dose.part.key,
                name=dose.part.name,
                share_percent=round(dose.share * 100, 1),
                moist_kg=ranged(dose.moist_kg or dose.moist_kg_per_m3, 0),
                loose_m3=ranged(dose.loose_m3 or dose.loose_m3_per_m3, 2),
                weigh_kg=round(kg, 1),
            )
            for dose, (_, kg) in zip(own.doses, weights, strict=True)
        ],
        clay_percent=percents(own.clay),
        silt_percent=percents(own.silt),
        sand_and_gravel_percent=percents(own.aggregate),
        cost_per_m3_minor=ranged(own.cost_per_m3, 0) if own.cost_per_m3 else None,
        cost_minor=ranged(own.cost, 0) if own.cost else None,
        notes=[note.text for note in own.notes],
    )


def buckets(mixed: Mixed) -> BucketsAnswer:
    """The ratio, or the weights that take its place."""
    ratio = mixed.ratio
    if not isinstance(ratio, Ratio):
        return BucketsAnswer(text=ratio.reason.text, buckets=[], clay_percent=None)
    return BucketsAnswer(
        text=ratio.text,
        buckets=[
            CountAnswer(key=part.key, name=part.name, buckets=count)
            for part, count in ratio.buckets
        ],
        clay_percent=percents(ratio.recipe.clay),
    )


def batch(own: Batch) -> MixBatchAnswer:
    """A batch."""
    return MixBatchAnswer(
        text=batch_text(own),
        loads=[
            LoadOfBatchAnswer(
                key=load.part.key,
                name=load.part.name,
                buckets=load.buckets,
                moist_kg=round(load.moist_kg, 1),
            )
            for load in own.loads
        ],
        loose_l=round(own.loose_l, 1),
        dry_kg=round(own.dry_kg, 1),
        straw_kg=ranged(own.straw_kg, 2),
        straw_handfuls=ranged(own.handfuls, 0),
        water_l=ranged(own.water_l, 1),
        wall_m3=ranged(own.wall_m3, 4),
    )


def batch_text(own: Batch) -> str:
    """A batch in one line."""
    loads = ", ".join(
        f"{load.buckets:g} of {load.part.in_bucket}" for load in own.loads
    )
    straw, water = own.straw_kg, own.water_l
    return (
        f"A batch: buckets: {loads}; {straw.likely:.1f} kg of straw, about"
        f" {own.handfuls.likely:.0f} handfuls; {water.likely:.0f} l of water"
        f" ({water.low:.0f} to {water.high:.0f}): makes {own.wall_m3.likely * 1000:.0f} l"
        " of wall."
    )


def _day(own: MixingDay) -> MixDayAnswer:
    return MixDayAnswer(
        wall_m3=ranged(own.wall_m3, 2),
        batches=ranged(own.batches, 1),
        swallowed=[
            SwallowedAnswer(
                key=each.part.key,
                name=each.part.name,
                moist_kg=ranged(each.moist_kg, 0),
                loose_m3=ranged(each.loose_m3, 2),
            )
            for each in own.swallowed
        ],
        straw_kg=ranged(own.straw_kg, 1),
        bales=ranged(own.bales, 1),
        water_l=ranged(own.water_l, 0),
    )


def _safe(design: MixDesign) -> SafeAnswer:
    safety, mixed = design.safety, design.safely_mixed
    own = outcome(safety.safe)
    return SafeAnswer(
        recipe=own.recipe,
        reason=own.reason,
        short_dry_kg=own.short_dry_kg,
        buckets=buckets(mixed) if mixed else None,
        extra_per_m3_minor=_minor(safety.extra_per_m3),
        extra_minor=_minor(safety.extra),
    )


def _minor(cost: float | None) -> int | None:
    return None if cost is None else round_half_up(cost)


def _doubt(own: Doubt) -> DoubtAnswer:
    known = own.knowing if isinstance(own.knowing, Knowing) else None
    return DoubtAnswer(
        key=own.part.key,
        name=own.part.name,
        clay_percent=percents(own.part.clay),
        crossed=list(own.crossed),
        open_question=own.open_question,
        worth_minor=_minor(known.worth) if known else None,
        worth_unknown=reason_answer(own.knowing)
        if isinstance(own.knowing, Reason)
        else None,
        cost_now_minor=_minor(known.cost_now) if known else None,
        cost_known_minor=_minor(known.cost_known) if known else None,
        edges=[edge.text for edge in known.edges] if known else [],
        tests=[
            SettlingAnswer(
                kind=each.test.kind,
                how=each.test.how,
                why=each.test.why,
                takes=each.test.takes,
                error_percent=None
                if each.error is None
                else round(each.error * 100, 1),
                worth_minor=_minor(each.worth),
            )
            for each in own.tests
        ],
    )
