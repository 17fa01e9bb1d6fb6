"""A lot of straw judged and counted in bales: nothing is stored."""

from __future__ import annotations

import json

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from api.documents.problems import read_document
from api.documents.questions import StrawTestIn
from api.documents.reading_materials import read_straw
from api.documents.reading_parts import within
from api.web.asking import KNOWN, Group, Kind, Question
from api.web.lot_view import StrawView, straw_view
from api.web.typed import Typed
from logistics.domain.errors import Refused
from matching.domain.straws.bales import FORMS

QUESTIONS = (
    Group(
        "",
        (
            Question(
                "fibre",
                "The bales are",
                kind=Kind.CHOICE,
                needed=True,
                options=(
                    ("wheat", "wheat"),
                    ("barley", "barley"),
                    ("oat", "oat"),
                    ("rye", "rye"),
                    ("rice", "rice"),
                    ("other", "other straw"),
                    ("hay", "hay"),
                    ("unknown", "not known"),
                ),
            ),
        ),
    ),
    Group(
        "",
        (
            Question(
                "moisture_percent",
                "Moisture",
                unit="%",
                hint="wettest bale, by the meter",
            ),
            Question("strand_mm", "Strands", unit="mm", hint="most stalks"),
        ),
        row=True,
    ),
    Group(
        "",
        (
            Question(
                "storage",
                "It has lain",
                kind=Kind.CHOICE,
                usual="unknown",
                options=(
                    ("barn", "in a barn"),
                    ("covered", "under a cover"),
                    ("outdoors", "in the open"),
                    ("unknown", "not known"),
                ),
            ),
            Question(
                "mould",
                "Mould in an opened bale",
                kind=Kind.CHOICE,
                options=KNOWN,
                usual="unknown",
            ),
            Question(
                "smell",
                "An opened bale smells",
                kind=Kind.CHOICE,
                usual="unknown",
                options=(
                    ("clean", "clean"),
                    ("musty", "musty"),
                    ("unknown", "not known"),
                ),
            ),
            Question(
                "herbicide",
                "Persistent herbicides, says the farmer",
                kind=Kind.CHOICE,
                usual="unknown",
                options=(
                    ("free", "none used"),
                    ("treated", "used"),
                    ("unknown", "not known"),
                ),
            ),
        ),
    ),
    Group(
        "How many bales?",
        (
            Question("straw_kg.likely", "Straw wanted", unit="kg"),
            Question("bale_kg", "One bale", kind=Kind.WHOLE, unit="kg"),
        ),
        row=True,
    ),
    Group(
        "",
        (
            Question(
                "bale",
                "Form of the bales",
                kind=Kind.SELECT,
                options=tuple((own.value, FORMS[own].title) for own in FORMS),
            ),
            Question("needed_on", "First mixed in on", kind=Kind.DAY),
            Question("harvested_year", "Year of harvest", kind=Kind.WHOLE),
        ),
    ),
)


@require_safe
def straw(request: HttpRequest) -> HttpResponse:
    """Ask for a lot of straw and judge it."""
    typed = Typed(request.GET.dict())
    view: StrawView | None = None
    if "judge" in typed.query:
        try:
            view = _judged(typed)
        except Refused as refused:
            typed.blame(refused.problems)
    context = {
        "here": "judge",
        "groups": typed.groups(QUESTIONS),
        "troubles": typed.troubles,
        "straw": view,
    }
    status = 400 if typed.troubles else 200
    return render(request, "web/straw.html", context, status=status)


def _judged(typed: Typed) -> StrawView:
    values = typed.values(QUESTIONS)
    typed.check()
    doc = read_document(StrawTestIn, json.dumps(values).encode())
    found = read_straw(doc)
    day = doc.needed_on or timezone.localdate()
    with within("", drop="straw."):
        return straw_view(found, doc.straw_kg, doc.needed_on, in_year=day.year)
