"""From documents of walls to walls, and refusals back to the fields of the documents."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from api.documents.walls import MOST_CORNERS, OpeningDoc, PathDoc, WallDoc, corners
from logistics.domain.errors import Problem, Refused, refuse
from matching.domain.walls.paths import Leg, Path
from matching.domain.walls.volumes import intricacy
from matching.domain.walls.wall import Kind, Opening, Wall

MOST_INTRICACY = 3_000
"""Takes some seconds at worst: all walls curved and crossing, with sloping tops."""

_HEADS = (("walls.run.", "path."), ("walls.run", "path"), ("walls.", ""))


def read_walls(docs: Sequence[WallDoc]) -> tuple[Wall, ...]:
    """The walls. Raises Refused, its fields under walls.N, for what cannot stand."""
    if corners(list(docs)) > MOST_CORNERS:
        raise refuse(
            "too_many_corners",
            field="walls",
            given=corners(list(docs)),
            message="legs, points of tops and openings of walls with a path are too many",
            remedy=f"Give at most {MOST_CORNERS} in all; draw curves as arcs with rise_m.",
        )
    walls = tuple(_wall(doc, number) for number, doc in enumerate(docs))
    if intricacy(walls) > MOST_INTRICACY:
        raise refuse(
            "walls_too_intricate",
            field="walls",
            given=f"{intricacy(walls)} pieces of path times heights",
            message="these walls change at too many heights to be joined to each other",
            remedy=f"At most {MOST_INTRICACY}: give sills and tops of one height where"
            " they are alike, or parts of the building by themselves.",
        )
    return walls


def _wall(doc: WallDoc, number: int) -> Wall:
    try:
        return Wall(
            run=_path(doc.path) if doc.path else doc.length_m or 0.0,
            height=tuple((own.at_m, own.height_m) for own in doc.heights)
            if doc.heights
            else doc.height_m or 0.0,
            thickness_m=doc.thickness_m,
            openings=tuple(map(_opening, doc.openings)),
            top_thickness_m=doc.top_thickness_m,
            kind=Kind(doc.kind),
            plinth_m=doc.plinth_m,
            name=doc.name or "",
        )
    except Refused as refused:
        raise Refused(*(_named(own, doc, number) for own in refused.problems)) from None


def _path(doc: PathDoc) -> Path:
    legs = tuple(Leg(own.x_m, own.y_m, own.rise_m) for own in doc.legs)
    return Path(doc.x_m, doc.y_m, legs)


def _opening(doc: OpeningDoc) -> Opening:
    return Opening(
        doc.width_m,
        doc.height_m,
        doc.at_m,
        doc.sill_m,
        doc.lintel_depth_m,
        doc.bearing_m,
    )


def _named(own: Problem, doc: WallDoc, number: int) -> Problem:
    """The problem with the document's own field, and the wall named in what was given."""
    field = own.field
    for head, there in _HEADS:
        if field.startswith(head):
            field = there + field.removeprefix(head)
            break
    if field == "height":
        field = "heights" if doc.heights else "height_m"
    who = f"wall {number + 1}" + (f" ({doc.name})" if doc.name else "")
    return replace(own, field=f"walls.{number}.{field}", given=f"{who}: {own.given}")
