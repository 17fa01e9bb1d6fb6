"""The bridge formula against the printed table and the FHWA's worked truck.

Formula, axle limits and the exception: ops.fhwa.dot.gov/freight/sw/faqs/qa.cfm?category=9.
That the printed table rounds halves down (9 ft, 3 axles: 42,500), and the worked truck of
"Bridge Formula Weights", are from memory.
"""

from __future__ import annotations

import pytest

from logistics.domain.legal.axles import Axle, AxleLayout
from logistics.domain.legal.payload import legal_load
from logistics.domain.legal.rules import WeightRule
from logistics.domain.legal.us_bridge import FOOT, LB, bridge_lb, group_lb, us_limits

# Feet between the outer axles, axles, pounds.
TABLE = [
    (9, 2, 39_000),
    (10, 2, 40_000),
    (9, 3, 42_500),
    (10, 3, 43_500),
    (12, 3, 45_000),
    (14, 3, 46_500),
    (16, 3, 48_000),
    (18, 3, 49_500),
    (19, 3, 50_000),
    (20, 3, 51_000),
    (22, 3, 52_500),
    (24, 3, 54_000),
    (28, 3, 57_000),
    (32, 3, 60_000),
    (12, 4, 50_000),
    (14, 4, 51_500),
    (16, 4, 52_500),
    (18, 4, 54_000),
    (19, 4, 54_500),
    (20, 4, 55_500),
    (22, 4, 56_500),
    (24, 4, 58_000),
    (28, 4, 60_500),
    (32, 4, 63_500),
    (35, 4, 65_500),
    (36, 4, 66_000),
    (38, 4, 67_500),
    (16, 5, 58_000),
    (18, 5, 59_000),
    (19, 5, 60_000),
    (20, 5, 60_500),
    (22, 5, 61_500),
    (24, 5, 63_000),
    (28, 5, 65_500),
    (32, 5, 68_000),
    (35, 5, 70_000),
    (36, 5, 70_500),
    (40, 5, 73_000),
    (43, 5, 75_000),
    (48, 5, 78_000),
    (51, 5, 80_000),
    (20, 6, 66_000),
    (22, 6, 67_000),
    (24, 6, 68_500),
    (28, 6, 71_000),
    (32, 6, 73_000),
    (35, 6, 75_000),
    (36, 6, 75_500),
    (40, 6, 78_000),
    (43, 6, 80_000),
]


def in_feet(*feet: float, tare_lb: float = 30_000) -> AxleLayout:
    axles = tuple(Axle(round(at * FOOT, 2)) for at in feet)
    return AxleLayout(axles, round(tare_lb * LB))


def limit_lb(layout: AxleLayout, first: int, last: int) -> int:
    """The least limit on these axles, counted from 1."""
    (own,) = us_limits(layout)
    found = [
        limit.most_kg / LB
        for limit in own.limits
        if (limit.first + 1, limit.last + 1) == (first, last)
    ]
    return round(min(found))


@pytest.mark.parametrize(("feet", "axles", "pounds"), TABLE)
def test_the_formula_gives_the_entries_of_the_table(feet, axles, pounds):
    assert bridge_lb(feet, axles) == pounds
    assert group_lb(feet, axles) == pounds


def test_more_than_eight_feet_is_no_tandem_any_more():
    """Rows "8 and less" and "more than 8" of the table: 34,000, then 38,000 and 42,000."""
    assert [group_lb(8, count) for count in (2, 3)] == [34_000, 34_000]
    assert [group_lb(8.1, count) for count in (2, 3)] == [38_000, 42_000]


def test_axles_within_forty_inches_are_one():
    """FHWA: axle centres not more than 40 in apart count as a single axle."""
    assert group_lb(round(40 / 12, 1), 2) == 20_000
    assert group_lb(round(42 / 12, 1), 2) == 34_000


def test_the_worked_truck_fails_at_its_inner_bridge_alone():
    """FHWA "Bridge Formula Weights": 12,000 / 17,000 x 2 / 17,000 x 2 lb; axles 1-3 over 20
    ft may carry 51,000, axles 1-5 over 51 ft 80,000, axles 2-5 over 35 ft only 65,500."""
    truck = in_feet(0, 16, 20, 47, 51)
    assert limit_lb(truck, 1, 3) == 51_000
    assert limit_lb(truck, 1, 5) == 80_000
    assert limit_lb(truck, 2, 5) == 65_500
    assert limit_lb(truck, 2, 5) < 17_000 * 4


def test_two_tandems_thirty_six_feet_apart_carry_34_000_each():
    """FHWA: the exception; one foot less and the formula holds."""
    assert limit_lb(in_feet(0, 16, 20, 48, 52), 2, 5) == 68_000
    assert limit_lb(in_feet(0, 16, 20, 47, 51), 2, 5) == 65_500
    # Not two tandems: the last axles stand 10 ft apart.
    assert limit_lb(in_feet(0, 16, 20, 42, 52), 2, 5) == 66_000


def test_the_gross_limit_caps_a_long_truck():
    """23 USC 127: 80,000 lb on the Interstate; in whole kg, rounded down, 36,287."""
    load = legal_load(in_feet(0, 15, 19, 52, 56), WeightRule.US)
    assert load.gross_kg == 36_287
    assert load.binds == "gross 80,000 lb"


def test_a_short_dump_truck_is_held_by_its_bridge():
    """Three axles over 19 ft: 50,000 lb by the table, though the axles alone would bear
    20,000 and 34,000."""
    load = legal_load(in_feet(0, 14.5, 19), WeightRule.US)
    assert load.gross_kg == int(50_000 * LB)
    assert load.payload_kg == load.gross_kg - load.tare_kg
    assert load.binds == "axles 1-3 over 19 ft: 50,000 lb"
