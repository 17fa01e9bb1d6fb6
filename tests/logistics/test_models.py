"""Every constraint of the haul engine's tables refuses what it is there to refuse.

The rules are the project's own; a row that breaks one could only mislead.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction

from logistics.models import (
    CostLine,
    Haul,
    Load,
    Place,
    Plan,
    Shift,
    Stop,
    Ticket,
    Trip,
    Truck,
    UnplannedHaul,
)

pytestmark = pytest.mark.django_db

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def a_place(**more: Any) -> Any:
    row: dict[str, Any] = {
        "name": "Pit",
        "lat": 46.0,
        "lon": 3.0,
        "h3_cell": "88",
        "hours": [[]] * 7,
    }
    return Place.objects.create(**row | more)


def a_truck(**more: Any) -> Any:
    row: dict[str, Any] = {
        "name": "Tipper",
        "body": "tipper",
        "payload_kg": 8000,
        "body_m3": 7.5,
        "call_out": 0,
        "per_hour": 6000,
        "per_km": 90,
        "opens": time(6),
        "closes": time(18),
        "max_shift_s": 36_000,
    }
    return Truck.objects.create(base=a_place(), **row | more)


def a_haul(**more: Any) -> Any:
    row: dict[str, Any] = {
        "name": "soil",
        "cargo": "subsoil",
        "mass_kg": 8000,
        "loose_kg_per_m3": 1400.0,
        "load_s": 900,
        "unload_s": 600,
    }
    places: dict[str, Any] = (
        {} if "origin" in more else {"origin": a_place(), "destination": a_place()}
    )
    return Haul.objects.create(**row | places | more)


def a_plan(**more: Any) -> Any:
    row: dict[str, Any] = {
        "haul_cost": 1000,
        "bound_amount": 900,
        "bound_method": "some",
        "proven_optimal": False,
        "basis": "straight",
        "created_at": NINE,
    }
    return Plan.objects.create(**row | more)


def a_shift(**more: Any) -> Any:
    row: dict[str, Any] = {
        "day": date(2026, 3, 2),
        "leave_at": NINE,
        "return_at": NINE + MINUTE,
    }
    links: dict[str, Any] = (
        {} if "plan" in more else {"plan": a_plan(), "truck": a_truck()}
    )
    return Shift.objects.create(**row | links | more)


def a_trip(**more: Any) -> Any:
    return Trip.objects.create(
        **{"shift": more.pop("shift", None) or a_shift(), "position": 0} | more
    )


def a_load(**more: Any) -> Any:
    row: dict[str, Any] = {"mass_kg": 8000, "payload_kg": 8000, "loose_m3": 5.5}
    return Load.objects.create(trip=a_trip(), haul=a_haul(), **row | more)


def a_stop(**more: Any) -> Any:
    row: dict[str, Any] = {
        "position": 0,
        "kind": "load",
        "arrive_at": NINE,
        "begin_at": NINE,
        "end_at": NINE + MINUTE,
        "leg_m": 0,
        "leg_s": 0,
    }
    links: dict[str, Any] = {
        "shift": more.pop("shift", None) or a_shift(),
        "place": a_place(),
    }
    return Stop.objects.create(**links, **row | more)


def a_line(**more: Any) -> Any:
    row: dict[str, Any] = {
        "position": 0,
        "kind": "loading",
        "subject": "x",
        "amount": 1,
        "formula": "1",
    }
    return CostLine.objects.create(
        plan=more.pop("plan", None) or a_plan(), **row | more
    )


def an_unplanned(**more: Any) -> Any:
    row: dict[str, Any] = {
        "mass_kg": 10,
        "code": "no_truck",
        "reasons": ["none"],
        "remedy": "Add one.",
        "proven": True,
    }
    links: dict[str, Any] = {
        "plan": more.pop("plan", None) or a_plan(),
        "haul": more.pop("haul", None) or a_haul(),
    }
    return UnplannedHaul.objects.create(**links, **row | more)


def same_place_haul() -> None:
    here = a_place()
    a_haul(origin=here, destination=here)


def twice(
    make: Callable[..., Any], name: str, build: Callable[[], Any]
) -> Callable[[], None]:
    def attempt() -> None:
        owner = build()
        make(**{name: owner})
        make(**{name: owner})

    return attempt


def two_shifts_in_a_day() -> None:
    plan, truck = a_plan(), a_truck()
    a_shift(plan=plan, truck=truck)
    a_shift(plan=plan, truck=truck)


def unplanned_twice() -> None:
    plan, haul = a_plan(), a_haul()
    an_unplanned(plan=plan, haul=haul)
    an_unplanned(plan=plan, haul=haul)


CAME = {"arrived_at": NINE, "recorded_at": NINE}


def a_ticket(**more: Any) -> Ticket:
    own: dict[str, Any] = {
        "loads_at": NINE,
        "tips_at": NINE,
        "comes_again": True,
    } | more
    return Ticket.objects.create(code=uuid4().hex, load=a_load(), **own)


BROKEN: list[tuple[str, Callable[[], Any]]] = [
    ("place_on_earth", lambda: a_place(lat=90.5)),
    ("place_on_earth", lambda: a_place(lat=-90.5)),
    ("place_on_earth", lambda: a_place(lon=180.5)),
    ("place_on_earth", lambda: a_place(lon=-180.5)),
    ("place_limits_positive", lambda: a_place(max_gross_kg=0)),
    ("place_limits_positive", lambda: a_place(max_height_m=-1.0)),
    ("place_limits_positive", lambda: a_place(max_width_m=0)),
    ("place_limits_positive", lambda: a_place(max_length_m=0)),
    ("truck_sizes_positive", lambda: a_truck(payload_kg=0)),
    ("truck_sizes_positive", lambda: a_truck(body_m3=0)),
    ("truck_sizes_positive", lambda: a_truck(max_shift_s=0)),
    ("truck_sizes_positive", lambda: a_truck(tare_kg=0)),
    ("truck_rates_not_negative", lambda: a_truck(per_km=-1)),
    ("truck_rates_not_negative", lambda: a_truck(per_hour=-1)),
    ("truck_rates_not_negative", lambda: a_truck(call_out=-1)),
    ("truck_closes_after_it_opens", lambda: a_truck(opens=time(18))),
    ("truck_known_body", lambda: a_truck(body="bicycle")),
    ("place_card_positive", lambda: a_place(max_axle_kg=0)),
    ("place_card_positive", lambda: a_place(turning_m=-1.0)),
    ("place_card_positive", lambda: a_place(clear_height_m=0)),
    ("place_card_positive", lambda: a_place(at_once=0)),
    ("place_card_positive", lambda: a_place(loads_a_day=0)),
    ("place_slope_not_negative", lambda: a_place(slope_percent=-1.0)),
    ("place_known_firmness", lambda: a_place(firmness="quicksand")),
    ("place_tip_on_earth", lambda: a_place(tip_lat=90.5, tip_lon=0)),
    ("place_tip_on_earth", lambda: a_place(tip_lat=46.0)),
    ("truck_more_sizes_positive", lambda: a_truck(heaped_m3=0)),
    ("truck_more_sizes_positive", lambda: a_truck(turning_m=0)),
    ("truck_more_sizes_positive", lambda: a_truck(tip_height_m=-1.0)),
    ("truck_terms_not_negative", lambda: a_truck(per_load=-1)),
    ("truck_terms_not_negative", lambda: a_truck(per_tonne=-1)),
    ("truck_terms_not_negative", lambda: a_truck(minimum_hire_s=-1)),
    ("truck_terms_not_negative", lambda: a_truck(overtime_after_s=-1)),
    ("truck_terms_not_negative", lambda: a_truck(overtime_per_hour=-1)),
    ("truck_terms_not_negative", lambda: a_truck(cleaning_s=-1)),
    ("truck_known_rest_rule", lambda: a_truck(rest_rule="none at all")),
    ("haul_masses_positive", lambda: a_haul(mass_kg=0)),
    ("haul_masses_positive", lambda: a_haul(loose_kg_per_m3=0)),
    ("haul_masses_positive", lambda: a_haul(unit_kg=0)),
    ("haul_goes_somewhere", same_place_haul),
    ("haul_terms_not_negative", lambda: a_haul(load_s=-1)),
    ("haul_terms_not_negative", lambda: a_haul(part_charge=-1)),
    ("haul_known_cargo", lambda: a_haul(cargo="gold")),
    ("plan_bound_at_most_its_cost", lambda: a_plan(bound_amount=1001)),
    ("plan_bound_at_most_its_cost", lambda: a_plan(haul_cost=-1, bound_amount=-1)),
    ("one_shift_per_truck_and_day", two_shifts_in_a_day),
    ("shift_returns_after_it_leaves", lambda: a_shift(return_at=NINE - MINUTE)),
    ("trip_positions_differ", twice(a_trip, "shift", a_shift)),
    ("load_within_payload", lambda: a_load(mass_kg=8001)),
    ("load_within_payload", lambda: a_load(mass_kg=0)),
    ("load_within_payload", lambda: a_load(loose_m3=0)),
    ("stop_positions_differ", twice(a_stop, "shift", a_shift)),
    ("stop_times_in_order", lambda: a_stop(begin_at=NINE - MINUTE)),
    ("stop_times_in_order", lambda: a_stop(end_at=NINE - MINUTE)),
    ("stop_leg_not_negative", lambda: a_stop(leg_m=-1)),
    ("stop_leg_not_negative", lambda: a_stop(leg_s=-1)),
    ("cost_line_positions_differ", twice(a_line, "plan", a_plan)),
    ("unplanned_once_per_haul", unplanned_twice),
    ("unplanned_mass_positive", lambda: an_unplanned(mass_kg=0)),
    ("ticket_says_what_came", lambda: a_ticket(state="accepted", **CAME)),
    ("ticket_says_what_came", lambda: a_ticket(state="accepted", moist_kg=9)),
    ("ticket_says_what_came", lambda: a_ticket(state="refused", **CAME)),
    ("ticket_says_what_came", lambda: a_ticket(moist_kg=9)),
    ("ticket_says_what_came", lambda: a_ticket(state="lost")),
    (
        "ticket_says_what_came",
        lambda: a_ticket(state="refused", reason="debris", moist_kg=9, **CAME),
    ),
    (
        "ticket_says_what_came",
        lambda: a_ticket(state="accepted", reason="debris", moist_kg=9, **CAME),
    ),
    (
        "ticket_amounts_positive",
        lambda: a_ticket(state="accepted", moist_kg=9, loose_m3=0, **CAME),
    ),
]


def named(app: str, name: str) -> set[str]:
    """How a database may name a constraint in its refusal: by its name or its columns."""
    for model in apps.get_app_config(app).get_models():
        for constraint in model._meta.constraints:
            if constraint.name == name:
                unique = getattr(constraint, "fields", ())
                own = {
                    field.name: field.column for field in model._meta.concrete_fields
                }
                table = model._meta.db_table
                columns = ", ".join(f"{table}.{own[field]}" for field in unique)
                return {name, columns} - {""}
    raise AssertionError(f"no constraint is called {name}")


@pytest.mark.parametrize(("name", "attempt"), BROKEN)
def test_a_row_that_breaks_a_constraint_is_refused(name, attempt):
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        attempt()
    assert any(own in str(refusal.value) for own in named("logistics", name))


def test_sound_rows_are_stored():
    a_load()
    a_stop()
    a_line()
    an_unplanned()
    assert Load.objects.get().haul.mass_kg == 8000
    a_ticket()
    a_ticket(state="withdrawn")
    a_ticket(state="accepted", moist_kg=7800, **CAME)
    a_ticket(state="accepted", loose_m3=6.5, **CAME)
    a_ticket(state="refused", reason="too_wet", **CAME)


def test_every_constraint_has_a_row_that_breaks_it():
    models = apps.get_app_config("logistics").get_models()
    ours = {own.name for model in models for own in model._meta.constraints}
    assert ours == {name for name, _ in BROKEN}


def test_rows_are_told_apart_by_their_text():
    rows = [a_place(), a_place(), a_truck(), a_haul(), a_plan(), a_shift(), a_trip()]
    rows += [a_load(), a_stop(), a_line(), an_unplanned(), a_ticket(), a_ticket()]
    assert len({str(row) for row in rows}) == len(rows)
