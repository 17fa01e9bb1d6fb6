"""Loads against published worked examples and plain facts about materials."""

from __future__ import annotations

import math

from logistics.domain.loads import Bound, PartLoadTerms, body_capacity, cut_into_loads

YD3 = 0.9144**3
"""A cubic yard in m3 (exact: the yard is 0.9144 m)."""
CLAY_WET = 1660.0
"""Loose wet clay, kg/m3: handbook-derived density table (Caterpillar)."""


def test_1000_bank_yards_of_dense_clay_are_186_loads_of_7_yards() -> None:
    """Source: Dagostino and Peterson, Estimating in Building Construction, example 9-2:
    1000 BCY at 30 % swell are 1300 LCY, 186 loads of a truck that holds 7 yd3."""
    loose_m3 = 1000 * 1.30 * YD3
    one = body_capacity(payload_kg=100_000, body_m3=7 * YD3, loose_kg_per_m3=1000.0)
    assert one.bound is Bound.VOLUME
    total_kg = math.floor(loose_m3 * 1000.0)
    trips = -(-total_kg // one.kg)
    assert trips == 186
    loads = cut_into_loads(total_kg, [one.kg] * trips, terms=PartLoadTerms())
    assert sum(loads) == total_kg
    assert min(loads) > 0


def test_wet_clay_weighs_out_before_the_body_is_full() -> None:
    """Source: loose wet clay 1660 kg/m3 (Caterpillar-derived table); a 32 t tipper with
    about 19.5 t payload and a body of 15 m3 (common practice, no source)."""
    clay = body_capacity(payload_kg=19_500, body_m3=15.0, loose_kg_per_m3=CLAY_WET)
    assert clay.bound is Bound.MASS
    assert clay.kg == 19_500
    assert clay.kg / CLAY_WET < 15.0


def test_straw_fills_the_body_long_before_the_payload_is_used() -> None:
    """Source: straw bales are 90 to 120 kg/m3 (strawtec.com.au); very dry straw cannot
    even fill a lorry's weight (farming press, 2013). Small bales weigh 16 kg."""
    straw = body_capacity(
        payload_kg=12_000, body_m3=40.0, loose_kg_per_m3=105.0, unit_kg=16
    )
    assert straw.bound is Bound.VOLUME
    assert straw.kg == 4_192
    assert straw.kg % 16 == 0


def test_loads_escape_the_part_load_charge_where_that_is_possible() -> None:
    """Property: 27 t in two trucks of 18 t need no load below 12 t."""
    terms = PartLoadTerms(charge=5_000, below_kg=12_000)
    loads = cut_into_loads(27_000, [18_000, 18_000], terms=terms)
    assert sum(loads) == 27_000
    assert min(loads) >= 12_000


def test_bales_are_never_cut() -> None:
    """Common practice, no source."""
    loads = cut_into_loads(
        16 * 301, [16 * 200, 16 * 200], unit_kg=16, terms=PartLoadTerms(900, 2_000)
    )
    assert all(kg % 16 == 0 for kg in loads)
    assert sum(loads) == 16 * 301
    assert min(loads) >= 2_000
