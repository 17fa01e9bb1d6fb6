"""Planned against arrived: what came of each haul, by the tickets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from logistics.domain.living.arrivals import Arrival, LoadAt
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import Shift


@dataclass(frozen=True, slots=True)
class Balance:
    """One haul, moist kg.

    `estimated_kg` is what the accepted loads were planned to be: beside `arrived_kg` it
    says how far the estimate was out. `open_kg` is planned and not recorded. Of what is
    agreed, `to_come_kg` has not arrived and was not given up.
    """

    haul: int
    agreed_kg: int
    arrived_kg: int
    estimated_kg: int
    refused_kg: int
    open_kg: int
    given_up_kg: int

    @property
    def to_come_kg(self) -> int:
        """What is still to come of what was agreed."""
        return max(self.agreed_kg - self.arrived_kg - self.given_up_kg, 0)

    @property
    def unplanned_kg(self) -> int:
        """What is to come and has no load; less than nothing if more is planned."""
        return self.agreed_kg - self.arrived_kg - self.given_up_kg - self.open_kg

    @property
    def estimate_error(self) -> float | None:
        """Weighed over estimated, less one; None where nothing arrived."""
        if not self.estimated_kg:
            return None
        return self.arrived_kg / self.estimated_kg - 1


def reconcile(
    problem: PlanProblem,
    shifts: Sequence[Shift],
    arrivals: Mapping[LoadAt, Arrival],
    agreed_kg: Sequence[int],
) -> tuple[Balance, ...]:
    """The balance of every haul. A weighing difference alone sends no truck: it shows
    here, and somebody asks for more if it matters."""
    loads: list[list[tuple[int, Arrival | None]]] = [[] for _ in problem.hauls]
    for at, shift in enumerate(shifts):
        for number, trip in enumerate(shift.trips):
            own = (trip.load.mass_kg, arrivals.get(LoadAt(at, number)))
            loads[trip.load.haul].append(own)
    return tuple(
        balance(index, agreed_kg[index], haul.loose_kg_per_m3, loads[index])
        for index, haul in enumerate(problem.hauls)
    )


def balance(
    haul: int,
    agreed_kg: int,
    loose_kg_per_m3: float,
    loads: Iterable[tuple[int, Arrival | None]],
) -> Balance:
    """The balance of one haul of which these loads are planned: kg, and what came."""
    sums = {"arrived": 0, "estimated": 0, "refused": 0, "open": 0, "given_up": 0}
    for planned_kg, own in loads:
        _count(sums, planned_kg, own, loose_kg_per_m3)
    return Balance(
        haul,
        agreed_kg,
        sums["arrived"],
        sums["estimated"],
        sums["refused"],
        sums["open"],
        sums["given_up"],
    )


def _count(
    sums: dict[str, int], planned_kg: int, own: Arrival | None, density: float
) -> None:
    if own is None:
        sums["open"] += planned_kg
    elif own.accepted:
        sums["arrived"] += own.kg(density)
        sums["estimated"] += planned_kg
    else:
        sums["refused"] += planned_kg
        sums["given_up"] += 0 if own.comes_again else planned_kg
