"""The instances of the benchmark of shift plans: 20 to 300 loads, each made by its number.

Two sizes of trucks, pits with soil and pits with sand, bodies that are cleaned between
them, several days, drops that close at noon. All days are alike and no truck may work
longer than its hours, because some rivals know no other way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.trucks import Cargo
from tests.logistics.domain.planning.medium_worlds import DAY, HOUR, medium_world

QUICK = (0, 1)
SIZES = (
    # hauls, trucks, days
    (8, 3, 2),
    (12, 4, 2),
    (16, 4, 3),
    (24, 5, 3),
    (30, 6, 3),
    (38, 7, 4),
    (46, 8, 4),
    (60, 10, 4),
    (76, 12, 5),
    (96, 14, 5),
)


@dataclass(frozen=True)
class Load:
    """A load as the rivals must carry it: a part of a haul, cut before they plan."""

    haul: int
    kg: int


def instance(number: int) -> PlanProblem:
    """The problem with this number, 0 to 9."""
    hauls, trucks, days = SIZES[number]
    problem = medium_world(
        number, hauls=hauls, trucks=trucks, days=days, most_kg=90_000
    )
    return replace(
        problem,
        trucks=tuple(
            replace(truck, cleaning_s=900, max_shift_s=11 * HOUR)
            for truck in problem.trucks
        ),
        slots=tuple(
            replace(slot, latest=slot.earliest + 11 * HOUR) for slot in problem.slots
        ),
        hauls=tuple(
            replace(
                haul,
                cargo=Cargo.SAND if number % 3 == 2 else Cargo.SUBSOIL,
                pickup_windows=_hours(days, (7, 16)),
                drop_windows=_hours(days, (8, 12), (13, 17)),
            )
            for number, haul in enumerate(problem.hauls)
        ),
    )


def _hours(days: int, *hours: tuple[int, int]) -> tuple[Window, ...]:
    return tuple(
        (day * DAY + opens * HOUR, day * DAY + closes * HOUR)
        for day in range(days)
        for opens, closes in hours
    )


def loads_of(problem: PlanProblem) -> tuple[Load, ...]:
    """Each haul cut into full loads of the truck that takes most, and the rest."""
    found = []
    for number, haul in enumerate(problem.hauls):
        most = max(problem.capacity(truck, haul).kg for truck in problem.trucks)
        full, rest = divmod(haul.mass_kg, most)
        found += [Load(number, most)] * full + ([Load(number, rest)] if rest else [])
    return tuple(found)
