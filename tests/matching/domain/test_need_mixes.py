"""The mix for a build's need leaves out what cannot be reckoned with."""

from __future__ import annotations

from dataclasses import replace

from logistics.domain.quantities import Spread
from matching.domain.materials import History, Offer, Subsoil
from matching.domain.mix.recipe import Recipe
from matching.domain.need_mixes import mix_for, unusable
from matching.domain.pairing import pair_up
from tests.matching.small_documents import (
    build,
    document,
    read,
    sand,
    soil,
    tipper,
    wall,
)


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


def test_an_offer_that_cannot_be_mixed_is_barred_and_the_rest_is_mixed():
    """By definition as above; the sound offers still make their mix."""
    scenario = read(
        document(
            {"depot": (0, 0), "pit": (3, 0), "site": (2, 2)},
            offers=[
                soil("fat", "pit", 40),
                sand("sharp", "pit", 2200),
                soil("odd", "pit", 20),
            ],
            builds=[build("hut", "site", walls=wall(2))],
            trucks=[tipper()],
        )
    )
    pairing = pair_up(scenario)
    fat, sharp, _ = scenario.offers
    odd = replace(heap(0.60, 0.60), key="odd", name="Odd")
    found = mix_for(replace(scenario, offers=(fat, sharp, odd)), pairing, 0)
    assert [offer.key for offer, _ in found.barred] == ["odd"]
    assert isinstance(found.design.ends.likely, Recipe)
