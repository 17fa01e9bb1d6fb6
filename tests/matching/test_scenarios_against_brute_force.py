"""Whole plans of small documents against trying everything (`tests/matching/brute_force.py`).

Outside source of every check here: the brute force, which shares no code with the project.
"""

from __future__ import annotations

from typing import Any

import pytest

from matching.domain.community import CommunityPlan
from tests.matching.brute_force import cheapest
from tests.matching.random_documents import random_world
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
    tonnes,
    wall,
)


def check(doc: Doc, *, proven: bool = True) -> CommunityPlan:
    """Plan the document and hold every figure that claims optimality against the truth.

    Where bales of two heaps might ride together the proof is not complete.
    """
    best = cheapest(doc)
    plan = planned(doc)
    gross = sum(abs(line.amount) for line in plan.lines)
    short = sum(own.dry_kg for own in plan.short)
    assert short == pytest.approx(best.short, abs=1.5)
    assert plan.total == pytest.approx(best.cost, abs=0.001 * gross)
    assert plan.bound.amount <= best.cost + 1
    assert not plan.hauls.unplanned
    assert plan.proven_optimal or not proven
    return plan


def supplied(doc: Doc, plan: CommunityPlan) -> dict[str, int]:
    """Moist kg taken of each offer."""
    found: dict[str, int] = {}
    for deal in plan.deals:
        key = doc["offers"][deal.offer]["key"]
        found[key] = found.get(key, 0) + deal.kg
    return found


def test_one_load_costs_what_its_parts_cost_by_hand():
    doc = document(
        {"depot": (0, 0), "yard": (10, 0), "site": (10, 20)},
        offers=[sand("sharp", "yard", 2000, loading_fee_minor=700)],
        builds=[build("hut", "site", needs=[needing("sand", 8)])],
        trucks=[tipper()],
    )
    plan = check(doc)
    # 8 t at 20.00; fee 7.00; call-out 50.00; 10 + 20 + 30 km at 1.00; 60 min of driving,
    # 15 of loading and 10 of tipping at 60.00 an hour.
    assert plan.total == 16_000 + 700 + 5000 + 6000 + 8500


@pytest.mark.parametrize("dear", [2100, 2600, 3500])
def test_a_dear_yard_next_door_against_a_cheap_one_far_away(dear):
    doc = document(
        {"depot": (0, 0), "near": (4, 0), "far": (35, 0), "site": (8, 0)},
        offers=[sand("close", "near", dear), sand("cheap", "far", 1800)],
        builds=[build("hut", "site", needs=[needing("sand", 27)])],
        trucks=[tipper()],
    )
    check(doc)


def wall_world(**rest: Any) -> Doc:
    """Fat clay, ready soil and sand around a wall of 9 m3 (16.1 t dry, at 15-25 % clay)."""
    parts: dict[str, Any] = {
        "offers": [
            soil("fat", "pit", 50, 0),
            soil("ready", "dig", 20, 500),
            sand("sharp", "yard", 2200),
        ],
        "builds": [build("hut", "site", walls=wall(9))],
        "trucks": [tipper(payload_kg=12_000)],
    }
    world = document(
        {
            "depot": (0, 0),
            "pit": (6, 0),
            "dig": (30, 0),
            "yard": (0, 12),
            "site": (8, 8),
            "farm": (2, 2),
        },
        **(parts | rest),
    )
    # Straw of its own cart, so that the mineral part decides.
    world["offers"] = [*world["offers"], bales("straw", "farm", 250, 60)]
    world["trucks"] = [*world["trucks"], flat_bed("cart", per_hour_minor=1000)]
    return world


@pytest.mark.parametrize("price", [200, 900, 1700])
def test_two_soils_and_sand_meet_the_clay_window_at_least_cost(price):
    doc = wall_world(
        offers=[
            soil("fat", "pit", 50),
            soil("ready", "dig", 20, price),
            sand("sharp", "yard", 2200),
        ]
    )
    plan = check(doc)
    assert all(
        b.window.clay_low - 1e-6 <= b.clay.likely <= b.window.clay_high + 1e-6
        for b in plan.blends
    )


def test_a_lean_and_a_rich_soil_do_without_sand():
    doc = wall_world(
        offers=[soil("lean", "dig", 9, -100), soil("rich", "pit", 40, 900)]
    )
    plan = check(doc)
    assert set(supplied(doc, plan)) == {"lean", "rich", "straw"}


def test_stones_and_water_are_paid_for_and_carried_but_do_not_count():
    doc = wall_world(
        offers=[
            soil("stony", "pit", 22, 300, material={"stones_percent": 25}),
            soil("wet", "pit", 22, 300, material={"moisture_percent": 40}),
            soil("clean", "dig", 22, 700),
        ]
    )
    check(doc)


def test_a_holder_who_pays_to_be_rid_of_it_is_paid_for_what_the_wall_takes():
    doc = wall_world(
        offers=[
            soil("paid", "dig", 45, -900),
            soil("free", "pit", 21),
            sand("sharp", "yard", 2600),
        ],
        objective="builders",
    )
    check(doc)


@pytest.mark.parametrize("objective", ["everyone", "builders"])
def test_avoided_tipping_counts_only_where_everybody_is_asked(objective):
    credit = {"tipping_minor_per_t": 1500, "haulage_minor_per_t": 600}
    doc = wall_world(
        offers=[
            soil("burden", "dig", 48, 0, disposal=credit),
            soil("ready", "pit", 20, 400),
            sand("sharp", "yard", 1500),
        ],
        objective=objective,
    )
    plan = check(doc)
    assert ("burden" in supplied(doc, plan)) == (objective == "everyone")


@pytest.mark.parametrize(
    ("need", "charge"), [(13, 4000), (13, 300), (17, 4000), (23, 2500)]
)
def test_part_loads_are_charged_load_by_load(need, charge):
    doc = document(
        {"depot": (0, 0), "yard": (10, 0), "other": (14, 0), "site": (5, 15)},
        offers=[
            sand(
                "strict",
                "yard",
                1800,
                part_load={"charge_minor": charge, "below_kg": 8000},
            ),
            sand("easy", "other", 2100),
        ],
        builds=[build("hut", "site", needs=[needing("sand", need)])],
        trucks=[tipper()],
    )
    check(doc)


@pytest.mark.parametrize("need", [3, 7, 14])
def test_a_lot_that_is_too_large_is_bought_whole_or_not_at_all(need):
    doc = document(
        {"depot": (0, 0), "yard": (10, 0), "other": (25, 0), "site": (5, 15)},
        offers=[
            sand("lots", "yard", 1000, min_lot=tonnes(9)),
            sand("free", "other", 2300),
        ],
        builds=[build("hut", "site", needs=[needing("sand", need)])],
        trucks=[tipper()],
    )
    check(doc)


@pytest.mark.parametrize("need", [4, 12])
def test_a_lot_is_no_leave_to_unload_more_than_the_lot_forces(need):
    """A holder who pays, and a smallest lot: beyond the lot only what is used is taken."""
    doc = document(
        {"depot": (0, 0), "pit": (10, 0), "site": (5, 15)},
        offers=[soil("heap", "pit", 20, -2500, min_lot=tonnes(9))],
        builds=[build("hut", "site", needs=[needing("subsoil", need)])],
        trucks=[tipper(payload_kg=20_000)],
    )
    plan = check(doc)
    assert supplied(doc, plan)["heap"] == pytest.approx(max(need, 9) * 1000, abs=2)


@pytest.mark.parametrize("need", [4, 11, 20])
def test_whole_loads_come_whole(need):
    doc = document(
        {"depot": (0, 0), "yard": (10, 0), "other": (18, 0), "site": (5, 15)},
        offers=[
            sand("full", "yard", 1200, whole_loads=True),
            sand("any", "other", 2000),
        ],
        builds=[build("hut", "site", needs=[needing("sand", need)])],
        trucks=[tipper()],
    )
    plan = check(doc)
    assert supplied(doc, plan).get("full", 0) % 10_000 == 0


def test_bales_are_whole_and_fill_the_bed_before_they_weigh():
    doc = document(
        {"depot": (0, 0), "farm": (10, 0), "barn": (3, 9), "site": (5, 15)},
        offers=[
            bales("field", "farm", 180, 70, material={"bale_kg": 14}),
            bales("stored", "barn", 260, 90),
        ],
        builds=[build("hut", "site", needs=[needing("straw", 1.1)])],
        trucks=[flat_bed(body_m3=9)],
    )
    check(doc, proven=False)


def test_a_large_truck_and_a_small_one_share_a_day():
    doc = document(
        {"depot": (0, 0), "yard": (12, 0), "site": (12, 30)},
        offers=[sand("sharp", "yard", 1500)],
        builds=[build("hut", "site", needs=[needing("sand", 46)])],
        trucks=[
            tipper(
                "large", payload_kg=18_000, per_hour_minor=9000, call_out_minor=9000
            ),
            tipper("small", payload_kg=7000, per_hour_minor=4500, call_out_minor=2000),
        ],
    )
    check(doc)


def test_a_lunch_break_is_waited_out_or_driven_around():
    hours = [
        {"opens": "08:00", "closes": "12:00"},
        {"opens": "13:30", "closes": "16:30"},
    ]
    doc = document(
        {"depot": (0, 0), "pit": (20, 0), "yard": (0, 25), "site": (15, 15)},
        offers=[soil("clay", "pit", 45), sand("sharp", "yard", 1500)],
        builds=[
            build(
                "hut",
                "site",
                needs=[needing("subsoil", 19), needing("sand", 18, key="grit")],
            )
        ],
        trucks=[tipper(), tipper("second", call_out_minor=12_000)],
        hours={"site": hours, "yard": hours},
    )
    check(doc)


def test_two_short_days_of_one_truck():
    doc = document(
        {"depot": (0, 0), "pit": (20, 0), "yard": (0, 25), "site": (15, 15)},
        offers=[soil("clay", "pit", 45), sand("sharp", "yard", 1500)],
        builds=[
            build(
                "hut",
                "site",
                needs=[needing("subsoil", 19), needing("sand", 18, key="grit")],
            )
        ],
        trucks=[tipper(max_shift_hours=5)],
        last_day="2027-04-06",
    )
    check(doc)


def test_two_builds_share_what_one_yard_holds():
    doc = document(
        {
            "depot": (0, 0),
            "yard": (5, 0),
            "other": (30, 5),
            "north": (8, 12),
            "south": (20, -6),
        },
        offers=[sand("scarce", "yard", 1000, held=14), sand("plenty", "other", 1900)],
        builds=[
            build("hut", "north", needs=[needing("sand", 9)]),
            build("oven", "south", needs=[needing("sand", 12)]),
        ],
        trucks=[tipper(payload_kg=14_000)],
    )
    check(doc)


def test_as_little_as_can_be_stays_short_and_that_at_least_cost():
    doc = wall_world(
        offers=[soil("fat", "pit", 50, 0, held=3), sand("sharp", "yard", 2200)],
    )
    plan = check(doc)
    # 3 t moist of 50 % clay give 1.271 t of dry clay: no more than 8.47 t at 15 %.
    assert plan.short[0].dry_kg == pytest.approx(
        9 * 1650 * 1.1 * 0.985 - 3000 / 1.18 / 0.3, abs=2
    )


def test_deciding_the_supply_before_the_shifts_would_be_dearer():
    """Round trips from the near yard are shorter: 40 km against 60 km. But the far yard
    lies on the way from the depot to the site, where one load of clay is wanted as well."""
    doc = document(
        {
            "depot": (25, 40),
            "pit": (0, 20),
            "site": (10, 15),
            "near": (20, 5),
            "far": (15, 40),
        },
        offers=[
            soil("clay", "pit", 45),
            sand("close", "near", 1500),
            sand("distant", "far", 1500),
        ],
        builds=[
            build(
                "hut",
                "site",
                needs=[needing("sand", 10), needing("subsoil", 10, key="earth")],
            )
        ],
        trucks=[tipper(call_out_minor=0)],
    )
    plan = check(doc)
    # 10 + 30 + 15 + 15 + 40 = 110 km against 40 + 20 + 15 + 15 + 40 = 130 km.
    assert set(supplied(doc, plan)) == {"distant", "clay"}
    by_round_trips = {**doc, "offers": doc["offers"][:2]}
    assert check(by_round_trips).total - plan.total == 20 * (100 + 100)


def test_whole_loads_are_no_leave_to_unload_one_more():
    """A holder who pays, in whole loads: as many as the need takes and not one beyond."""
    doc = document(
        {"depot": (0, 0), "pit": (10, 0), "site": (5, 15)},
        offers=[soil("heap", "pit", 20, -2500, whole_loads=True)],
        builds=[build("hut", "site", needs=[needing("subsoil", 15)])],
        trucks=[tipper()],
    )
    plan = check(doc)
    assert supplied(doc, plan)["heap"] == 20_000


RANDOM_WORLDS = 30


@pytest.mark.parametrize("seed", range(RANDOM_WORLDS))
def test_random_small_worlds(seed):
    check(random_world(seed))


@pytest.mark.parametrize("seed", [20, 25, 35, 75, 84, 92, 99])
def test_a_day_that_is_too_short_is_explained_and_no_error_of_the_solver(seed):
    """What is not planned could not all be planned, and the planner says why."""
    doc = random_world(seed) | {"last_day": "2027-04-05"}
    for truck in doc["trucks"]:
        truck["max_shift_hours"] = 4
    plan = planned(doc)
    assert not plan.complete
    assert cheapest(doc).short > 1
    assert all(own.reasons and own.remedy for own in plan.hauls.unplanned)
