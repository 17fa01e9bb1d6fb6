"""The linear programme behind a recipe: shares of parts that keep linear rules.

Shares x of n parts, each from 0 to 1, adding up to 1. A rule is a row r and a limit:
r . x <= limit. Aims are met one after the other: the second decides only among the best
of the first, so that equal answers are told apart in a stated, repeatable way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

ROOM = 1e-6
"""Shares closer than this are the same; the solver's own tolerance is 1e-7."""
# An earlier aim may be missed by so much for the sake of a later one; below ROOM.
GIVE = 1e-9

Row = Sequence[float]


@dataclass(frozen=True, slots=True)
class Rule:
    """`row . shares <= limit`."""

    row: tuple[float, ...]
    limit: float


@dataclass(frozen=True, slots=True)
class Aim:
    """Make `row . shares` least; with `target`, bring it as near to it as can be."""

    row: tuple[float, ...]
    target: float | None = None


def best_shares(
    aims: Sequence[Aim],
    rules: Sequence[Rule],
    most: Sequence[float] | None = None,
) -> tuple[float, ...] | None:
    """Shares that keep the rules and meet the aims in order, or None where none do.

    `most` are the largest shares of each part. Every row has one figure for each part.
    """
    width = len(aims[0].row)
    tables = [(np.array([*rule.row, 0.0]), rule.limit) for rule in rules]
    bounds = [
        (0.0, 1.0 if most is None else min(1.0, own)) for own in _most(most, width)
    ]
    if sum(high for _, high in bounds) < 1 - ROOM:
        return None
    found: NDArray[np.float64] | None = None
    for aim in aims:
        own, cost = _as_cost(aim)
        result = _solve(cost, [*tables, *own], bounds)
        if result is None:
            break
        found, least = result
        if aim.target is None:
            tables.append((cost, least + GIVE * _scale(aim)))
        else:
            tables += [(row, limit + least + GIVE) for row, limit in _near(aim)]
    return None if found is None else _tidy(found[:width])


def least_of(row: Row, rules: Sequence[Rule]) -> float:
    """Least value of `row . shares` under the rules; infinite where none are possible."""
    shares = best_shares([Aim(tuple(row))], rules)
    return (
        sum(own * share for own, share in zip(row, shares, strict=True))
        if shares
        else float("inf")
    )


def most_mass(rules: Sequence[Rule], held: Sequence[float], wanted: float) -> float:
    """Largest total of parts, up to `wanted`, whose shares keep the rules.

    `held` is how much there is of each part, in the unit of `wanted`; np.inf: any amount.
    """
    table = [[own - rule.limit for own in rule.row] for rule in rules]
    answer = linprog(
        -np.ones(len(held)),
        A_ub=np.array([*table, [1.0] * len(held)]),
        b_ub=np.array([0.0] * len(table) + [1.0]),
        bounds=[(0.0, min(own / wanted, 1.0)) for own in held],
        method="highs",
    )
    return -float(answer.fun or 0.0) * wanted


def _most(most: Sequence[float] | None, width: int) -> Sequence[float]:
    return [1.0] * width if most is None else most


def _scale(aim: Aim) -> float:
    return max((abs(own) for own in aim.row), default=1.0) or 1.0


def _near(aim: Aim) -> list[tuple[NDArray[np.float64], float]]:
    """|row . x - target|, without its limit, as two rows over the shares alone."""
    row, target = np.array([*aim.row, 0.0]), aim.target or 0.0
    return [(row, target), (-row, -target)]


def _as_cost(
    aim: Aim,
) -> tuple[list[tuple[NDArray[np.float64], float]], NDArray[np.float64]]:
    """Rows that an aim adds, and what it makes least; the last column is the distance."""
    if aim.target is None:
        return [], np.array([*aim.row, 0.0])
    distance = np.zeros(len(aim.row) + 1)
    distance[-1] = 1.0
    return [(row - distance, limit) for row, limit in _near(aim)], distance


def _solve(
    cost: NDArray[np.float64],
    tables: list[tuple[NDArray[np.float64], float]],
    bounds: list[tuple[float, float]],
) -> tuple[NDArray[np.float64], float] | None:
    width = len(bounds)
    scale = float(np.abs(cost).max()) or 1.0
    answer = linprog(
        cost / scale,
        A_ub=np.array([row for row, _ in tables]) if tables else None,
        b_ub=np.array([limit for _, limit in tables]) if tables else None,
        A_eq=np.array([[1.0] * width + [0.0]]),
        b_eq=np.array([1.0]),
        bounds=[*bounds, (0.0, None)],
        method="highs",
    )
    if answer.status != 0 or answer.x is None:
        return None
    found = np.asarray(answer.x, dtype=np.float64)
    return found, float(cost @ found)


def _tidy(found: NDArray[np.float64]) -> tuple[float, ...]:
    """Drop the solver's dust, so that an unused part has no share at all."""
    shares = np.where(found < ROOM / 10, 0.0, found)
    return tuple(float(own) for own in shares / shares.sum())
