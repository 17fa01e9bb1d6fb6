"""A soil judged from tests that are gathered on the page itself: nothing is stored.

Everything travels in the form, not in the address: names of testers do not belong into
logs, and a dozen tests are longer than an address may be.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from api.documents.evidence import EvidenceDoc, OneTest
from api.documents.evidence_document import estimate_summary
from api.documents.problems import read_document
from api.documents.questions import SoilTestIn
from api.documents.reading_evidence import check_taken
from api.documents.reading_materials import read_subsoil
from api.documents.reading_parts import within
from api.web.asking import KNOWN, Group, Kind, Question, questions_of
from api.web.soil_form import SoilForm
from api.web.soil_forms import FORMS
from api.web.soil_typing import TypedTest, fresh_test, read_typed, sample_fields
from api.web.soil_view import changed_words, soil_view
from api.web.typed import Typed
from logistics.domain.errors import Problem, Refused, refuse
from matching.domain.materials import Subsoil
from matching.domain.takeoff import MixTarget
from matching.domain.tested import MOST_TESTS

GROUND = (
    Group(
        "",
        (
            Question(
                "history",
                "What stood or was done on this ground?",
                kind=Kind.CHOICE,
                options=(
                    ("clear", "Clear past"),
                    ("unknown", "Nobody knows"),
                    ("suspect", "Suspect"),
                ),
                usual="unknown",
                hint="Clear: field, garden or wood, never works, dump, fuel or rubble.",
            ),
        ),
    ),
    Group(
        "More on the ground",
        (
            Question("topsoil", "Topsoil is in the heap", kind=Kind.TICK),
            Question("frozen", "It is frozen now", kind=Kind.TICK),
            Question(
                "rained_since", "Rain has fallen on it since the tests", kind=Kind.TICK
            ),
            Question(
                "salty",
                "Salt in the ground (coast, road salt, white bloom)",
                kind=Kind.CHOICE,
                options=KNOWN,
                usual="unknown",
            ),
        ),
        folded=True,
    ),
)


@dataclass(frozen=True, slots=True)
class Told:
    """The ground as it was ticked and the tests so far, as documents."""

    ground: dict[str, str]
    tests: tuple[EvidenceDoc, ...]

    @property
    def hidden(self) -> tuple[tuple[str, str], ...]:
        """What a form carries along unseen."""
        return (*self.ground.items(), *self.tests_hidden)

    @property
    def tests_hidden(self) -> tuple[tuple[str, str], ...]:
        """The tests alone, where the ground is asked in sight."""
        return tuple(("test", _packed(own)) for own in self.tests)


@require_http_methods(["GET", "HEAD", "POST"])
def ground(request: HttpRequest) -> HttpResponse:
    """Gather tests, one form at a time, and judge what they come to."""
    if request.method != "POST":
        form = FORMS.get(request.GET.get("add", ""))
        if form is not None:
            return _form_page(request, Told({}, ()), _fresh(form, ()), 200)
        return _page(request, Told({}, ()), judged=False)
    post = request.POST
    try:
        told = Told(_ground(post), _unpacked(post))
    except Refused as refused:
        told = Told(_ground(post), ())
        return _page(request, told, judged=False, problems=refused.problems)
    if "put" in post:
        return _put(request, told)
    form = FORMS.get(post.get("add", ""))
    if form is not None:
        return _form_page(request, told, _fresh(form, told.tests), 200)
    return _page(request, _without(told, post.get("drop", "")), judged=True)


def _ground(post: QueryDict) -> dict[str, str]:
    return {
        own.name: text
        for own in questions_of(GROUND)
        if (text := post.get(own.name, ""))
    }


def _packed(own: EvidenceDoc) -> str:
    return json.dumps(own.model_dump(mode="json", exclude_defaults=True) | _tag(own))


def _tag(own: EvidenceDoc) -> dict[str, str]:
    return {"kind": own.kind}


def _unpacked(post: QueryDict) -> tuple[EvidenceDoc, ...]:
    """The tests that came along. Raises Refused for what no form has sent."""
    carried = post.getlist("test")
    if len(carried) > MOST_TESTS:
        raise refuse(
            "too_many_tests",
            field="tests",
            given=f"{len(carried)} tests",
            message=f"at most {MOST_TESTS} tests are weighed together",
            remedy="Leave out those that say least.",
        )
    with within("tests"):
        return tuple(read_document(OneTest, own.encode()).root for own in carried)


def _without(told: Told, drop: str) -> Told:
    """Without the test of this number, counted from 1."""
    if not drop.isdecimal():
        return told
    kept = [own for at, own in enumerate(told.tests, 1) if at != int(drop[:4])]
    return Told(told.ground, tuple(kept))


def _fresh(form: SoilForm, tests: Sequence[EvidenceDoc]) -> TypedTest:
    first = {"sample.taken_on": timezone.localdate().isoformat()}
    if tests:
        first = sample_fields(tests[-1])
    return fresh_test(form, first)


def _put(request: HttpRequest, told: Told) -> HttpResponse:
    """Weigh the test that was typed together with the others."""
    form = FORMS.get(request.POST["put"])
    if form is None:
        return _page(request, told, judged=True)
    typed = read_typed(form, request.POST.dict(), timezone.localdate())
    if typed.document is None:
        return _form_page(request, told, typed, 400)
    more = Told(told.ground, (*told.tests, typed.document))
    return _page(request, more, judged=True, before=told)


def _form_page(
    request: HttpRequest, told: Told, typed: TypedTest, status: int
) -> HttpResponse:
    context = {
        "here": "judge",
        "typed": typed,
        "hidden": told.hidden,
        "stateless": True,
    }
    return render(request, "web/soil_test.html", context, status=status)


def _page(
    request: HttpRequest,
    told: Told,
    *,
    judged: bool,
    before: Told | None = None,
    problems: tuple[Problem, ...] = (),
) -> HttpResponse:
    typed = Typed(told.ground)
    soil = None
    changed = ""
    if judged:
        try:
            soil = _soil(told, typed)
            changed = _changed(before, soil)
        except Refused as refused:
            problems = refused.problems
    typed.blame(problems)
    context = {
        "here": "judge",
        "groups": typed.groups(GROUND),
        "troubles": typed.troubles,
        "tests": [_line(own) for own in told.tests],
        "hidden": told.tests_hidden,
        "kinds": FORMS.values(),
        "soil": soil and soil_view(soil, MixTarget()),
        "changed": changed,
    }
    return render(request, "web/ground.html", context, status=400 if problems else 200)


def _soil(told: Told, typed: Typed) -> Subsoil:
    """The soil as told. Raises Refused for ticks and tests that cannot be."""
    values = {
        **typed.values(GROUND),
        "tests": [json.loads(_packed(own)) for own in told.tests],
    }
    typed.check()
    doc = read_document(SoilTestIn, json.dumps(values).encode())
    soil = read_subsoil(doc)
    check_taken(soil.tests, timezone.localdate(), field="tests")
    return soil


def _changed(before: Told | None, soil: Subsoil) -> str:
    if before is None or not before.tests:
        return ""
    was = estimate_summary(_soil(before, Typed(before.ground))).clay_percent
    return changed_words(was, estimate_summary(soil).clay_percent)


def _line(own: EvidenceDoc) -> str:
    return f"{FORMS[own.kind].title}, {own.sample.taken_on}, {own.sample.tester}"
