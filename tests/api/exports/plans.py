"""Plan documents for exports: a day at Ben's, as a planner might have answered."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from api.documents.plan_models import (
    BuildAnswer,
    DealAnswer,
    LineAnswer,
    LoadAnswer,
    PlaceAnswer,
    PlanAnswer,
    ShiftAnswer,
    StopAnswer,
)
from api.exports.book import Book
from logistics.domain.planning.result import LineKind, StopKind
from logistics.domain.trucks import Cargo

STORED = datetime(2026, 3, 1, 9, 30, 15, 250_000, tzinfo=UTC)
RECEIPTS = "https://marlpit.example/tickets/"
CEST = timezone(timedelta(hours=2))

PLACES = {
    "depot": ("Depot", 46.01, 3.01, ["base"]),
    "pit": ("Ada's pit", 46.02, 3.03, ["subsoil"]),
    "farm": ("Eve's farm", 46.05, 2.97, ["straw"]),
    "garden": ("Ben's garden", 46.0, 3.0, ["build"]),
}


def place(key: str, **change: Any) -> PlaceAnswer:
    name, lat, lon, roles = PLACES[key]
    return PlaceAnswer.model_validate(
        {"key": key, "name": name, "lat": lat, "lon": lon, "roles": roles} | change
    )


def deal(offer: str, material: Cargo, **change: Any) -> DealAnswer:
    return DealAnswer.model_validate(
        {
            "offer": offer,
            "offer_name": f"Offer {offer}",
            "build": "wall",
            "build_name": "Ben's wall",
            "need": f"wall/{material}",
            "material": material,
            "moist_kg": 16_000,
            "loose_m3": 12.0,
            "pieces": None,
            "loads": 2,
            "road_km": 4.0,
            "haul_payer": "builder",
            "material_minor": 0,
            "haul_minor": 10_000,
        }
        | change
    )


def load(number: int, kg: int, **change: Any) -> LoadAnswer:
    return LoadAnswer.model_validate(
        {
            "deal": number,
            "material": Cargo.SUBSOIL,
            "moist_kg": kg,
            "loose_m3": round(kg / 1400, 2),
            "bound": "mass",
            "ticket": None,
        }
        | change
    )


def stop(kind: StopKind, at: str, begin: datetime, **change: Any) -> StopAnswer:
    """A stop of ten minutes after a leg of 4 km."""
    standing = kind in (StopKind.LEAVE, StopKind.RETURN)
    return StopAnswer.model_validate(
        {
            "kind": kind,
            "place": at,
            "place_name": PLACES[at][0],
            "arrive": begin,
            "begin": begin,
            "end": begin if standing else begin + timedelta(minutes=10),
            "leg_km": 0.0 if kind is StopKind.LEAVE else 4.0,
            "leg_minutes": 0.0 if kind is StopKind.LEAVE else 10.0,
        }
        | change
    )


def shift(
    stops: list[StopAnswer], loads: list[LoadAnswer], **change: Any
) -> ShiftAnswer:
    return ShiftAnswer.model_validate(
        {
            "truck": "tipper",
            "truck_name": "Tipper",
            "day": stops[0].begin.date().isoformat(),
            "leave": stops[0].begin,
            "back": stops[-1].end,
            "km": sum(own.leg_km for own in stops),
            "empty_km": 8.0,
            "tonne_km": 64.0,
            "paid_hours": 1.5,
            "cost_minor": 12_345,
            "payload_kg": 8000,
            "body_m3": 7.5,
            "stops": stops,
            "loads": loads,
        }
        | change
    )


def two_loads(begin: datetime, *, codes: bool = True, **change: Any) -> ShiftAnswer:
    """Two loads of Ada's soil, the body cleaned and a rest between them."""
    minutes = iter(range(0, 200, 20))

    def later() -> datetime:
        return begin + timedelta(minutes=next(minutes))

    stops = [
        stop(StopKind.LEAVE, "depot", later()),
        stop(StopKind.LOAD, "pit", later(), trip=0),
        stop(StopKind.TIP, "garden", later(), trip=0),
        stop(StopKind.CLEAN, "garden", later(), leg_km=0.0, leg_minutes=0.0),
        stop(StopKind.REST, "garden", later(), leg_km=0.0, leg_minutes=0.0),
        stop(StopKind.LOAD, "pit", later(), trip=1),
        stop(StopKind.TIP, "garden", later(), trip=1),
        stop(StopKind.RETURN, "depot", later()),
    ]
    loads = [load(0, kg, ticket=f"K7QM{kg}" if codes else None) for kg in (8000, 7600)]
    return shift(stops, loads, **change)


def milk_run(begin: datetime) -> ShiftAnswer:
    """Bales of two farms ride together and are tipped in the other order."""
    kinds = [
        (StopKind.LEAVE, "depot", None),
        (StopKind.LOAD, "farm", 0),
        (StopKind.LOAD, "pit", 1),
        (StopKind.TIP, "garden", 1),
        (StopKind.TIP, "garden", 0),
        (StopKind.RETURN, "depot", None),
    ]
    stops = [
        stop(kind, at, begin + timedelta(minutes=20 * number), trip=trip)
        for number, (kind, at, trip) in enumerate(kinds)
    ]
    loads = [
        load(1, 900, material=Cargo.STRAW, bound=None),
        load(2, 300, material=Cargo.STRAW, bound=None),
    ]
    return shift(stops, loads, truck="flat", truck_name="Flat bed")


def plan(shifts: list[ShiftAnswer], **change: Any) -> PlanAnswer:
    return PlanAnswer.model_validate(
        {
            "status": "planned",
            "name": "Spring",
            "currency": "EUR",
            "time_zone": "Europe/Brussels",
            "distance_basis": "given",
            "total_minor": 11_345,
            "subtotals_minor": {},
            "lower_bound_minor": 0,
            "bound_method": "none",
            "gap_percent": 0.0,
            "proven_optimal": False,
            "haul_cost_minor": 0,
            "haul_bound_minor": 0,
            "haul_bound_method": "none",
            "haul_gap_percent": 0.0,
            "allocation_gap_percent": 0.0,
            "km": 0.0,
            "empty_km": 0.0,
            "tonne_km": 0.0,
            "lines": [
                LineAnswer(
                    kind=LineKind.CALL_OUT,
                    subject="Tipper",
                    amount_minor=12_345,
                    formula="1 x 12345",
                ),
                LineAnswer(
                    kind=LineKind.TIPPING_AVOIDED,
                    subject="Offer soil",
                    amount_minor=-1000,
                    formula="1 x -1000",
                ),
            ],
            "builds": [
                BuildAnswer(
                    build=key,
                    name=name,
                    place="garden",
                    takeoff=None,
                    needs=[],
                    storage_warning=None,
                )
                for key, name in (("wall", "Ben's wall"), ("idle", "Cy's oven"))
            ],
            "deals": [
                deal("soil", Cargo.SUBSOIL),
                deal("straw", Cargo.STRAW),
                deal("hay", Cargo.STRAW),
            ],
            "shifts": shifts,
            "unplanned": [],
            "savings": [],
            "places": [place(key) for key in PLACES],
            "cautions": [],
        }
        | change
    )


MORNING = datetime(2026, 5, 4, 7, 0, tzinfo=CEST)


def book(*shifts: ShiftAnswer, **change: Any) -> Book:
    """A book of the shifts, or of a Monday morning with two loads."""
    own = plan(list(shifts) or [two_loads(MORNING)], **change)
    return Book(own, STORED, receipts=RECEIPTS)


STRANGE = "Grüße, „Łukasz“; 🌻 \\ <&>\nsecond line\x0b ألف 土"
"""Umlauts, commas, semicolons, emoji, a backslash, markup, a line break, a control sign
that XML and calendars forbid, and two scripts beyond the sheets' letters."""


def strange_book() -> Book:
    """A plan whose every name is strange."""
    own = two_loads(MORNING)
    stops = [one.model_copy(update={"place_name": STRANGE}) for one in own.stops]
    changed = own.model_copy(update={"truck_name": STRANGE, "stops": stops})
    base = book(changed)
    places = [one.model_copy(update={"name": STRANGE}) for one in base.plan.places]
    deals = [
        one.model_copy(update={"offer_name": STRANGE, "build_name": STRANGE})
        for one in base.plan.deals
    ]
    builds = [one.model_copy(update={"name": STRANGE}) for one in base.plan.builds]
    renamed = base.plan.model_copy(
        update={"name": STRANGE, "places": places, "deals": deals, "builds": builds}
    )
    return Book(renamed, STORED, receipts=RECEIPTS)
