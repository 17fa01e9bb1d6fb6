"""Something changed: what happened to a plan, told on a page, and the difference shown."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from api import deployment
from api.documents.plan_models import PlanAnswer
from api.documents.problems import read_document
from api.documents.replan_models import ChangeAnswer, PlacedAnswer, ReplanAnswer
from api.documents.replans import ReplanIn, replan_request
from api.templatetags.units import clock, tonnes, weekday
from api.web.change_form import FORMS, ChangeForm, Fleet, as_sent, pin_questions
from api.web.typed import Typed
from logistics.domain.errors import Problem, Refused
from logistics.domain.living.changes import ChangeKind
from logistics.domain.living.reconciling import Balance
from logistics.selectors import list_trucks
from matching.selectors.runs import get_run
from matching.services.balances import Followed, follow

TITLES = {
    ChangeKind.MOVED: "Moved",
    ChangeKind.ADDED: "New",
    ChangeKind.DROPPED: "No longer comes",
    ChangeKind.KEPT: "Stays as it was told",
}


@dataclass(frozen=True, slots=True)
class ChangedLoad:
    """One load of the difference, in words."""

    what: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class ChangedGroup:
    """All loads of which the same became."""

    title: str
    loads: tuple[ChangedLoad, ...]
    folded: bool


@dataclass(frozen=True, slots=True)
class Arrived:
    """A deal with what came of it."""

    name: str
    own: Balance
    estimate: str


def living_context(public_id: UUID, plan: PlanAnswer) -> dict[str, Any]:
    """What the plan page says of changes: the difference, what came, and what to do."""
    own = follow(public_id)
    return {
        "followed": own,
        "replan": plan.replan,
        "saved_minor": -plan.replan.extra_minor if plan.replan else 0,
        "changed": _groups(plan, plan.replan) if plan.replan else (),
        "arrived": _arrived(plan, own),
    }


def _groups(plan: PlanAnswer, own: ReplanAnswer) -> tuple[ChangedGroup, ...]:
    found = []
    for kind, title in TITLES.items():
        loads = tuple(_load(plan, o) for o in own.changes if o.kind is kind)
        if loads:
            found.append(ChangedGroup(title, loads, folded=kind is ChangeKind.KEPT))
    return tuple(found)


def _load(plan: PlanAnswer, own: ChangeAnswer) -> ChangedLoad:
    deal = plan.deals[own.deal]
    now, was = own.now or own.was, own.was
    mass = tonnes(now.moist_kg, 2) if now else ""
    if was and own.now and was.moist_kg != own.now.moist_kg:
        mass = f"{tonnes(own.now.moist_kg, 2)} instead of {tonnes(was.moist_kg, 2)}"
    what = f"{mass} {deal.material.value}, {deal.offer_name} to {deal.build_name}"
    return ChangedLoad(what, _where(own.was), _where(own.now))


def _where(own: PlacedAnswer | None) -> str:
    if own is None:
        return ""
    return (
        f"{weekday(own.loads_at.date())} {clock(own.loads_at)} to {clock(own.tips_at)},"
        f" {own.truck_name}"
    )


def _arrived(plan: PlanAnswer, own: Followed) -> tuple[Arrived, ...]:
    found = []
    for balance in own.balances:
        deal = plan.deals[balance.haul]
        error = balance.estimate_error
        said = ""
        if error is not None and balance.arrived_kg:
            word = "more" if error >= 0 else "less"
            said = f"{abs(error) * 100:.1f} % {word} than its loads were planned to be"
        name = f"{deal.offer_name} to {deal.build_name}"
        found.append(Arrived(name, balance, said))
    return tuple(found)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def change(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Choose what happened; the plan is made anew by a job, like any plan."""
    plan = _plan(public_id)
    followed = follow(public_id)
    if followed.replaced_by:
        return HttpResponseRedirect(reverse("plan", args=[public_id]))
    given = request.POST if request.method == "POST" else request.GET
    form = FORMS.get(given.get("kind", ""))
    if form is None:
        context = {"here": "plans", "plan": plan, "public_id": public_id}
        return render(request, "web/change.html", {**context, "kinds": FORMS.values()})
    typed = Typed(given.dict())
    if request.method == "POST":
        try:
            return _asked(public_id, plan, form, typed)
        except Refused as refused:
            typed.blame(_named(refused))
    return _form(request, public_id, plan, form, typed)


def _plan(public_id: UUID) -> PlanAnswer:
    try:
        run = get_run(public_id)
    except Refused as refused:
        raise Http404(str(refused)) from refused
    if run.document is None:
        raise Http404("The plan is not done.")
    return PlanAnswer.model_validate(run.document)


def _asked(
    public_id: UUID, plan: PlanAnswer, form: ChangeForm, typed: Typed
) -> HttpResponse:
    now = timezone.localtime()
    groups = form.groups(plan, _fleet(plan), now)
    values = typed.values((*groups, pin_questions(plan, now)))
    typed.check()
    sent = as_sent(form, values, plan, deployment.zone())
    doc = read_document(ReplanIn, json.dumps(sent).encode())
    new_id = deployment.ask_for_replan(public_id, replan_request(doc, now=now))
    return HttpResponseRedirect(reverse("plan", args=[new_id]))


def _named(refused: Refused) -> list[Problem]:
    """Problems of the document with the names of the form's fields: the last part of each
    path is one, but for the two ends of a time."""
    fields = {"starts": "starts_day", "ends": "ends_day", "until": "ends_day"}
    found = []
    for own in refused.problems:
        last = own.field.rpartition(".")[2]
        found.append(replace(own, field=fields.get(last, last)))
    return found


def _fleet(plan: PlanAnswer) -> Fleet:
    known = {own.truck for own in plan.shifts}
    others = [own for own in list_trucks() if own.truck.key not in known]
    return Fleet(tuple((str(own.id), own.truck.name) for own in others))


def _form(
    request: HttpRequest,
    public_id: UUID,
    plan: PlanAnswer,
    form: ChangeForm,
    typed: Typed,
) -> HttpResponse:
    now = timezone.localtime()
    groups = form.groups(plan, _fleet(plan), now)
    pins = pin_questions(plan, now)
    context: Mapping[str, Any] = {
        "here": "plans",
        "plan": plan,
        "public_id": public_id,
        "form": form,
        "groups": typed.groups((*groups, pins) if pins.questions else groups),
        "troubles": typed.troubles,
    }
    status = 400 if typed.troubles else 200
    return render(request, "web/change.html", context, status=status)
