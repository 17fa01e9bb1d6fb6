"""Two pits, one site, two tippers and three days: hours are round, a kilometre a minute."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.domain.distances import DistanceTable
from logistics.domain.living.arrivals import Facts
from logistics.domain.living.replanning import Replanned, replan
from logistics.domain.places import Place, Point
from logistics.domain.planning.planner import plan_hauls
from logistics.domain.planning.problem import Haul, PlanProblem, Slot
from logistics.domain.planning.result import HaulPlan, Shift
from logistics.domain.trucks import BodyKind, Cargo, Truck, TruckRates

NOTHING = Facts()
HOUR, DAY = 3600, 86_400
DEPOT, ADA, DOT, SITE = range(4)


def clock(day: int, hour: float) -> int:
    """A moment of one of the days."""
    return day * DAY + round(hour * HOUR)


def tipper(number: int = 1, **more: object) -> Truck:
    """A tipper for 8 t at 60.00 an hour."""
    own = Truck(
        key=f"tipper-{number}",
        name=f"Tipper {number}",
        body=BodyKind.TIPPER,
        base=DEPOT,
        payload_kg=8000,
        body_m3=8.0,
        rates=TruckRates(call_out=5000, per_hour=6000, per_km=100),
        max_shift_s=10 * HOUR,
    )
    return replace(own, **more)  # type: ignore[arg-type]


def haul(key: str, origin: int, kg: int, days: tuple[int, ...]) -> Haul:
    """Earth to the site, where it is open from 8 to 17."""
    hours = tuple((clock(day, 8), clock(day, 17)) for day in days)
    return Haul(
        key=key,
        cargo=Cargo.SUBSOIL,
        origin=origin,
        destination=SITE,
        mass_kg=kg,
        loose_kg_per_m3=1000.0,
        pickup_windows=hours,
        drop_windows=hours,
        load_s=HOUR // 2,
        unload_s=HOUR // 2,
    )


def world(*hauls: Haul, trucks: int = 1, days: int = 2) -> PlanProblem:
    """Places half an hour and 30 km apart, trucks from 7 to 18 each day."""
    names = ("depot", "ada", "dot", "site")
    far = np.full((4, 4), 1800, dtype=np.int64)
    np.fill_diagonal(far, 0)
    return PlanProblem(
        places=tuple(Place(own, own.title(), Point(46.0, 3.0)) for own in names),
        distances=DistanceTable(
            far * 30_000 // 1800, far, np.ones((4, 4), dtype=np.bool_), "invented"
        ),
        trucks=tuple(tipper(number + 1) for number in range(trucks)),
        slots=tuple(
            Slot(truck, f"d{day}", clock(day, 7), clock(day, 18))
            for day in range(days)
            for truck in range(trucks)
        ),
        hauls=hauls,
    )


def planned(problem: PlanProblem) -> HaulPlan:
    """The plan of a world in which everything fits."""
    plan = plan_hauls(problem)
    assert not plan.unplanned
    return plan


def anew(
    problem: PlanProblem, plan: HaulPlan, now: int, *what: object, done: Facts = NOTHING
) -> Replanned:
    """Plan anew from a moment on."""
    return replan(problem, plan, done=done, now=now, disruptions=what)  # type: ignore[arg-type]


def moments(shifts: tuple[Shift, ...]) -> list[tuple[int, int, int, int]]:
    """Slot, haul and moments of each load."""
    return sorted(
        (shift.slot, trip.load.haul, trip.pickup.begin, trip.drop.begin)
        for shift in shifts
        for trip in shift.trips
    )


def kinds(own: Replanned) -> dict[str, int]:
    """How many loads were kept, moved, dropped and added."""
    found: dict[str, int] = {}
    for change in own.changes:
        found[change.kind.value] = found.get(change.kind.value, 0) + 1
    return found
