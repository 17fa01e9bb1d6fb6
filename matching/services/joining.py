"""Trucks that join a plan which was made without them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from zoneinfo import ZoneInfo

from logistics.domain.distances import DistanceTable
from logistics.domain.living.disruptions import TruckAdded
from logistics.domain.living.stored import with_place
from logistics.domain.planning.problem import PlanProblem
from logistics.selectors import fleet_of
from logistics.services.distances import Roads, distances_for, own_distances_for
from matching.selectors.scenarios import chosen_trucks
from matching.services.plan_states import HeldState


@dataclass(frozen=True)
class Joined:
    """The problem with the bases of trucks that join, and these trucks as disruptions."""

    problem: PlanProblem
    place_ids: tuple[int, ...]
    truck_ids: tuple[int, ...]
    disruptions: tuple[TruckAdded, ...]


def join_trucks(
    *,
    state: HeldState,
    truck_ids: Sequence[int],
    days: Sequence[date],
    zone: ZoneInfo,
    roads: Roads,
) -> Joined:
    """Trucks on all days of the plan, each night at their base, on the roads as they are
    now. Raises Refused "unknown_truck"."""
    problem, places = state.problem, list(state.place_ids)
    rows, found = list(state.truck_ids), []
    for truck in chosen_trucks(truck_ids) if truck_ids else []:
        if truck.base.id not in places:
            points = [own.point for own in problem.places] + [truck.base.place.point]
            table = distances_for(
                points, network_root=roads.root, network=roads.network
            )
            problem = with_place(problem, truck.base.place, table)
            places.append(truck.base.id)
        at = {row: number for number, row in enumerate(places)}
        own = replace(truck, overnight=None)
        fleet = fleet_of([own], days, zone, at)
        for number, joins in enumerate(fleet.trucks):
            slots = tuple(
                replace(slot, truck=0) for slot in fleet.slots if slot.truck == number
            )
            found.append(TruckAdded(joins, slots))
            rows.append(truck.id)
        ways: dict[str, DistanceTable] = own_distances_for(
            [place.point for place in problem.places],
            fleet.trucks,
            network_root=roads.root,
            network=roads.network,
        )
        problem = replace(problem, own_ways={**problem.own_ways, **ways})
    return Joined(problem, tuple(places), tuple(rows), tuple(found))
