"""Quantities as people write them: state or basis required, units by their definition."""

from __future__ import annotations

import json
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.documents.problems import read_document
from api.documents.quantity import MassUnit, Quantity, VolumeUnit, in_si
from logistics.domain.errors import Refused
from logistics.domain.materials import BULK, Earth
from logistics.domain.quantities import MassBasis, VolumeState

EARTH = BULK[Earth.COMMON_EARTH]
UNITS = (*get_args(VolumeUnit), *get_args(MassUnit))
amounts = st.floats(min_value=1e-3, max_value=1e6)


def read(**fields: Any) -> Quantity:
    return read_document(Quantity, json.dumps(fields).encode())


def code(**fields: Any) -> str:
    with pytest.raises(Refused) as refusal:
        read(**fields)
    return refusal.value.problems[0].code


@pytest.mark.parametrize("unit", get_args(VolumeUnit))
def test_a_volume_without_its_state_is_refused(unit):
    assert code(amount=1, unit=unit) == "volume_without_state"
    assert code(amount=1, unit=unit, state="loose", basis="dry") == "state_and_basis"


@pytest.mark.parametrize("unit", get_args(MassUnit))
def test_a_mass_without_its_basis_is_refused(unit):
    assert code(amount=1, unit=unit) == "mass_without_basis"
    assert code(amount=1, unit=unit, state="loose", basis="dry") == "state_and_basis"


def test_bales_have_neither_and_are_whole():
    assert read(amount=3, unit="bale").amount == 3
    assert code(amount=3, unit="bale", basis="moist") == "state_and_basis"
    assert code(amount=2.5, unit="bale") == "part_of_a_bale"


@given(amounts, st.sampled_from(UNITS))
def test_there_and_back_again_is_the_same_amount(amount, unit):
    """Property: a unit is a factor."""
    assert in_si(amount, unit) / in_si(1, unit) == pytest.approx(amount, rel=1e-12)


@given(amounts)
def test_a_cubic_yard_is_twenty_seven_cubic_feet(amount):
    """By definition of the yard: 3 ft."""
    assert in_si(amount, "yd3") == pytest.approx(in_si(27 * amount, "ft3"), rel=1e-12)


@given(amounts, st.floats(0, 0.5))
def test_dry_and_moist_differ_by_the_water(amount, moisture):
    """Property."""
    dry = read(amount=amount, unit="t", basis="dry")
    moist = read(amount=amount, unit="t", basis="moist")
    assert moist.moist_kg(EARTH, moisture) == pytest.approx(1000 * amount)
    assert dry.moist_kg(EARTH, moisture) == pytest.approx(
        1000 * amount * (1 + moisture)
    )


@given(amounts, st.sampled_from(get_args(VolumeUnit)))
def test_the_same_volume_is_more_in_the_ground_than_in_the_truck(amount, unit):
    """Property: earth swells when it is dug."""
    bank = read(amount=amount, unit=unit, state="bank").moist_kg(EARTH, 0.18)
    loose = read(amount=amount, unit=unit, state="loose").moist_kg(EARTH, 0.18)
    assert bank == pytest.approx(1.25 * loose)


def test_a_placed_volume_of_supply_is_refused():
    placed = read(amount=1, unit="m3", state="placed")
    assert placed.state is VolumeState.PLACED
    with pytest.raises(Refused) as refusal:
        placed.moist_kg(EARTH, 0.18)
    assert refusal.value.problems[0].code == "placed_volume_of_supply"


def test_words_become_their_kinds():
    assert read(amount=1, unit="lb", basis="dry").basis is MassBasis.DRY
    assert code(amount=1, unit="lb", basis="damp") == "enum"
    assert code(amount="1", unit="lb", basis="dry") == "float_type"
