"""What information is worth: costs of actions in states of the world, and their chances.

Textbook decision analysis, with costs instead of payoffs. Actions are rows, states columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.errors import Refused, refuse

_SUM_ROOM = 1e-9


@dataclass(frozen=True, slots=True)
class Worth:
    """Expected cost deciding now and deciding after knowing, in the unit of the costs.

    `action` is the row taken now, `known` the best row in each state; the first of equals.
    `worth` is the difference, never negative.
    """

    action: int
    known: tuple[int, ...]
    cost_now: float
    cost_known: float

    @property
    def worth(self) -> float:
        """What knowing saves of these costs."""
        return max(0.0, self.cost_now - self.cost_known)


def worth_of_knowing(
    costs: Sequence[Sequence[float]],
    probabilities: Sequence[float],
    *,
    action: int | None = None,
) -> Worth:
    """Expected value of perfect information; `action` is the row taken without it, the
    best one unless given. Raises Refused for tables that do not fit and for probabilities
    that are negative or do not add up to 1."""
    _check(costs, probabilities)
    action = _best(costs, probabilities) if action is None else action
    states = range(len(probabilities))
    known = tuple(
        min(range(len(costs)), key=lambda own: costs[own][state]) for state in states
    )
    return Worth(
        action=action,
        known=known,
        cost_now=_expected(costs[action], probabilities),
        cost_known=sum(
            probabilities[state] * costs[known[state]][state] for state in states
        ),
    )


def worth_of_test(
    costs: Sequence[Sequence[float]],
    probabilities: Sequence[float],
    likelihood: Sequence[Sequence[float]],
    *,
    action: int | None = None,
    answers: Sequence[int] | None = None,
) -> float:
    """Expected value of sample information: of a test that errs.

    `likelihood[reading][state]` is the chance of a reading in a state; each state's add up
    to 1. The chance of a state given a reading follows by Bayes. Between 0 and the worth of
    knowing, since the reading may be ignored and is never better than the truth.
    `action` is the row taken without the test, the best one unless given; `answers` is the
    row that each reading leads to where it is cheaper, the best of all unless given.
    """
    _check(costs, probabilities)
    for state in range(len(probabilities)):
        _check_sum([row[state] for row in likelihood], "likelihood")
    first = _best(costs, probabilities) if action is None else action
    after = 0.0
    for reading, row in enumerate(likelihood):
        joint = [own * p for own, p in zip(row, probabilities, strict=True)]
        rows = costs if answers is None else (costs[first], costs[answers[reading]])
        after += min(_expected(cost, joint) for cost in rows)
    return max(0.0, _expected(costs[first], probabilities) - after)


def _expected(costs: Sequence[float], weights: Sequence[float]) -> float:
    return sum(own * weight for own, weight in zip(costs, weights, strict=True))


def _best(costs: Sequence[Sequence[float]], weights: Sequence[float]) -> int:
    return min(range(len(costs)), key=lambda own: _expected(costs[own], weights))


def _check(costs: Sequence[Sequence[float]], probabilities: Sequence[float]) -> None:
    if not costs or any(len(row) != len(probabilities) for row in costs):
        raise refuse(
            "table_does_not_fit",
            field="costs",
            given=f"{len(costs)} rows for {len(probabilities)} states",
            message="each action needs a cost in each state",
            remedy="Give at least one row, each as long as the probabilities.",
        )
    _check_sum(probabilities, "probabilities")


def _check_sum(chances: Sequence[float], field: str) -> None:
    if min(chances, default=-1.0) < 0 or abs(sum(chances) - 1) > _SUM_ROOM:
        raise _not_chances(field, sum(chances))


def _not_chances(field: str, given: float) -> Refused:
    return refuse(
        "chances_do_not_add_up",
        field=field,
        given=given,
        message="chances must be at least 0 and add up to 1",
        remedy="Give one chance for each case, 1 in all.",
    )
