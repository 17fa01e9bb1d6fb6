"""Whether a material can go into a wall, and why: a verdict carries its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from matching.domain.grounds import Ground
from matching.domain.materials import History, Material, Sand, Subsoil
from matching.domain.sands.judging import SandJudgement, judge_sand
from matching.domain.straws.judging import StrawJudgement, judge_straw
from matching.domain.takeoff import MixTarget

# Practitioners want subsoil free of organic matter, because it rots and shrinks; 2 % of dry
# mass and 30 % of stones after screening are common practice, no source.
MOST_ORGANIC = 0.02
MOST_STONES = 0.30


class Standing(StrEnum):
    """The outcome of a judgement."""

    FIT = "fit"
    FIT_WITH_SAND = "fit_with_sand"
    FIT_WITH_RICHER_SOIL = "fit_with_richer_soil"
    NOT_UNTIL = "not_until"
    UNFIT = "unfit"


@dataclass(frozen=True, slots=True)
class Reason:
    """One ground of a verdict."""

    code: str
    found: str
    wanted: str
    text: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a material may be allotted, with the reasons that decide it and cautions
    that do not."""

    standing: Standing
    reasons: tuple[Reason, ...]
    cautions: tuple[Reason, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether the material may be allotted to a wall."""
        return self.standing not in (Standing.NOT_UNTIL, Standing.UNFIT)


BRICKS_FIRST = Reason(
    "test_bricks_first",
    "declared figures",
    "test bricks of the very mix",
    "Make test bricks with this soil before any truck moves: figures alone mislead.",
)


def judge(material: Material, mix: MixTarget) -> Verdict:
    """The verdict on a material for a mix."""
    if isinstance(material, Subsoil):
        return _judge_subsoil(material, mix)
    if isinstance(material, Sand):
        return _settled(judge_sand(material.record))
    return _settled(judge_straw(material.record))


def _judge_subsoil(soil: Subsoil, mix: MixTarget) -> Verdict:
    bad = []
    if soil.topsoil:
        bad.append(
            Reason(
                "topsoil",
                "topsoil",
                "subsoil",
                "Topsoil rots and shrinks in a wall; take the earth below it.",
            )
        )
    if soil.organic > MOST_ORGANIC:
        bad.append(
            Reason(
                "organic",
                _percent(soil.organic),
                f"at most {_percent(MOST_ORGANIC)}",
                "Roots and humus rot in the wall.",
            )
        )
    if soil.stones > MOST_STONES:
        bad.append(
            Reason(
                "stony",
                _percent(soil.stones),
                f"at most {_percent(MOST_STONES)}",
                "Too stony to be worth screening.",
            )
        )
    if bad:
        return Verdict(Standing.UNFIT, tuple(bad))
    if soil.history is not History.CLEAR:
        return Verdict(
            Standing.NOT_UNTIL, (_history_reason(soil.history), BRICKS_FIRST)
        )
    return _judge_clay(soil, mix)


def _history_reason(history: History) -> Reason:
    if history is History.SUSPECT:
        return Reason(
            "contamination_suspected",
            "suspect ground",
            "laboratory results",
            "Hands and feet knead this earth: not until a laboratory has cleared it. Never"
            " thin bad soil with clean soil. Local rules decide.",
        )
    return Reason(
        "history_unknown",
        "unknown history",
        "a statement of past use",
        "If nobody knows what stood there, do not take it: ask for address, past use and"
        " depth, look for rubble, stains and smell, test where in doubt.",
    )


def _judge_clay(soil: Subsoil, mix: MixTarget) -> Verdict:
    found = f"{_percent(soil.clay.likely)} ({_percent(soil.clay.low)} to {_percent(soil.clay.high)})"
    wanted = f"{_percent(mix.clay_low)} to {_percent(mix.clay_high)} in the mix"
    if soil.clay.likely < mix.clay_low:
        reason = Reason(
            "lean", found, wanted, "Too lean alone: blend it with a richer soil."
        )
        return Verdict(Standing.FIT_WITH_RICHER_SOIL, (reason, BRICKS_FIRST))
    if soil.clay.likely > mix.clay_high:
        parts = soil.clay.likely / mix.clay_target - 1
        reason = Reason(
            "rich",
            found,
            wanted,
            f"Cut it with about {parts:.1f} parts of sand by dry mass.",
        )
        return Verdict(Standing.FIT_WITH_SAND, (reason, BRICKS_FIRST))
    reason = Reason(
        "ready", found, wanted, "Has the clay that the mix wants as it is dug."
    )
    return Verdict(Standing.FIT, (reason, BRICKS_FIRST))


def _settled(judgement: SandJudgement | StrawJudgement) -> Verdict:
    """A judgement on sand or straw as a verdict."""
    return Verdict(
        Standing(judgement.standing),
        tuple(_reason(ground) for ground in judgement.grounds),
        tuple(_reason(ground) for ground in judgement.cautions),
    )


def _reason(ground: Ground) -> Reason:
    return Reason(ground.code, ground.found, ground.wanted, ground.text)


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %"
