"""Why no recipe exists, in words that a person can act on."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from logistics.domain.quantities import Spread
from matching.domain.mix.blend import Aim, best_shares, least_of, most_mass
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.rules import (
    clay_rules,
    fines_rule,
    held_dry_kg,
    mix_rules,
    most_shares,
)
from matching.domain.mix.wording import parts_of, percent, percent_range, tonnes
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Reason

CLAY_TEST = (
    "a laboratory's particle sizes, or a shrinkage box and test bricks of the very mix"
)
SILT_TEST = "washing a weighed sample through a 0.063 mm sieve, or a jar as a hint"
# Clean sand, to see whether sand alone would mend a mix.
_CLEAN_SAND = Part("\0sand", "sand", Spread.exactly(0.0), Spread.exactly(0.0))


@dataclass(frozen=True, slots=True)
class NoRecipe:
    """No mix is possible; `short_dry_kg` is what is missing where supply is the reason.

    Codes: nothing_offered, too_lean, too_rich, too_silty, safe_wants_sand,
    ranges_too_wide, not_enough.
    """

    reason: Reason
    short_dry_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked for: parts in key order, the mix, and how much of it."""

    parts: tuple[Part, ...]
    mix: MixTarget
    limits: MixLimits
    dry_kg: Spread | None
    safe: bool

    def possible(self, parts: tuple[Part, ...], *, safe: bool) -> bool:
        """Whether any shares of parts keep the rules, supply left aside."""
        rules = mix_rules(parts, self.mix, self.limits, safe=safe)
        return best_shares([Aim((0.0,) * len(parts))], rules) is not None


def why_not(question: Question) -> NoRecipe:
    """The first thing in the way: clay, then silt, then doubt, then supply."""
    parts, mix = question.parts, question.mix
    if not parts:
        return NoRecipe(
            Reason(
                "nothing_offered",
                "no soil and no sand",
                _window(mix),
                "Find a subsoil with clay first; sand alone never binds.",
            )
        )
    richest = max(parts, key=lambda p: p.clay.likely)
    leanest = min(parts, key=lambda p: p.clay.likely)
    if richest.clay.likely < mix.clay_low:
        return _too_lean(richest, mix)
    if leanest.clay.likely > mix.clay_high:
        return _too_rich(leanest, question)
    if not question.possible(parts, safe=False):
        return _too_silty(question)
    if question.safe and not question.possible(parts, safe=True):
        return _too_wide(question)
    return _not_enough(question)


def _window(mix: MixTarget) -> str:
    return f"{percent(mix.clay_low)} to {percent(mix.clay_high)} clay"


def _too_lean(richest: Part, mix: MixTarget) -> NoRecipe:
    half = 2 * mix.clay_low - richest.clay.likely
    text = (
        f"The richest at hand, {richest.name}, has {percent_range(richest.clay)} clay; the"
        f" mix wants at least {percent(mix.clay_low)}. Find a soil above"
        f" {percent(mix.clay_low)}; to go half and half with this one it must hold"
        f" {percent(half)} or more."
    )
    found = percent_range(richest.clay)
    return NoRecipe(Reason("too_lean", found, _window(mix), text))


def _too_rich(leanest: Part, question: Question) -> NoRecipe:
    """So much sand that the clay comes to the target, more if the silt asks for it."""
    mix, clay = question.mix, leanest.clay.likely
    for_silt = leanest.fines.likely / question.limits.most_fines - 1
    sand = min(max(clay / mix.clay_target - 1, for_silt), clay / mix.clay_low - 1)
    most = max(0.0, (mix.clay_high * (1 + sand) - clay) / sand)
    text = (
        f"Even the leanest at hand, {leanest.name}, has {percent_range(leanest.clay)} clay;"
        f" the mix wants at most {percent(mix.clay_high)}. Add {parts_of(sand)} of sand of"
        f" at most {percent(most)} clay to one part of it, by dry mass."
    )
    found = percent_range(leanest.clay)
    return NoRecipe(Reason("too_rich", found, _window(mix), text))


def _sand_wanted(question: Question, *, safe: bool) -> float | None:
    """Parts of clean sand for one part of the rest that would mend the mix."""
    parts = (*question.parts, _CLEAN_SAND)
    rules = mix_rules(parts, question.mix, question.limits, safe=safe)
    sand = (0.0,) * len(question.parts) + (1.0,)
    shares = best_shares([Aim(sand)], rules)
    if shares is None:
        return None
    # Told in tenths, and never less than is enough.
    return math.ceil(shares[-1] / (1 - shares[-1]) * 10 - 1e-6) / 10


def _too_silty(question: Question) -> NoRecipe:
    mix, limits, parts = question.mix, question.limits, question.parts
    row = fines_rule(parts, limits, safe=False).row
    found = percent(least_of(row, clay_rules(parts, mix, safe=False)))
    sand = _sand_wanted(question, safe=False)
    if sand is not None:
        cure = f"Add {parts_of(sand)} of clean coarse sand to one part, by dry mass."
    else:
        share = mix.clay_low / limits.most_fines
        cure = (
            "Sand would leave too little clay: find a soil whose clay is at least"
            f" {percent(share)} of its clay and silt together."
        )
    guessed = [p.name for p in parts if p.silt is None and not p.is_sand]
    if guessed:
        cure += f" The silt of {', '.join(guessed)} is a guess: {SILT_TEST} would tell."
    text = (
        f"Inside {_window(mix)}, clay and silt together come to {found} at the least; sand"
        f" and gravel must make up {percent(1 - limits.most_fines)}. {cure}"
    )
    wanted = f"at most {percent(limits.most_fines)} clay and silt"
    return NoRecipe(Reason("too_silty", found, wanted, text))


def _known(part: Part, *, clay: bool) -> Part:
    """The part as if a test had confirmed what is likely: its silt, or both."""
    silt = Spread.exactly(min(part.silt_range.likely, 1 - part.clay.likely))
    if not clay:
        return replace(part, silt=Spread.exactly(part.silt_range.likely))
    return replace(part, clay=Spread.exactly(part.clay.likely), silt=silt)


def _settling(question: Question) -> list[tuple[Part, str]]:
    """Parts of which a test alone could make the safe answer possible, with the test."""
    found = []
    for number, part in enumerate(question.parts):
        for clay, test in ((False, SILT_TEST), (True, CLAY_TEST)):
            parts = list(question.parts)
            parts[number] = _known(part, clay=clay)
            if question.possible(tuple(parts), safe=True):
                found.append((part, test))
                break
    return found


def _too_wide(question: Question) -> NoRecipe:
    mix = question.mix
    ranges = "; ".join(
        f"{p.name} {percent_range(p.clay)} clay, {percent_range(p.silt_range)} silt"
        for p in question.parts
    )
    sand = _sand_wanted(question, safe=True)
    if sand is not None:
        text = (
            "At the far end of what is known the mix may be too rich or too fine. Add"
            f" {parts_of(sand)} of clean coarse sand to one part, by dry mass, to be safe."
        )
        return NoRecipe(Reason("safe_wants_sand", ranges, _window(mix), text))
    tests = _settling(question)
    if tests:
        cure = " Or: ".join(f"test {part.name} by {test}." for part, test in tests)
        cure = cure[0].upper() + cure[1:]
    else:
        names = ", ".join(p.name for p in question.parts if p.clay.low < p.clay.high)
        cure = f"Test all of {names or 'them'}: {CLAY_TEST}."
    text = f"No shares stay inside {_window(mix)} at both ends of what is known. {cure}"
    return NoRecipe(Reason("ranges_too_wide", ranges, _window(mix), text))


def _not_enough(question: Question) -> NoRecipe:
    safe, dry = question.safe, question.dry_kg or Spread.exactly(1.0)
    wanted = dry.high if safe else dry.likely
    rules = mix_rules(question.parts, question.mix, question.limits, safe=safe)
    held = [held_dry_kg(part, safe=safe) for part in question.parts]
    short = max(0.0, wanted - most_mass(rules, held, wanted))
    more = [
        f"{tonnes(extra)} more of {part.name} (as it is loaded)"
        for number, part in enumerate(question.parts)
        if (extra := _extra(question, number)) is not None
    ]
    cure = (
        f"With {' or '.join(more)} it would be enough."
        if more
        else "No single heap can make that up: find more of several, or another soil."
    )
    text = (
        f"{tonnes(wanted)} of dry mix is wanted and {tonnes(wanted - short)} can be mixed:"
        f" short by {tonnes(short)}. {cure}"
    )
    return NoRecipe(
        Reason("not_enough", tonnes(wanted - short), tonnes(wanted), text), short
    )


def _extra(question: Question, number: int) -> float | None:
    """Moist kg more of one part that would do, or None where no amount would."""
    part, dry = question.parts[number], question.dry_kg
    held = held_dry_kg(part, safe=question.safe)
    if dry is None or np.isinf(held):
        return None
    most = most_shares(question.parts, dry, safe=question.safe)
    most[number] = 1.0
    row = tuple(float(i == number) for i in range(len(question.parts)))
    rules = mix_rules(question.parts, question.mix, question.limits, safe=question.safe)
    shares = best_shares([Aim(row)], rules, most)
    if shares is None:
        return None
    wanted = shares[number] * (dry.high if question.safe else dry.likely)
    return (
        (wanted - held) * (part.most_kg or 0.0) / held if held else wanted / part.usable
    )
