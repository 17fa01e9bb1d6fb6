"""Verdicts on materials: every reason, and the figures at its limit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from logistics.domain.quantities import Spread
from matching.domain.fitness import Standing, judge
from matching.domain.materials import (
    History,
    Material,
    Sand,
    Straw,
    Subsoil,
)
from matching.domain.sands.records import Called, SandRecord
from matching.domain.straws.records import Plant, StrawRecord
from matching.domain.takeoff import MixTarget

MIX = MixTarget()
SOIL = Subsoil(clay=Spread(0.15, 0.20, 0.25), history=History.CLEAR)
STRAW = Straw(StrawRecord(Plant.WHEAT, 250, 0.14))


def straw(**change: Any) -> Straw:
    return replace(STRAW, record=replace(STRAW.record, **change))


def codes(material: Material, mix: MixTarget = MIX) -> list[str]:
    return [reason.code for reason in judge(material, mix).reasons]


@pytest.mark.parametrize(
    ("change", "standing", "code"),
    [
        ({"topsoil": True}, Standing.UNFIT, "topsoil"),
        ({"organic": 0.021}, Standing.UNFIT, "organic"),
        ({"stones": 0.31}, Standing.UNFIT, "stony"),
        ({"history": History.UNKNOWN}, Standing.NOT_UNTIL, "history_unknown"),
        ({"history": History.SUSPECT}, Standing.NOT_UNTIL, "contamination_suspected"),
        ({"clay": Spread.exactly(0.149)}, Standing.FIT_WITH_RICHER_SOIL, "lean"),
        ({"clay": Spread.exactly(0.251)}, Standing.FIT_WITH_SAND, "rich"),
        ({}, Standing.FIT, "ready"),
    ],
)
def test_subsoil_is_judged_with_its_reason(change, standing, code):
    """The clay window 15-25 %: practitioners, seen published; the others common practice."""
    verdict = judge(replace(SOIL, **change), MIX)
    assert verdict.standing is standing
    assert verdict.reasons[0].code == code
    assert verdict.usable == (standing not in (Standing.UNFIT, Standing.NOT_UNTIL))


@pytest.mark.parametrize(
    "change",
    [
        {"organic": 0.02},
        {"stones": 0.30},
        {"clay": Spread.exactly(0.15)},
        {"clay": Spread.exactly(0.25)},
    ],
)
def test_a_figure_at_the_limit_is_within_it(change):
    """Property: limits are inclusive."""
    assert judge(replace(SOIL, **change), MIX).standing is Standing.FIT


def test_all_that_is_wrong_with_a_soil_is_told_at_once():
    bad = replace(SOIL, topsoil=True, organic=0.05, stones=0.5)
    assert codes(bad) == ["topsoil", "organic", "stony"]


def test_a_wrong_soil_is_unfit_whatever_its_past():
    bad = replace(SOIL, topsoil=True, history=History.UNKNOWN)
    assert judge(bad, MIX).standing is Standing.UNFIT


def test_test_bricks_come_before_any_truck_whatever_the_figures():
    """Builders call jar tests close to useless and trust bricks alone (job.md 0.3, seen)."""
    for clay in (0.05, 0.20, 0.60):
        assert "test_bricks_first" in codes(replace(SOIL, clay=Spread.exactly(clay)))


def test_rich_soil_is_told_how_much_sand_cuts_it():
    """By hand: 50 % clay to 20 % is 1.5 parts of sand to one of soil, by dry mass."""
    verdict = judge(replace(SOIL, clay=Spread.exactly(0.50)), MIX)
    assert "1.5 parts of sand" in verdict.reasons[0].text


def test_the_window_is_that_of_the_build():
    mix = MixTarget(clay_low=0.05, clay_target=0.08, clay_high=0.10)
    assert codes(SOIL, mix)[0] == "rich"
    assert "5.0 % to 10.0 %" in judge(SOIL, mix).reasons[0].wanted


@pytest.mark.parametrize(
    ("kind", "usable", "code"),
    [
        (Called.CONCRETE, True, "sharp"),
        (Called.MASONRY, False, "too_fine"),
        (Called.BEACH, False, "rounded"),
    ],
)
def test_only_sharp_sand_is_fit(kind, usable, code):
    """Masonry and beach sand are wrong, fine or rounded (job.md 1.5, seen)."""
    verdict = judge(Sand(SandRecord(kind)), MIX)
    assert (verdict.usable, verdict.reasons[0].code) == (usable, code)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"plant": Plant.HAY}, "hay"),
        ({"moisture": 0.201}, "damp"),
        ({"strand_mm": 149}, "short"),
    ],
)
def test_straw_is_refused_with_its_reason(change, code):
    verdict = judge(straw(**change), MIX)
    assert verdict.standing is Standing.UNFIT
    assert [reason.code for reason in verdict.reasons] == [code]


def test_sound_straw_is_fit_at_its_limits():
    assert judge(straw(moisture=0.20, strand_mm=150), MIX).usable
    for plant in set(Plant) - {Plant.HAY, Plant.UNKNOWN}:
        assert judge(straw(plant=plant), MIX).usable


def test_every_reason_says_what_was_found_and_what_is_wanted():
    """Property."""
    materials: list[Material] = [
        SOIL,
        replace(SOIL, topsoil=True, organic=0.05, stones=0.5),
        replace(SOIL, history=History.UNKNOWN),
        replace(SOIL, history=History.SUSPECT),
        *(Sand(SandRecord(kind)) for kind in Called),
        straw(plant=Plant.HAY, moisture=0.3, strand_mm=50),
        STRAW,
    ]
    for material in materials:
        for reason in judge(material, MIX).reasons:
            assert all((reason.code, reason.found, reason.wanted, reason.text))
