"""The mixed-integer programme behind an allocation: its variables, rows and costs.

Variables: pieces carried from each offer to each demand, usable dry mass taken into the
blend, how often each move is driven, part loads, small lots, and what stays short.
A *move* is whatever brings loads at a known cost: a single trip at an estimated cost, or a
whole shift pattern at its exact cost; the programme is the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint
from scipy.sparse import csr_array

from matching.domain.builds import Demand
from matching.domain.materials import Offer

# The programme counts in tonnes: figures between 0.01 and 1000 suit the solver, while
# kilograms made it lose integer solutions to its own tolerances.
TONNE = 1000.0


@dataclass(frozen=True, slots=True)
class Pair:
    """An offer that may serve a demand. `most_kg` is the largest mass worth carrying,
    `load_kg` the largest single load."""

    offer: int
    demand: int
    most_kg: int
    load_kg: int


@dataclass(frozen=True, slots=True)
class Move:
    """One way to bring loads: `trips` are (pair, how many, kg each); minor units.

    At most `limits[group]` moves of a group can be made; None: no limit. One in `parts` may
    be made in any part.
    """

    cost: float
    trips: tuple[tuple[int, int, int], ...]
    group: int | None = None
    parts: bool = False


@dataclass(frozen=True)
class AllocationProblem:
    """Offers, demands, the pairs that fit, and the moves that can carry them.

    `limits[group]` moves of a group at most. `fleets` are sets of groups that must make so
    many moves at least between them, whatever is allotted; only true where nothing is short.
    `carrying` is what each kg of a pair costs beside its moves, in minor units.
    """

    offers: tuple[Offer, ...]
    demands: tuple[Demand, ...]
    pairs: tuple[Pair, ...]
    moves: tuple[Move, ...]
    limits: tuple[int, ...] = ()
    fleets: tuple[tuple[frozenset[int], int], ...] = ()
    count_disposal: bool = True
    carrying: tuple[float, ...] = ()


@dataclass
class Rows:
    """A sparse constraint table that grows row by row."""

    width: int
    data: list[float] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    role: dict[tuple[str, int], int] = field(default_factory=dict)

    def add(
        self,
        terms: Sequence[tuple[int, float]],
        *,
        low: float = -np.inf,
        high: float = np.inf,
        role: tuple[str, int] | None = None,
    ) -> None:
        if role:
            self.role[role] = len(self.low)
        for column, value in terms:
            self.row.append(len(self.low))
            self.column.append(column)
            self.data.append(value)
        self.low.append(low)
        self.high.append(high)

    def table(self) -> csr_array[np.float64, tuple[int, int]]:
        """The coefficients, rows by variables."""
        shape = (len(self.low), self.width)
        return csr_array((self.data, (self.row, self.column)), shape=shape)

    def constraint(self) -> LinearConstraint:
        """The rows as the solver takes them."""
        return LinearConstraint(self.table(), np.array(self.low), np.array(self.high))


def lump(offer: Offer) -> float:
    """Tonnes that one unit of the carried variable stands for: a bale, or a tonne."""
    return offer.unit_kg / TONNE if offer.unit_kg > 1 else 1.0


class Layout:
    """Where each kind of variable stands in the programme. Masses are in tonnes, but what
    is carried of bales is counted in bales."""

    def __init__(self, problem: AllocationProblem) -> None:
        pairs, moves = len(problem.pairs), len(problem.moves)
        self.pieces = range(pairs)
        self.used = range(pairs, 2 * pairs)
        self.moves = range(2 * pairs, 2 * pairs + moves)
        self.parts = range(self.moves.stop, self.moves.stop + pairs)
        self.lots = range(self.parts.stop, self.parts.stop + pairs)
        self.beyond = range(self.lots.stop, self.lots.stop + pairs)
        self.short = range(self.beyond.stop, self.beyond.stop + len(problem.demands))
        self.width = self.short.stop


def costs(problem: AllocationProblem, layout: Layout) -> NDArray[np.float64]:
    """Minor units for each unit of each variable."""
    cost = np.zeros(layout.width)
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        per_kg = offer.price.minor / offer.price.per_kg
        per_kg += problem.carrying[index] if problem.carrying else 0.0
        cost[layout.pieces[index]] = per_kg * TONNE * lump(offer)
        if problem.count_disposal:
            # Only for what goes into a wall: the rest was tipped at the builder's.
            avoided = offer.disposal.per_kg / offer.material.usable
            cost[layout.used[index]] = -avoided * TONNE
        cost[layout.parts[index]] = offer.part_load.charge
    for index, move in enumerate(problem.moves):
        cost[layout.moves[index]] = move.cost
    return cost


def variable_bounds(problem: AllocationProblem, layout: Layout) -> Bounds:
    """Least and most of each variable; no figure larger than the problem gives."""
    upper = np.full(layout.width, np.inf)
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        whole = pair.most_kg // offer.unit_kg * offer.unit_kg
        upper[layout.pieces[index]] = round(whole / TONNE / lump(offer), 9)
        upper[layout.lots[index]] = 1.0
        upper[layout.beyond[index]] = 1.0 if offer.min_lot_kg else 0.0
    for index, demand in enumerate(problem.demands):
        upper[layout.short[index]] = demand.dry_kg / TONNE
    for index, move in enumerate(problem.moves):
        # As many as would carry all that is worth carrying: no larger "big M" than this.
        upper[layout.moves[index]] = max(
            -(-problem.pairs[pair].most_kg // (count * kg))
            for pair, count, kg in move.trips
        )
    return Bounds(np.zeros(layout.width), upper)


def integrality(problem: AllocationProblem, layout: Layout) -> NDArray[np.int64]:
    """1 for variables in whole numbers, 0 for the others."""
    whole = np.zeros(layout.width, dtype=np.int64)
    whole[list(layout.moves)] = [int(not move.parts) for move in problem.moves]
    whole[list(layout.parts)] = 1
    whole[list(layout.lots)] = 1
    whole[list(layout.beyond)] = 1
    for index, pair in enumerate(problem.pairs):
        if problem.offers[pair.offer].unit_kg > 1:
            whole[layout.pieces[index]] = 1
    return whole


def build_rows(problem: AllocationProblem, layout: Layout) -> Rows:
    """All constraints; rows whose shadow prices are wanted carry a role."""
    rows = Rows(layout.width)
    _supply_rows(problem, layout, rows)
    _demand_rows(problem, layout, rows)
    carried: list[list[tuple[int, float]]] = [[] for _ in problem.pairs]
    large: list[list[tuple[int, float]]] = [[] for _ in problem.pairs]
    for index, move in enumerate(problem.moves):
        for number, count, kg in move.trips:
            carried[number].append((layout.moves[index], count * kg / TONNE))
            # A smaller truck always pays the charge: its moves' cost contains it.
            if kg >= problem.offers[problem.pairs[number].offer].part_load.below_kg:
                large[number].append((layout.moves[index], -float(count)))
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        pieces = (layout.pieces[index], -lump(offer))
        exact = 0.0 if offer.whole_loads else np.inf
        rows.add([*carried[index], pieces], low=0.0, high=exact, role=("carry", index))
        _use_row(problem, layout, rows, index)
        parts = any(
            move.parts for move in problem.moves if index in {t[0] for t in move.trips}
        )
        if offer.part_load.charge and offer.part_load.below_kg and not parts:
            # Of n loads of q kg in all, n - q / below must stay under the limit.
            below = offer.part_load.below_kg / TONNE
            share = (layout.pieces[index], lump(offer) / below)
            part = (layout.parts[index], 1.0)
            rows.add([part, share, *large[index]], low=0.0, role=("part", index))
    _trip_rows(problem, layout, rows)
    for group, limit in enumerate(problem.limits):
        own = [
            (layout.moves[index], 1.0)
            for index, move in enumerate(problem.moves)
            if move.group == group
        ]
        rows.add(own, high=float(limit), role=("group", group))
    for fleet, (groups, least) in enumerate(problem.fleets):
        own = [
            (layout.moves[index], 1.0)
            for index, move in enumerate(problem.moves)
            if move.group in groups
        ]
        rows.add(own, low=float(least), role=("fleet", fleet))
    return rows


def _supply_rows(problem: AllocationProblem, layout: Layout, rows: Rows) -> None:
    for number, offer in enumerate(problem.offers):
        own = [i for i, pair in enumerate(problem.pairs) if pair.offer == number]
        if own:
            terms = [(layout.pieces[i], lump(offer)) for i in own]
            rows.add(terms, high=offer.quantity_kg / TONNE)
        for i in own:
            if offer.min_lot_kg:
                pieces = (layout.pieces[i], lump(offer))
                lot = layout.lots[i]
                rows.add([pieces, (lot, -offer.min_lot_kg / TONNE)], low=0.0)
                rows.add([pieces, (lot, -problem.pairs[i].most_kg / TONNE)], high=0.0)


def _trip_rows(problem: AllocationProblem, layout: Layout, rows: Rows) -> None:
    """At least as many trips to each demand as it has largest loads.

    Implied by whole trips, not by fractions of them: this is what makes the relaxation pay
    for the half-empty last load. Each `rest` that stays short saves one trip.
    """
    for number, demand in enumerate(problem.demands):
        trips: list[tuple[int, float]] = []
        largest = 0.0
        for index, move in enumerate(problem.moves):
            own = [t for t in move.trips if problem.pairs[t[0]].demand == number]
            if own and move.parts:
                trips = []
                break
            if own:
                trips.append((layout.moves[index], float(sum(t[1] for t in own))))
                usable = [
                    problem.offers[problem.pairs[pair].offer].material.usable * kg
                    for pair, _, kg in own
                ]
                largest = max([largest, *usable])
        if not trips:
            continue
        least = math.ceil(demand.dry_kg / largest - 1e-9)
        rest = (demand.dry_kg - largest * (least - 1)) / TONNE
        if least and rest > 1e-3:
            short = (layout.short[number], 1 / rest)
            rows.add([*trips, short], low=float(least), role=("trips", number))


def _demand_rows(problem: AllocationProblem, layout: Layout, rows: Rows) -> None:
    for number, demand in enumerate(problem.demands):
        own = [i for i, pair in enumerate(problem.pairs) if pair.demand == number]
        terms = [(layout.used[i], 1.0) for i in own]
        short = (layout.short[number], 1.0)
        wanted = demand.dry_kg / TONNE
        rows.add([*terms, short], low=wanted, high=wanted)
        if demand.blend is None:
            continue
        excesses = [
            demand.blend.excesses(problem.offers[problem.pairs[i].offer].material)
            for i in own
        ]
        for rule in zip(*excesses, strict=True):
            if any(excess > 0 for excess in rule):
                used = [layout.used[i] for i in own]
                rows.add(list(zip(used, rule, strict=True)), high=0.0)


def _use_row(
    problem: AllocationProblem, layout: Layout, rows: Rows, index: int
) -> None:
    """What is carried is used, but for the excess that whole loads, lots or bales force."""
    pair = problem.pairs[index]
    offer = problem.offers[pair.offer]
    usable = offer.material.usable
    pieces = (layout.pieces[index], lump(offer) * usable)
    excess = surplus_kg(offer, pair) / TONNE * usable
    carried = [pieces, (layout.used[index], -1.0)]
    if not offer.min_lot_kg:
        rows.add(carried, low=0.0, high=excess)
        return
    # Beyond the smallest lot only what bales and whole loads force may stay over.
    beyond = layout.beyond[index]
    forced = surplus_kg(replace(offer, min_lot_kg=0), pair) / TONNE * usable
    rows.add([*carried, (beyond, excess - forced)], low=-np.inf, high=excess)
    rows.add(carried, low=0.0)
    lot, most = offer.min_lot_kg / TONNE, pair.most_kg / TONNE
    room = max(most - lot, 0.0)
    rows.add([(layout.pieces[index], lump(offer)), (beyond, -room)], high=lot)


def surplus_kg(offer: Offer, pair: Pair) -> float:
    """The most that may be carried and not used: what the terms of the offer force."""
    forced = max(offer.min_lot_kg, offer.unit_kg - 1)
    return float(max(forced, pair.load_kg - 1) if offer.whole_loads else forced)
