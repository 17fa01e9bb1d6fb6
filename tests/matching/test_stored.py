"""The stored form of values: read back exactly, through JSON."""

from __future__ import annotations

import json
from datetime import date, time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.calendar import Span, WeeklyHours
from logistics.domain.materials import Bale, Earth
from logistics.domain.quantities import Spread
from matching.domain import stored
from matching.domain.lifts.crew import DIGGER, Crew
from matching.domain.lifts.lifting import Drying, WorkPattern
from matching.domain.lifts.merging import LeastLoad
from matching.domain.lifts.progress import Built, Received
from matching.domain.lifts.pulses import Kind as Pulses
from matching.domain.lifts.pulses import Lead
from matching.domain.lifts.schedule import Schedule
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
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.wall import Kind, Opening, Wall

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


WALLS = [
    Wall.straight(6, 2.4, 0.5, (Opening(0.9, 2.0),)),
    Wall(
        run=Path(0.1, 0.2, (Leg(4, 0, rise_m=0.7), Leg(4, 3))),
        height=((0.0, 2.0), (1.5, 3.1), (3.0, 2.0)),
        thickness_m=0.6,
        openings=(Opening(0.8, 0.9, 0.5, 0.8, 0.15, 0.3),),
        top_thickness_m=0.45,
        kind=Kind.INNER,
        plinth_m=0.3,
        name="gable",
    ),
]


@pytest.mark.parametrize("wall", WALLS)
def test_walls_are_read_back_exactly(wall):
    """Property."""
    assert stored.load_wall(through_json(stored.dump_wall(wall))) == wall


figures = st.lists(st.floats(0, 30), min_size=3, max_size=3).map(
    lambda own: Spread(*sorted(own))
)
days = st.dates(date(2027, 1, 1), date(2027, 12, 31))
crews = st.builds(
    Crew,
    novices=figures,
    trained=figures,
    machine=st.none() | st.just(DIGGER),
    no_show=spreads,
)
schedules = st.builds(
    Schedule,
    crew=crews,
    pattern=st.builds(
        WorkPattern,
        first_day=days,
        weekdays=st.sets(st.integers(0, 6), min_size=1).map(tuple),
        days_off=st.lists(days, max_size=3).map(tuple),
        rain_share=st.just(Spread(0.0, 0.1, 0.3)),
        crews=st.lists(st.tuples(st.integers(0, 6), crews), max_size=2).map(tuple),
    ),
    drying=st.builds(Drying, figures, figures, st.just((11, 12))),
    lead=st.builds(Lead, covered_from=st.none() | days),
    lift_m=st.none() | st.floats(0.1, 2),
    volunteers=st.just(WeeklyHours.daily(Span(time(9), time(17, 30)), weekdays=(5,))),
    built=st.lists(st.builds(Built, days, shares, shares), max_size=2).map(tuple),
    received=st.just((Received(Pulses.SAND, 900.5, None),)),
    least=st.builds(LeastLoad, st.floats(0, 9999)),
    by_lift=st.booleans(),
)


@given(schedules)
def test_calendars_are_read_back_exactly(schedule):
    """Property."""
    kept = through_json(stored.dump_schedule(schedule))
    assert stored.load_schedule(kept) == schedule
