"""Recording at the gate: what a record may say of its load, and what is still to come."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from logistics import models
from logistics.domain.errors import Refused, refuse
from logistics.domain.living.arrivals import Arrival
from logistics.domain.living.reconciling import Balance, balance
from logistics.services.tickets import (
    StoredTicket,
    arrival_of,
    get_ticket,
    record_ticket,
)

CLOCKS_DIFFER_S = 600
"""How far in the future an arrival may lie: clocks of phones are not all alike."""
OVERLOAD = 2
"""An amount above so many times the planned capacity is a slip of the finger."""
LATE_S = 366 * 86_400
"""How long after its arrival a load may be recorded."""


@dataclass(frozen=True, slots=True)
class HaulLeft:
    """What a haul has brought so far, and how many of its loads are open."""

    balance: Balance
    loads: int
    open_loads: int


def haul_left(haul_id: int) -> HaulLeft:
    """The balance of a haul by its tickets. Withdrawn loads are none of its plan.

    What is agreed is what its loads and its unplanned rest were planned to be. A refused
    load that a later plan has sent again stands there twice and counts once.
    """
    density = models.Haul.objects.values_list("loose_kg_per_m3", flat=True)
    rest = models.UnplannedHaul.objects.filter(haul_id=haul_id)
    agreed_kg = sum(rest.values_list("mass_kg", flat=True))
    rows = (
        models.Load.objects.filter(haul_id=haul_id)
        .exclude(ticket__state=models.Ticket.State.WITHDRAWN)
        .select_related("ticket")
        .order_by("pk")
    )
    loads: list[tuple[int, Arrival | None]] = []
    for row in rows:
        ticket = row.ticket if hasattr(row, "ticket") else None
        came = arrival_of(ticket) if ticket else None
        if ticket and came and ticket.settled and ticket.comes_again:
            loads.append((row.mass_kg, replace(came, comes_again=True)))
        else:
            agreed_kg += row.mass_kg
            loads.append((row.mass_kg, came))
    found = balance(haul_id, agreed_kg, density.get(pk=haul_id), loads)
    return HaulLeft(found, len(loads), sum(own is None for _, own in loads))


def receive(*, code: str, arrival: Arrival, at: datetime) -> StoredTicket:
    """Record what came of the load of a ticket, once.

    Raises Refused "arrived_in_future", "arrived_long_ago" or "amount_doubtful" for what
    cannot be, and what `record_ticket` does.
    """
    own = get_ticket(code)
    _check_moment(arrival, at)
    payload_kg = models.Load.objects.values_list("payload_kg", flat=True).get(
        ticket__code=code
    )
    # What the body holds is not stored: its volume when filled to the payload is.
    most_m3 = own.loose_m3 * payload_kg / own.mass_kg
    _check_amount("moist_kg", arrival.moist_kg, payload_kg, "kg")
    _check_amount("loose_m3", arrival.loose_m3, most_m3, "m3")
    return record_ticket(code=code, arrival=arrival, at=at)


def _check_moment(arrival: Arrival, at: datetime) -> None:
    ahead = arrival.at - at.timestamp()
    if ahead > CLOCKS_DIFFER_S:
        raise _wrong_moment("arrived_in_future", arrival, "this moment is yet to come")
    if ahead < -LATE_S:
        raise _wrong_moment("arrived_long_ago", arrival, "this is more than a year ago")


def _wrong_moment(code: str, arrival: Arrival, message: str) -> Refused:
    return refuse(
        code,
        field="arrived_at",
        given=arrival.at,
        message=message,
        remedy="Give the day and the time at which the truck came.",
    )


def _check_amount(field: str, given: float | None, most: float, unit: str) -> None:
    if given is not None and given > OVERLOAD * most:
        raise refuse(
            "amount_doubtful",
            field=field,
            given=f"{given:g}",
            message=f"this truck carries about {most:,.0f} {unit} at most",
            remedy=f"Check the figure and its unit, which is {unit}.",
        )
