"""Words for prices, verdicts and bounds, the same on every page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from api.documents.plan_models import PlanAnswer, ReasonAnswer
from api.documents.text import WORDS
from api.templatetags.units import cost, tonnes
from logistics.domain.trucks import Cargo
from matching.domain.soil_fitness import BRICKS_FIRST, WALL_CODES

# The mark beside a verdict, so that it is told by shape and word, never by colour alone.
MARKS = {
    "fit": "yes",
    "fit_with_sand": "mix",
    "fit_as_rich_part": "mix",
    "fit_with_richer_soil": "mix",
    "not_until": "stop",
    "unfit": "no",
}


@dataclass(frozen=True, slots=True)
class VerdictWords:
    """A verdict for a page: its mark, its word, its reasons and its cautions."""

    mark: str
    word: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...] = ()


# True of every soil: pages say it once, at the top.
ONCE = (BRICKS_FIRST.code, WALL_CODES.code)


def verdict_words(
    standing: str,
    reasons: Sequence[ReasonAnswer],
    material: Cargo,
    cautions: Sequence[ReasonAnswer] = (),
) -> VerdictWords:
    """A verdict in words, each reason with what was found and what is wanted."""
    dug = standing != "fit" or material == Cargo.SUBSOIL
    return VerdictWords(
        MARKS[standing],
        WORDS[standing].capitalize() if dug else "Fit",
        tuple(
            f"{own.text} Found: {own.found}; wanted: {own.wanted}."
            for own in reasons
            if own.code not in ONCE
        ),
        tuple(own.text for own in cautions if own.code not in ONCE),
    )


def price_words(minor: int, per_kg: float, material: Cargo, currency: str) -> str:
    """A price as people say it: free, so much per tonne, or "they pay"."""
    if minor == 0:
        return "free"
    amount = cost(abs(minor), currency)
    text = f"{amount} {_per(per_kg, material)}"
    return f"they pay {text}" if minor < 0 else text


def _per(per_kg: float, material: Cargo) -> str:
    if per_kg == 1000:
        return "per tonne"
    if material == Cargo.STRAW:
        return f"per bale of {per_kg:g} kg"
    return f"per {per_kg / 1000:.2f} t (1 m³)"


def bound_words(plan: PlanAnswer) -> str:
    """How good the plan is, in a sentence."""
    if plan.proven_optimal:
        return "No plan can cost less: that is proven."
    if plan.unplanned:
        return "A part is not planned, so there is nothing to compare the total with."
    gap = plan.total_minor - plan.lower_bound_minor
    return (
        f"No plan can cost less than {cost(plan.lower_bound_minor, plan.currency)}, so"
        f" this one is at most {cost(gap, plan.currency)} dearer than the best there is."
    )


def haul_bound_words(plan: PlanAnswer) -> str:
    """How good the haulage of these deals is, in a sentence."""
    gap = plan.haul_cost_minor - plan.haul_bound_minor
    hauled = cost(plan.haul_cost_minor, plan.currency)
    if gap <= 0:
        return f"Hauling costs {hauled}. These loads cannot be hauled for less: that is proven."
    return (
        f"Hauling costs {hauled}. These loads cannot be hauled for less than"
        f" {cost(plan.haul_bound_minor, plan.currency)}, so at most"
        f" {cost(gap, plan.currency)} could be saved on the road."
    )


def ends_words(plan: PlanAnswer) -> Iterator[str]:
    """What the total is at the ends of what is known, and what safety costs."""
    if plan.ends:
        yield (
            "If walls and ground turn out at the ends of what is known, it comes to"
            f" {cost(plan.ends.low_minor, plan.currency)} to"
            f" {cost(plan.ends.high_minor, plan.currency)}."
        )
        if plan.ends.short_dry_kg:
            yield (
                f"At the worst end {tonnes(plan.ends.short_dry_kg)} (dry) would still be"
                " missing."
            )
    if plan.safety and plan.safety.price_minor is None:
        yield (
            "What the safety costs cannot be said: this plan or the one at likely figures"
            " leaves needs unmet."
        )
    elif plan.safety and plan.safety.price_minor is not None:
        yield (
            "This plan is safe at the far end of what is known. That costs"
            f" {cost(plan.safety.price_minor, plan.currency)} more than a plan at likely"
            f" figures, which comes to"
            f" {cost(plan.safety.plain_total_minor, plan.currency)}."
        )
