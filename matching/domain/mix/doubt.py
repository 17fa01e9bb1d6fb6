"""The part whose clay is least sure: what its doubt costs, and the tests that would settle it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from matching.domain.mix.blend import ROOM
from matching.domain.mix.haul import Haul, Terms
from matching.domain.mix.knowing import Knowing, knowing
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.mix.prior import SoilTest
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.recipe import Recipe
from matching.domain.mix.wording import percent, percent_range
from matching.domain.soil.evidence import ClayWindow, Rung
from matching.domain.soil.nexttests import (
    CheckKind,
    NextTest,
    clay_tests,
    undecided,
    worth_testing,
)
from matching.domain.soil.readings.hands import UNPRACTISED_POINTS
from matching.domain.soil.readings.laboratory import METHOD_POINTS
from matching.domain.soil.records import LabMethod
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Reason

# A rung becomes a standard deviation of the clay share so. Hands and laboratory: the points
# by which `soil.readings` widens a reading, once. Foss, Wright and Coles 1975 found 67 % of
# field textures within the points of practised hands, and 67 % is one deviation of a normal
# error; two sheets of a laboratory that errs by 4 points differ by up to 2.8 x 4 = 11 in 95
# of 100 cases, where AASHTO T88 is quoted with 12. Jar and box: half of the half-range that
# `soil.readings` gives a soil near 25 % clay (20 and 23 points), as if it were two deviations.
# The box stands higher on the ladder for what it shows of the clay's work, not for points.
TEST_ERRORS: dict[CheckKind, float] = {
    CheckKind.HANDS: UNPRACTISED_POINTS,
    CheckKind.JAR: 0.10,
    CheckKind.BOX: 0.115,
    CheckKind.LABORATORY: METHOD_POINTS[LabMethod.HYDROMETER],
}
"""Standard deviation of the clay share that a test reads, as a share of dry mass."""


DECIDES = (
    "A test decides whether the mix is right, and a cracked wall costs more than any."
)

# Ranges narrower than this are none.
_SURE = 1e-9


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be mixed: parts, limits, dry kg of soil and sand (None: any amount) and
    what a wrong order costs."""

    parts: tuple[Part, ...]
    mix: MixTarget
    limits: MixLimits
    dry_kg: float | None = None
    terms: Terms = field(default_factory=Terms)
    target_first: bool = False


@dataclass(frozen=True, slots=True)
class Settling:
    """A test worth making. `error` is its standard deviation, `worth` what it saves on
    average in minor units before its own cost; None: it reads no clay, or no prices."""

    test: NextTest
    error: float | None
    worth: float | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """A part, the edges of the window that the mix may cross, why the part's range leaves
    the recipe open (None: one recipe does for all of it), what knowing is worth or why that
    cannot be said, and tests, the least effort first."""

    part: Part
    crossed: tuple[str, ...]
    open_question: str | None
    knowing: Knowing | Reason
    tests: tuple[Settling, ...]


def doubt_of(
    recipe: Recipe | NoRecipe, asked: Asked, rungs: Mapping[str, Rung] | None = None
) -> Doubt | None:
    """The doubt on the part that puts most of it into the mix; None where all are sure.

    `rungs` tells by part what its clay is known from, nothing for those left out. Sand is
    looked at only where every soil is sure.
    """
    part = _widest(recipe, asked.parts)
    if part is None:
        return None
    mix = asked.mix
    window = ClayWindow(mix.clay_low, mix.clay_target, mix.clay_high)
    crossed = _crossed(recipe, mix)
    question = " ".join(crossed) or undecided(part.clay, window)
    offered = _offered(
        part, (rungs or {}).get(part.key, Rung.NOTHING), window, question
    )
    found = _knowing(part, asked, offered)
    worths = (
        {own.test.name: own.worth for own in found.tests}
        if isinstance(found, Knowing)
        else {}
    )
    return Doubt(
        part,
        crossed,
        question,
        found,
        tuple(
            Settling(own, TEST_ERRORS.get(own.kind), worths.get(own.kind))
            for own in offered
        ),
    )


def _crossed(recipe: Recipe | NoRecipe, mix: MixTarget) -> tuple[str, ...]:
    """A sentence for each edge that the recipe may cross at an end of what is known."""
    if isinstance(recipe, NoRecipe):
        return ()
    found = []
    held = percent_range(recipe.clay)
    if recipe.clay.low < mix.clay_low - ROOM:
        found.append(
            f"The mix may hold {held} clay, and so less than the {percent(mix.clay_low)}"
            " that it wants: it would bind too little."
        )
    if recipe.clay.high > mix.clay_high + ROOM:
        found.append(
            f"The mix may hold {held} clay, and so more than {percent(mix.clay_high)}: it"
            " would crack as it dries."
        )
    return tuple(found)


def _offered(
    part: Part, rung: Rung, window: ClayWindow, question: str | None
) -> tuple[NextTest, ...]:
    """Tests of its clay where that is open; then bricks."""
    known = worth_testing(
        part.clay, rung, window, stones_known=True, organic_known=True
    )
    bricks = tuple(own for own in known if own.kind is CheckKind.BRICKS)
    return (*(clay_tests(rung, question) if question else ()), *bricks)


def _widest(recipe: Recipe | NoRecipe, parts: tuple[Part, ...]) -> Part | None:
    """By clay that it may bring or not bring to the mix; alone where there is no mix."""
    unsure = [own for own in parts if own.clay.high - own.clay.low > _SURE]
    candidates = [own for own in unsure if not own.is_sand] or unsure

    def doubt(part: Part) -> tuple[float, float]:
        width = part.clay.high - part.clay.low
        share = recipe.share_of(part.key) if isinstance(recipe, Recipe) else 0.0
        return share * width, width

    return max(candidates, key=doubt, default=None)


def _knowing(
    part: Part, asked: Asked, offered: tuple[NextTest, ...]
) -> Knowing | Reason:
    unpriced = [own.name for own in asked.parts if own.per_kg is None]
    if asked.dry_kg is None or unpriced:
        lacks = f"no price of {', '.join(unpriced)}" if unpriced else "no amount"
        return Reason(
            "worth_unknown",
            lacks,
            "delivered prices of all parts, and how much wall",
            "What knowing saves in money can be said once every part has a delivered"
            f" price (0 if it is free) and the amount is known. {DECIDES}",
        )
    if not any(own.per_kg for own in asked.parts):
        return Reason(
            "worth_not_in_money",
            "every part is free",
            "a price of what would have to be fetched",
            f"As nothing costs anything, what knowing saves cannot be put in money. {DECIDES}",
        )
    haul = Haul(
        asked.parts,
        part.key,
        asked.mix,
        asked.limits,
        asked.dry_kg,
        asked.terms,
        asked.target_first,
    )
    tests = tuple(
        SoilTest(own.kind, TEST_ERRORS[own.kind])
        for own in offered
        if own.kind in TEST_ERRORS
    )
    try:
        found = knowing(haul, tests=tests)
    except ArithmeticError:
        # A state at the very edge of what is possible: the programmes differ by rounding.
        return Reason(
            "no_recourse",
            f"{part.name} at an end of its range",
            "a way out whatever the clay",
            f"At an end of the range of {part.name} hardly any wall can be made of these"
            " parts: add a source that always does, such as a ready mix, at its price.",
        )
    return found.reason if isinstance(found, NoRecipe) else found
