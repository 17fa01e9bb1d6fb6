"""Small scenario documents: places on a street grid, one kilometre a minute."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from api.documents.problems import read_document
from api.documents.scenario import ScenarioDoc
from api.documents.scenario_reading import read_scenario
from matching.domain.community import CommunityPlan, plan_community
from matching.domain.scenario import Scenario

Doc = dict[str, Any]
MONDAY = "2027-04-05"


def document(
    places: dict[str, tuple[int, int]],
    *,
    offers: list[Doc],
    builds: list[Doc],
    trucks: list[Doc],
    hours: dict[str, list[Doc]] | None = None,
    **rest: Any,
) -> Doc:
    """A document of one day; `places` are kilometres east and north."""
    spots = list(places.values())
    table = [[abs(x - a) + abs(y - b) for a, b in spots] for x, y in spots]
    return {
        "version": 1,
        "name": "a small world",
        "currency": "EUR",
        "time_zone": "Europe/Brussels",
        "first_day": MONDAY,
        "last_day": MONDAY,
        "roads": {
            "kind": "matrix",
            "metres": [[km * 1000 for km in row] for row in table],
            "seconds": [[km * 60 for km in row] for row in table],
        },
        "places": [
            {"key": key, "name": key.title(), "lat": 50.0, "lon": 4.0}
            | ({"hours": hours[key]} if hours and key in hours else {})
            for key in places
        ],
        "offers": offers,
        "builds": builds,
        "trucks": trucks,
        **rest,
    }


def tonnes(amount: float, basis: str = "moist") -> Doc:
    return {"amount": amount, "unit": "t", "basis": basis}


def sand(key: str, place: str, minor: int, held: float = 500, **terms: Any) -> Doc:
    return {
        "key": key,
        "name": key.title(),
        "place": place,
        "material": {"kind": "sand", "sand": "concrete"},
        "quantity": tonnes(held),
        "price": {"minor": minor, "per": "t"},
        **terms,
    }


def soil(
    key: str, place: str, clay: float, minor: int = 0, held: float = 500, **terms: Any
) -> Doc:
    material = {"kind": "subsoil", "clay_percent": {"likely": clay}, "history": "clear"}
    return {
        "key": key,
        "name": key.title(),
        "place": place,
        "material": material | terms.pop("material", {}),
        "quantity": tonnes(held),
        "price": {"minor": minor, "per": "t"},
        **terms,
    }


def bales(key: str, place: str, minor: int, count: int, **terms: Any) -> Doc:
    material = {
        "kind": "straw",
        "fibre": "wheat",
        "moisture_percent": 14,
        "strand_mm": 250,
    }
    return {
        "key": key,
        "name": key.title(),
        "place": place,
        "material": material | terms.pop("material", {}),
        "quantity": {"amount": count, "unit": "bale"},
        "price": {"minor": minor, "per": "bale"},
        **terms,
    }


def wall(m3: float) -> list[Doc]:
    """One wall of this volume: 2 m high and half a metre thick."""
    return [{"length_m": m3, "height_m": 2.0, "thickness_m": 0.5}]


def build(key: str, place: str, **rest: Any) -> Doc:
    return {"key": key, "name": key.title(), "place": place, **rest}


def needing(kind: str, amount: float, basis: str = "moist", key: str = "need") -> Doc:
    return {"key": key, "material": kind, "quantity": tonnes(amount, basis)}


def tipper(key: str = "tipper", base: str = "depot", **rest: Any) -> Doc:
    return {
        "key": key,
        "name": key.title(),
        "body": "tipper",
        "base": base,
        "payload_kg": 10_000,
        "body_m3": 30,
        "call_out_minor": 5000,
        "per_hour_minor": 6000,
        "per_km_minor": 100,
        **rest,
    }


def flat_bed(key: str = "flat", base: str = "depot", **rest: Any) -> Doc:
    return tipper(key, base, **({"body": "flat_bed", "body_m3": 20} | rest))


def read(doc: Doc) -> Scenario:
    raw = json.dumps(doc).encode()
    return read_scenario(read_document(ScenarioDoc, raw), network_root=Path("nowhere"))


def planned(doc: Doc) -> CommunityPlan:
    return plan_community(read(doc))
