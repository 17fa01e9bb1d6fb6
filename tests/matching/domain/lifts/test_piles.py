"""Heaps, tarps, bales, and where they may lie."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from matching.domain.lifts.piles import (
    Standing,
    bale_stack,
    cone,
    standing_cautions,
    windrow,
)


@given(st.floats(0.01, 1000), st.floats(1, 89))
def test_a_cone_holds_its_volume(volume, degrees):
    """A third of ground times height (Euclid XII.10), and its slope."""
    heap = cone(volume, degrees)
    assert heap.ground_m2 * heap.height_m / 3 == pytest.approx(volume)
    slope = math.degrees(math.atan2(heap.height_m, heap.width_m / 2))
    assert slope == pytest.approx(degrees)


@given(st.floats(0.01, 1000), st.floats(0.5, 20))
def test_a_long_heap_holds_its_volume_and_is_lower(volume, width):
    """Two half cones and a prism between them, each by its own formula."""
    heap, tip = windrow(volume, width), cone(volume)
    ridge = heap.length_m - heap.width_m
    ends = math.pi * (heap.width_m / 2) ** 2 * heap.height_m / 3
    assert ends + ridge * heap.width_m * heap.height_m / 2 == pytest.approx(volume)
    assert heap.height_m <= tip.height_m + 1e-9
    assert heap.ground_m2 >= tip.ground_m2 * (1 - 1e-9)
    assert heap.width_m <= width or heap == tip


def test_a_tarp_covers_the_slopes():
    """Property: longer than the way over the ridge, in whole metres."""
    heap = windrow(30, 4)
    over = 2 * math.hypot(heap.width_m / 2, heap.height_m)
    assert heap.tarp_m[0] >= over
    assert heap.tarp_m[1] > heap.length_m


def test_bales_are_whole():
    """By hand: 100 kg are six bales of 16 kg and a part."""
    stack = bale_stack(100)
    assert (stack.bales, stack.kg) == (7, 112)
    assert stack.volume_m3 == pytest.approx(7 * 0.149)
    assert bale_stack(0).bales == 0


def test_a_good_place_has_nothing_against_it():
    assert not standing_cautions(Standing(from_water_m=10.0), cone(13.7))


@pytest.mark.parametrize(
    ("place", "code"),
    [
        ({"from_water_m": 9.9}, "pile_near_water"),
        ({"from_water_m": None}, "pile_near_water"),
        ({"from_trench_m": 1.0}, "pile_near_trench"),
        ({"on_verge": True}, "pile_on_verge"),
        ({"under_wires": True}, "pile_under_wires"),
        ({"under_trees": True}, "pile_on_roots"),
        ({"children": True}, "children_near_pile"),
    ],
)
def test_a_bad_place_is_cautioned(place, code):
    """10 m from water and drains (bpg.co.nz, seen); not on a verge (poriruacity, seen)."""
    found = standing_cautions(Standing(**{"from_water_m": 20.0, **place}), cone(13.7))
    assert [caution.code for caution in found] == [code]


@pytest.mark.parametrize(
    "given",
    [(0, 35), (-1, 35), (float("nan"), 35), (1, 0), (1, 90), (float("inf"), 35)],
)
def test_a_heap_without_size_or_slope_is_refused(given):
    with pytest.raises(Refused):
        cone(*given)


def test_a_heap_without_width_is_refused():
    with pytest.raises(Refused):
        windrow(10, 0)
