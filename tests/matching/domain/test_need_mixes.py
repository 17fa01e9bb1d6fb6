"""The mix for a build's need leaves out what cannot be reckoned with."""

from __future__ import annotations

from logistics.domain.quantities import Spread
from matching.domain.materials import History, Offer, Subsoil
from matching.domain.need_mixes import unusable


def heap(clay: float, silt: float) -> Offer:
    ground = Subsoil(
        clay=Spread.exactly(clay), silt=Spread.exactly(silt), history=History.CLEAR
    )
    return Offer("a", "A", 0, ground, 5000)


def test_more_than_the_whole_is_a_reason_and_no_fault():
    """By definition: clay and silt are shares of one dry mass, so 60 and 60 % cannot be."""
    why = unusable(heap(0.60, 0.60), None)
    assert why
    assert "sum is at most 1" in why
    assert unusable(heap(0.40, 0.20), 1.0) is None
