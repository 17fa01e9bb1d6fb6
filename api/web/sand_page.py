"""A sand judged from its name, its grains and its sieves: nothing is stored."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.documents.problems import read_document
from api.documents.questions import SandTestIn
from api.documents.reading_materials import read_sand, read_sieving
from api.web.asking import (
    KNOWN,
    Group,
    Kind,
    Question,
    ask,
    named,
    read_answers,
    troubles,
)
from api.web.lot_view import SandView, sand_view
from api.web.sieve_rows import SETS, Row, read_rows, rows
from logistics.domain.errors import Problem, Refused

QUESTIONS = (
    Group(
        "",
        (
            Question(
                "sand",
                "The yard calls it",
                kind=Kind.CHOICE,
                needed=True,
                options=(
                    ("concrete", "Concrete, sharp or grit sand"),
                    ("masonry", "Masonry, soft or plastering sand"),
                    ("play", "Play sand"),
                    ("beach", "Beach sand"),
                    ("dune", "Dune sand"),
                    ("unknown", "Not known"),
                ),
            ),
            Question(
                "shape",
                "The grains are",
                kind=Kind.CHOICE,
                usual="unknown",
                options=(
                    ("sharp", "sharp"),
                    ("rounded", "rounded"),
                    ("unknown", "not known"),
                ),
                hint="Through a lens, or between wet fingers: sharp sand bites.",
            ),
        ),
    ),
    Group(
        "Salt, shells and fines",
        (
            Question("salt", "Salt", kind=Kind.CHOICE, options=KNOWN, usual="unknown"),
            Question(
                "shells",
                "Bits of shell",
                kind=Kind.CHOICE,
                options=KNOWN,
                usual="unknown",
            ),
            Question("fines_percent", "Finer than 0.075 mm", unit="%"),
            Question(
                "clayey",
                "The fines smear: they are clay",
                kind=Kind.CHOICE,
                options=KNOWN,
                usual="unknown",
            ),
        ),
        folded=True,
    ),
)
# Grams come as a pan and the whole sample beside the rows.
WEIGHED = (
    Group(
        "",
        (
            Question("retained.pan_g", "In the pan", unit="g"),
            Question("retained.sample_g", "Dry sample before sieving", unit="g"),
        ),
        row=True,
    ),
)
PASSING, KEPT = "passing", "kept"


@require_safe
def sand(request: HttpRequest) -> HttpResponse:
    """Ask for a sand and judge it."""
    given = request.GET.dict()
    sieves = SETS.get(given.get("sieves", ""), SETS["astm"])
    asked_for = "judge" in given
    typed = given if asked_for else None
    table = rows(typed, sieves)
    problems: tuple[Problem, ...] = ()
    view: SandView | None = None
    if asked_for:
        try:
            view = _judged(given, table)
        except Refused as refused:
            problems = named(refused.problems, (*QUESTIONS, *WEIGHED))
    groups = ask(QUESTIONS, typed, problems)
    weighed = ask(WEIGHED, typed, problems)
    context = {
        "here": "judge",
        "groups": groups,
        "weighed": weighed,
        "rows": table,
        "kept": given.get("by") == KEPT,
        "set": given.get("sieves", ""),
        "sieved": any(own.amount for own in table),
        "troubles": troubles(problems, (*groups, *weighed)),
        "sand": view,
    }
    return render(request, "web/sand.html", context, status=400 if problems else 200)


def _judged(given: Mapping[str, str], table: tuple[Row, ...]) -> SandView:
    by_mass = given.get("by") == KEPT
    name = "retained_g" if by_mass else "passing_percent"
    sieves, wrong = read_rows(table, name)
    answers = read_answers((*QUESTIONS, *WEIGHED), given)
    problems = (*answers.problems, *wrong)
    if problems:
        raise Refused(*problems)
    doc = read_document(
        SandTestIn,
        json.dumps(_document(answers.values, sieves, by_mass=by_mass)).encode(),
    )
    return sand_view(read_sand(doc), read_sieving(doc))


def _document(
    values: dict[str, Any], sieves: list[dict[str, Any]], *, by_mass: bool
) -> dict[str, Any]:
    """The document; the pan belongs to grams alone."""
    found = dict(values)
    retained = found.pop("retained", None)
    if by_mass and (sieves or retained):
        found["retained"] = {**(retained or {}), "sieves": sieves}
    elif sieves:
        found["sieves"] = sieves
    return found
