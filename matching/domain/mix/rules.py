"""The rules of a mix as rows of a linear programme, and what there is of each part."""

from __future__ import annotations

import numpy as np

from logistics.domain.quantities import Spread
from matching.domain.mix.blend import Rule
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.takeoff import MixTarget


def mix_rules(
    parts: tuple[Part, ...], mix: MixTarget, limits: MixLimits, *, safe: bool
) -> tuple[Rule, ...]:
    """Not too lean, not too rich, not too fine; `safe`: at the far end of every range.

    All parts at their low ends together, or all at their high ends, are the worst there
    is, since every share is positive.
    """
    return (*clay_rules(parts, mix, safe=safe), fines_rule(parts, limits, safe=safe))


def clay_rules(
    parts: tuple[Part, ...], mix: MixTarget, *, safe: bool
) -> tuple[Rule, Rule]:
    """The two edges of the clay window."""
    least = tuple(-(p.clay.low if safe else p.clay.likely) for p in parts)
    most = tuple(p.clay.high if safe else p.clay.likely for p in parts)
    return Rule(least, -mix.clay_low), Rule(most, mix.clay_high)


def fines_rule(parts: tuple[Part, ...], limits: MixLimits, *, safe: bool) -> Rule:
    """Clay and silt together at most so much."""
    row = tuple(p.most_fines if safe else p.fines.likely for p in parts)
    return Rule(row, limits.most_fines)


def held_dry_kg(part: Part, *, safe: bool) -> float:
    """Usable dry kg to be had; `safe`: of as wet a heap as it may be. np.inf: no limit."""
    if part.most_kg is None:
        return np.inf
    water = part.water.high if safe else part.water.likely
    return part.most_kg * (1 - part.stones) / (1 + water)


def most_shares(
    parts: tuple[Part, ...], dry_kg: Spread | None, *, safe: bool
) -> list[float]:
    """The largest share of each part that its supply allows."""
    if dry_kg is None:
        return [1.0] * len(parts)
    wanted = dry_kg.high if safe else dry_kg.likely
    return [min(1.0, held_dry_kg(part, safe=safe) / wanted) for part in parts]
