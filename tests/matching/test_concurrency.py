"""Threads against one row: an offer is never oversold, a run never planned twice.

Property tests on whichever database is configured; each thread has its own connection.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from threading import Barrier
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection

from api.deployment import render_plan
from logistics.domain.errors import Refused
from matching.domain.materials import Subsoil
from matching.domain.soil.records import Ribbon
from matching.domain.soil.samples import Sample
from matching.domain.tested import OWN_SOURCE
from matching.domain.tested import tested as soil_with
from matching.models import Claim, Offer, PlanRun
from matching.selectors.builds import get_build
from matching.selectors.offers import get_offer
from matching.services.claims import agree_claim
from matching.services.offers import add_test
from matching.services.plans import Means, request_plan, run_plan
from tests.worlds import AT, NO_ROADS, stored_world

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]


def together(calls: list[Callable[[], Any]]) -> list[Any]:
    """Start all calls at one moment and return what each returned or refused with."""
    gate = Barrier(len(calls))

    def one(call):
        gate.wait()
        try:
            return call()
        except Refused as refused:
            return refused.problems[0].code
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(one, calls))


def test_agreeing_many_claims_at_once_never_oversells_an_offer():
    """40 t on offer and 16 claims of 7 t: exactly five fit."""
    world = stored_world()
    need = get_build(world.build).needs[0]
    claims = [
        Claim.objects.create(offer_id=world.soil, need_id=need.id, kg=7_000).pk
        for _ in range(16)
    ]
    answers = together([partial(agree_claim, claim_id=own, at=AT) for own in claims])
    assert answers.count(None) == 5
    assert answers.count("offer_exhausted") == 11
    assert Offer.objects.get(pk=world.soil).reserved_kg == 35_000
    assert Claim.objects.filter(status="agreed").count() == 5


def test_agreeing_one_claim_many_times_at_once_counts_it_once():
    world = stored_world()
    need = get_build(world.build).needs[0]
    claim = Claim.objects.create(offer_id=world.soil, need_id=need.id, kg=7_000)
    answers = together([lambda: agree_claim(claim_id=claim.pk, at=AT)] * 8)
    assert answers.count(None) == 1
    assert answers.count("claim_not_open") == 7
    assert Offer.objects.get(pk=world.soil).reserved_kg == 7_000


def test_workers_that_get_the_same_run_plan_it_once():
    run_id, _ = request_plan(request=stored_world().request, at=AT)
    means = Means(
        zone=ZoneInfo("Europe/Brussels"),
        roads=NO_ROADS,
        clock=lambda: AT,
        render=render_plan,
    )
    answers = together([lambda: run_plan(run_id=run_id, means=means)] * 4)
    assert sorted(answers) == [False, False, False, True]
    run = PlanRun.objects.get(pk=run_id)
    assert (run.status, run.attempt) == ("done", 1)


def test_testers_who_send_at_once_lose_nothing():
    """Sixteen ribbons of different length, two of each sent: sixteen are kept, and the
    shares are those that all of them leave."""
    world = stored_world()
    sample = Sample(OWN_SOURCE, "", 0.5, 1.5, AT.date(), "Ada")
    ribbons = [Ribbon(sample, length_mm=20.0 + 5 * length) for length in range(16)]
    calls: list[Callable[[], Any]] = [
        partial(add_test, offer_id=world.soil, test=ribbon) for ribbon in ribbons * 2
    ]
    assert together(calls[:16]) == [None] * 16
    assert together(calls[16:]) == [None] * 16
    soil = get_offer(world.soil).offer.material
    assert isinstance(soil, Subsoil)
    assert sorted(own.length_mm for own in soil.tests if isinstance(own, Ribbon)) == [
        own.length_mm for own in ribbons
    ]
    assert soil == soil_with(soil, soil.tests)
