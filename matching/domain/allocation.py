"""Who supplies whom: `allocate(problem) -> Allocation`, by mixed-integer programming.

Shortage is made least first; then the cost, which counts what everybody pays: material,
haulage and charges, less (unless asked otherwise) the tipping that holders avoid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, OptimizeResult, milp

from matching.domain.programme import (
    TONNE,
    AllocationProblem,
    Layout,
    Rows,
    build_rows,
    costs,
    integrality,
    variable_bounds,
)

# Ends the branch and bound at the same node whatever the machine's speed.
NODE_LIMIT = 20_000
GAP = 1e-7


@dataclass(frozen=True, slots=True)
class Share:
    """What one offer supplies to one demand: moist kg carried, usable dry kg used."""

    pair: int
    kg: int
    used_dry_kg: float


@dataclass(frozen=True, slots=True)
class Allocation:
    """The answer. `cost` is the programme's objective and `bound` its proven lower bound,
    both in minor units; `short` is the dry kg missing of each demand, `made` how often each
    move is made."""

    shares: tuple[Share, ...]
    short: tuple[float, ...]
    made: tuple[int, ...]
    cost: float
    bound: float
    optimal: bool

    @property
    def gap(self) -> float:
        """How far the cost may lie above the optimum, as a share of it."""
        return (self.cost - self.bound) / abs(self.cost) if self.cost else 0.0


def allocate(
    problem: AllocationProblem, *, nodes: int = NODE_LIMIT, gap: float = GAP
) -> Allocation:
    """The cheapest allocation found that leaves as little short as can be.

    `nodes` or a small enough `gap` end the branch and bound; `bound` of the answer is
    proven all the same.
    """
    if not problem.demands:
        # Lifts may want nothing in the days of a plan, and the solver takes no empty one.
        return Allocation((), (), (), cost=0.0, bound=0.0, optimal=True)
    layout = Layout(problem)
    rows = build_rows(problem, layout)
    bounds = variable_bounds(problem, layout)
    short = np.zeros(layout.width)
    short[list(layout.short)] = 1.0
    none_short = Bounds(bounds.lb, np.where(short > 0, 0.0, bounds.ub))
    whole = integrality(problem, layout)
    cost = costs(problem, layout)
    result = _solve(cost, rows, none_short, whole, (nodes, gap))
    if result.x is None:
        least = _solved(_solve(short, rows, bounds, whole, (nodes, gap)))
        # Room for the solver's own tolerance, far below a kilogram.
        rows.add(
            [(column, 1.0) for column in layout.short], high=float(least.fun) + 1e-4
        )
        result = _solved(_solve(cost, rows, bounds, whole, (nodes, gap)))
    return _read(problem, layout, result)


def _solve(
    cost: NDArray[np.float64],
    rows: Rows,
    bounds: Bounds,
    whole: NDArray[np.int64],
    until: tuple[int, float],
) -> OptimizeResult:
    return milp(
        cost,
        constraints=rows.constraint(),
        bounds=bounds,
        integrality=whole,
        options={"node_limit": until[0], "mip_rel_gap": until[1]},
    )


def _solved(result: OptimizeResult) -> OptimizeResult:
    if result.x is None:
        raise RuntimeError(f"allocation not solved: {result.message}")
    return result


def _read(
    problem: AllocationProblem, layout: Layout, result: OptimizeResult
) -> Allocation:
    pieces = [
        float(result.x[column]) * (TONNE if offer.unit_kg == 1 else 1)
        for column, offer in zip(
            layout.pieces,
            (problem.offers[pair.offer] for pair in problem.pairs),
            strict=True,
        )
    ]
    kilograms = _whole_kg(problem, pieces)
    shares = [
        Share(index, kg, float(result.x[layout.used[index]]) * TONNE)
        for index, kg in enumerate(kilograms)
        if kg
    ]
    bound = result.mip_dual_bound
    return Allocation(
        shares=tuple(shares),
        short=tuple(
            short if (short := float(result.x[column]) * TONNE) > 0.5 else 0.0
            for column in layout.short
        ),
        made=tuple(round(float(result.x[column])) for column in layout.moves),
        cost=float(result.fun),
        bound=float(result.fun if bound is None else min(bound, result.fun)),
        optimal=result.status == 0,
    )


def _whole_kg(problem: AllocationProblem, pieces: list[float]) -> list[int]:
    """Pieces rounded up, so that demands are met, but never beyond what an offer holds."""
    whole = [int(-(-(raw - 1e-3) // 1)) if raw > 1e-2 else 0 for raw in pieces]
    for number, offer in enumerate(problem.offers):
        own = [i for i, pair in enumerate(problem.pairs) if pair.offer == number]
        over = sum(whole[i] for i in own) - offer.quantity_kg // offer.unit_kg
        for i in sorted(own, key=lambda i: pieces[i] - whole[i])[: max(0, over)]:
            whole[i] -= 1
    return [
        count * problem.offers[pair.offer].unit_kg
        for count, pair in zip(whole, problem.pairs, strict=True)
    ]
