"""Which shifts are driven: from patterns, by enumeration or column generation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logistics.domain.planning.bounds import (
    ROUNDS,
    Generated,
    cheapest_at,
    generate_patterns,
    patterns_within,
)
from logistics.domain.planning.coupling import Spare
from logistics.domain.planning.empty_running import empty_running_bound
from logistics.domain.planning.field import Field
from logistics.domain.planning.greedy import add_greedy
from logistics.domain.planning.loading import share_loads, without_empty_trips
from logistics.domain.planning.master import Chosen, Pool
from logistics.domain.planning.patterns import Pattern, empty_pattern, pattern_of
from logistics.domain.planning.pricing import BEAM, LIMIT, Pricer
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import LowerBound
from logistics.domain.planning.search import cut_loads, search_sequences
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.sides import mass_rounding
from logistics.domain.planning.sweep import all_patterns, best_order

LARGE, LEAST_ROUNDS = 450, 8
"""Hauls that trucks may carry, over all groups of slots, above which less is tried: fewer
rounds and narrower searches, and no closing of the gap. The bound stays proven."""
EVERY = "every shift pattern tried, choice solved to optimality"
COLUMNS = "column generation over shift patterns"
FIRST_NODES = 5
WIDTH = 20_000
"""Partial shifts looked at to bring the trips of one shift into their best order."""
PATIENCE = 2
"""Choices that may end unsolved before the search is given up."""
COLUMNS_TRIED = 1_500
"""Generated patterns that a first choice is made of, beside those of first plans."""
COLUMN_NODES = 60_000
"""Branch-and-bound nodes times patterns."""
NEAR, WIDER = 0.001, 2.0
"""First share of the bound within which all patterns are tried, and how it grows."""
FAR, FEW = 0.2, 60
"""Gap, as a share of the cost, that is not tried to be closed where there are more than so
many hauls that trucks may carry, over all groups."""
WITHIN = "column generation, then every pattern of a better plan tried"


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try.

    `partial_shifts` limits the enumeration of all patterns and `near_shifts` that of the
    patterns a better plan could drive, both for each group of slots; `patterns` is the
    largest number of patterns taken in at once; `solutions` ends the local search. Without
    `close` the gap to the bound is left as it is.
    """

    partial_shifts: int = 3_000
    near_shifts: int = 1_000_000
    patterns: int = 3_000
    solutions: int = 200
    close: bool = True


@dataclass(frozen=True)
class Outcome:
    """The patterns driven, the kg left of each haul, and what is proven about them."""

    patterns: list[Pattern]
    left: list[int]
    bound: LowerBound
    least_proven: bool
    pool: Pool

    def again(self, spare: Spare) -> Outcome:
        """Another choice of the same patterns, with less time at some places."""
        pool = Pool(self.pool.problem, self.pool.groups, spare)
        for pattern in self.pool.patterns:
            pool.add(pattern)
        left_kg, _ = pool.least_left()
        if left_kg:
            pool.allow_left()
        chosen = pool.choose(left_kg=left_kg)
        proven = self.least_proven and sum(chosen.left) == sum(self.left)
        return Outcome(chosen.driven, chosen.left, self.bound, proven, pool)


def choose_shifts(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    effort: Effort,
    least_kg: int = 0,
) -> Outcome:
    """The cheapest shifts found among those that leave the least mass behind.

    At least `least_kg` stay behind, if that is known.
    """
    pool = Pool(problem, groups)
    if pool.maker.complete and _enumerate(pool, effort):
        left_kg, proven = pool.least_left()
        left_kg = max(left_kg, least_kg)
        if left_kg:
            pool.allow_left()
        chosen = pool.choose(left_kg=left_kg)
        if chosen.exact:
            bound = LowerBound(_rounded_off(pool, chosen.value), EVERY)
            return Outcome(chosen.driven, chosen.left, bound, proven, pool)
    return _Search(pool, effort, least_kg).outcome()


def _rounded_off(pool: Pool, amount: int) -> int:
    """A bound on the bill, whose lines are rounded where they depend on mass."""
    return max(0, math.floor(amount - mass_rounding(pool.problem, pool.groups)))


def _enumerate(pool: Pool, effort: Effort) -> bool:
    for group, slots in enumerate(pool.groups):
        patterns = all_patterns(group, slots, limit=effort.partial_shifts)
        if patterns is None or len(pool.patterns) + len(patterns) > effort.patterns:
            return False
        for pattern in patterns:
            pool.add(pattern)
    _add_empty(pool)
    return True


def _add_empty(pool: Pool) -> None:
    """Shifts of trucks that only go where they must be next."""
    for group, slots in enumerate(pool.groups):
        empty = empty_pattern(group, slots)
        if empty:
            pool.add(empty)


class _Search:
    """Column generation and what follows it, for problems too large to enumerate."""

    def __init__(self, pool: Pool, effort: Effort, least_kg: int) -> None:
        self.pool, self.effort, self.least_kg = pool, effort, least_kg
        fields = [Field(group, slots) for group, slots in enumerate(pool.groups)]
        work = max(1, sum(field.size for field in fields))
        self.work, self.large = work, work > LARGE
        self.rounds = max(LEAST_ROUNDS, min(ROUNDS, ROUNDS * LARGE**2 // work**2))
        limit, beam = (LIMIT * LARGE // (8 * work), 3) if self.large else (LIMIT, BEAM)
        self.pricers = [Pricer(field, limit, beam) for field in fields]
        self.left_kg = 0
        self.ceiling = 1.0
        self.least_proven = True

    def outcome(self) -> Outcome:
        pool = self.pool
        self.ceiling = _first_patterns(pool)
        proof = self._generate()
        greedy = _searched(pool, self.effort, few=self.large) + add_greedy(
            pool, self.pricers, proof
        )
        self._settle_left()
        if self.left_kg:
            proof = self._generate()
            greedy += add_greedy(pool, self.pricers, proof)
        chosen = self._first_choice(greedy, proof)
        self.ceiling = 3.0 * max(1, chosen.value)
        amount = proof.amount
        if amount < chosen.value and self.effort.close and not self.large:
            chosen, amount = self._branch(proof, chosen)
        method = WITHIN if amount >= chosen.value else COLUMNS
        if not pool.maker.complete:
            amount = min(amount, proof.amount)
        amount = _rounded_off(pool, min(amount, chosen.value))
        bound = LowerBound(amount, method)
        if not self.left_kg:
            other = empty_running_bound(pool.problem, pool.groups)
            bound = max((bound, other), key=lambda own: own.amount)
        return Outcome(chosen.driven, chosen.left, bound, self.least_proven, pool)

    def _first_choice(self, greedy: Sequence[Pattern], proof: Generated) -> Chosen:
        """A quick choice among the patterns of first plans and those that pay best."""
        few = self.pool.only(greedy)
        if few.least_left()[0] <= self.left_kg:
            chosen = few.choose(left_kg=self.left_kg)
        else:
            chosen = self.pool.choose(left_kg=self.left_kg, nodes=FIRST_NODES)
        # Shifts of different plans may carry a load twice: what is not needed is dropped.
        for pattern in needed_trips(self.pool.problem, self.pool.groups, chosen):
            few.add(pattern)
            self.pool.add(pattern)
        for pattern in chosen.driven:
            few.add(pattern)
        chosen = few.choose(left_kg=self.left_kg)
        near = self.pool.only(
            [*cheapest_at(self.pool, proof, COLUMNS_TRIED), *few.patterns]
        )
        again = near.attempt(left_kg=self.left_kg, nodes=FIRST_NODES)
        for pattern in again.driven:
            few.add(pattern)
        chosen = min((again, chosen), key=lambda own: own.value)
        for pattern in chosen.driven:
            better = best_order(self.pricers[pattern.group].field, pattern, WIDTH)
            few.add(better)
            self.pool.add(better)
        return few.choose(left_kg=self.left_kg)

    def _generate(self, *, enough: float = float("inf")) -> Generated:
        return generate_patterns(
            self.pool,
            self.pricers,
            left_kg=self.left_kg,
            elastic=self.ceiling,
            enough=enough,
            rounds=self.rounds,
        )

    def _settle_left(self) -> None:
        """Find how little can stay behind, by patterns that carry as much as possible."""
        pool = self.pool
        left_kg, _ = pool.least_left()
        if left_kg:
            pool.allow_left()
            total = int(pool.masses.sum())
            least = generate_patterns(
                pool,
                self.pricers,
                left_kg=total,
                elastic=total,
                paid=False,
                rounds=self.rounds,
            )
            add_greedy(pool, self.pricers, least, paid=False)
            left_kg, _ = pool.least_left()
            self.least_proven = least.amount >= left_kg
            if not self.least_proven:
                near = self._near(least, left_kg - 1 - least.value, paid=False)
                few = near is not None and len(near) <= self.effort.patterns
                for pattern in (near or [])[: self.effort.patterns]:
                    pool.add(pattern)
                left_kg, exact = pool.least_left()
                self.least_proven = exact and few
            if not left_kg:
                pool.tighten()
        self.left_kg = max(left_kg, self.least_kg)
        if self.left_kg and not left_kg:
            pool.allow_left()

    def _near(
        self, proof: Generated, gap: float, *, paid: bool = True
    ) -> list[Pattern] | None:
        """Every pattern of any plan nearer to the bound; None if too many."""
        return patterns_within(
            self.pool,
            self.pricers,
            proof,
            gap=gap,
            limit=self.effort.near_shifts,
            paid=paid,
        )

    def _branch(self, proof: Generated, chosen: Chosen) -> tuple[Chosen, int]:
        """Look for plans with fewer shifts than the relaxation, rounded up, and with more.

        The relaxation saves a part of a shift; asked for whole ones it is much nearer.
        """
        pool, amounts = self.pool, []
        shifts = float(proof.prices.used.sum()) if proof.prices else 0.0
        fewer = float(math.floor(shifts + 1e-6))
        for sign, need in ((-1.0, -fewer), (1.0, fewer + 1.0)):
            count = np.full(len(pool.groups), sign)
            pool.rows.append(pool.maker.row(need, shifts=count))
            own = self._generate(enough=float(chosen.value))
            chosen, amount = self._close(own, chosen)
            amounts.append(max(amount, proof.amount))
            pool.rows.pop()
        return chosen, min(amounts)

    def _close(self, proof: Generated, chosen: Chosen) -> tuple[Chosen, int]:
        """Try every pattern that a cheaper plan could drive, if they are few enough.

        Nearer patterns first: they often give a better plan, and fewer are left to try. A
        plan that drives none but the near ones is bounded by the solver, any other one by
        their reach.
        """
        share, amount, patience = NEAR, proof.amount, PATIENCE
        if self.work > FEW and chosen.value - proof.value > FAR * chosen.value:
            return chosen, amount  # far too many patterns lie between
        while amount < chosen.value and patience and proof.prices:
            reach = min(chosen.value - 1 - proof.value, share * chosen.value)
            near = self._near(proof, reach)
            if near is None:
                break
            whole = len(near) <= self.effort.patterns
            if not whole:  # no proof, but perhaps a better plan
                near = near[: self.effort.patterns]
            pool = self.pool.only([*near, *chosen.driven])
            nodes = max(FIRST_NODES, COLUMN_NODES // max(1, len(pool.patterns)))
            again = pool.attempt(left_kg=self.left_kg, nodes=nodes)
            chosen = min((again, chosen), key=lambda own: own.value)
            if not whole:
                break
            last = reach >= chosen.value - 1 - proof.value
            beyond = chosen.value if last else math.ceil(proof.value + reach)
            amount = max(amount, min(again.floor, beyond))
            if not again.exact:
                patience = 0 if last else patience - 1
            share *= WIDER
        return chosen, amount


def needed_trips(
    problem: PlanProblem, groups: Sequence[SlotClass], chosen: Chosen
) -> list[Pattern]:
    """The shifts without the trips for which nothing is left to carry."""
    free = [list(slots.slots) for slots in groups]
    pairs = [(free[pattern.group].pop(0), pattern) for pattern in chosen.driven]
    masses = share_loads(problem, groups, pairs, chosen.left)
    fewer = without_empty_trips(groups, pairs, masses)
    return [pattern for _, pattern in (fewer or (pairs, masses))[0]]


def _searched(pool: Pool, effort: Effort, *, few: bool) -> list[Pattern]:
    """Patterns of a local search, added to the pool; with `few` it ends sooner."""
    found = []
    problem, groups = pool.problem, pool.groups
    cuts = [cut_loads(problem, groups, largest=largest) for largest in (True, False)]
    for loads in cuts[:1] if few or cuts[0] == cuts[1] else cuts:
        for group, hauls in search_sequences(
            problem, groups, loads, solutions=effort.solutions // (4 if few else 1)
        ):
            rest = hauls
            while rest and not (own := pattern_of(group, groups[group], rest)):
                rest = rest[:-1]  # a break at noon is not known to the search
            if rest and own:
                found.append(own)
                pool.add(own)
    return found


def _first_patterns(pool: Pool) -> float:
    """Shifts of one task alone; returns what no sensible plan costs."""
    dearest = [0] * pool.maker.shape[1]
    _add_empty(pool)
    for group, slots in enumerate(pool.groups):
        for task, trips in enumerate(slots.trips):
            repeat = 1
            while repeat <= trips and (
                pattern := pattern_of(group, slots, (task,) * repeat)
            ):
                pool.add(pattern)
                dearest[task] = max(dearest[task], trips * pattern.cost)
                repeat += 1
    return 10.0 * max(1, sum(dearest))
