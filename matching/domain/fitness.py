"""Whether a material can go into a wall, and why."""

from __future__ import annotations

from matching.domain.grounds import Ground
from matching.domain.materials import Material, Sand, Subsoil
from matching.domain.sands.judging import SandJudgement, judge_sand
from matching.domain.soil_fitness import judge_soil
from matching.domain.straws.judging import StrawJudgement, judge_straw
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Reason, Standing, Verdict


def judge(material: Material, mix: MixTarget) -> Verdict:
    """The verdict on a material for a mix."""
    if isinstance(material, Subsoil):
        return judge_soil(material, mix)
    if isinstance(material, Sand):
        return settled(judge_sand(material.record, material.clay, material.silt))
    return settled(judge_straw(material.record))


def settled(judgement: SandJudgement | StrawJudgement) -> Verdict:
    """A judgement on sand or straw as a verdict."""
    return Verdict(
        Standing(judgement.standing),
        tuple(_reason(ground) for ground in judgement.grounds),
        tuple(_reason(ground) for ground in judgement.cautions),
    )


def _reason(ground: Ground) -> Reason:
    return Reason(ground.code, ground.found, ground.wanted, ground.text)
