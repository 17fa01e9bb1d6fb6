"""What is read back of a plan's document to share its total."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from api.documents.answers import plan_document
from api.documents.share_answers import read_told, shares_document
from matching.domain.community import plan_community
from matching.domain.cost_shares import share_plan
from matching.domain.group_costs import Told, told_of
from matching.domain.scenario import Scenario
from tests.matching.small_documents import (
    build,
    document,
    needing,
    read,
    sand,
    soil,
    tipper,
    wall,
)


def world(held: float) -> Scenario:
    return read(
        document(
            {"depot": (0, 0), "pit": (0, 6), "yard": (0, 12), "a": (8, 8), "b": (7, 8)},
            offers=[
                soil("clay", "pit", 32, disposal={"tipping_minor_per_t": 900}),
                sand("sharp", "yard", 2200, held),
            ],
            builds=[
                build("a", "a", walls=wall(4)),
                build("b", "b", needs=[needing("sand", 7)]),
            ],
            trucks=[tipper()],
        )
    )


@pytest.mark.parametrize("held", [500, 6])
def test_a_document_tells_the_same_as_the_plan_that_it_was_made_of(held):
    """Property; 6 t of sand leave something short, straw is missing in both."""
    scenario = world(held)
    plan = plan_community(scenario)
    written = plan_document(
        scenario, plan, name="x", currency="EUR", zone=ZoneInfo("UTC")
    ).model_dump(mode="json")
    told, own = read_told(written), told_of(scenario, plan)
    assert isinstance(told, Told)
    assert (told.total, told.taken) == (own.total, own.taken)
    assert told.missing == pytest.approx(own.missing, abs=0.5)


def test_the_document_of_shares_adds_up_and_names_every_group():
    scenario = world(500)
    plan = plan_community(scenario)
    answer = shares_document(
        share_plan(scenario, told_of(scenario, plan)), currency="EUR"
    )
    assert sum(own.share_minor for own in answer.builds) == answer.total_minor
    assert answer.total_minor == plan.total
    assert answer.saving_minor == sum(own.saving_minor for own in answer.builds)
    assert [own.builds for own in answer.groups] == [["a"], ["b"]]
    values = [own.shapley_minor for own in answer.builds]
    assert sum(own for own in values if own is not None) == plan.total
