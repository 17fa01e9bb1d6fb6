"""The page "What do my walls swallow?": asked for by its address alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from api.documents.calendar_answers import asked_schedule
from api.documents.reading_walls import read_walls
from api.documents.taken_off import take_off_sheet
from api.pictures.drawing import Both, both
from api.pictures.elevation import WallElevation, wall_elevation
from api.pictures.wall_plan import WallPlan, wall_plan
from api.templatetags.units import percent
from api.web.calendar_page import calendar_page
from api.web.linked import address, linked_page
from api.web.typed import Typed
from api.web.wall_form import (
    WALLS,
    read_calendar,
    read_take_off,
    wall_form,
)
from matching.domain.walls.paths import Path
from matching.domain.walls.wall import Wall

EXAMPLE = {
    "n1": "Long wall",
    "l1": "6",
    "h1": "2.2",
    "t1": "0.45",
    "ow1_1": "0.9",
    "oh1_1": "2",
    "oa1_1": "1",
    "ow1_2": "1",
    "oh1_2": "1",
    "oa1_2": "3.5",
    "os1_2": "0.9",
    "n2": "Gable",
    "l2": "4",
    "h2": "2.2",
    "t2": "0.45",
    "m2": "3.4",
    "first": "2027-05-10",
    "novices": "6",
    "trained": "2",
    "days": "six",
    "room": "15",
}


@dataclass(frozen=True, slots=True)
class WallDrawings:
    """Walls as drawn. `plan` is None where no wall has a place on the ground."""

    plan: Both[WallPlan] | None
    elevations: tuple[Both[WallElevation], ...]


@require_safe
def walls(request: HttpRequest) -> HttpResponse:
    """The form, and its answer as soon as there is a wall."""
    return linked_page(
        request,
        WALLS,
        form=wall_form,
        answer=_answered,
        context={"example": address(WALLS.page, EXAMPLE)},
    )


def _answered(typed: Typed) -> dict[str, Any]:
    doc, dated = read_take_off(typed), read_calendar(typed)
    sheet = take_off_sheet(doc)
    found: dict[str, Any] = {
        "sheet": sheet,
        "takeoff": sheet.takeoff,
        "reference_clay": percent(doc.mix.reference_clay_percent),
        "order": address("mix", {"wall": f"{sheet.walls.placed_m3:.2f}"}),
    }
    lift_m = None
    if dated:
        own, schedule = asked_schedule(dated)
        found["calendar"] = calendar_page(own, schedule)
        lift_m = own.lift_m
    return found | {"drawings": wall_drawings(read_walls(doc.walls), lift_m)}


def wall_drawings(
    own: Sequence[Wall], lift_m: float | None, *, key: str = "walls"
) -> WallDrawings:
    """Walls from the side, and from above where any has a place; ids begin with `key`."""
    placed = tuple(own)
    return WallDrawings(
        both(lambda size: wall_plan(placed, size=size, key=f"{key}-plan"))
        if any(isinstance(wall.run, Path) for wall in placed)
        else None,
        tuple(
            _elevation(wall, number, lift_m, key)
            for number, wall in enumerate(placed, start=1)
        ),
    )


def _elevation(
    wall: Wall, number: int, lift_m: float | None, key: str
) -> Both[WallElevation]:
    return both(
        lambda size: wall_elevation(
            wall, number, lift_m=lift_m, size=size, key=f"{key}-{number}"
        )
    )
