"""A sand judged from its name, its grains and its sieves: nothing is stored."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.documents.problems import read_document
from api.documents.questions import SandTestIn
from api.documents.reading_materials import read_sand, read_sieving
from api.web.asking import KNOWN, Group, Kind, Question
from api.web.lot_view import SandView, sand_view
from api.web.sieve_rows import SETS, read_rows, rows
from api.web.typed import Typed
from logistics.domain.errors import Refused

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
    typed = Typed(request.GET.dict())
    named = typed.query.get("sieves", "")
    sieves = SETS.get(named, SETS["astm"])
    view: SandView | None = None
    if "judge" in typed.query:
        try:
            view = _judged(typed, sieves)
        except Refused as refused:
            typed.blame(refused.problems)
    table = rows(typed, sieves)
    context = {
        "here": "judge",
        "groups": typed.groups(QUESTIONS),
        "weighed": typed.groups(WEIGHED),
        "rows": table,
        "kept": _by_mass(typed),
        "set": named,
        "sieved": any(own.amount.value for own in table),
        "troubles": typed.troubles,
        "sand": view,
    }
    status = 400 if typed.troubles else 200
    return render(request, "web/sand.html", context, status=status)


def _by_mass(typed: Typed) -> bool:
    return typed.query.get("by") == KEPT


def _judged(typed: Typed, usual: Sequence[str]) -> SandView:
    by_mass = _by_mass(typed)
    base, amount = (
        ("retained.sieves", "retained_g") if by_mass else ("sieves", "passing_percent")
    )
    sieves = read_rows(typed, usual, base, amount)
    values = typed.values((*QUESTIONS, *WEIGHED))
    typed.check()
    document = _document(values, sieves, by_mass=by_mass)
    doc = read_document(SandTestIn, json.dumps(document).encode())
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
