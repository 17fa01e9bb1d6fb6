"""The cheapest plan of a tiny problem, found by trying everything.

Shares no code with the planner beyond the dataclasses of the question. Days are some tens
of seconds long, so that every whole second is tried as the moment of leaving; any sequence
of trips is tried in every slot, and any way to cut a haul into loads.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import NamedTuple

from logistics.domain.planning.problem import Haul, PlanProblem, Window
from logistics.domain.trucks import BodyKind, Cargo

TAKES = {
    BodyKind.TIPPER: {Cargo.SUBSOIL, Cargo.SAND},
    BodyKind.FLAT_BED: {Cargo.STRAW},
}

Trips = tuple[tuple[int, int], ...]
"""Sorted trips as (haul, kg that the body takes)."""


class Best(NamedTuple):
    """The least mass that must stay behind, and the least cost of leaving no more."""

    left_kg: int
    cost: int


def brute_force(problem: PlanProblem) -> Best:
    """Try every plan whose shifts make no more trips of a haul than it could fill."""
    states: dict[Trips, int] = {(): 0}
    for slot in range(len(problem.slots)):
        shifts = _shifts(problem, slot)
        following = dict(states)
        for trips, cost in states.items():
            for more, price in shifts.items():
                key = tuple(sorted(trips + more))
                total = cost + price
                if total < following.get(key, math.inf):
                    following[key] = total
        states = following
    return min(
        Best(left, cost + fees)
        for trips, cost in states.items()
        if (loads := _loads(problem, trips)) is not None
        for left, fees in (loads,)
    )


def _takes(problem: PlanProblem, truck_index: int, haul: Haul) -> int:
    truck = problem.trucks[truck_index]
    if haul.cargo not in TAKES[truck.body]:
        return 0
    pieces = 0
    while (pieces + 1) * haul.unit_kg <= truck.payload_kg and (
        (pieces + 1) * haul.unit_kg <= truck.body_m3 * haul.loose_kg_per_m3 + 1e-6
    ):
        pieces += 1
    return pieces * haul.unit_kg


def _shifts(  # noqa: C901
    problem: PlanProblem, slot_index: int
) -> dict[Trips, int]:
    """The cheapest shift in this slot for each set of trips."""
    slot = problem.slots[slot_index]
    truck = problem.trucks[slot.truck]
    seconds = problem.distances.seconds.tolist()
    metres = problem.distances.metres.tolist()
    way = problem.distances.reachable.tolist()
    takes = [_takes(problem, slot.truck, haul) for haul in problem.hauls]
    found: dict[Trips, int] = {}

    def close(here: int, driven: int, times: dict[int, int], made: list[int]) -> None:
        if not way[here][truck.base]:
            return
        home = {
            left: now + seconds[here][truck.base]
            for left, now in times.items()
            if now + seconds[here][truck.base] <= slot.latest
            and now + seconds[here][truck.base] - left <= truck.max_shift_s
        }
        if not home:
            return
        paid = min(now - left for left, now in home.items())
        cost = (
            truck.rates.call_out
            + _half_up(truck.rates.per_km * (driven + metres[here][truck.base]), 1000)
            + _half_up(truck.rates.per_hour * paid, 3600)
        )
        key = tuple(sorted((haul, takes[haul]) for haul in made))
        found[key] = min(cost, found.get(key, cost))

    def drive(here: int, driven: int, times: dict[int, int], made: list[int]) -> None:
        if made:
            close(here, driven, times, made)
        for index, haul in enumerate(problem.hauls):
            size = takes[index]
            if not size or made.count(index) * size >= haul.mass_kg:
                continue
            if not (way[here][haul.origin] and way[haul.origin][haul.destination]):
                continue
            after = {}
            for left, now in times.items():
                loaded = _work(
                    now + seconds[here][haul.origin],
                    haul.load_s,
                    haul.pickup_windows,
                )
                tipped = loaded and _work(
                    loaded + seconds[haul.origin][haul.destination],
                    haul.unload_s,
                    haul.drop_windows,
                )
                if tipped and tipped - left <= truck.max_shift_s:
                    after[left] = tipped
            if after:
                drive(
                    haul.destination,
                    driven
                    + metres[here][haul.origin]
                    + metres[haul.origin][haul.destination],
                    after,
                    [*made, index],
                )

    moments = range(slot.earliest, slot.latest + 1)
    drive(truck.base, 0, {moment: moment for moment in moments}, [])
    return found


def _work(now: int, work_s: int, windows: tuple[Window, ...]) -> int | None:
    for opens, closes in windows:
        if max(now, opens) + work_s <= closes:
            return max(now, opens) + work_s
    return None


def _loads(problem: PlanProblem, trips: Trips) -> tuple[int, int] | None:
    """(kg left, fees and charges) of the best cut; None if a truck would drive empty."""
    made: dict[int, list[int]] = {}
    for number, size in trips:
        made.setdefault(number, []).append(size)
    left = fees = 0
    for index, haul in enumerate(problem.hauls):
        sizes = made.get(index, [])
        carried = min(haul.mass_kg, sum(sizes))
        left += haul.mass_kg - carried
        charge = _charge(
            tuple(sizes),
            carried,
            haul.unit_kg,
            haul.part_load.below_kg,
            haul.part_load.charge,
        )
        if charge is None:
            return None
        fees += charge + haul.loading_fee * len(sizes)
    return left, fees


@cache
def _charge(
    sizes: tuple[int, ...], carried: int, unit: int, below: int, charge: int
) -> int | None:
    """Least part-load charges of loads of 1 piece to `sizes[i]` that sum to `carried`."""
    if not sizes:
        return 0 if carried == 0 else None
    ways = [
        rest + (charge if load < below else 0)
        for load in range(unit, min(sizes[0], carried) + 1, unit)
        if (rest := _charge(sizes[1:], carried - load, unit, below, charge)) is not None
    ]
    return min(ways, default=None)


def _half_up(product: int, divisor: int) -> int:
    return int(
        (Decimal(product) / divisor).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    )
