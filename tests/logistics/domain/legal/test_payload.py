"""Payload, binding limit, the load in the middle of the body, and weak roads."""

from __future__ import annotations

from datetime import date
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from logistics.domain.errors import Refused
from logistics.domain.legal.axles import Axle, AxleLayout, whole_tare
from logistics.domain.legal.limits import GroupLimit, most_gross
from logistics.domain.legal.payload import DECIDES, legal_load
from logistics.domain.legal.rules import WeightRule
from logistics.domain.legal.seasons import WeakRoads

EIGHT = AxleLayout(
    (
        Axle(0, steered=True, tare_kg=3_400),
        Axle(1.95, steered=True, tare_kg=3_300),
        Axle(5.25, driven=True, twin_tyres=True, tare_kg=2_900),
        Axle(6.6, driven=True, twin_tyres=True, tare_kg=2_900),
    ),
    tare_kg=12_500,
    road_friendly=True,
    body_centre_m=4.2,
)


def test_an_eight_wheeler_carries_its_gross_less_its_tare():
    """UK: 32 t less 12.5 t is 19.5 t; rule 12 of the job: about 19 to 20 t."""
    load = legal_load(EIGHT, WeightRule.UK)
    assert load.payload_kg == 19_500
    assert load.loaded_kg == 19_500 == load.centred_kg
    assert load.binding == "rigid truck with 4 axles: 32,000 kg"
    assert load.source.startswith("Road Vehicles (Authorised Weight)")


def test_the_load_is_levered_over_the_axles():
    """Levers by hand: front pair at 0.975, rear pair at 5.925 m, the load at 4.2 m."""
    back = (4.2 - 0.975) / (5.925 - 0.975)
    shares = EIGHT.load_shares
    assert shares == pytest.approx([(1 - back) / 2, (1 - back) / 2, back / 2, back / 2])
    groups = {own.words: own for own in legal_load(EIGHT, WeightRule.UK).groups}
    rear = groups["axles 3 and 4, 1.35 m apart: 19,000 kg"]
    assert rear.carried_kg == round(5_800 + 19_500 * back)
    assert rear.keeps
    assert groups["rigid truck with 4 axles: 32,000 kg"].carried_kg == 32_000


def test_a_body_too_far_back_is_stopped_by_its_rear_axles():
    """Levers by hand: (5.3 - 0.975) / 4.95 of the load may weigh 19,000 - 5,800 kg."""
    far = AxleLayout(EIGHT.axles, 12_500, road_friendly=True, body_centre_m=5.3)
    load = legal_load(far, WeightRule.UK)
    assert load.payload_kg == 19_500
    assert load.centred_kg == int(13_200 * 4.95 / 4.325)
    assert load.loaded_kg == load.centred_kg
    assert load.binding.endswith("with the load in the middle of the body")
    assert any(not own.keeps for own in load.groups)


def test_a_semi_trailer_leans_on_its_tractor():
    """Levers by hand: kingpin at 3 m, trailer axles about 10 m, the body's middle at 7 m:
    3/7 of the load on the kingpin, of which 3.0 / 3.6 on the driving axle."""
    semi = AxleLayout(
        tuple(Axle(at) for at in (0, 3.6, 8.7, 10.0, 11.3)),
        14_500,
        trailer_axles=3,
        kingpin_m=3.0,
        body_centre_m=7.0,
    )
    pin = 3 / 7
    assert semi.load_shares == pytest.approx(
        [pin * (1 - 3 / 3.6), pin * 3 / 3.6, *[(1 - pin) / 3] * 3]
    )


def test_a_drawbar_and_an_unknown_middle_are_not_guessed():
    drawbar = AxleLayout(
        tuple(Axle(at) for at in (0, 5, 9, 13)),
        12_000,
        trailer_axles=2,
        body_centre_m=5,
    )
    assert drawbar.load_shares is None
    plain = AxleLayout(EIGHT.axles, 12_500, road_friendly=True)
    load = legal_load(plain, WeightRule.UK)
    assert (load.groups, load.centred_kg, load.loaded_kg) == ((), None, 19_500)


def test_the_plate_counts_where_it_is_less():
    """Common practice, no source: never beyond the plate, whatever the rule gives."""
    load = legal_load(EIGHT, WeightRule.UK, plated_kg=30_000)
    assert load.payload_kg == 17_500
    assert load.binds == "plated weight: 30,000 kg"
    assert legal_load(EIGHT, WeightRule.UK, plated_kg=40_000).payload_kg == 19_500
    stated = legal_load(EIGHT, WeightRule.PLAIN, stated_kg=11_000)
    assert (stated.payload_kg, stated.binds) == (11_000, "payload stated: 11,000 kg")


def test_a_third_less_on_the_axles_is_more_than_half_of_the_payload():
    """Frost law: axles cut by 35 % (en.wikipedia.org/wiki/Frost_law). 0.65 x 32 t less the
    tare of 12.5 t leaves 8.3 of 19.5 t."""
    load = legal_load(EIGHT, WeightRule.UK, share=0.65)
    assert load.payload_kg == 8_300
    assert load.payload_kg / 19_500 < 0.65


def test_an_empty_truck_too_heavy_for_weak_roads_is_refused():
    with pytest.raises(Refused) as refusal:
        legal_load(EIGHT, WeightRule.UK, share=0.35)
    assert refusal.value.problems[0].code == "empty_too_heavy"
    plain = AxleLayout((Axle(0), Axle(4)), 9_000)
    with pytest.raises(Refused, match="nothing may be loaded"):
        legal_load(plain, WeightRule.PLAIN, plated_kg=18_000, share=0.5)


def test_nothing_calls_a_truck_legal():
    assert "legal" not in DECIDES
    assert "driver" in DECIDES


@given(
    st.lists(st.integers(1_000, 12_000), min_size=3, max_size=5),
    st.data(),
)
def test_the_largest_gross_is_that_of_a_linear_programme(singles, data):
    """Against SciPy's HiGHS: the most that all axles carry under all group limits."""
    count = len(singles)
    limits = [GroupLimit(n, n, kg, "axle") for n, kg in enumerate(singles)]
    for first, last in product(range(count), repeat=2):
        if first < last and data.draw(st.booleans()):
            kg = data.draw(st.integers(1_000, 30_000))
            limits.append(GroupLimit(first, last, kg, "group"))
    tares = [data.draw(st.integers(0, 300)) for _ in range(count)]
    rows = np.array(
        [[own.first <= n <= own.last for n in range(count)] for own in limits]
    )
    answer = linprog(
        -np.ones(count),
        A_ub=rows.astype(float),
        b_ub=[own.most_kg for own in limits],
        bounds=[(tare, None) for tare in tares],
    )
    found = most_gross(limits, tares, count)
    if answer.status == 2:
        assert found is None
    else:
        assert found is not None
        assert answer.x is not None
        assert found.kg == pytest.approx(float(answer.x.sum()))


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"axles": (Axle(0),)}, "axles"),
        ({"axles": (Axle(1), Axle(3))}, "axles.0.at_m"),
        ({"axles": (Axle(0), Axle(3), Axle(3.2))}, "axles.2.at_m"),
        ({"axles": (Axle(0), Axle(3)), "trailer_axles": 2}, "trailer_axles"),
        ({"axles": (Axle(0), Axle(3)), "kingpin_m": 2.0}, "kingpin_m"),
    ],
)
def test_axles_that_cannot_be_are_refused_by_field(fields, field):
    with pytest.raises(Refused) as refusal:
        AxleLayout(**{"tare_kg": 8_000} | fields)
    assert refusal.value.problems[0].field == field


def test_the_tare_is_said_once_or_alike():
    axles = (Axle(0, tare_kg=4_000), Axle(4, tare_kg=5_000))
    assert whole_tare(axles, None) == whole_tare(axles, 9_000) == 9_000
    assert whole_tare((Axle(0), Axle(4)), 9_000) == 9_000
    with pytest.raises(Refused, match="do not weigh what the truck weighs"):
        whole_tare(axles, 9_500)
    with pytest.raises(Refused, match="empty mass"):
        whole_tare((Axle(0), Axle(4, tare_kg=5_000)), None)


def test_weak_roads_include_their_first_and_last_day():
    thaw = WeakRoads(date(2026, 3, 1), date(2026, 5, 31), 65)
    days = (date(2026, 2, 28), date(2026, 3, 1), date(2026, 5, 31), date(2026, 6, 1))
    assert [thaw.on(day) for day in days] == [False, True, True, False]
    with pytest.raises(Refused, match="end before they begin"):
        WeakRoads(date(2026, 5, 1), date(2026, 3, 1))
    with pytest.raises(Refused, match="65 if 35 % are cut"):
        WeakRoads(date(2026, 3, 1), date(2026, 5, 1), 0)
