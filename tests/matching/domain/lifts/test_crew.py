"""Crews and lifts: how much a day yields, how high a lift may be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.lifts.crew import (
    Crew,
    MixingMachine,
    crew_cautions,
    crowding,
    day_m3,
    people,
)
from matching.domain.lifts.lifting import lift_cautions, lift_height
from matching.domain.verdicts import Reason
from tests.matching.domain.lifts.builds import EXACT, crews

SURE = EXACT(0.0)


def codes(cautions: tuple[Reason, ...]) -> list[str]:
    return [caution.code for caution in cautions]


def test_ten_novices_and_two_trained_by_hand():
    """10 x 0.12 + 2 x 0.25, 10 x 0.14 + 2 x 0.275, 10 x 0.15 + 2 x 0.30."""
    found = day_m3(Crew(10.0, 2.0, no_show=SURE))
    assert (found.low, found.likely, found.high) == pytest.approx((1.7, 1.95, 2.1))


def test_who_stays_away_is_not_counted_and_the_sure_ones_are():
    """By hand: 8 of 10 come, or 5, or 9; the two trained always."""
    crew = Crew(10.0, 2.0, no_show=Spread(0.1, 0.2, 0.5))
    assert people(crew) == Spread(7, 10, 11)
    assert day_m3(crew).likely == pytest.approx(8 * 0.14 + 2 * 0.275)


def test_half_a_day_yields_half():
    """By hand: four hours of eight."""
    short = day_m3(Crew(10.0, 2.0, no_show=SURE, hours_per_day=4))
    assert short.likely == pytest.approx(1.95 / 2)


def test_a_machine_lifts_the_rate_until_it_mixes_no_more():
    """By hand: 4 trained people place 3 m3 of machine-mixed cob; one that mixes 2 m3 in its
    two hours holds them to 2."""
    fast = MixingMachine(EXACT(10), 2)
    slow = MixingMachine(EXACT(1), 2)
    assert day_m3(Crew(0.0, 4.0, fast)).likely == pytest.approx(3.0)
    assert day_m3(Crew(0.0, 4.0, slow)).likely == pytest.approx(2.0)


def test_who_finds_no_place_at_the_wall_adds_nothing():
    """By hand: a third of the crew stands at the wall, a metre each: 15 people at 5 m, so of
    30 half are idle."""
    full, over = Crew(trained=15.0), Crew(trained=30.0)
    assert day_m3(over, 5.0).likely == pytest.approx(day_m3(full).likely)
    assert codes(crowding(over, 5.0)) == ["too_many_for_the_lift"]
    assert not crowding(full, 5.0)


def test_six_helpers_to_a_lead_are_the_most():
    """4-6 reliable helpers to a lead (ernieanderica.info, seen)."""
    assert not crew_cautions(Crew(12.0, 2.0, no_show=SURE))
    assert codes(crew_cautions(Crew(13.0, 2.0, no_show=SURE))) == ["too_few_leads"]
    assert codes(crew_cautions(Crew(3.0))) == ["nobody_leads"]
    assert not crew_cautions(Crew(trained=2.0))


@pytest.mark.parametrize(
    "change",
    [
        {"novices": -1.0},
        {"trained": Spread(-1, 0, 1)},
        {"hours_per_day": 0},
        {"hours_per_day": 25},
        {"rate_factor": float("nan")},
        {"no_show": Spread(0, 0.5, 1.1)},
        {"trained_m3": EXACT(0)},
    ],
)
def test_a_crew_that_cannot_be_is_refused(change):
    with pytest.raises(Refused):
        Crew(**change)


@pytest.mark.parametrize(
    "machine", [(Spread(-1, 0, 1), 1), (EXACT(1), 0), (EXACT(0), 1)]
)
def test_a_machine_that_mixes_nothing_is_refused(machine):
    with pytest.raises(Refused):
        MixingMachine(*machine)


@given(crews(), st.floats(0.1, 100))
def test_a_lift_never_yields_more_than_the_open_field(crew, run):
    """Property: room at the wall only takes away."""
    at_wall, anywhere = day_m3(crew, run), day_m3(crew)
    assert at_wall.low <= anywhere.low + 1e-9
    assert at_wall.likely <= anywhere.likely + 1e-9
    assert at_wall.high <= anywhere.high + 1e-9


def test_a_lift_is_as_high_as_its_wall_is_wide():
    """Keefe, Earth Construction 2 (seen): width of the wall; up to 1 m in coarse soils."""
    assert lift_height(0.45).likely == 0.45
    assert lift_height(0.9).likely == 0.6
    assert lift_height(0.9, coarse=True).likely == 0.9
    assert lift_height(0.5, coarse=True).high == 1.0


def test_higher_lifts_are_cautioned_by_two_degrees():
    assert not lift_cautions(0.45, 0.45)
    assert codes(lift_cautions(0.55, 0.45)) == ["lift_higher_than_wall_is_wide"]
    assert codes(lift_cautions(0.7, 0.45)) == ["lift_too_high"]
    assert codes(lift_cautions(1.1, 1.2, coarse=True)) == ["lift_too_high"]


@pytest.mark.parametrize("thickness", [0, -1, float("nan"), float("inf")])
def test_a_wall_without_thickness_is_refused(thickness):
    with pytest.raises(Refused):
        lift_height(thickness)
