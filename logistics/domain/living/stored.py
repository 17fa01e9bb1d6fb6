"""The stored form of a plan that may have to be made anew: plain JSON, read back exactly.

Only what this module wrote may be read by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from pydantic import TypeAdapter

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Place
from logistics.domain.planning.problem import Haul, PlanProblem, Slot, Store
from logistics.domain.planning.result import HaulPlan, Shift
from logistics.domain.trucks import Truck

Stored = dict[str, Any]

_PLACES = TypeAdapter(tuple[Place, ...])
_TRUCKS = TypeAdapter(tuple[Truck, ...])
_SLOTS = TypeAdapter(tuple[Slot, ...])
_HAULS = TypeAdapter(tuple[Haul, ...])
_STORES = TypeAdapter(tuple[Store, ...])
_PLAN = TypeAdapter(HaulPlan)
_SHIFTS = TypeAdapter(tuple[Shift, ...])


def dump_problem(problem: PlanProblem) -> Stored:
    """A problem; tables of distances row by row."""
    return {
        "places": _PLACES.dump_python(problem.places, mode="json"),
        "trucks": _TRUCKS.dump_python(problem.trucks, mode="json"),
        "slots": _SLOTS.dump_python(problem.slots, mode="json"),
        "hauls": _HAULS.dump_python(problem.hauls, mode="json"),
        "stores": _STORES.dump_python(problem.stores, mode="json"),
        "distances": _dump_table(problem.distances),
        "own_ways": {key: _dump_table(own) for key, own in problem.own_ways.items()},
    }


def load_problem(stored: Stored) -> PlanProblem:
    """A problem."""
    return PlanProblem(
        places=_PLACES.validate_python(stored["places"]),
        distances=_load_table(stored["distances"]),
        trucks=_TRUCKS.validate_python(stored["trucks"]),
        slots=_SLOTS.validate_python(stored["slots"]),
        hauls=_HAULS.validate_python(stored["hauls"]),
        own_ways={key: _load_table(own) for key, own in stored["own_ways"].items()},
        stores=_STORES.validate_python(stored["stores"]),
    )


def dump_plan(plan: HaulPlan) -> Stored:
    """A plan."""
    stored: Stored = _PLAN.dump_python(plan, mode="json")
    return stored


def load_plan(stored: Stored) -> HaulPlan:
    """A plan."""
    return _PLAN.validate_python(stored)


def dump_shifts(shifts: Sequence[Shift]) -> list[Stored]:
    """Shifts that are no longer part of a plan."""
    stored: list[Stored] = _SHIFTS.dump_python(tuple(shifts), mode="json")
    return stored


def load_shifts(stored: list[Stored]) -> tuple[Shift, ...]:
    """Shifts that are no longer part of a plan."""
    return _SHIFTS.validate_python(stored)


def _dump_table(table: DistanceTable) -> Stored:
    return {
        "metres": table.metres.tolist(),
        "seconds": table.seconds.tolist(),
        "reachable": table.reachable.astype(int).tolist(),
        "basis": table.basis,
        "barred": {str(at): why for at, why in table.barred.items()},
    }


def _load_table(stored: Stored) -> DistanceTable:
    return DistanceTable(
        metres=np.array(stored["metres"], dtype=np.int64),
        seconds=np.array(stored["seconds"], dtype=np.int64),
        reachable=np.array(stored["reachable"], dtype=np.bool_),
        basis=stored["basis"],
        barred={int(at): why for at, why in stored["barred"].items()},
    )


def used_places(
    problem: PlanProblem, plan: HaulPlan
) -> tuple[PlanProblem, HaulPlan, tuple[int, ...]]:
    """The problem and its plan without the places that neither hauls nor trucks know, and
    the old numbers of those that stay: tables grow with their square."""
    used = {own.base for own in problem.trucks}
    used |= {at for own in problem.hauls for at in (own.origin, own.destination)}
    used |= {
        at for own in problem.slots for at in (own.start, own.end) if at is not None
    }
    kept = tuple(sorted(used))
    to = {old: new for new, old in enumerate(kept)}
    shrunk = PlanProblem(
        places=tuple(problem.places[at] for at in kept),
        distances=_part(problem.distances, kept),
        trucks=tuple(_truck(own, to) for own in problem.trucks),
        slots=tuple(
            replace(own, start=_to(to, own.start), end=_to(to, own.end))
            for own in problem.slots
        ),
        hauls=tuple(
            replace(own, origin=to[own.origin], destination=to[own.destination])
            for own in problem.hauls
        ),
        own_ways={key: _part(own, kept) for key, own in problem.own_ways.items()},
        stores=problem.stores,
    )
    shifts = tuple(_shift(own, to) for own in plan.shifts)
    return shrunk, replace(plan, shifts=shifts), kept


def _to(to: dict[int, int], at: int | None) -> int | None:
    return None if at is None else to[at]


def _truck(own: Truck, to: dict[int, int]) -> Truck:
    only = own.only_from
    if only is not None:
        only = frozenset(to[at] for at in only if at in to)
    return replace(own, base=to[own.base], only_from=only)


def _shift(own: Shift, to: dict[int, int]) -> Shift:
    return replace(
        own,
        stops=tuple(replace(stop, place=to[stop.place]) for stop in own.stops),
        trips=tuple(
            replace(
                trip,
                pickup=replace(trip.pickup, place=to[trip.pickup.place]),
                drop=replace(trip.drop, place=to[trip.drop.place]),
            )
            for trip in own.trips
        ),
    )


def _part(table: DistanceTable, kept: Sequence[int]) -> DistanceTable:
    chosen = np.ix_(kept, kept)
    return DistanceTable(
        metres=table.metres[chosen],
        seconds=table.seconds[chosen],
        reachable=table.reachable[chosen],
        basis=table.basis,
        barred={n: table.barred[at] for n, at in enumerate(kept) if at in table.barred},
    )


def with_place(problem: PlanProblem, place: Place, table: DistanceTable) -> PlanProblem:
    """The problem with one place more, the last of `table`.

    Ways between the places that were there stay as they were told. A truck with ways of
    its own never goes to the new place.
    """
    size = len(problem.places)
    metres, seconds = table.metres.copy(), table.seconds.copy()
    reachable = table.reachable.copy()
    old = problem.distances
    for new, was in (
        (metres, old.metres),
        (seconds, old.seconds),
        (reachable, old.reachable),
    ):
        new[:size, :size] = was
    wide = replace(old, metres=metres, seconds=seconds, reachable=reachable)
    own = {key: _padded(ways) for key, ways in problem.own_ways.items()}
    return replace(
        problem, places=(*problem.places, place), distances=wide, own_ways=own
    )


def _padded(table: DistanceTable) -> DistanceTable:
    size = len(table) + 1

    def wider(own: Any) -> Any:
        found = np.zeros((size, size), dtype=own.dtype)
        found[:-1, :-1] = own
        return found

    reachable = wider(table.reachable)
    reachable[-1, -1] = True
    return replace(
        table,
        metres=wider(table.metres),
        seconds=wider(table.seconds),
        reachable=reachable,
    )
