"""Soils and sands for the tests of mixes, and random ones."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from logistics.domain.quantities import Spread
from matching.domain.mix.parts import MixLimits, Part
from matching.domain.takeoff import MixTarget

MIX = MixTarget()
LIMITS = MixLimits()
NO_SILT = Spread.exactly(0.0)


def soil(
    clay: Spread | float, key: str = "ada", silt: Spread | None = NO_SILT, **more: Any
) -> Part:
    spread = clay if isinstance(clay, Spread) else Spread.exactly(clay)
    return Part(key, f"Heap {key}", spread, silt, **more)


def sand(key: str = "sand", **more: Any) -> Part:
    return Part(key, "Sand", Spread.exactly(0.0), NO_SILT, is_sand=True, **more)


@st.composite
def spreads(draw: st.DrawFn, top: float = 0.7) -> Spread:
    low, likely, high = sorted(draw(st.lists(shares(top), min_size=3, max_size=3)))
    return Spread(low, likely, high)


def shares(top: float) -> st.SearchStrategy[float]:
    """Shares to a thousandth: finer figures only test the solver's tolerance."""
    return st.integers(0, round(top * 1000)).map(lambda own: own / 1000)


@st.composite
def random_parts(draw: st.DrawFn, *, priced: bool | None = None) -> tuple[Part, ...]:
    priced = draw(st.booleans()) if priced is None else priced
    prices = st.integers(-20, 200).map(lambda own: own / 10) if priced else st.none()
    soils = [
        Part(
            key=f"soil{number}",
            name=f"Heap {number}",
            clay=draw(spreads()),
            silt=draw(st.one_of(st.none(), spreads(0.3))),
            stones=draw(shares(0.3)),
            moisture=draw(spreads(0.3)),
            loose_kg_per_m3=draw(st.integers(1200, 1700)),
            per_kg=draw(prices),
            most_kg=draw(st.one_of(st.none(), st.integers(0, 40_000))),
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    if draw(st.booleans()):
        soils.append(sand(per_kg=draw(prices), moisture=draw(spreads(0.1))))
    return tuple(soils)
