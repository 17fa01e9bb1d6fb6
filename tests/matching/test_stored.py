"""The stored form of values: read back exactly, through JSON."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.materials import Bale, Earth
from logistics.domain.quantities import Spread
from matching.domain import stored
from matching.domain.materials import (
    History,
    Sand,
    Straw,
    Subsoil,
    cargo,
)
from matching.domain.requests import PlanRequest
from matching.domain.sands.records import Called, SandRecord
from matching.domain.straws.records import Plant, StrawRecord
from matching.domain.takeoff import MixTarget
from matching.domain.walls.wall import Opening

shares = st.floats(0, 1)
spreads = st.lists(shares, min_size=3, max_size=3).map(lambda own: Spread(*sorted(own)))
materials = (
    st.builds(
        Subsoil,
        clay=spreads,
        earth=st.sampled_from(Earth),
        stones=shares,
        organic=shares,
        topsoil=st.booleans(),
        history=st.sampled_from(History),
        moisture=spreads,
    )
    | st.builds(
        Sand,
        record=st.builds(SandRecord, called=st.sampled_from(Called)),
        clay=spreads,
        silt=st.none() | spreads,
        moisture=spreads,
    )
    | st.builds(
        Straw,
        record=st.builds(
            StrawRecord,
            plant=st.sampled_from(Plant),
            strand_mm=st.none() | st.floats(1, 2000),
            moisture=st.none() | st.floats(0, 0.99),
        ),
        bale=st.builds(Bale, st.integers(1, 1000), st.floats(0.01, 10)),
    )
)
requests = st.builds(
    PlanRequest,
    build_ids=st.lists(st.integers(1, 2**62), unique=True).map(tuple),
    first_day=st.just(date(2026, 3, 2)),
    last_day=st.dates(date(2026, 3, 2), date(2026, 4, 1)),
    truck_ids=st.none() | st.lists(st.integers(1, 9), unique=True).map(tuple),
    reach_m=st.integers(1, 10**6),
    count_disposal=st.booleans(),
    name=st.text(max_size=120),
)


def through_json(value: Any) -> Any:
    return json.loads(json.dumps(value))


@given(materials)
def test_materials_are_read_back_exactly(material):
    """Property."""
    kept = through_json(stored.dump_material(material))
    assert stored.load_material(cargo(material), kept) == material


@given(requests)
def test_requests_are_read_back_exactly(request):
    """Property."""
    assert stored.load_request(through_json(stored.dump_request(request))) == request


@given(spreads, spreads, st.floats(0.01, 0.99))
def test_mixes_are_read_back_exactly(straw, waste, clay):
    """Property."""
    mix = MixTarget(clay, clay, clay, straw=straw, waste=waste, reference_clay=1.0)
    assert stored.load_mix(through_json(stored.dump_mix(mix))) == mix


@given(st.lists(st.builds(Opening, st.floats(0.1, 9), st.floats(0.1, 9))).map(tuple))
def test_openings_are_read_back_exactly(openings):
    """Property."""
    assert (
        stored.load_openings(through_json(stored.dump_openings(openings))) == openings
    )
