"""What a blend must keep: clay in a window, fines below a limit, at both ends if asked."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.materials import Bale
from logistics.domain.quantities import Spread
from matching.domain.blends import BlendWindow, blended
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
from tests.matching.small_documents import (
    Doc,
    build,
    document,
    planned,
    sand,
    soil,
    tipper,
    wall,
)

PLACES = {
    "depot": (0, 0),
    "pit": (3, 0),
    "dig": (12, 0),
    "yard": (0, 20),
    "site": (4, 4),
}


def ground(clay: float, silt: float | None = None, doubt: float = 0.0) -> Subsoil:
    spread = Spread(max(0.0, clay - doubt), clay, min(1.0, clay + doubt))
    quiet = None if silt is None else Spread.exactly(silt)
    return Subsoil(spread, quiet, history=History.CLEAR)


def world(offers: list[Doc], **rest: Any) -> Doc:
    return document(
        PLACES,
        offers=offers,
        builds=[
            build("hut", "site", walls=wall(9), mix={"straw_percent": {"likely": 0}})
        ],
        trucks=[tipper()],
        **rest,
    )


def test_old_cob_is_inside_the_window():
    """Williams-Ellis, Cottage Building in Cob, analysis of old cob: clay 20.6 %, sand and
    stones 76.6 % (seen published)."""
    assert BlendWindow.of(MixTarget()).admits(ground(0.206, 0.02))


def test_a_silty_loam_is_not_a_wall_by_its_clay_alone():
    """Ready-mix subsoil has more than half of coarse sand (practitioners, seen published):
    20 % clay with 65 % silt leaves 15 %."""
    window = BlendWindow.of(MixTarget())
    assert not window.admits(ground(0.20, 0.65))
    assert window.admits(ground(0.20, 0.25))


def test_unmeasured_silt_is_guessed_at_a_third_of_the_rest():
    """Ours, stated: nothing is refused for a figure that nobody gave."""
    assert BlendWindow.of(MixTarget()).admits(ground(0.20))


def test_straw_has_neither_clay_nor_silt():
    straw = Straw(StrawRecord(Plant.WHEAT, 300, 0.14), Bale(16, 0.15))
    clay, fines = blended(((straw, 1.0), (ground(0.4, 0.2), 3.0)))
    assert clay.likely == pytest.approx(0.3)
    assert fines.likely == pytest.approx(0.45)


def test_silt_makes_the_plan_buy_sand():
    """28 % clay and 50 % silt: 0.78 x <= 0.50 leaves at most 64.1 % of soil and, with free
    soil and dear sand, no less; the clay of the blend, 17.9 %, is inside."""
    silty = soil("dig", "dig", 28, 0, material={"silt_percent": {"likely": 50}})
    plan = planned(world([silty, sand("sharp", "yard", 2200)]))
    (blend,) = plan.blends
    assert plan.complete
    assert blend.fines.likely <= 0.50 + 1e-6
    assert blend.fines.likely == pytest.approx(0.50, abs=0.02)
    assert 0.15 <= blend.clay.likely <= 0.185


def test_clay_with_too_much_silt_for_any_sand_is_said_to_be_short():
    """12 % clay in 80 % silt: cut to half fines it has 6.5 % clay, under 15."""
    silty = soil("dig", "dig", 16, 0, material={"silt_percent": {"likely": 80}})
    plan = planned(world([silty, sand("sharp", "yard", 2200)]))
    (short,) = plan.short
    assert "no blend" in short.reason


def test_a_safe_plan_keeps_the_window_at_both_ends():
    """25 to 35 % clay, cut so that the high end has 25 %, has 17.9 % at the low end."""
    loam = soil(
        "dig",
        "dig",
        30,
        0,
        material={"clay_percent": {"likely": 30, "low": 25, "high": 35}},
    )
    doc = world([loam, sand("sharp", "yard", 2200)])
    plain, safe = planned(doc), planned(doc | {"certainty": "safe"})
    assert plain.safety is None
    assert plain.blends[0].in_doubt
    assert not safe.blends[0].in_doubt
    assert safe.blends[0].clay.high <= 0.25 + 1e-6
    assert safe.safety is not None
    assert safe.safety.plain_total == plain.total
    assert safe.safety.price == safe.total - plain.total > 0


def test_a_range_too_wide_for_safety_asks_for_a_test():
    """15 to 45 %: what is not too rich at one end is too lean at the other (45 / 15 is more
    than 25 / 15)."""
    loam = soil(
        "dig",
        "dig",
        30,
        0,
        material={"clay_percent": {"likely": 30, "low": 15, "high": 45}},
    )
    doc = world([loam, sand("sharp", "yard", 2200)], certainty="safe")
    (short,) = planned(doc).short
    assert "test" in short.reason


shares = st.floats(0.0, 0.6)


@given(st.lists(st.tuples(shares, shares, st.floats(1.0, 1e4)), min_size=1, max_size=5))
def test_the_rules_say_what_the_blend_says(parts):
    """Property: the sum of excesses times mass has the sign of the blend's own excess."""
    window = BlendWindow.of(MixTarget())
    used: list[tuple[Material, float]] = [
        (ground(clay, silt * (1 - clay)), kg) for clay, silt, kg in parts
    ]
    clay, fines = blended(tuple(used))
    total = sum(kg for _, kg in used)
    lean, rich, fine = (
        sum(window.excesses(own)[rule] * kg for own, kg in used) / total
        for rule in range(3)
    )
    assert lean == pytest.approx(window.clay_low - clay.likely, abs=1e-9)
    assert rich == pytest.approx(clay.likely - window.clay_high, abs=1e-9)
    assert fine == pytest.approx(fines.likely - window.most_fines, abs=1e-9)


@given(shares, st.floats(0.0, 0.1), st.floats(0.0, 0.1))
def test_more_doubt_never_makes_a_material_safe(clay, doubt, more):
    """Property: widening what is known never admits what was not admitted."""
    safe = BlendWindow.of(MixTarget(), safe=True)
    if not safe.admits(ground(clay, 0.1, doubt)):
        assert not safe.admits(ground(clay, 0.1, doubt + more))


def test_sieved_sand_brings_its_silt():
    dirty = Sand(
        SandRecord(Called.CONCRETE), Spread.exactly(0.1), silt=Spread.exactly(0.05)
    )
    _, fines = blended(((dirty, 1.0),))
    assert fines.likely == pytest.approx(0.15)


def test_no_heap_is_tipped_at_a_build_for_the_fee_that_its_holder_saves():
    """Common practice, no source: what no wall takes is still to be tipped, only elsewhere.
    The ready soil has the most clay that the mix takes, so the marl is of no use."""
    credit = {"tipping_minor_per_t": 9000}
    lot = {"amount": 10, "unit": "t", "basis": "moist"}
    marl = soil("marl", "dig", 60, 0, disposal=credit, min_lot=lot)
    plan = planned(world([soil("ready", "pit", 25, 500), marl]))
    assert plan.complete
    assert [deal.offer for deal in plan.deals] == [0]


def test_what_a_lot_brings_too_much_is_told_and_saves_no_tipping():
    """9 m3 of wall want 9 x 1.65 x 1.1 = 16.3 t dry, 19.3 t moist; the lot is 25 t."""
    credit = {"tipping_minor_per_t": 1000}
    lot = {"amount": 25, "unit": "t", "basis": "moist"}
    plan = planned(world([soil("ready", "pit", 20, 0, disposal=credit, min_lot=lot)]))
    (deal,) = plan.deals
    assert deal.kg == 25_000
    assert deal.used_kg == pytest.approx(19_275, abs=10)
    (line,) = [own for own in plan.lines if own.kind == "tipping_avoided"]
    assert line.amount == -round(deal.used_kg * 1000 / 1000)
