"""Tickets of loads: made with a plan, recorded once, carried into the next plan."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime

from django.db import transaction

from logistics import models
from logistics.domain.errors import refuse
from logistics.domain.living.arrivals import (
    Arrival,
    Finding,
    GateCheck,
    LoadAt,
    Reason,
)
from logistics.domain.planning.result import Shift
from logistics.domain.trucks import Cargo

State = models.Ticket.State
Codes = list[list[str]]
"""For each shift of a plan, in its order, the codes of its loads."""
BITS = 128


def new_code() -> str:
    """A code of 27 letters and digits with 128 random bits; none look alike."""
    letters = "23456789abcdefghjkmnpqrstvwxyz"
    number, code = secrets.randbits(BITS), ""
    for _ in range(27):
        number, rest = divmod(number, len(letters))
        code += letters[rest]
    return code


@dataclass(frozen=True, slots=True)
class StoredTicket:
    """A ticket with what is planned of its load; moments with their zone. `settled`: a
    plan made since has dealt with the refusal."""

    code: str
    state: str
    plan_id: int
    haul_id: int
    cargo: Cargo
    mass_kg: int
    loose_m3: float
    loose_kg_per_m3: float
    origin: str
    destination: str
    truck: str
    loaded_at: datetime
    tipped_at: datetime
    arrival: Arrival | None
    recorded_at: datetime | None
    settled: bool


@transaction.atomic
def issue_tickets(
    *,
    plan_id: int,
    shifts: Sequence[Shift],
    carried: Mapping[LoadAt, str] | None = None,
    code: Callable[[], str] = new_code,
) -> Codes:
    """Give every load of a stored plan a ticket and return their codes.

    `shifts` are those of the plan, `carried` the codes of an earlier plan's tickets that
    go on with their loads.
    """
    carried = carried or {}
    rows = _loads(plan_id)
    held = {
        own.code: own
        for own in models.Ticket.objects.select_for_update().filter(
            code__in=list(carried.values())
        )
    }
    found: Codes = [[] for _ in shifts]
    for at, load in rows:
        trip = shifts[at.shift].trips[at.trip]
        planned = {
            "load_id": load,
            "loads_at": datetime.fromtimestamp(trip.pickup.begin, tz=UTC),
            "tips_at": datetime.fromtimestamp(trip.drop.begin, tz=UTC),
        }
        kept = held.get(carried.get(at, ""))
        if kept is None:
            kept = models.Ticket.objects.create(code=code(), **planned)
        else:
            models.Ticket.objects.filter(pk=kept.pk).update(**planned)
        found[at.shift].append(kept.code)
    return found


def withdraw_tickets(*, codes: Sequence[str]) -> None:
    """Take open tickets back: their loads are in no plan any more."""
    models.Ticket.objects.filter(code__in=codes, state=State.OPEN).update(
        state=State.WITHDRAWN
    )


def settle_tickets(*, codes: Sequence[str]) -> None:
    """Note that a plan deals with these refusals."""
    models.Ticket.objects.filter(code__in=codes, state=State.REFUSED).update(
        settled=True
    )


def plan_arrivals(codes: Codes) -> dict[LoadAt, Arrival]:
    """What is recorded of the loads with these codes. A refusal that a plan has dealt with
    does not come again."""
    rows = {
        own.code: own
        for own in models.Ticket.objects.filter(
            code__in=[code for shift in codes for code in shift]
        )
    }
    found = {}
    for at, shift in enumerate(codes):
        for trip, code in enumerate(shift):
            own = arrival_of(rows[code]) if code in rows else None
            if own is not None:
                found[LoadAt(at, trip)] = own
    return found


def unsettled(codes: Sequence[str]) -> list[str]:
    """Of these, the refused whose mass no plan has dealt with."""
    rows = models.Ticket.objects.filter(
        code__in=codes, state=State.REFUSED, settled=False
    )
    return list(rows.order_by("pk").values_list("code", flat=True))


def record_ticket(*, code: str, arrival: Arrival, at: datetime) -> StoredTicket:
    """Record what came, once: of several people at the same moment one is heard.

    Raises Refused "unknown_ticket", "ticket_recorded" or "ticket_withdrawn".
    """
    row = models.Ticket.objects.filter(code=code, state=State.OPEN)
    recorded = row.update(
        state=State.ACCEPTED if arrival.accepted else State.REFUSED,
        moist_kg=arrival.moist_kg if arrival.accepted else None,
        loose_m3=arrival.loose_m3 if arrival.accepted else None,
        arrived_at=datetime.fromtimestamp(arrival.at, tz=UTC),
        vehicle=arrival.vehicle[:40],
        reason="" if arrival.accepted else arrival.reason or "",
        checklist=asdict(arrival.check),
        comes_again=None if arrival.accepted else arrival.comes_again,
        recorded_at=at,
    )
    own = get_ticket(code)
    if recorded:
        return own
    gone = own.state == State.WITHDRAWN
    raise refuse(
        "ticket_withdrawn" if gone else "ticket_recorded",
        field="ticket",
        given=own.state,
        message="this load was taken out of the plan"
        if gone
        else "this load is recorded already",
        remedy="Ask who planned it before the truck tips."
        if gone
        else "Nothing is left to do; what was recorded stands.",
    )


def record_refusal(
    *, code: str, reason: Reason, comes_again: bool, at: datetime
) -> None:
    """Note on a ticket that is still open that its load was turned away."""
    models.Ticket.objects.filter(code=code, state=State.OPEN).update(
        state=State.REFUSED,
        reason=reason,
        comes_again=comes_again,
        arrived_at=at,
        recorded_at=at,
    )


def get_ticket(code: str) -> StoredTicket:
    """One ticket. Raises Refused "unknown_ticket"."""
    row = (
        models.Ticket.objects.select_related(
            "load__trip__shift__truck",
            "load__haul__origin",
            "load__haul__destination",
        )
        .filter(code=code)
        .first()
    )
    if row is None:
        raise refuse(
            "unknown_ticket",
            field="ticket",
            given=code,
            message="there is no such ticket",
            remedy="Scan the code again, or type the address as it is printed.",
        )
    load, trip = row.load, row.load.trip
    return StoredTicket(
        code=row.code,
        state=row.state,
        plan_id=trip.shift.plan_id,
        haul_id=load.haul_id,
        cargo=Cargo(load.haul.cargo),
        mass_kg=load.mass_kg,
        loose_m3=load.loose_m3,
        loose_kg_per_m3=load.haul.loose_kg_per_m3,
        origin=load.haul.origin.name,
        destination=load.haul.destination.name,
        truck=trip.shift.truck.name,
        loaded_at=row.loads_at,
        tipped_at=row.tips_at,
        arrival=_told(row),
        recorded_at=row.recorded_at,
        settled=row.settled,
    )


def arrival_of(row: models.Ticket) -> Arrival | None:
    """What a ticket counts for in its plan, None while it is open: the mass of a refused
    load that a plan has dealt with is asked for there, and does not come again."""
    own = _told(row)
    if own and row.settled:
        return replace(own, comes_again=False)
    return own


def _told(row: models.Ticket) -> Arrival | None:
    """What a ticket says, None while it is open."""
    if row.arrived_at is None:
        return None
    given = row.checklist or {}
    return Arrival(
        accepted=row.state == State.ACCEPTED,
        at=int(row.arrived_at.timestamp()),
        moist_kg=row.moist_kg,
        loose_m3=row.loose_m3,
        vehicle=row.vehicle,
        reason=Reason(row.reason) if row.reason else None,
        check=GateCheck(
            look=Finding(given.get("look", Finding.NOT_LOOKED)),
            smell=Finding(given.get("smell", Finding.NOT_LOOKED)),
            debris=Finding(given.get("debris", Finding.NOT_LOOKED)),
            asbestos_suspect=bool(given.get("asbestos_suspect")),
        ),
        comes_again=bool(row.comes_again),
    )


def _loads(plan_id: int) -> list[tuple[LoadAt, int]]:
    """The loads of a plan in the order of its shifts and trips, with their row ids."""
    rows = models.Load.objects.filter(trip__shift__plan_id=plan_id).order_by(
        "trip__shift_id", "trip__position"
    )
    shifts = list(
        models.Shift.objects.filter(plan_id=plan_id)
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    return [
        (LoadAt(shifts.index(shift), position), pk)
        for pk, shift, position in rows.values_list(
            "pk", "trip__shift_id", "trip__position"
        )
    ]
