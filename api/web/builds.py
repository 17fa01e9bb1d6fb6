"""Builds: the list, and one build with what could fill its walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from api import deployment
from api.documents.market import StoredBuildAnswer, build_answer, matches_answer
from api.templatetags.units import percent
from api.web.calendar_page import calendar_page
from api.web.matches import need_page, need_title
from api.web.offers import window_words
from api.web.order_page import MixedPage, mixed_page
from api.web.paging import SIZE, asked_page, paging
from api.web.walls import wall_drawings
from logistics.domain.errors import Problem, Refused, refuse
from matching.domain.requests import MOST_DAYS, PlanRequest
from matching.selectors.builds import StoredBuild, get_build, list_builds
from matching.services.matches import NeedView, view_need

# How far ahead a plan looks when the build names no dates.
AHEAD = timedelta(days=13)
# The cargo of a need that a blend of soils and sands fills.
MINERAL = "mineral"


@dataclass(frozen=True, slots=True)
class Days:
    """The days for which a page reckons."""

    first: date
    last: date


@require_safe
def builds(request: HttpRequest) -> HttpResponse:
    """All builds, the newest first."""
    page = asked_page(request)
    found, count = list_builds(offset=(page - 1) * SIZE, limit=SIZE)
    context = {
        "here": "builds",
        "builds": [_entry(build_answer(own)) for own in found],
        "paging": paging(page, count),
    }
    return render(request, "web/builds.html", context)


def _entry(build: StoredBuildAnswer) -> dict[str, Any]:
    return {
        "id": build.id,
        "name": build.name,
        "place": build.place.name,
        "placed_m3": build.takeoff.placed_m3 if build.takeoff else None,
        "needs": [
            {"title": need_title(need.cargo), "kg": need.dry_kg.likely}
            for need in build.needs
        ],
        "window": window_words(build.deliver_from, build.deliver_until),
    }


@require_safe
def build(request: HttpRequest, build_id: int) -> HttpResponse:
    """One build: take-off, needs, and the offers ranked for each."""
    return _build_page(request, _stored(build_id), (), 200)


@require_POST
def plan_build(request: HttpRequest, build_id: int) -> HttpResponse:
    """Ask for a plan of this build and go to its page."""
    own = _stored(build_id)
    try:
        asked = PlanRequest(
            build_ids=(build_id,),
            first_day=_day(request, "first_day"),
            last_day=_day(request, "last_day"),
            safe=request.POST.get("certainty") == "safe",
        )
        public_id = deployment.ask_for_plan(asked)
    except Refused as refused:
        return _build_page(request, own, refused.problems, 400)
    return HttpResponseRedirect(reverse("plan", args=[public_id]))


def _stored(build_id: int) -> StoredBuild:
    try:
        return get_build(build_id)
    except Refused as refused:
        raise Http404(str(refused)) from refused


def _day(request: HttpRequest, field: str) -> date:
    given = request.POST.get(field, "")
    try:
        return date.fromisoformat(given)
    except ValueError as error:
        raise refuse(
            "not_a_date",
            field=field,
            given=given[:40] or "nothing",
            message=f"the {field.replace('_', ' ')} is not a date",
            remedy="Give it as year-month-day, such as 2027-05-10.",
        ) from error


def _build_page(
    request: HttpRequest, own: StoredBuild, problems: tuple[Problem, ...], status: int
) -> HttpResponse:
    answer = build_answer(own)
    days = _days(own)
    views, match_problems = _views(own, days)
    context = {
        "here": "builds",
        "build": {
            "id": own.id,
            "name": answer.name,
            "place": answer.place.name,
            "window": "deliver "
            + window_words(answer.deliver_from, answer.deliver_until),
        },
        "takeoff": answer.takeoff,
        "reference_clay": percent(round(own.build.mix.reference_clay * 100, 2)),
        **_drawn(own),
        "sheet": answer.walls,
        "needs": [
            need_page(matches_answer(view), currency=settings.MARLPIT_CURRENCY)
            for view in views
        ],
        "mixed": _mixed(views),
        "match_problems": match_problems,
        "problems": problems,
        # What was typed stays in the form, whatever is wrong with it.
        "first_day": request.POST.get("first_day") or days.first.isoformat(),
        "last_day": request.POST.get("last_day") or days.last.isoformat(),
        "safe": request.POST.get("certainty") == "safe",
        "currency": settings.MARLPIT_CURRENCY,
    }
    return render(request, "web/build.html", context, status=status)


def _days(own: StoredBuild) -> Days:
    """The build's delivery dates, as far as a plan may reach; else the next fortnight."""
    first = own.deliver_from or timezone.localdate()
    last = own.deliver_until or first + AHEAD
    first = min(first, last)
    return Days(first, min(last, first + timedelta(days=MOST_DAYS - 1)))


def _drawn(own: StoredBuild) -> dict[str, Any]:
    """The walls as drawn, and the calendar of a build that has one."""
    build, found = own.build, dict[str, Any]()
    scheduled, schedule = build.scheduled, build.schedule
    if build.walls:
        lift_m = scheduled.lift_m if scheduled else None
        found["drawings"] = wall_drawings(build.walls, lift_m)
    if scheduled and schedule:
        found["calendar"] = calendar_page(scheduled, schedule)
    return found


def _mixed(views: Sequence[NeedView]) -> MixedPage | None:
    """The mix of the offers in reach; None where nothing is blended or nothing offered."""
    for view in views:
        if view.need.computed and view.need.cargo == MINERAL:
            own = view.mix
            if own.question.sources:
                return mixed_page(
                    own.design, own.question, currency=settings.MARLPIT_CURRENCY
                )
    return None


def _views(own: StoredBuild, days: Days) -> tuple[list[NeedView], tuple[Problem, ...]]:
    request = PlanRequest((own.id,), days.first, days.last)
    try:
        return [
            view_need(
                need_id=need.id,
                request=request,
                zone=deployment.zone(),
                roads=deployment.roads(),
            )
            for need in own.needs
        ], ()
    except Refused as refused:
        return [], refused.problems
