"""Every constraint of the market's tables refuses what it is there to refuse.

The rules are the project's own; a row that breaks one could only mislead.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction

from matching.models import (
    Account,
    Build,
    Claim,
    Need,
    Offer,
    PlanRun,
    Replan,
    ShareRun,
    Wall,
)
from tests.logistics.test_models import a_haul, a_place, a_plan, named
from tests.worlds import AT

pytestmark = pytest.mark.django_db


def an_offer(**more: Any) -> Any:
    row: dict[str, Any] = {
        "name": "Ada's heap",
        "kind": "subsoil",
        "material": {},
        "quantity_kg": 1000,
        "price_minor": 0,
        "price_per_kg": 1000.0,
        "haul_payer": "builder",
        "load_s": 900,
        "created_at": AT,
    }
    return Offer.objects.create(place=a_place(), **row | more)


def a_build(**more: Any) -> Any:
    row: dict[str, Any] = {
        "name": "Ben's wall",
        "mix": {},
        "unload_s": 600,
        "created_at": AT,
    }
    return Build.objects.create(place=a_place(), **row | more)


def a_wall(**more: Any) -> Any:
    row: dict[str, Any] = {
        "position": 0,
        "shape": {},
        "placed_m3": 7.2,
    }
    return Wall.objects.create(build=more.pop("build", None) or a_build(), **row | more)


def a_need(**more: Any) -> Any:
    row: dict[str, Any] = {
        "key": "mineral",
        "cargo": "mineral",
        "dry_kg_low": 1.0,
        "dry_kg_likely": 2.0,
        "dry_kg_high": 3.0,
        "computed": True,
    }
    return Need.objects.create(build=more.pop("build", None) or a_build(), **row | more)


def a_run(**more: Any) -> Any:
    row: dict[str, Any] = {"public_id": uuid4(), "request": {}, "created_at": AT}
    return PlanRun.objects.create(**row | more)


def a_done_run(**more: Any) -> Any:
    row: dict[str, Any] = {
        "status": "done",
        "document": {},
        "total": 10,
        "total_bound": 9,
    }
    return a_run(**row | {"plan": a_plan()} | more)


def a_claim(**more: Any) -> Any:
    links: dict[str, Any] = {
        "offer": more.pop("offer", None) or an_offer(),
        "need": more.pop("need", None) or a_need(),
    }
    return Claim.objects.create(**links, **{"kg": 10} | more)


def two_walls() -> None:
    build = a_build()
    a_wall(build=build)
    a_wall(build=build)


def two_needs() -> None:
    build = a_build()
    a_need(build=build)
    a_need(build=build)


def two_claims() -> None:
    same = {"run": a_run(), "offer": an_offer(), "need": a_need()}
    a_claim(**same)
    a_claim(**same)


def two_claims_of_one_haul() -> None:
    haul = a_haul()
    a_claim(haul=haul)
    a_claim(haul=haul)


def a_sharing(**more: Any) -> Any:
    return ShareRun.objects.create(run=a_run(), created_at=AT, **more)


def replaced_twice() -> None:
    old = a_run()
    for _ in range(2):
        Replan.objects.create(run=a_run(), replaces=old, asked={}, current=True)


def replaced_by_itself() -> None:
    run = a_run()
    Replan.objects.create(run=run, replaces=run, asked={})


BROKEN: list[tuple[str, Callable[[], Any]]] = [
    ("offer_reserved_within_quantity", lambda: an_offer(reserved_kg=1001)),
    ("offer_reserved_within_quantity", lambda: an_offer(reserved_kg=-1)),
    ("offer_reserved_within_quantity", lambda: an_offer(quantity_kg=0)),
    (
        "offer_window_in_order",
        lambda: an_offer(
            available_from=date(2026, 3, 2), available_until=date(2026, 3, 1)
        ),
    ),
    ("offer_lot_within_quantity", lambda: an_offer(min_lot_kg=1001)),
    ("offer_terms_not_negative", lambda: an_offer(price_per_kg=0)),
    ("offer_terms_not_negative", lambda: an_offer(tipping_per_t=-1)),
    ("offer_terms_not_negative", lambda: an_offer(haulage_per_t=-1)),
    ("offer_terms_not_negative", lambda: an_offer(load_s=-1)),
    ("offer_terms_not_negative", lambda: an_offer(loading_fee=-1)),
    ("offer_terms_not_negative", lambda: an_offer(part_charge=-1)),
    ("offer_terms_not_negative", lambda: an_offer(part_below_kg=-1)),
    ("offer_known_kind", lambda: an_offer(kind="gold")),
    (
        "build_window_in_order",
        lambda: a_build(deliver_from=date(2026, 3, 2), deliver_until=date(2026, 3, 1)),
    ),
    ("build_figures_positive", lambda: a_build(storage_m3=0)),
    ("build_figures_positive", lambda: a_build(unload_s=-1)),
    ("wall_positions_differ", two_walls),
    ("wall_volume_positive", lambda: a_wall(placed_m3=0)),
    ("need_keys_differ", two_needs),
    ("need_spread_in_order", lambda: a_need(dry_kg_low=2.5)),
    ("need_spread_in_order", lambda: a_need(dry_kg_high=1.5)),
    ("need_spread_in_order", lambda: a_need(dry_kg_low=-1)),
    ("need_clay_window", lambda: a_need(clay_low=0.3, clay_high=0.2)),
    ("need_clay_window", lambda: a_need(clay_low=0.2, clay_high=1.0)),
    ("run_progress_in_percent", lambda: a_run(progress=101)),
    ("run_done_has_a_plan", lambda: a_done_run(plan=None)),
    ("run_done_has_a_plan", lambda: a_done_run(document=None)),
    ("run_done_has_a_plan", lambda: a_done_run(total=None)),
    ("run_done_has_a_plan", lambda: a_done_run(total_bound=11)),
    ("run_failed_has_a_reason", lambda: a_run(status="failed")),
    ("claim_mass_positive", lambda: a_claim(kg=0)),
    ("claim_once_per_run", two_claims),
    ("claim_once_per_haul", two_claims_of_one_haul),
    ("claim_agreed_at_some_moment", lambda: a_claim(status="agreed")),
    ("claim_agreed_at_some_moment", lambda: a_claim(agreed_at=AT)),
    ("shares_done_have_a_document", lambda: a_sharing(status="done")),
    ("shares_failed_have_a_reason", lambda: a_sharing(status="failed")),
    ("plan_replaced_once", replaced_twice),
    ("plan_replaces_another", replaced_by_itself),
]


@pytest.mark.parametrize(("name", "attempt"), BROKEN)
def test_a_row_that_breaks_a_constraint_is_refused(name, attempt):
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        attempt()
    assert any(own in str(refusal.value) for own in named("matching", name))


def test_sound_rows_are_stored():
    a_wall()
    a_done_run()
    a_claim(status="agreed", agreed_at=AT, run=a_run())
    assert Claim.objects.get().kg == 10


def test_two_hauls_of_one_offer_to_one_need_are_two_claims():
    """Lifts are supplied at several dates."""
    same = {"run": a_run(), "offer": an_offer(), "need": a_need()}
    a_claim(haul=a_haul(), **same)
    a_claim(haul=a_haul(), **same)
    assert Claim.objects.count() == 2


def test_every_constraint_has_a_row_that_breaks_it():
    models = apps.get_app_config("matching").get_models()
    ours = {
        own.name
        for model in models
        if model is not Account
        for own in model._meta.constraints
    }
    assert ours == {name for name, _ in BROKEN}


def test_rows_are_told_apart_by_their_text():
    build = a_build()
    rows = [an_offer(), an_offer(), build, a_build(), a_run(), a_run(), a_claim()]
    rows += [a_wall(build=build), a_need(build=build), Account(username="ada")]
    assert len({str(row) for row in rows}) == len(rows)
