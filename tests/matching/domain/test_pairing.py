"""Why a fit offer cannot be brought, in words that name what would have to change."""

from __future__ import annotations

from typing import Any

import pytest

from logistics.domain.errors import Refused
from matching.domain.community import plan_community
from matching.domain.pairing import pair_up
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    needing,
    planned,
    read,
    sand,
    tipper,
)


def world(*, offer: Doc | None = None, trucks: list[Doc] | None = None) -> Doc:
    return document(
        {"depot": (0, 0), "yard": (5, 0), "site": (9, 0)},
        offers=[offer or sand("sharp", "yard", 1000)],
        builds=[build("hut", "site", needs=[needing("sand", 12)])],
        trucks=[tipper()] if trucks is None else trucks,
    )


def barrier(doc: Doc) -> str:
    (candidate,) = pair_up(read(doc)).candidates
    assert candidate.barrier is not None
    return candidate.barrier


def test_a_market_without_trucks_says_so():
    assert "no truck" in barrier(world(trucks=[]))
    (short,) = planned(world(trucks=[])).short
    assert "cannot be brought" in short.reason


def test_an_offer_that_opens_later_says_that_it_cannot_be_loaded():
    late: Any = {"available_from": "2030-01-01", "available_until": "2030-01-02"}
    doc = world(offer=sand("sharp", "yard", 1000, **late))
    assert "cannot be loaded on any of these days" in barrier(doc)


def test_a_truck_that_is_too_heavy_empty_is_named_with_both_figures():
    """The load alone must keep the limit even if the tare is not known: common practice,
    no source."""
    doc = world(trucks=[tipper(tare_kg=9_000)])
    for place in doc["places"]:
        if place["key"] == "site":
            place["access"] = {"max_gross_kg": 3_500}
    assert "the limit is 3.5 t" in barrier(doc)
    doc["trucks"][0].pop("tare_kg")
    plan = plan_community(read(doc))
    masses = [trip.load.mass_kg for shift in plan.hauls.shifts for trip in shift.trips]
    assert max(masses) <= 3_500


def test_whole_loads_of_less_than_one_are_not_on_offer():
    doc = world(offer=sand("sharp", "yard", 1000, held=4, whole_loads=True))
    assert "whole loads only" in barrier(doc)


def test_two_needs_of_one_key_are_refused():
    doc = world()
    doc["builds"][0]["needs"] = [needing("sand", 5), needing("sand", 6)]
    with pytest.raises(Refused) as refused:
        read(doc)
    (problem,) = refused.value.problems
    assert (problem.code, problem.field) == ("key_used_twice", "builds.0.needs.1.key")


def test_more_loads_than_a_plan_holds_are_refused_at_once():
    doc = world(offer=sand("sharp", "yard", 1000, held=400_000))
    doc["trucks"][0]["payload_kg"] = 1_000
    doc["builds"][0]["needs"] = [needing("sand", 100_000)]
    with pytest.raises(Refused) as refused:
        pair_up(read(doc))
    assert refused.value.problems[0].code == "too_many_loads"
