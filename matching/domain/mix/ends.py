"""What doubt about the soil does to a recipe, and what safety against it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logistics.domain.quantities import Spread
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.recipe import Recipe, design
from matching.domain.takeoff import MixTarget

HALVINGS = 10
"""To a thousandth of the way: finer than any clay is known."""


@dataclass(frozen=True, slots=True)
class BothEnds:
    """The recipe if all clay turned out at its low end, as likely, and at its high end."""

    lean: Recipe | NoRecipe
    likely: Recipe | NoRecipe
    rich: Recipe | NoRecipe


@dataclass(frozen=True, slots=True)
class Safety:
    """A recipe good at the likely figures beside one that is good at both ends.

    `extra` and `extra_per_m3` are what safety costs, in minor units at likely masses; None
    where a recipe is missing or has no cost.
    """

    likely: Recipe | NoRecipe
    safe: Recipe | NoRecipe
    extra_per_m3: float | None
    extra: float | None


def with_clay(part: Part, clay: float) -> Part:
    """The part as if its clay were known; silt gives way where both exceed the whole."""
    room = 1 - clay
    silt = part.silt
    if silt is not None:
        silt = Spread(*(min(own, room) for own in (silt.low, silt.likely, silt.high)))
    return replace(part, clay=Spread.exactly(clay), silt=silt)


def at_both_ends(
    parts: tuple[Part, ...],
    mix: MixTarget,
    limits: MixLimits,
    dry_kg: Spread | float | None = None,
    *,
    target_first: bool = False,
) -> BothEnds:
    """How the recipe changes over the range of the evidence."""
    lean, likely, rich = (
        design(own, mix, limits, dry_kg, target_first=target_first)
        for own in (
            tuple(with_clay(p, p.clay.low) for p in parts),
            parts,
            tuple(with_clay(p, p.clay.high) for p in parts),
        )
    )
    return BothEnds(lean, likely, rich)


def farthest_possible(
    parts: tuple[Part, ...],
    mix: MixTarget,
    limits: MixLimits,
    dry_kg: Spread | float | None = None,
    *,
    rich: bool,
    target_first: bool = False,
) -> Recipe | NoRecipe:
    """The recipe nearest to an end of all clay at which there is one, by halving the way
    between likely and the end; that of the likely figures comes at the least."""
    best: Recipe | NoRecipe = design(
        parts, mix, limits, dry_kg, target_first=target_first
    )
    if isinstance(best, NoRecipe):
        return best
    good, bad = 0.0, 1.0
    for _ in range(HALVINGS):
        way = (good + bad) / 2
        found = design(
            tuple(_on_the_way(p, way, rich=rich) for p in parts),
            mix,
            limits,
            dry_kg,
            target_first=target_first,
        )
        if isinstance(found, NoRecipe):
            bad = way
        else:
            good, best = way, found
    return best


def _on_the_way(part: Part, way: float, *, rich: bool) -> Part:
    end = part.clay.high if rich else part.clay.low
    return with_clay(part, part.clay.likely + way * (end - part.clay.likely))


def price_of_safety(
    parts: tuple[Part, ...],
    mix: MixTarget,
    limits: MixLimits,
    dry_kg: Spread | float | None = None,
    *,
    target_first: bool = False,
) -> Safety:
    """Both recipes and the difference of their costs; never negative where all parts have
    prices and cost comes first, since the safe recipe keeps every rule of the other."""
    likely = design(parts, mix, limits, dry_kg, target_first=target_first)
    safe = design(parts, mix, limits, dry_kg, safe=True, target_first=target_first)
    per_m3 = extra = None
    if isinstance(likely, Recipe) and isinstance(safe, Recipe):
        per_m3 = _less(safe.cost_per_m3, likely.cost_per_m3)
        extra = _less(safe.cost, likely.cost)
    return Safety(likely, safe, per_m3, extra)


def _less(one: Spread | None, other: Spread | None) -> float | None:
    if one is None or other is None:
        return None
    return one.likely - other.likely
