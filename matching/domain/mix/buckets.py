"""Recipes as people mix them: "so many buckets of this to so many of that"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import floor, gcd

from logistics.domain.quantities import Spread
from matching.domain.mix.blend import ROOM
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.recipe import Recipe, recipe_of
from matching.domain.mix.rules import mix_rules
from matching.domain.mix.wording import parts_of, percent
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Reason

# Whole buckets up to ten in all are counted without a slip; halves are next; above that
# a tally is wanted. Common practice, no source.
FEW, MANY = 10, 40
# A share of dry mass off by no more than this needs no finer ratio: of a heap of ten tonnes
# a wheelbarrow or two stays over. Common practice, no source.
CLOSE = 0.01


@dataclass(frozen=True, slots=True)
class Ratio:
    """Buckets of each part of a recipe, in its order; whole numbers or halves.

    Buckets are level and hold material as loose as it was delivered, stones screened out.
    `recipe` is what the rounded ratio really gives; `error` the most by which a share of
    dry mass is off the recipe that was asked for.
    """

    buckets: tuple[tuple[Part, float], ...]
    recipe: Recipe
    error: float

    @property
    def text(self) -> str:
        """The ratio in words, with the clay that it really gives and its ends, and what
        stays over where it is not close to what was ordered."""
        counts = " to ".join(
            f"{_count(n)} of {part.in_bucket}" for part, n in self.buckets
        )
        text = f"Buckets: {counts}; gives {_clay(self.recipe.clay)}."
        if self.error > CLOSE:
            text += (
                f" Shares are off the order by up to {percent(self.error)} of the mix:"
                " something stays over."
            )
        return text


@dataclass(frozen=True, slots=True)
class NoRatio:
    """No small ratio stays inside the window: weigh instead, moist kg of each part (stones
    screened out) for 100 kg of dry mix."""

    reason: Reason
    kg_per_100: tuple[tuple[Part, float], ...]


def in_buckets(recipe: Recipe, mix: MixTarget, limits: MixLimits) -> Ratio | NoRatio:
    """The smallest ratio of buckets that is close to a recipe and never out of its window.

    Whole buckets up to 10 in all, then halves, then whole buckets up to 40; the first that
    is close enough, else the closest of all that keep the rules. A safe recipe must keep
    them at both ends of what is known.
    """
    best: Ratio | None = None
    for candidates in _candidates(recipe):
        for counts in candidates:
            ratio = _ratio(recipe, counts, mix)
            closer = best is None or ratio.error < best.error - ROOM
            if closer and _keeps(ratio.recipe, mix, limits):
                best = ratio
        if best is not None and best.error <= CLOSE:
            break
    return best if best is not None else _weigh(recipe, mix)


def by_mass(recipe: Recipe, dry_kg: float) -> tuple[tuple[Part, float], ...]:
    """Moist kg to weigh out of each part, stones screened out, for dry kg of mix."""
    return tuple(
        (dose.part, dry_kg * dose.share * (1 + dose.part.water.likely))
        for dose in recipe.doses
    )


def _candidates(recipe: Recipe) -> Iterator[list[tuple[float, ...]]]:
    """Counts near the recipe's loose volumes, group by group: small totals first."""
    loose = [dose.share / dose.part.dry_kg_per_litre for dose in recipe.doses]
    volumes = [own / sum(loose) for own in loose]
    least = len(volumes)
    seen: set[tuple[int, ...]] = set()
    steps = [
        *((1.0, total) for total in range(least, FEW + 1)),
        *((0.5, total) for total in range(2 * least, 2 * FEW + 1)),
        *((1.0, total) for total in range(FEW + 1, MANY + 1)),
    ]
    for unit, total in steps:
        group = []
        for counts in _near(volumes, total):
            lowest = tuple(own // gcd(*counts) for own in counts)
            if lowest not in seen:
                seen.add(lowest)
                group.append(tuple(own * unit for own in counts))
        yield group


def _near(volumes: list[float], total: int) -> Iterator[tuple[int, ...]]:
    """Each part's number rounded down or up, at least one, with this total."""
    choices = [
        sorted({max(1, floor(own * total)), max(1, floor(own * total) + 1)})
        for own in volumes
    ]
    return (counts for counts in product(*choices) if sum(counts) == total)


def _ratio(recipe: Recipe, counts: tuple[float, ...], mix: MixTarget) -> Ratio:
    parts = [dose.part for dose in recipe.doses]
    dry = [n * part.dry_kg_per_litre for part, n in zip(parts, counts, strict=True)]
    shares = [own / sum(dry) for own in dry]
    used = tuple(zip(parts, shares, strict=True))
    error = max(
        abs(share - dose.share)
        for share, dose in zip(shares, recipe.doses, strict=True)
    )
    given = recipe_of(used, mix, recipe.dry_kg, safe=recipe.safe)
    return Ratio(tuple(zip(parts, counts, strict=True)), given, error)


def _keeps(recipe: Recipe, mix: MixTarget, limits: MixLimits) -> bool:
    """Whether a recipe keeps its rules, at both ends if it is a safe one."""
    parts = tuple(dose.part for dose in recipe.doses)
    return all(
        sum(own * dose.share for own, dose in zip(rule.row, recipe.doses, strict=True))
        <= rule.limit + ROOM
        for rule in mix_rules(parts, mix, limits, safe=recipe.safe)
    )


def _weigh(recipe: Recipe, mix: MixTarget) -> NoRatio:
    kg = by_mass(recipe, 100.0)
    weights = ", ".join(f"{own:.1f} kg of {part.in_bucket}" for part, own in kg)
    return NoRatio(
        Reason(
            "no_ratio_in_window",
            f"no ratio of up to {MANY} buckets",
            f"{percent(mix.clay_low)} to {percent(mix.clay_high)} clay",
            f"Rounded to buckets the mix would leave its limits. Weigh it: {weights}.",
        ),
        kg,
    )


def _clay(clay: Spread) -> str:
    text = f"{percent(clay.likely)} clay"
    if clay.high - clay.low < 5e-4:
        return text
    return f"{text} ({clay.low * 100:.1f} to {clay.high * 100:.1f})"


def _count(number: float) -> str:
    return parts_of(number).split(" ", maxsplit=1)[0]
