"""A haul of three loads of 8 t from Ada's pit to Ben's garden, each with its ticket."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from logistics.models import Ticket
from tests.logistics.test_models import (
    MINUTE,
    NINE,
    a_haul,
    a_place,
    a_plan,
    a_shift,
    a_truck,
)
from tests.worlds import Body

CODES = ("kqm2first", "kqm2second", "kqm2third")
LOOKED: Body = {"look": "fine", "smell": "fine", "debris": "fine"}


def three_tickets(**more: Any) -> int:
    """Store them; the id of the haul. Its truck carries 9 t, and 8 t are 5.6 m3."""
    haul = a_haul(
        origin=a_place(name="Ada's pit"),
        destination=a_place(name="Ben's garden"),
        mass_kg=24_000,
        loose_kg_per_m3=8000 / 5.6,
        **more,
    )
    shift = a_shift(
        plan=a_plan(), truck=a_truck(name="Tipper"), return_at=NINE + timedelta(hours=6)
    )
    for position, code in enumerate(CODES):
        trip = shift.trips.create(position=position)
        load = haul.loads.create(trip=trip, mass_kg=8000, payload_kg=9000, loose_m3=5.6)
        Ticket.objects.create(
            load=load,
            code=code,
            loads_at=NINE + position * 90 * MINUTE,
            tips_at=NINE + (position * 90 + 40) * MINUTE,
        )
    return int(haul.pk)
