"""A small world: Ada digs, Ben builds, Cy looks on; Dot sells sand and Eve straw.

Bodies are what people send; `stored_world` puts one of each into the tables.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from django.apps import apps

from api.documents.drafts import build_draft, offer_draft, truck_draft
from api.documents.problems import read_document
from api.documents.rest import BuildIn, OfferIn, TruckIn
from logistics.services.distances import Roads
from logistics.services.places import create_truck
from matching.domain.requests import PlanRequest
from matching.services.builds import create_build
from matching.services.offers import create_offer

Body = dict[str, Any]

AT = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
MONDAY, WEDNESDAY = date(2026, 3, 2), date(2026, 3, 4)
NO_ROADS = Roads(Path("there-is-none"), "default")


def place(name: str, lat: float = 46.0, lon: float = 3.0, **more: Any) -> Body:
    """A place, open on weekdays from 7 to 17 unless told otherwise."""
    hours = [
        {
            "days": ["mon", "tue", "wed", "thu", "fri"],
            "opens": "07:00",
            "closes": "17:00",
        }
    ]
    return {"name": name, "lat": lat, "lon": lon, "hours": hours, **more}


def adas_soil(**more: Any) -> Body:
    """Ada's heap: 40 t of clear, rich subsoil that costs her 18.00 a tonne to tip."""
    return {
        "name": "Ada's heap",
        "material": {
            "kind": "subsoil",
            "clay_percent": {"likely": 32, "low": 28, "high": 36},
            "history": "clear",
        },
        "quantity": {"amount": 40, "unit": "t", "basis": "moist"},
        "disposal": {"tipping_minor_per_t": 1200, "haulage_minor_per_t": 600},
        "place": place("Ada's pit", 46.02, 3.03),
    } | more


def dots_sand(**more: Any) -> Body:
    """Dot's sharp sand at 14.00 a tonne."""
    return {
        "name": "Dot's sand",
        "material": {"kind": "sand", "sand": "concrete"},
        "quantity": {"amount": 200, "unit": "t", "basis": "moist"},
        "price": {"minor": 1400, "per": "t"},
        "place": place("Dot's yard", 45.98, 3.06),
    } | more


def eves_straw(**more: Any) -> Body:
    """Eve's 200 small bales of dry wheat straw at 2.50 each."""
    return {
        "name": "Eve's straw",
        "material": {
            "kind": "straw",
            "fibre": "wheat",
            "moisture_percent": 14,
            "strand_mm": 300,
        },
        "quantity": {"amount": 200, "unit": "bale"},
        "price": {"minor": 250, "per": "bale"},
        "place": place("Eve's farm", 46.05, 2.97),
    } | more


def bens_build(**more: Any) -> Body:
    """Ben's garden wall: 6 m x 2.4 m x 0.5 m, 7.2 m3 in place."""
    return {
        "name": "Ben's wall",
        "walls": [{"length_m": 6, "height_m": 2.4, "thickness_m": 0.5}],
        "place": place("Ben's garden", 46.0, 3.0),
    } | more


def tipper(**more: Any) -> Body:
    """A tipper for 8 t."""
    return {
        "name": "Tipper",
        "body": "tipper",
        "payload_kg": 8000,
        "body_m3": 7.5,
        "call_out_minor": 5000,
        "per_hour_minor": 6000,
        "per_km_minor": 90,
        "base": place("Depot", 46.01, 3.01),
    } | more


def flat_bed(**more: Any) -> Body:
    """A flat bed for 120 small bales."""
    return tipper(name="Flat bed", body="flat_bed", payload_kg=5000, body_m3=18) | more


@dataclass(frozen=True)
class World:
    """Row ids."""

    soil: int
    sand: int
    straw: int
    build: int
    tipper: int
    flat_bed: int

    @property
    def request(self) -> PlanRequest:
        """Ben's build, from Monday to Wednesday."""
        return PlanRequest((self.build,), MONDAY, WEDNESDAY)


def raw(body: object) -> bytes:
    """JSON as it is sent."""
    return json.dumps(body).encode()


def store_offer(body: Body) -> int:
    """Store an offer and return its id."""
    draft = offer_draft(read_document(OfferIn, raw(body)))
    return create_offer(draft=draft, roads=NO_ROADS, at=AT)


def store_build(body: Body) -> int:
    """Store a build and return its id."""
    draft = build_draft(read_document(BuildIn, raw(body)))
    return create_build(draft=draft, roads=NO_ROADS, at=AT)


def store_truck(body: Body) -> int:
    """Store a truck and return its id."""
    draft = truck_draft(read_document(TruckIn, raw(body)))
    return create_truck(draft=draft, roads=NO_ROADS)


def stored_world() -> World:
    """Everybody's things in the tables."""
    return World(
        soil=store_offer(adas_soil()),
        sand=store_offer(dots_sand()),
        straw=store_offer(eves_straw()),
        build=store_build(bens_build()),
        tipper=store_truck(tipper()),
        flat_bed=store_truck(flat_bed()),
    )


def row_counts() -> dict[str, int]:
    """How many rows each table of ours has."""
    return {
        model._meta.label: model._default_manager.count()
        for app in ("logistics", "matching")
        for model in apps.get_app_config(app).get_models()
    }
