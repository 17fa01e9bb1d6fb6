"""A plan as GeoJSON (RFC 7946): its places, and each leg of each shift."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from api.documents.plan_models import ShiftAnswer
from api.exports.antimeridian import cut
from api.exports.book import Book, Halt, Line, halts
from api.exports.wording import load_words, straight_note

Geo = dict[str, Any]
DIGITS = 6
"""Decimals of a degree: a tenth of a metre."""


def plan_geojson(book: Book) -> bytes:
    """One FeatureCollection in UTF-8: a Point for each place, a line for each leg.

    Distances are km, masses moist kg, volumes loose m3, moments ISO 8601 with the offset
    of the plan's zone. A leg between two places at one spot has no geometry.
    """
    note = straight_note(book)
    document = {
        "type": "FeatureCollection",
        "name": book.plan.name,
        "features": [*_places(book), *_legs(book)],
        **({"note": note} if note else {}),
        **({"attribution": book.credit} if book.credit else {}),
    }
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def _places(book: Book) -> Iterator[Geo]:
    for place in book.plan.places:
        yield {
            "type": "Feature",
            "id": place.key,
            "properties": {"what": "place", "name": place.name, "roles": place.roles},
            "geometry": {
                "type": "Point",
                "coordinates": _position(place.lon, place.lat),
            },
        }


def _legs(book: Book) -> Iterator[Geo]:
    for number, shift in enumerate(book.plan.shifts, start=1):
        for halt in halts(book, shift):
            if halt.stop.place != halt.start.key:
                yield {
                    "type": "Feature",
                    "id": f"shift-{number}-leg-{halt.number}",
                    "properties": _about(number, shift, halt),
                    "geometry": _geometry(halt.way),
                }


def _about(number: int, shift: ShiftAnswer, halt: Halt) -> Geo:
    return {
        "what": "leg",
        "shift": number,
        "truck": shift.truck,
        "truck_name": shift.truck_name,
        "day": shift.day,
        "leg": halt.number,
        "from": halt.start.name,
        "to": halt.place.name,
        "depart": halt.depart.isoformat(),
        "arrive": halt.stop.arrive.isoformat(),
        "km": halt.stop.leg_km,
        "minutes": halt.stop.leg_minutes,
        "loaded": bool(halt.aboard),
        "load": [load_words(own) for own in halt.aboard],
        "moist_kg": sum(own.moist_kg for own in halt.aboard),
        "loose_m3": round(sum(own.loose_m3 for own in halt.aboard), 2),
        "then": halt.stop.kind.value,
        "by_road": halt.by_road,
    }


def _geometry(way: Line) -> Geo | None:
    parts = cut(tuple((round(lon, DIGITS), round(lat, DIGITS)) for lon, lat in way))
    lines = [[_position(*point) for point in part] for part in parts]
    if not lines:
        return None
    if len(lines) == 1:
        return {"type": "LineString", "coordinates": lines[0]}
    return {"type": "MultiLineString", "coordinates": lines}


def _position(lon: float, lat: float) -> list[float]:
    return [round(lon, DIGITS), round(lat, DIGITS)]
