"""Who supplies whom: a mixed-integer programme over offers, demands and truck moves.

Variables: pieces carried from each offer to each demand, usable dry mass taken into the
blend, how often each move is driven, part loads, small lots, and what stays short.
A *move* is whatever brings loads at a known cost: a single trip at an estimated cost, or a
whole shift pattern at its exact cost; the programme is the same.
Shortage is made least first; then the cost, which counts what everybody pays: material,
haulage and charges, less (unless asked otherwise) the tipping that holders avoid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from matching.domain.builds import Demand
from matching.domain.materials import Offer, Straw

# Ends the branch and bound at the same node whatever the machine's speed.
NODE_LIMIT = 20_000
GAP = 1e-7


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

    At most `limits[group]` moves of a group can be made; None: no limit.
    """

    cost: float
    trips: tuple[tuple[int, int, int], ...]
    group: int | None = None


@dataclass(frozen=True)
class AllocationProblem:
    """Offers, demands, the pairs that fit, and the moves that can carry them."""

    offers: tuple[Offer, ...]
    demands: tuple[Demand, ...]
    pairs: tuple[Pair, ...]
    moves: tuple[Move, ...]
    limits: tuple[int, ...] = ()
    count_disposal: bool = True


@dataclass(frozen=True, slots=True)
class Share:
    """What one offer supplies to one demand: moist kg carried, usable dry kg used."""

    pair: int
    kg: int
    used_dry_kg: float


@dataclass(frozen=True, slots=True)
class Allocation:
    """The answer. `cost` is the programme's objective and `bound` its proven lower bound,
    both in minor units; `short` is the dry kg missing of each demand."""

    shares: tuple[Share, ...]
    short: tuple[float, ...]
    cost: float
    bound: float
    optimal: bool

    @property
    def gap(self) -> float:
        """How far the cost may lie above the optimum, as a share of it."""
        return (self.cost - self.bound) / abs(self.cost) if self.cost else 0.0


@dataclass
class _Rows:
    """A sparse constraint table that grows row by row."""

    width: int
    data: list[float] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add(
        self,
        terms: Sequence[tuple[int, float]],
        *,
        low: float = -np.inf,
        high: float = np.inf,
    ) -> None:
        for column, value in terms:
            self.row.append(len(self.low))
            self.column.append(column)
            self.data.append(value)
        self.low.append(low)
        self.high.append(high)

    def constraint(self) -> LinearConstraint:
        shape = (len(self.low), self.width)
        table = csr_array((self.data, (self.row, self.column)), shape=shape)
        return LinearConstraint(table, np.array(self.low), np.array(self.high))


class _Layout:
    """Where each kind of variable stands in the programme."""

    def __init__(self, problem: AllocationProblem) -> None:
        pairs, moves = len(problem.pairs), len(problem.moves)
        self.pieces = range(pairs)
        self.used = range(pairs, 2 * pairs)
        self.moves = range(2 * pairs, 2 * pairs + moves)
        self.parts = range(self.moves.stop, self.moves.stop + pairs)
        self.lots = range(self.parts.stop, self.parts.stop + pairs)
        self.short = range(self.lots.stop, self.lots.stop + len(problem.demands))
        self.width = self.short.stop


def allocate(problem: AllocationProblem) -> Allocation:
    """The cheapest allocation that leaves as little short as can be."""
    layout = _Layout(problem)
    rows = _build_rows(problem, layout)
    bounds = _bounds(problem, layout)
    whole = _integrality(problem, layout)
    short = np.zeros(layout.width)
    short[list(layout.short)] = 1.0
    none_short = Bounds(bounds.lb, np.where(short > 0, 0.0, bounds.ub))
    cost = _costs(problem, layout)
    result = _solve(cost, rows, none_short, whole)
    if result.x is None:
        least = _solve(short, rows, bounds, whole)
        if least.x is None:
            raise RuntimeError(f"allocation not solved: {least.message}")
        # Room for the solver's own tolerance, far below a kilogram.
        rows.add(
            [(column, 1.0) for column in layout.short], high=float(least.fun) + 1e-3
        )
        result = _solve(cost, rows, bounds, whole)
        if result.x is None:
            raise RuntimeError(f"allocation not solved: {result.message}")
    return _read(problem, layout, result)


def _solve(
    cost: NDArray[np.float64], rows: _Rows, bounds: Bounds, whole: NDArray[np.int64]
):  # type: ignore[no-untyped-def]
    return milp(
        cost,
        constraints=rows.constraint(),
        bounds=bounds,
        integrality=whole,
        options={"node_limit": NODE_LIMIT, "mip_rel_gap": GAP},
    )


def _costs(problem: AllocationProblem, layout: _Layout) -> NDArray[np.float64]:
    cost = np.zeros(layout.width)
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        per_kg = offer.price.minor / offer.price.per_kg
        if problem.count_disposal:
            per_kg -= offer.disposal.per_kg
        cost[layout.pieces[index]] = per_kg * offer.unit_kg
        cost[layout.parts[index]] = offer.part_load.charge
    for index, move in enumerate(problem.moves):
        cost[layout.moves[index]] = move.cost
    return cost


def _bounds(problem: AllocationProblem, layout: _Layout) -> Bounds:
    upper = np.full(layout.width, np.inf)
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        upper[layout.pieces[index]] = pair.most_kg // offer.unit_kg
        upper[layout.lots[index]] = 1.0
    for index, demand in enumerate(problem.demands):
        upper[layout.short[index]] = demand.dry_kg
    for index, move in enumerate(problem.moves):
        # As many as would carry all that is worth carrying: no larger "big M" than this.
        upper[layout.moves[index]] = max(
            -(-problem.pairs[pair].most_kg // (count * kg))
            for pair, count, kg in move.trips
        )
    return Bounds(np.zeros(layout.width), upper)


def _integrality(problem: AllocationProblem, layout: _Layout) -> NDArray[np.int64]:
    whole = np.zeros(layout.width, dtype=np.int64)
    whole[list(layout.moves)] = 1
    whole[list(layout.parts)] = 1
    whole[list(layout.lots)] = 1
    for index, pair in enumerate(problem.pairs):
        if problem.offers[pair.offer].unit_kg > 1:
            whole[layout.pieces[index]] = 1
    return whole


def _build_rows(problem: AllocationProblem, layout: _Layout) -> _Rows:
    rows = _Rows(layout.width)
    _supply_rows(problem, layout, rows)
    _demand_rows(problem, layout, rows)
    carried: list[list[tuple[int, float]]] = [[] for _ in problem.pairs]
    large: list[list[tuple[int, float]]] = [[] for _ in problem.pairs]
    for index, move in enumerate(problem.moves):
        for pair, count, kg in move.trips:
            carried[pair].append((layout.moves[index], float(count * kg)))
            # A smaller truck always pays the charge: its moves' cost contains it.
            if kg >= problem.offers[problem.pairs[pair].offer].part_load.below_kg:
                large[pair].append((layout.moves[index], -float(count)))
    for index, pair in enumerate(problem.pairs):
        offer = problem.offers[pair.offer]
        pieces = (layout.pieces[index], -float(offer.unit_kg))
        exact = 0.0 if offer.whole_loads else np.inf
        rows.add([*carried[index], pieces], low=0.0, high=exact)
        _use_row(problem, layout, rows, index)
        if offer.part_load.charge and offer.part_load.below_kg:
            # Of n loads of q kg in all, n - q / below must stay under the limit.
            share = (layout.pieces[index], offer.unit_kg / offer.part_load.below_kg)
            part = (layout.parts[index], 1.0)
            rows.add([part, share, *large[index]], low=0.0)
    for group, limit in enumerate(problem.limits):
        own = [
            (layout.moves[index], 1.0)
            for index, move in enumerate(problem.moves)
            if move.group == group
        ]
        rows.add(own, high=float(limit))
    return rows


def _supply_rows(problem: AllocationProblem, layout: _Layout, rows: _Rows) -> None:
    for number, offer in enumerate(problem.offers):
        own = [i for i, pair in enumerate(problem.pairs) if pair.offer == number]
        if own:
            terms = [(layout.pieces[i], float(offer.unit_kg)) for i in own]
            rows.add(terms, high=float(offer.quantity_kg))
        for i in own:
            if offer.min_lot_kg:
                pieces = (layout.pieces[i], float(offer.unit_kg))
                lot = layout.lots[i]
                rows.add([pieces, (lot, -float(offer.min_lot_kg))], low=0.0)
                rows.add([pieces, (lot, -float(problem.pairs[i].most_kg))], high=0.0)


def _demand_rows(problem: AllocationProblem, layout: _Layout, rows: _Rows) -> None:
    for number, demand in enumerate(problem.demands):
        own = [i for i, pair in enumerate(problem.pairs) if pair.demand == number]
        terms = [(layout.used[i], 1.0) for i in own]
        short = (layout.short[number], 1.0)
        rows.add([*terms, short], low=demand.dry_kg, high=demand.dry_kg)
        if demand.clay is None:
            continue
        low, high = demand.clay
        clay = [
            (layout.used[i], _clay(problem.offers[problem.pairs[i].offer])) for i in own
        ]
        rows.add([(column, share - low) for column, share in clay], low=0.0)
        rows.add([(column, share - high) for column, share in clay], high=0.0)


def _use_row(
    problem: AllocationProblem, layout: _Layout, rows: _Rows, index: int
) -> None:
    """What is carried is used, but for the excess that whole loads, lots or bales force."""
    pair = problem.pairs[index]
    offer = problem.offers[pair.offer]
    usable = offer.material.usable
    pieces = (layout.pieces[index], offer.unit_kg * usable)
    excess = surplus_kg(offer, pair) * usable
    rows.add([pieces, (layout.used[index], -1.0)], low=0.0, high=excess)


def surplus_kg(offer: Offer, pair: Pair) -> float:
    """The most that may be carried and not used: what the terms of the offer force."""
    forced = max(offer.min_lot_kg, offer.unit_kg - 1)
    return float(max(forced, pair.load_kg - 1) if offer.whole_loads else forced)


def _clay(offer: Offer) -> float:
    return 0.0 if isinstance(offer.material, Straw) else offer.material.clay.likely


def _read(problem: AllocationProblem, layout: _Layout, result) -> Allocation:  # type: ignore[no-untyped-def]
    kilograms = _whole_kg(problem, [float(result.x[c]) for c in layout.pieces])
    shares = [
        Share(index, kg, float(result.x[layout.used[index]]))
        for index, kg in enumerate(kilograms)
        if kg
    ]
    bound = result.mip_dual_bound
    return Allocation(
        shares=tuple(shares),
        short=tuple(
            short if (short := float(result.x[column])) > 0.5 else 0.0
            for column in layout.short
        ),
        cost=float(result.fun),
        bound=float(result.fun if bound is None else min(bound, result.fun)),
        optimal=result.status == 0,
    )


def _whole_kg(problem: AllocationProblem, pieces: list[float]) -> list[int]:
    """Pieces rounded up, so that demands are met, but never beyond what an offer holds."""
    whole = [int(-(-(raw - 1e-4) // 1)) if raw > 1e-3 else 0 for raw in pieces]
    for number, offer in enumerate(problem.offers):
        own = [i for i, pair in enumerate(problem.pairs) if pair.offer == number]
        over = sum(whole[i] for i in own) - offer.quantity_kg // offer.unit_kg
        for i in sorted(own, key=lambda i: pieces[i] - whole[i])[: max(0, over)]:
            whole[i] -= 1
    return [
        count * problem.offers[pair.offer].unit_kg
        for count, pair in zip(whole, problem.pairs, strict=True)
    ]
