"""Which offers may serve which demands, and what bringing them would cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from logistics.domain.errors import refuse
from logistics.domain.planning.groups import slot_classes
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sweep import all_patterns
from logistics.domain.planning.tasks import tasks_of
from logistics.domain.trucks import Cargo
from matching.domain.fitness import judge
from matching.domain.materials import cargo, loose_density
from matching.domain.programme import AllocationProblem, Move, Pair
from matching.domain.scenario import Scenario
from matching.domain.verdicts import Verdict

FEW_PATTERNS = 4_000
"""Largest number of shift patterns for which supply and haulage are decided together."""
FEW_PARTIAL_SHIFTS = 6_000
MOST_LOADS = 10_000


@dataclass(frozen=True, slots=True)
class Candidate:
    """An offer seen from a demand: the verdict, and why it is not paired, if it is not."""

    offer: int
    demand: int
    verdict: Verdict
    metres: int | None
    barrier: str | None


@dataclass(frozen=True)
class Pairing:
    """The pairs that fit, as hauls of their largest mass, and the groups of like slots,
    whose tasks are the pairs, each alone."""

    candidates: tuple[Candidate, ...]
    pairs: tuple[Pair, ...]
    problem: PlanProblem
    groups: tuple[SlotClass, ...]


def candidates(scenario: Scenario) -> tuple[Candidate, ...]:
    """Every offer beside every demand for its kind of material."""
    return tuple(
        _candidate(scenario, offer, demand)
        for demand, wanted in enumerate(scenario.demands)
        for offer, own in enumerate(scenario.offers)
        if cargo(own.material) in wanted.cargoes
    )


def _candidate(scenario: Scenario, offer: int, demand: int) -> Candidate:
    own = scenario.offers[offer]
    build = scenario.builds[scenario.demands[demand].build]
    verdict = judge(own.material, build.mix)
    here, there = own.place, build.place
    tables = (scenario.distances, *scenario.own_ways.values())
    metres = min(
        (int(own.metres[here, there]) for own in tables if own.reachable[here, there]),
        default=None,
    )
    if metres is None:
        why = (own.why_not(here, there) for own in tables)
        said = next(filter(None, why), "no way by road was found")
        return Candidate(offer, demand, verdict, None, said)
    barrier = None
    if metres > scenario.reach_m:
        barrier = f"{metres / 1000:.1f} km away, the reach is {scenario.reach_m / 1000:.1f} km"
    return Candidate(offer, demand, verdict, metres, barrier)


def pair_up(scenario: Scenario) -> Pairing:
    """Pair offers with demands where the material fits and a truck can bring it.

    Raises Refused "too_many_loads" for more than one plan can hold.
    """
    found = candidates(scenario)
    fits = [own for own in found if own.verdict.usable and own.barrier is None]
    hauls = tuple(_haul(scenario, own) for own in fits)
    problem = PlanProblem(
        scenario.places,
        scenario.distances,
        scenario.trucks,
        scenario.slots,
        hauls,
        scenario.own_ways,
    )
    alone = tasks_of(replace(problem, hauls=_unshared(hauls)))
    groups = slot_classes(problem, alone)
    pairs, kept, barred = [], [], dict[tuple[int, int], str]()
    for index, own in enumerate(fits):
        able = [
            slots.capacity[index]
            for number, slots in enumerate(groups)
            if slots.trips[index] and pattern_of(number, slots, (index,))
        ]
        offer = scenario.offers[own.offer]
        if able and offer.whole_loads and min(able) > offer.quantity_kg:
            barred[own.offer, own.demand] = (
                "it is sold in whole loads only and holds less than one"
            )
        elif able:
            pairs.append(Pair(own.offer, own.demand, hauls[index].mass_kg, max(able)))
            kept.append(hauls[index])
        else:
            barred[own.offer, own.demand] = _why_not(problem, hauls[index])
    _check_size(pairs)
    if len(kept) < len(hauls):
        problem = replace(problem, hauls=tuple(kept))
        groups = slot_classes(problem, alone[: len(kept)])
    return Pairing(
        candidates=tuple(
            replace(own, barrier=barred.get((own.offer, own.demand), own.barrier))
            for own in found
        ),
        pairs=tuple(pairs),
        problem=problem,
        groups=groups,
    )


def _check_size(pairs: Sequence[Pair]) -> None:
    fewest: dict[int, int] = {}
    for pair in pairs:
        loads = -(-pair.most_kg // pair.load_kg)
        fewest[pair.demand] = min(loads, fewest.get(pair.demand, loads))
    if sum(fewest.values()) > MOST_LOADS:
        raise refuse(
            "too_many_loads",
            field="builds",
            given=f"at least {sum(fewest.values())} loads",
            message=f"one plan holds at most {MOST_LOADS} loads",
            remedy="Plan fewer builds at once, or with larger trucks.",
        )


def _why_not(problem: PlanProblem, haul: Haul) -> str:
    """Why no truck can make even one trip, in a few words."""
    if not problem.slots:
        return "there is no truck on any of these days"
    if not haul.pickup_windows:
        return "it cannot be loaded on any of these days"
    if not haul.drop_windows:
        return "the site takes no delivery on any of these days"
    barriers = [problem.barrier(truck, haul) for truck in problem.trucks]
    if all(barriers):
        # A wrong body says least where another truck has the right one.
        said = sorted(map(str, barriers), key=lambda text: "does not carry" in text)
        return f"no truck can bring it: {said[0]}"
    return (
        "no truck can make the trip within its day and the opening hours of both places"
    )


def _haul(scenario: Scenario, own: Candidate) -> Haul:
    """The haul of all that could be worth bringing."""
    offer, demand = scenario.offers[own.offer], scenario.demands[own.demand]
    build = scenario.builds[demand.build]
    needed = demand.dry_kg / offer.material.usable
    extra = max(offer.min_lot_kg, offer.unit_kg)
    if offer.whole_loads:
        extra = max([extra, *(truck.payload_kg for truck in scenario.trucks)])
    most = (
        min(offer.quantity_kg, int(needed) + 1 + extra) // offer.unit_kg * offer.unit_kg
    )
    return Haul(
        key=f"{offer.key} > {demand.key}",
        cargo=cargo(offer.material),
        origin=offer.place,
        destination=build.place,
        mass_kg=most,
        loose_kg_per_m3=loose_density(offer.material),
        pickup_windows=offer.windows,
        drop_windows=build.windows if demand.windows is None else demand.windows,
        load_s=offer.load_s,
        unload_s=build.unload_s,
        loading_fee=offer.loading_fee,
        part_load=offer.part_load,
        unit_kg=offer.unit_kg,
        loader_windows=offer.loader_windows,
        # Bales of several farms and builds are stacked on one bed; tipped loads mix.
        shared=cargo(offer.material) is Cargo.STRAW,
    )


def _unshared(hauls: Sequence[Haul]) -> tuple[Haul, ...]:
    return tuple(replace(haul, shared=False) for haul in hauls)


def estimated_moves(pairing: Pairing) -> tuple[Move, ...]:
    """Single trips, each at its part of a day that is filled with trips of its kind.

    For each size of load the cheapest truck is taken. The real plan differs, because it
    mixes hauls in a day and pays whole days.
    """
    moves = []
    for index in range(len(pairing.pairs)):
        cheapest: dict[int, float] = {}
        for number, slots in enumerate(pairing.groups):
            best = _fullest(number, slots, index)
            if best:
                kg, cost = slots.capacity[index], best.cost / len(best.tasks)
                cheapest[kg] = min(cost, cheapest.get(kg, cost))
        moves += [
            Move(cost, ((index, 1, kg),)) for kg, cost in sorted(cheapest.items())
        ]
    return tuple(moves)


def _fullest(number: int, slots: SlotClass, index: int) -> Pattern | None:
    best = None
    for trips in range(1, slots.trips[index] + 1):
        pattern = pattern_of(number, slots, (index,) * trips)
        if pattern is None:
            break
        if best is None or pattern.cost / trips < best.cost / len(best.tasks):
            best = pattern
    return best


def least_moves(pairing: Pairing) -> tuple[Move, ...]:
    """Single trips at a cost that no plan can undercut: the work, the loaded ride, the fee
    and the shortest empty way to the pickup, at the truck's own rates."""
    moves = []
    for index in range(len(pairing.pairs)):
        cheapest: dict[int, float] = {}
        for slots in pairing.groups:
            if slots.trips[index]:
                cost, kg = _least_cost(slots, index), slots.capacity[index]
                cheapest[kg] = min(cost, cheapest.get(kg, cost))
        moves += [
            Move(cost, ((index, 1, kg),)) for kg, cost in sorted(cheapest.items())
        ]
    return tuple(moves)


def _least_cost(slots: SlotClass, index: int) -> float:
    rates = slots.truck.rates
    per_m, per_s = rates.per_km / 1000, rates.per_hour / 3600
    count = range(len(slots.trips))
    empty = min(
        slots.out_m[index] * per_m + slots.out_s[index] * per_s,
        *(
            slots.link_m[other][index] * per_m + slots.link_s[other][index] * per_s
            for other in count
        ),
    )
    work = slots.ride_s[index] + slots.work_s[index]
    return slots.fee[index] + slots.ride_m[index] * per_m + work * per_s + empty


def exact_moves(pairing: Pairing) -> tuple[Move, ...] | None:
    """All shift patterns over all pairs, at their exact cost; None if there are too many."""
    moves: list[Move] = []
    for number, slots in enumerate(pairing.groups):
        patterns = all_patterns(number, slots, limit=FEW_PARTIAL_SHIFTS)
        if patterns is None or len(moves) + len(patterns) > FEW_PATTERNS:
            return None
        moves += [pattern_move(number, slots, pattern) for pattern in patterns]
    return tuple(moves)


def pattern_move(group: int, slots: SlotClass, pattern: Pattern) -> Move:
    """A shift pattern over pairs as a move at its exact cost."""
    trips = tuple(
        (pair, pattern.tasks.count(pair), slots.capacity[pair])
        for pair in sorted(set(pattern.tasks))
    )
    return Move(float(pattern.cost), trips, group)


def agreed_hauls(
    pairing: Pairing, kilograms: Sequence[tuple[int, int]]
) -> tuple[Haul, ...]:
    """The hauls of what was allotted: (pair, moist kg)."""
    return tuple(
        replace(pairing.problem.hauls[pair], mass_kg=kg) for pair, kg in kilograms
    )


def carrying(pairing: Pairing) -> tuple[float, ...]:
    """What the cheapest truck charges for each kg of each pair, in minor units."""
    return tuple(
        min(
            slots.mass_rates[index][0] for slots in pairing.groups if slots.trips[index]
        )
        for index in range(len(pairing.pairs))
    )


def divisible(moves: Sequence[Move], pairing: Pairing) -> tuple[Move, ...]:
    """The moves with every one in parts that could be a part of a milk run.

    A milk run costs at least as much as the part of each haul's own trip that it carries,
    because it passes by all their places and a share of the body goes to each. So what
    holds for trips in parts holds for milk runs too.
    """
    shared = [haul.shared for haul in pairing.problem.hauls]
    if sum(shared) < 2:
        return tuple(moves)
    return tuple(
        replace(move, parts=any(shared[pair] for pair, _, _ in move.trips))
        for move in moves
    )


def supply_question(
    scenario: Scenario, pairing: Pairing, moves: tuple[Move, ...]
) -> AllocationProblem:
    """Who shall supply whom, if these moves can bring it."""
    return AllocationProblem(
        carrying=carrying(pairing),
        offers=scenario.offers,
        demands=scenario.demands,
        pairs=pairing.pairs,
        moves=moves,
        count_disposal=scenario.count_disposal,
    )
