"""How the total of a plan is shared: asked for on the plan's page, shown there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseRedirect,
    JsonResponse,
)
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from api import deployment
from api.documents.plan_models import PlanAnswer
from api.documents.share_answers import BuildShareAnswer, SharesAnswer
from api.pictures.drawing import Both, both
from api.pictures.share_bars import ShareBars, SharePart, share_bars
from logistics.domain.errors import Refused
from matching.selectors.shares import StoredShares, find_shares

STATES = {
    "queued": ("Waiting for a planner", 5),
    "running": ("Every group of builds is being planned by itself", 40),
    "done": ("Shared", 100),
    "failed": ("Failed", 100),
}


@dataclass(frozen=True, slots=True)
class Fairness:
    """A sharing as shown: its rows, a picture, and in a sentence whether it holds."""

    answer: SharesAnswer
    rows: tuple[BuildShareAnswer, ...]
    picture: Both[ShareBars]
    sentence: str


def shares_context(public_id: UUID, plan: PlanAnswer) -> dict[str, Any]:
    """What the plan page shows of the sharing; nothing of a plan for one build."""
    found = find_shares(public_id)
    waiting = bool(found and found.status in ("queued", "running"))
    return {
        "shareable": len(plan.builds) > 1,
        "share_waiting": waiting,
        "share_state": STATES[found.status] if found else ("", 0),
        "share_problems": found.problems if found else (),
        "fairness": _fairness(found),
        "share_url": reverse("plan-shares", args=[public_id]),
        "share_progress": reverse("plan-shares-progress", args=[public_id]),
    }


def _fairness(found: StoredShares | None) -> Fairness | None:
    if found is None or found.document is None:
        return None
    answer = SharesAnswer.model_validate(found.document)
    parts = [
        SharePart(own.name, own.alone_minor, own.share_minor) for own in answer.builds
    ]
    return Fairness(
        answer,
        tuple(answer.builds),
        both(lambda size: share_bars(parts, answer.currency, size=size)),
        _sentence(answer),
    )


def _sentence(answer: SharesAnswer) -> str:
    if answer.stable:
        return (
            "Nobody pays more than alone, and no group found a cheaper way by itself."
        )
    return "No sharing pleases everybody here: read below who would pay less alone."


@require_POST
def ask(_request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Ask for the shares; the plan's page then shows how far they are."""
    try:
        deployment.ask_for_shares(public_id)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    return HttpResponseRedirect(f"{reverse('plan', args=[public_id])}#shares")


@require_safe
@never_cache
def progress(_request: HttpRequest, public_id: UUID) -> JsonResponse:
    """How far the job is, for the script that asks every now and then."""
    found = find_shares(public_id)
    if found is None:
        raise Http404("Nobody has asked for the shares of this plan.")
    state, percent = STATES[found.status]
    waiting = found.status in ("queued", "running")
    return JsonResponse({"waiting": waiting, "state": state, "progress": percent})
