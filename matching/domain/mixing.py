"""What to order and how to mix it: "I have 40 % clay here and a sandy heap there".

Materials are judged first. What is not fit, or not until something is settled, is left out
with its reasons and never thinned with clean soil; the rest makes the recipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from logistics.domain.errors import refuse
from logistics.domain.materials import SMALL_BALE, Bale
from logistics.domain.quantities import Spread
from matching.domain.fitness import judge
from matching.domain.lifts.crew import Crew
from matching.domain.materials import Offer, Sand, Straw, Subsoil
from matching.domain.mix.batches import (
    BUCKET_L,
    TARP_L,
    Batch,
    MixingDay,
    batch_of,
    mixing_day,
    straw_of,
    water_of,
)
from matching.domain.mix.buckets import NoRatio, Ratio, in_buckets
from matching.domain.mix.doubt import Asked, Doubt, doubt_of
from matching.domain.mix.ends import (
    BothEnds,
    Safety,
    at_both_ends,
    farthest_possible,
    price_of_safety,
)
from matching.domain.mix.haul import Terms
from matching.domain.mix.parts import MixLimits, Part, mineral_dry_kg_per_m3
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.recipe import Recipe, recipe_of
from matching.domain.soil.evidence import Rung
from matching.domain.straws.bales import BaleCount, bales_for
from matching.domain.takeoff import MixTarget, take_off_of
from matching.domain.tested import estimate_for
from matching.domain.verdicts import Verdict

MOST_STRAW = 0.5
"""Share of straw above which it is no cob any more; ours, far above any published mix."""

MOST_PUT_RIGHT = 12
"""Parts with which the worth of knowing is reckoned: its programme grows with their square."""


@dataclass(frozen=True, slots=True)
class Source:
    """A soil or sand that could go into the mix. `per_kg` is the delivered cost of a moist
    kg in minor units, None if unknown; `most_kg` the moist kg to be had, None: any."""

    key: str
    name: str
    material: Subsoil | Sand
    per_kg: float | None = None
    most_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Site:
    """What the mix is made with: litres of a bucket and of a batch, bales, and who comes."""

    bucket_l: float = BUCKET_L
    batch_l: float = TARP_L
    bale: Bale = SMALL_BALE
    crew: Crew | None = None


@dataclass(frozen=True, slots=True)
class MixQuestion:
    """Sources, the mix, and how much: m3 of wall in place, or dry kg of soil and sand, or
    neither (then figures are for one m3 of wall). `target_first`: nearest to the clay that
    the mix aims at, the cheapest of these; else the cheapest inside the window, which often
    lies at its edge. Raises Refused for both amounts and for more straw than earth."""

    sources: tuple[Source, ...]
    mix: MixTarget = MixTarget()
    wall_m3: float | None = None
    dry_kg: float | None = None
    site: Site = Site()
    terms: Terms = field(default_factory=Terms)
    target_first: bool = True

    def __post_init__(self) -> None:
        if self.wall_m3 is not None and self.dry_kg is not None:
            raise refuse(
                "amount_given_twice",
                field="dry_kg",
                given=f"{self.wall_m3:g} m3 and {self.dry_kg:g} kg",
                message="the amount is given as wall and as a mass",
                remedy="Give one of them.",
            )
        if self.mix.straw.high > MOST_STRAW:
            raise refuse(
                "too_much_straw",
                field="mix.straw",
                given=self.mix.straw.high,
                message="cob is earth with a little straw",
                remedy=f"Give a share up to {MOST_STRAW:g}, such as 0.015.",
            )

    @property
    def mineral_kg(self) -> Spread | None:
        """Dry kg of soil and sand together, None for any amount."""
        if self.wall_m3 is not None:
            return take_off_of(self.wall_m3, self.mix).mineral_dry_kg
        return None if self.dry_kg is None else Spread.exactly(self.dry_kg)


@dataclass(frozen=True, slots=True)
class Judged:
    """A source with its verdict on this mix."""

    source: Source
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Mixed:
    """A recipe as it is mixed: buckets or, where no small ratio will do, weights; a batch
    where there are buckets."""

    recipe: Recipe
    ratio: Ratio | NoRatio
    batch: Batch | None


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to have brought of a part, moist kg and loose m3 as loaded. The ends count how
    much the walls swallow, how wet the heap is, and the recipe that the ground's clay may
    ask for, as far as a mix is possible at all; likely 0 where only an end asks for it."""

    part: Part
    moist_kg: Spread
    loose_m3: Spread


@dataclass(frozen=True, slots=True)
class MixDesign:
    """The answer. Where there is no recipe `ends.likely` says why, and what follows from a
    recipe is None or empty. `straw_kg`, `bales` and `water_l` are for `mineral_kg`."""

    judged: tuple[Judged, ...]
    ends: BothEnds
    safety: Safety
    mixed: Mixed | None
    safely_mixed: Mixed | None
    purchases: tuple[Purchase, ...]
    mineral_kg: Spread
    straw_kg: Spread
    bales: BaleCount
    water_l: Spread | None
    day: MixingDay | None
    doubt: Doubt | None

    @property
    def left_out(self) -> tuple[Judged, ...]:
        """Sources that must not go into this mix."""
        return tuple(own for own in self.judged if not own.verdict.usable)


def part_of(offer: Offer, delivered_per_kg: float | None) -> Part:
    """An offer of soil or sand as a part. Raises Refused for straw and for figures that no
    material has, such as clay and silt beyond the whole."""
    if isinstance(offer.material, Straw):
        raise refuse(
            "straw_is_no_part",
            field=f"parts.{offer.key}",
            given="straw",
            message="straw is added to the mix by mass, not blended with soil and sand",
            remedy="Give soils and sands.",
        )
    return _part(
        Source(
            offer.key, offer.name, offer.material, delivered_per_kg, offer.quantity_kg
        )
    )


def _part(source: Source) -> Part:
    material = source.material
    return Part(
        key=source.key,
        name=source.name,
        clay=material.clay,
        silt=material.silt,
        stones=material.stones if isinstance(material, Subsoil) else 0.0,
        moisture=material.moisture,
        loose_kg_per_m3=material.bulk.loose_kg_per_m3,
        per_kg=source.per_kg,
        most_kg=source.most_kg,
        is_sand=isinstance(material, Sand),
    )


def answer(question: MixQuestion) -> MixDesign:
    """Judge the sources and design the mix of those that are fit.

    Raises Refused for two sources of one key and for shares that exceed the whole.
    """
    mix, site = question.mix, question.site
    limits = MixLimits.of(mix)
    judged = tuple(Judged(own, judge(own.material, mix)) for own in question.sources)
    fit = tuple(own.source for own in judged if own.verdict.usable)
    parts = tuple(_part(own) for own in fit)
    amount = question.mineral_kg
    first = question.target_first
    ends = at_both_ends(parts, mix, limits, amount, target_first=first)
    safety = price_of_safety(parts, mix, limits, amount, target_first=first)
    mixed = _mixed(ends.likely, mix, site)
    mineral = amount or mineral_dry_kg_per_m3(mix)
    straw = _straw(question)
    asked = Asked(
        _looked_at(parts, ends, safety),
        mix,
        limits,
        None if amount is None else amount.likely,
        question.terms,
        first,
    )
    return MixDesign(
        judged=judged,
        ends=ends,
        safety=safety,
        mixed=mixed,
        safely_mixed=_mixed(safety.safe, mix, site),
        purchases=_purchases(_reached(ends, parts, question, limits), parts),
        mineral_kg=mineral,
        straw_kg=straw,
        bales=bales_for(straw, site.bale),
        water_l=water_of(_shares(mixed.recipe), mineral, mix) if mixed else None,
        day=_day(mixed, site),
        doubt=doubt_of(ends.likely, asked, _rungs(fit, mix)),
    )


def _looked_at(
    parts: tuple[Part, ...], ends: BothEnds, safety: Safety
) -> tuple[Part, ...]:
    """What a wrong order may be put right with: all, or of very many those in a recipe."""
    if len(parts) <= MOST_PUT_RIGHT:
        return parts
    used = {
        dose.part.key
        for recipe in (ends.lean, ends.likely, ends.rich, safety.safe)
        if isinstance(recipe, Recipe)
        for dose in recipe.doses
    }
    return tuple(part for part in parts if part.key in used) or parts[:MOST_PUT_RIGHT]


def as_mixed(
    used: Sequence[tuple[Part, float]],
    mix: MixTarget,
    site: Site,
    *,
    safe: bool = False,
) -> Mixed | None:
    """How dry kg of parts, decided elsewhere, are mixed; None for nothing. `safe`: rounded
    so that the window holds at both ends of what is known."""
    total = sum(kg for _, kg in used)
    if total <= 0:
        return None
    shares = tuple((part, kg / total) for part, kg in used if kg > 0)
    recipe = recipe_of(shares, mix, Spread.exactly(total), safe=safe)
    return _mixed(recipe, mix, site)


def _mixed(recipe: Recipe | NoRecipe, mix: MixTarget, site: Site) -> Mixed | None:
    if isinstance(recipe, NoRecipe):
        return None
    ratio = in_buckets(recipe, mix, MixLimits.of(mix))
    batch = None
    if isinstance(ratio, Ratio):
        batch = batch_of(
            ratio,
            mix,
            loose_l=site.batch_l,
            bucket_l=site.bucket_l,
            bale=site.bale,
        )
    return Mixed(recipe, ratio, batch)


def _day(mixed: Mixed | None, site: Site) -> MixingDay | None:
    if mixed is None or mixed.batch is None or site.crew is None:
        return None
    return mixing_day(mixed.batch, site.crew)


def _shares(recipe: Recipe) -> tuple[tuple[Part, float], ...]:
    return tuple((dose.part, dose.share) for dose in recipe.doses)


def _straw(question: MixQuestion) -> Spread:
    if question.dry_kg is not None:
        return straw_of(question.dry_kg, question.mix)
    wall = 1.0 if question.wall_m3 is None else question.wall_m3
    return take_off_of(wall, question.mix).straw_kg


def _rungs(sources: Sequence[Source], mix: MixTarget) -> dict[str, Rung]:
    """What the clay of each soil is known from."""
    return {
        own.key: estimate_for(own.material, mix).rung
        for own in sources
        if isinstance(own.material, Subsoil) and own.material.tests
    }


def _reached(
    ends: BothEnds, parts: tuple[Part, ...], question: MixQuestion, limits: MixLimits
) -> BothEnds:
    """The ends, or where one has no recipe the farthest that has: leaving it out would
    make an order look surer than it is."""
    if isinstance(ends.likely, NoRecipe):
        return ends
    lean, rich = (
        farthest_possible(
            parts,
            question.mix,
            limits,
            question.mineral_kg,
            rich=rich,
            target_first=question.target_first,
        )
        if isinstance(end, NoRecipe)
        else end
        for end, rich in ((ends.lean, False), (ends.rich, True))
    )
    return BothEnds(lean, ends.likely, rich)


def _purchases(ends: BothEnds, parts: tuple[Part, ...]) -> tuple[Purchase, ...]:
    if isinstance(ends.likely, NoRecipe):
        return ()
    recipes = [
        own for own in (ends.lean, ends.likely, ends.rich) if isinstance(own, Recipe)
    ]
    found = []
    for part in parts:
        own = [_moist(recipe, part.key) for recipe in recipes]
        likely = _moist(ends.likely, part.key).likely
        moist = Spread(
            min((kg.low for kg in own), default=inf),
            likely,
            max((kg.high for kg in own), default=0.0),
        )
        if moist.high > 0:
            loose = part.loose_kg_per_m3
            found.append(
                Purchase(
                    part,
                    moist,
                    Spread(moist.low / loose, likely / loose, moist.high / loose),
                )
            )
    return tuple(found)


def _moist(recipe: Recipe, key: str) -> Spread:
    for dose in recipe.doses:
        if dose.part.key == key:
            return dose.moist_kg or dose.moist_kg_per_m3
    return Spread.exactly(0.0)
