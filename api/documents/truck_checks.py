"""What a plan compared of each truck: its payload, and the access card of each place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pydantic import BaseModel, Field

from logistics.domain.access import LineState
from logistics.domain.legal.payload import DECIDES
from logistics.domain.places import Place
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import HaulPlan, Shift, StopKind
from logistics.domain.trucks import Truck, access_lines


class LineCheck(BaseModel):
    """One line of an access card; `words` go on from the name of the truck."""

    line: str
    state: LineState
    words: str


class PlaceCheck(BaseModel):
    """The access card of a place against the truck with the heaviest load that it has
    aboard there. Lines of tipping are left out where it comes empty."""

    place: str
    place_name: str
    load_kg: int
    lines: list[LineCheck]


class TruckCheck(BaseModel):
    """What was compared of a truck on some days. It does not call the truck or its route
    legal."""

    truck: str
    truck_name: str
    days: list[str] = Field(description="days on which it drives with this payload")
    payload_kg: int
    gross_kg: int | None = Field(description="null where the empty mass is not known")
    rule: str
    binds: str = Field(description="the limit that sets the payload, in words")
    source: str
    unchecked: list[str] = Field(description="what was not looked at")
    decides: str = DECIDES
    places: list[PlaceCheck]


def truck_checks(problem: PlanProblem, plan: HaulPlan) -> list[TruckCheck]:
    """A check for each truck that drives, one more for its days on weak roads."""
    driven: dict[int, list[Shift]] = {}
    for shift in plan.shifts:
        driven.setdefault(problem.slots[shift.slot].truck, []).append(shift)
    return [
        _check(problem, problem.trucks[number], shifts)
        for number, shifts in sorted(driven.items())
    ]


def _check(problem: PlanProblem, truck: Truck, shifts: Sequence[Shift]) -> TruckCheck:
    basis = truck.basis
    return TruckCheck(
        truck=truck.key,
        truck_name=truck.name,
        days=sorted({problem.slots[shift.slot].day for shift in shifts}),
        payload_kg=truck.payload_kg,
        gross_kg=basis.gross_kg if basis else None,
        rule=basis.rule if basis else "the payload as given",
        binds=basis.binds if basis else f"payload stated: {truck.payload_kg:,} kg",
        source=basis.source if basis else "the truck's owner",
        unchecked=list(basis.unchecked) if basis else ["axle weights"],
        places=[
            _place(truck, problem.places[where], load_kg)
            for where, load_kg in _heaviest(shifts).items()
        ],
    )


def _heaviest(shifts: Iterable[Shift]) -> dict[int, int]:
    """The heaviest load aboard at each place, in the order in which they are first seen."""
    found: dict[int, int] = {}
    for shift in shifts:
        aboard = 0
        for stop in shift.stops:
            before = aboard
            if stop.trip is not None and stop.kind in (StopKind.LOAD, StopKind.TIP):
                kg = shift.trips[stop.trip].load.mass_kg
                aboard += kg if stop.kind is StopKind.LOAD else -kg
            most = max(before, aboard)
            found[stop.place] = max(found.get(stop.place, 0), most)
    return found


def _place(truck: Truck, place: Place, load_kg: int) -> PlaceCheck:
    return PlaceCheck(
        place=place.key,
        place_name=place.name,
        load_kg=load_kg,
        lines=[
            LineCheck(line=own.line, state=own.state, words=own.words)
            for own in access_lines(truck, place.access, load_kg)
        ],
    )
