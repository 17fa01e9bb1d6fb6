"""Room for bales on site."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from logistics.domain.errors import Refused
from matching.domain.straws.bales import FORMS, BaleForm
from matching.domain.straws.keeping import ADVICE, Keeping, keeping


def test_thirty_small_bales_by_hand():
    """The project's worked build: 30 small bales are 3.6 m3 under cover. Five layers of
    six, 0.4 m2 each: 2.4 m2, 2 pallets to a layer, 1.8 m high on two layers of pallets."""
    stack = keeping(30, BaleForm.SMALL_CONVENTIONAL)
    assert stack.volume_m3 == pytest.approx(3.6)
    assert stack.layers == 5
    assert stack.footprint_m2 == pytest.approx(2.4)
    assert stack.pallets == 4
    assert stack.height_m == pytest.approx(1.8)
    assert stack.tarpaulin_m2 > stack.footprint_m2


def test_round_bales_are_not_stacked():
    """Common practice, no source: they roll."""
    assert keeping(4, BaleForm.ROUND_4_4).layers == 1


def test_stacks_stand_ten_metres_apart_and_bales_come_just_in_time():
    """Fire services (seen): at least 10 m; a straw-bale builder (seen): the same week, two
    layers of pallets, a tarpaulin with open sides."""
    stack = keeping(1, BaleForm.TWO_STRING)
    assert stack.between_stacks_m == 10
    by_code = {advice.code: advice.text for advice in stack.advice}
    assert "roof is up" in by_code["just_in_time"]
    assert "two layers of pallets" in by_code["off_the_ground"]
    assert "sides open" in by_code["cover"]
    assert all(advice.source for advice in ADVICE)


@given(st.integers(1, 2000), st.sampled_from(BaleForm))
def test_a_stack_has_room_for_its_bales(bales, form):
    """Property: places on the layers are at least the bales; pallets carry the footprint."""
    stack = keeping(bales, form)
    facts = FORMS[form]
    places = stack.layers * stack.footprint_m2 / (facts.length_m * facts.width_m)
    assert bales - 1e-6 <= places < bales + stack.layers
    assert stack.pallets / 2 * 1.2 >= stack.footprint_m2 - 1e-6
    stored = TypeAdapter(Keeping)
    assert stored.validate_json(stored.dump_json(stack)) == stack


@pytest.mark.parametrize("bales", [0, -3])
def test_a_stack_of_nothing_is_refused(bales):
    """Property."""
    with pytest.raises(Refused) as refusal:
        keeping(bales, BaleForm.TWO_STRING)
    assert refusal.value.problems[0].code == "no_bales"
