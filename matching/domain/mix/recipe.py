"""The recipe: how much of each soil and sand makes a mix inside its limits.

Answers "I have 40 % clay from here and a sandy heap there, what do I order?"
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread
from matching.domain.mix.blend import ROOM, Aim, best_shares
from matching.domain.mix.parts import (
    MixLimits,
    Part,
    in_key_order,
    mineral_dry_kg_per_m3,
)
from matching.domain.mix.reasons import (
    CLAY_TEST,
    SILT_TEST,
    NoRecipe,
    Question,
    why_not,
)
from matching.domain.mix.rules import mix_rules, most_shares
from matching.domain.mix.wording import percent, percent_range, tonnes
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Reason


@dataclass(frozen=True, slots=True)
class Dose:
    """One part of a recipe. `share` is of dry mass; the rest is for a placed m3 of wall,
    waste included, or for the whole where an amount was asked for. Moist kg and loose m3
    are as loaded, with the stones that are screened out later."""

    part: Part
    share: float
    dry_kg_per_m3: Spread
    moist_kg_per_m3: Spread
    loose_m3_per_m3: Spread
    moist_kg: Spread | None
    loose_m3: Spread | None


@dataclass(frozen=True, slots=True)
class Recipe:
    """Doses in the order in which the parts were given, unused parts left out.

    `clay`, `silt` and `fines` are of the whole at the low ends of all parts, at likely and
    at the high ends. Costs in minor units, None unless every used part has a price; they
    count soil and sand delivered, not straw and water. `notes` say what is unsure.
    """

    doses: tuple[Dose, ...]
    clay: Spread
    silt: Spread
    fines: Spread
    safe: bool
    dry_kg: Spread | None
    wall_m3: float | None
    cost_per_m3: Spread | None
    cost: Spread | None
    notes: tuple[Reason, ...]

    @property
    def aggregate(self) -> Spread:
        """Sand and gravel: all that is neither clay nor silt."""
        return Spread(1 - self.fines.high, 1 - self.fines.likely, 1 - self.fines.low)

    def share_of(self, key: str) -> float:
        """Share of a part by its key; 0 if it is not used."""
        return sum(dose.share for dose in self.doses if dose.part.key == key)

    def orders(self) -> tuple[str, ...]:
        """What to order, a sentence for each part."""
        return tuple(_order(dose) for dose in self.doses)


def design(
    parts: tuple[Part, ...],
    mix: MixTarget,
    limits: MixLimits,
    dry_kg: Spread | float | None = None,
    *,
    safe: bool = False,
    target_first: bool = False,
) -> Recipe | NoRecipe:
    """The best recipe of parts for `dry_kg` of soil and sand together (None: any amount).

    Rules: clay inside the window, clay and silt below the limit, at the likely figures;
    with `safe` at both ends of every part's range, and supply at its pessimistic end. Silt
    that is unknown counts as its stated guess, when safe as all that it may be.

    Aims, each decided only among the best of the one before: if all parts have prices,
    least cost, then nearest to the target clay share, then least sand; otherwise nearest
    to the target, then least sand. With `target_first` the target comes before the cost.
    Ties that remain go to the part first in key order.
    Raises Refused for doubled keys and for a mass that is not positive.
    """
    amount = _amount(dry_kg)
    question = Question(in_key_order(parts), mix, limits, amount, safe)
    shares = (
        best_shares(
            _aims(question.parts, mix, target_first=target_first),
            mix_rules(question.parts, mix, limits, safe=safe),
            most_shares(question.parts, amount, safe=safe),
        )
        if parts
        else None
    )
    if shares is None:
        return why_not(question)
    by_key = {p.key: s for p, s in zip(question.parts, shares, strict=True)}
    used = tuple((part, by_key[part.key]) for part in parts if by_key[part.key] > 0)
    return recipe_of(used, mix, amount, safe=safe)


def _amount(dry_kg: Spread | float | None) -> Spread | None:
    if dry_kg is None:
        return None
    amount = dry_kg if isinstance(dry_kg, Spread) else Spread.exactly(dry_kg)
    if amount.low <= 0:
        raise refuse(
            "nothing_to_mix",
            field="dry_kg",
            given=amount.low,
            message="a recipe is for a positive mass",
            remedy="Give the dry kg of soil and sand together, or nothing.",
        )
    return amount


def _aims(parts: tuple[Part, ...], mix: MixTarget, *, target_first: bool) -> list[Aim]:
    clay = Aim(tuple(p.clay.likely for p in parts), mix.clay_target)
    sand = Aim(tuple(float(p.is_sand) for p in parts))
    order = Aim(tuple(float(i) for i in range(len(parts))))
    costs = [p.per_dry_kg for p in parts]
    known = tuple(own for own in costs if own is not None)
    if len(known) == len(parts):
        cost = Aim(known)
        firsts = [clay, cost] if target_first else [cost, clay]
        return [*firsts, sand, order]
    return [clay, sand, order]


def recipe_of(
    used: tuple[tuple[Part, float], ...],
    mix: MixTarget,
    dry_kg: Spread | None,
    *,
    safe: bool = False,
) -> Recipe:
    """The figures of given shares, whether or not they keep any rule."""
    per_m3 = mineral_dry_kg_per_m3(mix)
    doses = tuple(_dose(part, share, per_m3, dry_kg) for part, share in used)
    clay = _mean(tuple((p.clay, s) for p, s in used))
    fines = _mean(tuple((p.fines, s) for p, s in used))
    return Recipe(
        doses=doses,
        clay=clay,
        silt=_mean(tuple((p.silt_range, s) for p, s in used)),
        fines=fines,
        safe=safe,
        dry_kg=dry_kg,
        wall_m3=None if dry_kg is None else dry_kg.likely / per_m3.likely,
        cost_per_m3=_cost(tuple((d.part, d.moist_kg_per_m3) for d in doses)),
        cost=_cost(tuple((d.part, d.moist_kg) for d in doses)),
        notes=_notes(used, mix, clay),
    )


def _times(spread: Spread, factor: float) -> Spread:
    return Spread(spread.low * factor, spread.likely * factor, spread.high * factor)


def _dose(part: Part, share: float, per_m3: Spread, dry_kg: Spread | None) -> Dose:
    dry = _times(per_m3, share)
    moist = part.moist_kg(dry)
    whole = None if dry_kg is None else part.moist_kg(_times(dry_kg, share))
    loose = 1 / part.loose_kg_per_m3
    return Dose(
        part=part,
        share=share,
        dry_kg_per_m3=dry,
        moist_kg_per_m3=moist,
        loose_m3_per_m3=_times(moist, loose),
        moist_kg=whole,
        loose_m3=None if whole is None else _times(whole, loose),
    )


def _mean(of: tuple[tuple[Spread, float], ...]) -> Spread:
    low = sum(own.low * share for own, share in of)
    likely = sum(own.likely * share for own, share in of)
    high = sum(own.high * share for own, share in of)
    return Spread(min(low, likely), likely, max(high, likely))


def _cost(of: tuple[tuple[Part, Spread | None], ...]) -> Spread | None:
    """Cost if everything is at its low, likely or high mass together, sorted: with a
    holder who pays to be rid of soil, more mass may cost less."""
    low = likely = high = 0.0
    for part, kg in of:
        if part.per_kg is None or kg is None:
            return None
        low += part.per_kg * kg.low
        likely += part.per_kg * kg.likely
        high += part.per_kg * kg.high
    return Spread(min(low, likely, high), likely, max(low, likely, high))


def _notes(
    used: tuple[tuple[Part, float], ...], mix: MixTarget, clay: Spread
) -> tuple[Reason, ...]:
    notes = [
        Reason(
            "silt_unknown",
            f"anything from {percent(p.silt_range.low)} to {percent(p.silt_range.high)}",
            "a measured share",
            f"The silt of {p.name} is unknown; {percent(p.silt_range.likely)} is a guess."
            f" What tells: {SILT_TEST}.",
        )
        for p, _ in used
        if p.silt is None and not p.is_sand
    ]
    if clay.low < mix.clay_low - ROOM or clay.high > mix.clay_high + ROOM:
        widest = max(
            used, key=lambda own: own[1] * (own[0].clay.high - own[0].clay.low)
        )
        notes.append(
            Reason(
                "clay_may_leave_window",
                percent_range(clay),
                f"{percent(mix.clay_low)} to {percent(mix.clay_high)}",
                f"The mix may hold {percent_range(clay)} clay, and so leave the window."
                f" {widest[0].name} makes most of the doubt. What tells: {CLAY_TEST}.",
            )
        )
    return tuple(notes)


def _order(dose: Dose) -> str:
    moist, loose, basis = dose.moist_kg, dose.loose_m3, ""
    if moist is None or loose is None:
        moist, loose = dose.moist_kg_per_m3, dose.loose_m3_per_m3
        basis = " for each m3 of wall"
    return (
        f"{dose.part.name}: {tonnes(moist.likely)} as loaded"
        f" ({tonnes(moist.low)} to {tonnes(moist.high)}),"
        f" about {loose.likely:.2f} loose m3{basis};"
        f" {percent(dose.share)} of the dry mix."
    )
