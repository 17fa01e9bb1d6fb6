"""Tickets as documents: what should come, what came, and what is still to come."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import AwareDatetime, BaseModel, Field

from api.documents.quantity import Document
from logistics.domain.living.arrivals import Arrival, Finding, GateCheck, Reason
from logistics.domain.trucks import Cargo
from logistics.services.receipts import HaulLeft
from logistics.services.tickets import StoredTicket

Kilograms = Annotated[int, Field(gt=0, le=1_000_000)]
Vehicle = Annotated[str, Field(max_length=40, pattern=r"^[\w .,'\u2019/+&-]*$")]
CubicMetres = Annotated[float, Field(gt=0, le=1_000)]


class GateCheckDoc(Document):
    """What somebody saw at the gate before the truck tipped."""

    look: Finding = Field(
        default=Finding.NOT_LOOKED, description="is it what was agreed?"
    )
    smell: Finding = Field(
        default=Finding.NOT_LOOKED, description="fuel, solvent, rot or must"
    )
    debris: Finding = Field(
        default=Finding.NOT_LOOKED, description="brick, plastic, wood, roots, string"
    )
    asbestos_suspect: bool = Field(
        default=False,
        description="something in it could be asbestos: the load must be refused",
    )


class ArrivalIn(Document):
    """What came of a load. Accepted, it needs `moist_kg` or `loose_m3`; refused, a
    `reason`."""

    accepted: bool
    moist_kg: Kilograms | None = Field(
        default=None, description="as weighed; not kept of a refused load"
    )
    loose_m3: CubicMetres | None = Field(default=None, description="loose, in the body")
    arrived_at: AwareDatetime | None = Field(
        default=None, description="with its offset from UTC; now by default"
    )
    vehicle: Vehicle | None = Field(
        default=None,
        description="its registration or name: letters, digits, spaces and - . , ' / + &",
    )
    reason: Reason | None = None
    check: GateCheckDoc = GateCheckDoc()
    comes_again: bool = Field(
        default=True, description="of a refused load: is as much still wanted?"
    )


class RecordAnswer(BaseModel):
    """What was recorded."""

    accepted: bool
    moist_kg: int | None
    loose_m3: float | None
    counted_kg: int = Field(
        description="as weighed, else the volume at the planned density; 0 if refused"
    )
    arrived_at: datetime
    vehicle: str
    reason: Reason | None
    check: GateCheckDoc
    comes_again: bool | None = Field(description="null of an accepted load")
    dealt_with: bool = Field(
        description="of a refused load: a plan made since has dealt with it"
    )
    charged_in_full: bool = Field(
        description="a refused load is paid like one that was tipped"
    )
    recorded_at: datetime


class HaulLeftAnswer(BaseModel):
    """What is still to come from there to here, kg moist."""

    agreed_kg: int
    arrived_kg: int
    refused_kg: int
    given_up_kg: int = Field(description="refused, and not wanted again")
    to_come_kg: int
    unplanned_kg: int = Field(
        description="to come, and in no open load; below 0: more is planned"
    )
    loads: int
    open_loads: int


class TicketAnswer(BaseModel):
    """The ticket of a load: what is planned, and what came. Times are local."""

    code: str
    state: str = Field(description="open, accepted, refused or withdrawn")
    material: Cargo
    planned_kg: int
    planned_m3: float
    origin: str
    destination: str
    truck: str
    loads_at: datetime
    tips_at: datetime
    record: RecordAnswer | None
    haul: HaulLeftAnswer


def arrival_of(document: ArrivalIn, now: datetime) -> Arrival:
    """What a document says. Raises what Arrival raises."""
    check = document.check
    return Arrival(
        accepted=document.accepted,
        at=int((document.arrived_at or now).timestamp()),
        moist_kg=document.moist_kg,
        loose_m3=document.loose_m3,
        vehicle=document.vehicle or "",
        reason=document.reason,
        check=GateCheck(check.look, check.smell, check.debris, check.asbestos_suspect),
        comes_again=document.comes_again,
    )


def ticket_answer(own: StoredTicket, left: HaulLeft, zone: ZoneInfo) -> TicketAnswer:
    """A ticket as a document, in local time."""
    return TicketAnswer(
        code=own.code,
        state=own.state,
        material=own.cargo,
        planned_kg=own.mass_kg,
        planned_m3=round(own.loose_m3, 2),
        origin=own.origin,
        destination=own.destination,
        truck=own.truck,
        loads_at=own.loaded_at.astimezone(zone),
        tips_at=own.tipped_at.astimezone(zone),
        record=_record(own, zone),
        haul=HaulLeftAnswer(
            agreed_kg=left.balance.agreed_kg,
            arrived_kg=left.balance.arrived_kg,
            refused_kg=left.balance.refused_kg,
            given_up_kg=left.balance.given_up_kg,
            to_come_kg=left.balance.to_come_kg,
            unplanned_kg=left.balance.unplanned_kg,
            loads=left.loads,
            open_loads=left.open_loads,
        ),
    )


def _record(own: StoredTicket, zone: ZoneInfo) -> RecordAnswer | None:
    came = own.arrival
    if came is None or own.recorded_at is None:
        return None
    check = came.check
    return RecordAnswer(
        accepted=came.accepted,
        moist_kg=came.moist_kg,
        loose_m3=came.loose_m3,
        counted_kg=came.kg(own.loose_kg_per_m3),
        arrived_at=datetime.fromtimestamp(came.at, tz=zone),
        vehicle=came.vehicle,
        reason=came.reason,
        check=GateCheckDoc(
            look=check.look,
            smell=check.smell,
            debris=check.debris,
            asbestos_suspect=check.asbestos_suspect,
        ),
        comes_again=None if came.accepted else came.comes_again,
        dealt_with=own.settled,
        charged_in_full=not came.accepted,
        recorded_at=own.recorded_at.astimezone(zone),
    )
