"""Plans: the list, the page of one, and what its scripts ask for."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.cache import cache
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseRedirect,
    JsonResponse,
)
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from api.documents.plan_models import PlanAnswer
from api.web.change_page import living_context
from api.web.maps import KEPT_S, map_base, plan_places
from api.web.offers import window_words
from api.web.paging import SIZE, asked_page, paging
from api.web.plan_page import plan_context
from api.web.roads import network, routes_geojson
from api.web.shares import shares_context
from api.web.take_away import take_away
from logistics.domain.errors import Refused
from matching.selectors.builds import list_builds
from matching.selectors.runs import StoredRun, get_run, list_runs
from matching.services.plans import cancel_plan

STATES = {
    "queued": "Waiting for a planner",
    "running": "Being planned",
    "done": "Planned",
    "failed": "Failed",
    "cancelled": "Stopped",
}
WAITING = ("queued", "running")
MOST_NAMES = 500


@require_safe
def plans(request: HttpRequest) -> HttpResponse:
    """Plans that were asked for, the newest first."""
    page = asked_page(request)
    found, count = list_runs(offset=(page - 1) * SIZE, limit=SIZE)
    names = _build_names()
    context = {
        "here": "plans",
        "runs": [_head(own, names) for own in found],
        "currency": settings.MARLPIT_CURRENCY,
        "paging": paging(page, count),
    }
    return render(request, "web/plans.html", context)


def _build_names() -> dict[int, str]:
    found, _ = list_builds(offset=0, limit=MOST_NAMES)
    return {own.id: own.build.name for own in found}


def _head(run: StoredRun, names: dict[int, str]) -> dict[str, Any]:
    asked = run.request
    builds = [names.get(own, f"build {own}") for own in asked.build_ids]
    return {
        "public_id": run.public_id,
        "name": asked.name or f"Plan for {', '.join(builds)}",
        "days": window_words(asked.first_day, asked.last_day),
        "state": STATES[run.status],
        "progress": run.progress,
        "total_minor": run.total,
        "created_at": run.created_at,
    }


def _run(public_id: UUID) -> StoredRun:
    try:
        return get_run(public_id)
    except Refused as refused:
        raise Http404(str(refused)) from refused


@require_safe
@never_cache
def plan(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """A plan, or how far its planner has come."""
    run = _run(public_id)
    if run.document is None:
        context = {
            "here": "plans",
            "run": _head(run, _build_names()),
            "waiting": run.status in WAITING,
            "problems": run.problems,
        }
        return render(request, "web/plan_waiting.html", context)
    answer = PlanAnswer.model_validate(run.document)
    pins = plan_places(answer)
    context = {
        "here": "plans",
        **plan_context(answer),
        **shares_context(public_id, answer),
        **living_context(public_id, answer),
        "public_id": public_id,
        "take_away": take_away(public_id, answer),
        "days": window_words(run.request.first_day, run.request.last_day),
        "map": map_base(),
        "map_places": pins,
        "places": [pin.as_json() for pin in pins],
        "routes_url": reverse("plan-routes", args=[public_id]),
    }
    return render(request, "web/plan.html", context)


@require_safe
@never_cache
def progress(_request: HttpRequest, public_id: UUID) -> JsonResponse:
    """How far the planner has come, for the script that asks every now and then."""
    run = _run(public_id)
    return JsonResponse(
        {
            "waiting": run.status in WAITING,
            "state": STATES[run.status],
            "progress": run.progress,
        }
    )


@require_POST
def cancel(_request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Give a plan up; one that ended meanwhile is simply shown."""
    try:
        cancel_plan(public_id=public_id, at=timezone.now())
    except Refused as refused:
        if refused.problems[0].code != "plan_ended":
            raise Http404(str(refused)) from refused
    return HttpResponseRedirect(reverse("plan", args=[public_id]))


@require_safe
@gzip_page
def routes(_request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The ways of all shifts as GeoJSON. A stored plan never changes; the network may."""
    run = _run(public_id)
    if run.document is None:
        raise Http404("The plan is not done.")
    document = run.document
    roads = network()
    made = roads.facts.imported_at if roads else "none"
    lines = cache.get_or_set(
        f"routes:{public_id}:{made}",
        lambda: routes_geojson(PlanAnswer.model_validate(document), roads),
        KEPT_S,
    )
    response = JsonResponse(lines, json_dumps_params={"separators": (",", ":")})
    patch_cache_control(response, max_age=300)
    return response
