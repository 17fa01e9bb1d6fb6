"""A soil as a page shows it: verdict, figures, pictures, evidence, what to test next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.documents.evidence_answers import (
    ContradictionAnswer,
    EstimateAnswer,
    FindingAnswer,
    SoilTestAnswer,
)
from api.documents.evidence_document import soil_test_answer
from api.documents.plan_models import RangeAnswer, ReasonAnswer
from api.pictures.drawing import Both, both
from api.pictures.range_bar import Asked, RangeBar, range_bar
from api.pictures.triangle import Sanding, Triangle, triangle
from api.templatetags.units import weekday
from api.web.soil_forms import CHECKS, FORMS
from api.web.words import VerdictWords, verdict_words
from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from matching.domain.materials import Subsoil
from matching.domain.soil.nexttests import CheckKind
from matching.domain.soil_fitness import WALL_CODES, sand_parts
from matching.domain.takeoff import MixTarget
from matching.domain.tested import estimate_for

# What the page sets out in full elsewhere.
_ELSEWHERE = ("contradiction", "test_again", "set_aside", "test_next")
# Tests that are named when the share of clay leaves the recipe open.
_OF_CLAY = (CheckKind.HANDS, CheckKind.JAR, CheckKind.BOX, CheckKind.LABORATORY)
_WHOLE = (0.0, 100.0)


@dataclass(frozen=True, slots=True)
class Evidence:
    """One test: what it says, how much it misleads, its clay on a scale of 0 to 100 %."""

    title: str
    trust: str
    label: str
    says: str
    doubt: str
    bar: RangeBar | None


@dataclass(frozen=True, slots=True)
class Step:
    """A test worth making; `kind` names its form."""

    kind: str
    title: str
    how: str
    why: str
    takes: str


@dataclass(frozen=True, slots=True)
class SoilView:
    """All that a page says of a soil. `doubt` is why the range leaves the recipe open;
    `notes` are tests that are old or of another heap."""

    verdict: VerdictWords
    clay: str
    known: str
    silt: str
    stones: str
    organic: str
    textures: tuple[str, ...]
    sand: str
    doubt: str
    tested: int
    bar: RangeBar
    triangle: Both[Triangle]
    evidence: tuple[Evidence, ...]
    quarrels: tuple[str, ...]
    notes: tuple[str, ...]
    steps: tuple[Step, ...]
    wall_codes: str = WALL_CODES.text


def soil_view(soil: Subsoil, mix: MixTarget) -> SoilView:
    """A soil judged for a mix."""
    answer = soil_test_answer(soil, mix)
    own = answer.estimate
    return SoilView(
        verdict=_verdict(answer),
        clay=range_words(own.clay_percent),
        known=_known(own),
        silt=range_words(own.silt_percent) if own.silt_percent else "",
        stones=range_words(own.stones_percent) if own.stones_percent else "",
        organic=range_words(own.organic_percent, 1) if own.organic_percent else "",
        textures=tuple(one.words for one in own.textures),
        sand=_sand_words(answer.sand_parts) if answer.verdict.usable else "",
        doubt=_doubt(own),
        tested=own.tests,
        bar=_clay_bar(own.clay_percent, mix),
        triangle=_triangle(soil, mix),
        evidence=tuple(_evidence(one, at, mix) for at, one in enumerate(own.findings)),
        quarrels=_quarrels(own.quarrels),
        notes=tuple(one.text for one in (*own.stale, *own.set_aside)),
        steps=_steps(own),
    )


def _verdict(answer: SoilTestAnswer) -> VerdictWords:
    cautions: Sequence[ReasonAnswer] = [
        own for own in answer.verdict.cautions if own.code not in _ELSEWHERE
    ]
    return verdict_words(
        answer.verdict.standing, answer.verdict.reasons, Cargo.SUBSOIL, cautions
    )


def _known(own: EstimateAnswer) -> str:
    if own.rung != "nothing":
        return own.words
    told = own.clay_percent.high - own.clay_percent.low < _WHOLE[1]
    return "a declaration, no test" if told else "nothing: no test speaks of clay"


def range_words(own: RangeAnswer, digits: int = 0) -> str:
    """A range in percent as people say it; one figure where its ends are one."""
    low, high = f"{own.low:.{digits}f}", f"{own.high:.{digits}f}"
    return f"{low} %" if low == high else f"{low} to {high} %"


def changed_words(before: RangeAnswer, after: RangeAnswer) -> str:
    """What a test has changed."""
    was, now = range_words(before), range_words(after)
    if was == now:
        return f"Clay stays at {now}."
    return f"Clay was {was}, now {now}."


def _sand_words(parts: RangeAnswer | None) -> str:
    if parts is None or parts.high < 0.05:
        return ""
    likely = f"{parts.likely:.1f} parts" if parts.likely >= 0.05 else "likely none"
    if parts.high - parts.low < 0.1:
        return f"{likely} to one of soil, by dry weight"
    return (
        f"{likely} ({parts.low:.1f} to {parts.high:.1f} parts, as the clay is known) to"
        " one of soil, by dry weight"
    )


def _doubt(own: EstimateAnswer) -> str:
    return next((one.why for one in own.next_tests if one.kind in _OF_CLAY), "")


def _clay_bar(clay: RangeAnswer, mix: MixTarget, *, key: str = "clay") -> RangeBar:
    wanted = Asked("Clay", "%", mix.clay_low * 100, mix.clay_high * 100)
    return range_bar(_spread(clay), wanted, scale=_WHOLE, key=key)


def _triangle(soil: Subsoil, mix: MixTarget) -> Both[Triangle]:
    known = estimate_for(soil, mix)
    parts = sand_parts(soil, mix)
    sanding = None
    if parts is not None and parts.likely > 0:
        sanding = Sanding(parts.likely / (1 + parts.likely))
    return both(
        lambda size: triangle(
            known.clay, known.silt, mix=mix, sanding=sanding, size=size
        )
    )


def _evidence(own: FindingAnswer, number: int, mix: MixTarget) -> Evidence:
    label = (weekday(own.taken_on), own.tester, own.place)
    bar = None
    if own.clay_percent is not None:
        bar = _clay_bar(own.clay_percent, mix, key=f"evidence-{number}")
    return Evidence(
        FORMS[own.kind].title,
        own.trust,
        ", ".join(part for part in label if part),
        own.says,
        own.doubt,
        bar,
    )


def _quarrels(found: Sequence[ContradictionAnswer]) -> tuple[str, ...]:
    return tuple(own.text for own in found)


def _steps(own: EstimateAnswer) -> tuple[Step, ...]:
    """The tests worth making; a reason that was told already is not told again."""
    told: set[str] = set()
    steps = []
    for one in own.next_tests:
        kind = CHECKS.get(one.kind, one.kind.value)
        why = "" if one.why in told else one.why
        told.add(one.why)
        steps.append(Step(kind, FORMS[kind].title, one.how, why, one.takes))
    return tuple(steps)


def _spread(own: RangeAnswer) -> Spread:
    return Spread(own.low, own.likely, own.high)
