"""What is missing is told with what, how much and the nearest help."""

from __future__ import annotations

from typing import Any

from matching.domain.community import CommunityPlan
from tests.matching.small_documents import (
    Doc,
    bales,
    build,
    document,
    flat_bed,
    needing,
    planned,
    sand,
    soil,
    tipper,
    wall,
)


def plan(offers: list[Doc], **rest: Any) -> CommunityPlan:
    doc = document(
        {
            "depot": (0, 0),
            "pit": (3, 0),
            "dig": (22, 0),
            "yard": (0, 20),
            "site": (4, 4),
        },
        offers=[*offers, bales("straw", "pit", 200, 90)],
        builds=[build("hut", "site", walls=wall(9))],
        trucks=[tipper(), flat_bed()],
        **rest,
    )
    return planned(doc)


def told(found: CommunityPlan) -> tuple[str, str]:
    (short,) = found.short
    return short.reason, " ".join(short.help)


def test_nothing_on_offer_is_told_with_the_amount():
    """By hand: 9 x 1650 x 1.1 x 0.985 = 16 090 kg dry."""
    reason, _ = told(plan([]))
    assert reason.startswith("16.09 t (dry) of sand and subsoil short")
    assert "no fit offer is within reach" in reason


def test_too_little_of_what_fits_is_told():
    reason, _ = told(plan([soil("small", "pit", 20, held=5)]))
    # 5 t moist are 4.24 t dry.
    assert reason.startswith("11.85 t (dry)")
    assert "hold too little" in reason


def test_only_fat_clay_says_that_sand_is_missing():
    reason, _ = told(plan([soil("fat", "pit", 55)]))
    assert "too rich for 15 to 25 % clay" in reason
    assert "sand is missing" in reason


def test_only_sand_says_that_clay_is_missing():
    reason, _ = told(plan([sand("sharp", "yard", 1000)]))
    assert "no soil in reach that may be used" in reason


def test_the_nearest_offer_of_unknown_past_is_named_with_what_it_wants():
    past = {"history": "unknown"}
    _, help_ = told(
        plan(
            [
                soil("far", "dig", 20, material=past),
                soil("near", "pit", 20, material=past),
            ]
        )
    )
    assert "Near, 5.0 km away, would do with a statement of past use" in help_
    assert help_.index("Near,") < help_.index("Far,")


def test_an_offer_beyond_the_reach_is_named_with_both_distances():
    _, help_ = told(plan([soil("far", "dig", 20)], reach_km=15))
    assert (
        "Far, 22.0 km away, is fit but out: 22.0 km away, the reach is 15.0 km" in help_
    )


def test_an_offer_that_no_truck_can_bring_is_named():
    doc = document(
        {"depot": (0, 0), "yard": (0, 20), "site": (4, 4)},
        offers=[sand("sharp", "yard", 1000)],
        builds=[build("hut", "site", needs=[needing("sand", 9)])],
        trucks=[flat_bed()],
    )
    (short,) = planned(doc).short
    assert short.reason.startswith("8.57 t (dry) of sand short")
    assert any("no truck can bring it" in line for line in short.help)


def test_unfit_material_is_no_help():
    _, help_ = told(plan([soil("top", "pit", 20, material={"topsoil": True})]))
    assert "Top" not in help_


def test_what_is_met_is_not_told_as_short():
    assert plan([soil("ready", "pit", 20)]).short == ()
