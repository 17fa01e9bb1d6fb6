"""A mix design as pages show it: orders first, then how to mix, then what is unsure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from api.documents.mix_answers import DoubtAnswer, MixAnswer, RecipeAnswer
from api.documents.mix_document import mix_answer
from api.documents.plan_models import RangeAnswer
from api.pictures.bucket_row import BucketRow, bucket_row
from api.pictures.drawing import Both, both
from api.pictures.range_bar import Asked, RangeBar, range_bar
from api.pictures.recipe_bars import RecipeBars, recipe_bars
from api.templatetags.units import cost
from api.web.words import VerdictWords, verdict_words
from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from matching.domain.materials import Sand
from matching.domain.mix.buckets import Ratio, by_mass
from matching.domain.mixing import MixDesign, MixQuestion

# Nearer than this two recipes are the same to anybody with a bucket.
SAME_PERCENT = 0.5


@dataclass(frozen=True, slots=True)
class JudgedHeap:
    """A heap with its verdict in words."""

    name: str
    verdict: VerdictWords


@dataclass(frozen=True, slots=True)
class Pictures:
    """The recipe drawn. `buckets` is None where it has to be weighed."""

    bars: Both[RecipeBars]
    buckets: Both[BucketRow] | None
    clay: RangeBar


@dataclass(frozen=True, slots=True)
class SafeMix:
    """The recipe that holds at both ends of what is known, and what that costs."""

    same: bool
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MixedPage:
    """The answer to "what do I order?", ready to be shown."""

    answer: MixAnswer
    orders: tuple[str, ...]
    not_yet: tuple[str, ...]
    mixing: str
    costs: str
    weights: tuple[str, ...]
    pictures: Pictures | None
    safe: SafeMix
    worth: tuple[str, ...]
    left_out: tuple[JudgedHeap, ...]
    judged: tuple[JudgedHeap, ...]
    without: str
    help: tuple[str, ...]


def mixed_page(
    design: MixDesign, question: MixQuestion, *, currency: str, key: str = "mix"
) -> MixedPage:
    """A design with its pictures, their ids beginning with `key`."""
    answer = mix_answer(design, question)
    judged = tuple(_heap(design, answer, at) for at in range(len(answer.materials)))
    recipe = answer.outcome.recipe
    return MixedPage(
        answer=answer,
        orders=tuple(o.text for o in answer.orders if o.moist_kg.likely > 0),
        not_yet=tuple(o.text for o in answer.orders if o.moist_kg.likely <= 0),
        mixing=answer.buckets.text if answer.buckets else "",
        costs=_costs(recipe, currency),
        weights=_weights(design, answer),
        pictures=_pictures(design, question, key),
        safe=SafeMix(_same(recipe, answer.safe.recipe), tuple(_safe(answer, currency))),
        worth=tuple(_worth(answer.doubt, currency)) if answer.doubt else (),
        left_out=tuple(
            own
            for own, each in zip(judged, answer.materials, strict=True)
            if not each.allowed
        ),
        judged=judged,
        without=answer.outcome.reason.text if answer.outcome.reason else "",
        help=tuple(_help(design, answer)),
    )


def _heap(design: MixDesign, answer: MixAnswer, at: int) -> JudgedHeap:
    own, material = answer.materials[at], design.judged[at].source.material
    cargo = Cargo.SAND if isinstance(material, Sand) else Cargo.SUBSOIL
    return JudgedHeap(
        own.name, verdict_words(own.verdict, own.reasons, cargo, own.cautions)
    )


def _costs(recipe: RecipeAnswer | None, currency: str) -> str:
    """The delivered cost in a sentence; nothing without a price."""
    if recipe is None:
        return ""
    per = recipe.cost_per_m3_minor
    if per is None:
        return ""
    whole = recipe.cost_minor
    if whole is None:
        return f"Soil and sand delivered: {money_range(per, currency)} per m³ of wall."
    return (
        f"Soil and sand delivered: {money_range(whole, currency)};"
        f" {cost(round(per.likely), currency)} per m³ of wall."
    )


def money_range(own: RangeAnswer, currency: str) -> str:
    """A cost with its ends, where they differ."""
    low, likely, high = (round(end) for end in (own.low, own.likely, own.high))
    words = cost(likely, currency)
    if low == high:
        return words
    ends = f"{cost(low, currency)} to {cost(high, currency)}"
    return f"{words} ({ends})"


def _weights(design: MixDesign, answer: MixAnswer) -> tuple[str, ...]:
    """What to weigh out, where no small number of buckets will do."""
    if design.mixed is None or (answer.buckets and answer.buckets.buckets):
        return ()
    return tuple(
        f"{kg:.1f} kg of {part.in_bucket}"
        for part, kg in by_mass(design.mixed.recipe, 100.0)
    )


def _pictures(design: MixDesign, question: MixQuestion, key: str) -> Pictures | None:
    mixed, mix = design.mixed, question.mix
    if mixed is None:
        return None
    ratio, recipe = mixed.ratio, mixed.recipe
    clay = Spread(
        recipe.clay.low * 100, recipe.clay.likely * 100, recipe.clay.high * 100
    )
    window = Asked("Clay of the mix", "%", mix.clay_low * 100, mix.clay_high * 100, 1)
    return Pictures(
        both(lambda size: recipe_bars(recipe, size=size, key=f"{key}-bars")),
        both(lambda size: bucket_row(ratio, size=size, key=f"{key}-buckets"))
        if isinstance(ratio, Ratio)
        else None,
        range_bar(clay, window, key=f"{key}-clay"),
    )


def _same(one: RecipeAnswer | None, other: RecipeAnswer | None) -> bool:
    if one is None or other is None:
        return False
    shares = {dose.key: dose.share_percent for dose in one.doses}
    others = {dose.key: dose.share_percent for dose in other.doses}
    return all(
        abs(shares.get(key, 0) - others.get(key, 0)) < SAME_PERCENT
        for key in shares | others
    )


def _safe(answer: MixAnswer, currency: str) -> Iterator[str]:
    safe = answer.safe
    if safe.recipe is None:
        yield "No recipe of these heaps stays inside the window at both ends." + (
            f" {safe.reason.text}" if safe.reason else ""
        )
        return
    if safe.buckets:
        yield safe.buckets.text
    clay = safe.recipe.clay_percent
    yield f"It holds {clay.low:g} to {clay.high:g} % clay, whatever end turns out true."
    extra = (
        safe.extra_minor if safe.extra_minor is not None else safe.extra_per_m3_minor
    )
    if extra is not None:
        per = "" if safe.extra_minor is not None else " per m³ of wall"
        yield (
            f"It costs {cost(abs(extra), currency)}"
            f" {'more' if extra >= 0 else 'less'}{per} than the recipe above."
        )


def _worth(own: DoubtAnswer, currency: str) -> Iterator[str]:
    """What knowing the clay is worth, in sentences."""
    yield from own.crossed
    if own.worth_unknown:
        yield own.worth_unknown.text
    if own.worth_minor == 0:
        yield (
            f"To know the clay of {own.name} before you order saves nothing in purchase and"
            " haulage; it tells whether the mix is right. Make test bricks in any case: a"
            " cracked wall costs more than any test."
        )
    elif own.worth_minor is not None:
        yield (
            f"To know the clay of {own.name} before you order saves about"
            f" {cost(own.worth_minor, currency)} on average in purchase and haulage. Make"
            " test bricks in any case: a cracked wall costs more than any test."
        )
    yield from own.edges


def _help(design: MixDesign, answer: MixAnswer) -> Iterator[str]:
    """What would help where there is no recipe."""
    if answer.outcome.recipe is not None:
        return
    outcome = answer.outcome
    if outcome.reason and outcome.reason.found:
        yield f"Found: {outcome.reason.found}; wanted: {outcome.reason.wanted}."
    if outcome.short_dry_kg:
        yield f"{outcome.short_dry_kg / 1000:.1f} t (dry) are missing."
    if design.left_out:
        yield "Settle what keeps a heap out (see below), or find another."
