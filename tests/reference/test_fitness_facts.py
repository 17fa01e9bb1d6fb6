"""What practitioners and codes say of materials, against the verdicts."""

from __future__ import annotations

from typing import Any

import pytest

from logistics.domain.quantities import Spread
from matching.domain.fitness import judge
from matching.domain.materials import History, Sand, Subsoil
from matching.domain.sands.records import Called, SandRecord
from matching.domain.takeoff import MixTarget
from matching.domain.verdicts import Standing


def soil(clay: float, **known: Any) -> Subsoil:
    return Subsoil(Spread.exactly(clay), **{"history": History.CLEAR, **known})


@pytest.mark.parametrize(
    ("clay", "standing"),
    [
        (0.20, Standing.FIT),  # 15-25 % in the mix (practitioner, seen)
        (0.206, Standing.FIT),  # old cob, Williams-Ellis (seen)
        (0.15, Standing.FIT),
        (
            0.30,
            Standing.FIT_WITH_SAND,
        ),  # 30-50 % before sand (rule of thumb, seen quoted)
        (0.50, Standing.FIT_WITH_SAND),
        (0.09, Standing.FIT_WITH_RICHER_SOIL),  # < 10 % is insufficient (seen quoted)
    ],
)
def test_clay_shares_of_published_soils(clay, standing):
    assert judge(soil(clay), MixTarget()).standing is standing


def test_topsoil_is_never_taken():
    """Topsoil rots and compresses (earthbag soil guide, seen)."""
    assert judge(soil(0.2, topsoil=True), MixTarget()).standing is Standing.UNFIT


def test_earth_from_nobody_knows_where_is_not_taken():
    """ "If you don't know where the fill is from, don't take it" (a council, seen)."""
    verdict = judge(soil(0.2, history=History.UNKNOWN), MixTarget())
    assert not verdict.usable
    assert verdict.standing is Standing.NOT_UNTIL


def test_bad_soil_is_never_to_be_thinned():
    """Mixing contaminated with clean soil is not permitted (regulator, seen)."""
    verdict = judge(soil(0.2, history=History.SUSPECT), MixTarget())
    assert not verdict.usable
    assert "Never thin" in verdict.reasons[0].text


def test_no_code_limits_the_clay_and_no_verdict_claims_one():
    """IRC 2021 appendix AU prescribes tests, no share of clay or straw (seen)."""
    for clay in (0.05, 0.20, 0.60):
        for reason in judge(soil(clay), MixTarget()).reasons:
            assert "code" not in reason.text.lower()


@pytest.mark.parametrize("kind", [Called.MASONRY, Called.BEACH])
def test_fine_and_rounded_sands_are_wrong(kind):
    """Masonry, plaster, play and beach sand are fine or rounded (seen)."""
    assert not judge(Sand(SandRecord(kind)), MixTarget()).usable
