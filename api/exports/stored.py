"""The door's half of exports: the book of a plan that is stored in this deployment."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.core.cache import cache

from api.documents.plan_models import PlanAnswer
from api.exports.book import Book
from api.exports.ways import road_ways
from logistics.domain.errors import Refused, refuse
from logistics.domain.roads.network import RoadNetwork
from logistics.services.road_store import open_network
from matching.selectors.runs import StoredRun, get_run

KEPT_S = 3600


def stored_plan(public_id: UUID) -> tuple[PlanAnswer, datetime]:
    """The plan and the moment at which it was stored.

    Raises Refused "unknown_plan" and, for a job that has no plan yet or never will,
    "plan_not_ready".
    """
    run = get_run(public_id)
    if run.document is None:
        raise _not_ready(run)
    return PlanAnswer.model_validate(run.document), run.finished_at or run.created_at


def stored_book(public_id: UUID, *, receipts: str) -> Book:
    """The plan with its ways on the roads of this deployment.

    `receipts` is the absolute address before a ticket's code. Raises Refused as
    `stored_plan` does.
    """
    plan, stored_at = stored_plan(public_id)
    roads = _network()
    if roads is None:
        return Book(plan, stored_at, receipts=receipts)
    # A stored plan never changes; the network may.
    ways = cache.get_or_set(
        f"ways:{public_id}:{roads.facts.imported_at}",
        lambda: road_ways(plan, roads),
        KEPT_S,
    )
    return Book(plan, stored_at, ways or {}, roads.facts.attribution, receipts)


def _network() -> RoadNetwork | None:
    try:
        return open_network(settings.MARLPIT_NETWORK_ROOT, settings.MARLPIT_NETWORK)
    except Refused:
        return None


def _not_ready(run: StoredRun) -> Refused:
    ended = run.status in {"failed", "cancelled"}
    return refuse(
        "plan_not_ready",
        field="plan",
        given=run.status,
        message="this job has no plan" if ended else "the plan is not made yet",
        remedy="Ask for a new plan." if ended else "Ask again once the job is done.",
    )
