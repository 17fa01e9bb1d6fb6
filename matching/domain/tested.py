"""A soil with the evidence on it: what the tests leave of its clay, silt, stones, humus."""

from __future__ import annotations

from dataclasses import replace

from matching.domain.materials import Subsoil
from matching.domain.soil.estimate import (
    SoilEstimate,
    estimate,
    next_tests,
    textures_for,
)
from matching.domain.soil.evidence import ClayWindow, Record, Rung
from matching.domain.soil.staleness import Heap
from matching.domain.takeoff import MixTarget

# Enough for every kind of test on every side of a heap; our own choice.
MOST_TESTS = 50
OWN_SOURCE = "this heap"
"""What a sample of the heap itself names as its source."""


def estimate_for(soil: Subsoil, mix: MixTarget | None = None) -> SoilEstimate:
    """What the tests of a soil say, trials of a mix read by the window of this one. If
    none speaks of clay, the declared clay and silt stand."""
    return _estimate(soil, soil.tests, mix)


def tested(soil: Subsoil, tests: tuple[Record, ...]) -> Subsoil:
    """The soil with its shares as the tests leave them. What no test speaks of stays as it
    was declared; of stones and organic matter the likely share counts."""
    found = _estimate(soil, tests, None)
    return replace(
        soil,
        tests=tests,
        clay=found.clay,
        silt=found.silt,
        stones=soil.stones if found.stones is None else found.stones.likely,
        organic=soil.organic if found.organic is None else found.organic.likely,
    )


def _estimate(
    soil: Subsoil, tests: tuple[Record, ...], mix: MixTarget | None
) -> SoilEstimate:
    heap = Heap(OWN_SOURCE, soil.depth_from_m, soil.depth_to_m, soil.rained_since)
    window = ClayWindow(mix.clay_low, mix.clay_target, mix.clay_high) if mix else None
    found = estimate(tests, heap=heap, window=window)
    if found.rung is not Rung.NOTHING:
        return found
    found = replace(
        found,
        clay=soil.clay,
        silt=soil.silt,
        textures=textures_for(soil.clay, soil.silt),
    )
    return replace(found, next_tests=next_tests(found, window))
