"""Recording at the gate: once, with sense, and with what is then still to come.

Properties of the records, and the rules of the domain (`living/arrivals`).
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from logistics.domain.errors import Refused
from logistics.domain.living.arrivals import Arrival, GateCheck, Reason
from logistics.models import Haul, Load, Plan, Shift, Ticket, Trip
from logistics.services.receipts import haul_left, receive
from logistics.services.tickets import get_ticket
from tests.logistics.test_models import NINE, an_unplanned
from tests.tickets import CODES, three_tickets

NOW = int(NINE.timestamp())


def came(**more: Any) -> Arrival:
    return Arrival(**{"accepted": True, "at": NOW, "moist_kg": 7810} | more)


def refused_with(**more: Any) -> tuple[str, str]:
    code = more.pop("code", CODES[0])
    with pytest.raises(Refused) as refusal:
        receive(code=code, arrival=came(**more), at=NINE)
    return refusal.value.problems[0].code, refusal.value.problems[0].field


@pytest.mark.django_db
def test_what_came_is_kept_as_it_was_said():
    three_tickets()
    arrival = came(loose_m3=5.4, vehicle="AB-123", check=GateCheck())
    receive(code=CODES[0], arrival=arrival, at=NINE)
    own = get_ticket(CODES[0])
    assert own.arrival is not None
    # Whether it comes again is a question of refused loads alone.
    assert replace(own.arrival, comes_again=True) == arrival
    assert (own.state, own.recorded_at) == ("accepted", NINE)


@pytest.mark.django_db
def test_a_ticket_is_recorded_once_and_the_first_record_stands():
    three_tickets()
    receive(code=CODES[0], arrival=came(), at=NINE)
    assert refused_with(moist_kg=9000) == ("ticket_recorded", "ticket")
    assert Ticket.objects.get(code=CODES[0]).moist_kg == 7810


@pytest.mark.django_db
def test_a_load_that_is_in_no_plan_any_more_is_not_recorded():
    three_tickets()
    Ticket.objects.filter(code=CODES[0]).update(state="withdrawn")
    assert refused_with() == ("ticket_withdrawn", "ticket")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "code", "field"),
    [
        ({"at": NOW + 3600}, "arrived_in_future", "arrived_at"),
        ({"at": NOW - 400 * 86_400}, "arrived_long_ago", "arrived_at"),
        ({"moist_kg": 18_001}, "amount_doubtful", "moist_kg"),
        ({"loose_m3": 12.7}, "amount_doubtful", "loose_m3"),
        ({"code": "kqm2nobody"}, "unknown_ticket", "ticket"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_recorded(given, code, field):
    """Twice the 9 t of the truck, twice the 6.3 m3 that 9 t take (arithmetic)."""
    three_tickets()
    assert refused_with(**given) == (code, field)
    assert set(Ticket.objects.values_list("state", flat=True)) == {"open"}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "given", [{"at": NOW + 300}, {"moist_kg": 18_000}, {"loose_m3": 12.5}]
)
def test_clocks_may_differ_and_bodies_be_heaped(given):
    three_tickets()
    receive(code=CODES[0], arrival=came(**given), at=NINE)
    assert get_ticket(CODES[0]).state == "accepted"


@pytest.mark.django_db
def test_what_is_still_to_come_follows_from_the_tickets():
    """24 t agreed, 7.81 t came, one load of 8 t refused for good (arithmetic)."""
    haul = three_tickets()
    assert haul_left(haul).balance.to_come_kg == 24_000
    receive(code=CODES[0], arrival=came(), at=NINE)
    wet = Arrival(accepted=False, at=NOW, reason=Reason.TOO_WET, comes_again=False)
    receive(code=CODES[1], arrival=wet, at=NINE + timedelta(hours=1))
    left = haul_left(haul)
    assert left.balance.to_come_kg == 24_000 - 7_810 - 8_000
    assert left.balance.refused_kg == left.balance.given_up_kg == 8_000
    assert (left.loads, left.open_loads) == (3, 1)


@pytest.mark.django_db
@pytest.mark.parametrize("again", [True, False])
def test_a_refused_load_that_a_plan_has_dealt_with_counts_once(again):
    """24 t agreed, 8 t refused: a plan that sends them again has four loads of 8 t and
    still agrees on 24 t; one that gives them up leaves 16 t to come (arithmetic)."""
    haul = three_tickets()
    wet = Arrival(accepted=False, at=NOW, reason=Reason.TOO_WET, comes_again=again)
    receive(code=CODES[0], arrival=wet, at=NINE)
    Ticket.objects.filter(code=CODES[0]).update(settled=True)
    if again:
        trip = Trip.objects.create(shift=Shift.objects.get(), position=3)
        Load.objects.create(
            trip=trip, haul_id=haul, mass_kg=8000, payload_kg=9000, loose_m3=5.6
        )
    left = haul_left(haul)
    assert left.balance.agreed_kg == 24_000
    assert left.balance.to_come_kg == (24_000 if again else 16_000)
    assert left.balance.unplanned_kg == 0


@pytest.mark.django_db
def test_what_no_load_carries_is_still_to_come():
    """24 t in three loads, and 5 t unplanned."""
    haul = three_tickets()
    an_unplanned(plan=Plan.objects.get(), haul=Haul.objects.get(pk=haul), mass_kg=5_000)
    left = haul_left(haul)
    assert (left.balance.to_come_kg, left.balance.unplanned_kg) == (29_000, 5_000)


@pytest.mark.django_db
def test_a_volume_counts_by_the_planned_density():
    """5.6 m3 are 8 t."""
    haul = three_tickets()
    by_volume = Arrival(accepted=True, at=NOW, loose_m3=5.6)
    receive(code=CODES[0], arrival=by_volume, at=NINE)
    assert haul_left(haul).balance.arrived_kg == 8_000


@pytest.mark.django_db
def test_what_is_left_takes_a_fixed_number_of_queries(django_assert_num_queries):
    haul = three_tickets()
    with django_assert_num_queries(3):
        haul_left(haul)


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_people_who_record_at_the_same_moment_are_heard_once():
    """Threads with a connection each: one record stands, whole."""
    three_tickets()
    gate = Barrier(8)

    def one(number: int) -> str:
        gate.wait()
        arrival = came(moist_kg=7_000 + number, vehicle=f"truck {number}")
        try:
            receive(code=CODES[0], arrival=arrival, at=NINE)
        except Refused as refused:
            return refused.problems[0].code
        finally:
            connection.close()
        return f"{number}"

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(one, range(8)))
    assert answers.count("ticket_recorded") == 7
    (heard,) = (int(own) for own in answers if own != "ticket_recorded")
    row = Ticket.objects.get(code=CODES[0])
    assert (row.moist_kg, row.vehicle) == (7_000 + heard, f"truck {heard}")
