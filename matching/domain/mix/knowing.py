"""What it is worth to know a heap's clay share before a truck moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.domain.errors import refuse
from matching.domain.mix.blend import ROOM
from matching.domain.mix.haul import Haul, Programme
from matching.domain.mix.parts import Part
from matching.domain.mix.prior import Prior, SoilTest
from matching.domain.mix.reasons import NoRecipe
from matching.domain.mix.recipe import design
from matching.domain.mix.wording import percent, tonnes
from matching.domain.mix.worth import worth_of_knowing, worth_of_test
from matching.domain.verdicts import Reason


@dataclass(frozen=True, slots=True)
class Order:
    """Moist kg as loaded of each part that is ordered at first."""

    amounts: tuple[tuple[Part, float], ...]

    @property
    def text(self) -> str:
        """The order in words."""
        return ", ".join(f"{tonnes(kg)} of {part.name}" for part, kg in self.amounts)


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge of the mix's clay window inside the heap's range: the chance that the heap is
    leaner than it, and the best orders just below and just above."""

    at: float
    chance_below: float
    below: Order
    above: Order
    text: str


@dataclass(frozen=True, slots=True)
class WorthOfTest:
    """What a test that errs is worth, at least; `net` is after its own cost."""

    test: SoilTest
    worth: float

    @property
    def net(self) -> float:
        """Gain of making the test."""
        return self.worth - self.test.cost


@dataclass(frozen=True, slots=True)
class Knowing:
    """Expected costs in minor units for the whole: ordering now, ordering once the clay is
    known, and their difference, which is the most that a test can be worth.

    `if_known` gives the best order for each clay share of the prior. `costs` is the table
    behind it all: a row for each of `orders`, a column for each point of the prior.
    """

    prior: Prior
    order_now: Order
    cost_now: float
    cost_known: float
    worth: float
    if_known: tuple[tuple[float, Order], ...]
    edges: tuple[Edge, ...]
    tests: tuple[WorthOfTest, ...]
    orders: tuple[Order, ...]
    costs: tuple[tuple[float, ...], ...]


def knowing(
    haul: Haul, prior: Prior | None = None, tests: tuple[SoilTest, ...] = ()
) -> Knowing | NoRecipe:
    """The worth of knowing the heap's clay, other parts taken at their likely figures.

    First orders looked at: the best recipe for each share of the prior, the order with the
    least expected cost, and the cheapest that never needs a second delivery. The cost of
    ordering now is therefore exact where a second delivery has no fee of its own, and
    otherwise the best of these. The prior is triangular over the heap's range unless given.
    NoRecipe("no_recourse") where a state leaves no wall at all: add a source that always
    does, such as a ready mix at its price. Raises Refused for an unknown heap, a mass that
    is not positive, or a missing price.
    """
    heap = _heap(haul)
    prior = prior or Prior.of(heap.clay)
    states = [share for share, _ in prior.points]
    chances = [chance for _, chance in prior.points]
    programme = Programme(haul, states)
    orders: list[NDArray[np.float64]] = []
    for share in states:
        recipe = design(haul.if_clay(share), haul.mix, haul.limits, haul.dry_kg)
        if isinstance(recipe, NoRecipe):
            return _no_recourse(heap, share, recipe)
        orders.append(np.array([recipe.share_of(p.key) for p in haul.parts]))
    orders += [programme.best_order(chances, fetching=own) for own in (True, False)]
    orders = _distinct(orders)
    costs = tuple(programme.costs_of(order) for order in orders)
    worth = worth_of_knowing(costs, chances)
    shown = tuple(_order(haul, order) for order in orders)
    if_known = tuple(
        (share, shown[own]) for share, own in zip(states, worth.known, strict=True)
    )
    return Knowing(
        prior=prior,
        order_now=shown[worth.action],
        cost_now=worth.cost_now,
        cost_known=min(worth.cost_known, worth.cost_now),
        worth=worth.worth,
        if_known=if_known,
        edges=_edges(haul, heap, prior, if_known),
        tests=tuple(
            WorthOfTest(test, worth_of_test(costs, chances, test.likelihood(prior)))
            for test in tests
        ),
        orders=shown,
        costs=costs,
    )


def _heap(haul: Haul) -> Part:
    for part in haul.parts:
        if part.key == haul.heap:
            if haul.dry_kg > 0:
                return part
            raise refuse(
                "nothing_to_mix",
                field="dry_kg",
                given=haul.dry_kg,
                message="there is nothing to haul",
                remedy="Give the dry kg of soil and sand that the walls swallow.",
            )
    raise refuse(
        "heap_unknown",
        field="heap",
        given=haul.heap,
        message="no part has this key",
        remedy="Give the key of the part whose clay is in doubt.",
    )


def _no_recourse(heap: Part, share: float, why: NoRecipe) -> NoRecipe:
    text = (
        f"If {heap.name} turns out at {percent(share)} clay, no wall can be made of these"
        f" parts. {why.reason.text} Or add a source that always does, such as a ready mix,"
        " at its price."
    )
    found = f"{heap.name} at {percent(share)}"
    reason = Reason("no_recourse", found, "a way out whatever the clay", text)
    return NoRecipe(reason, why.short_dry_kg)


def _distinct(orders: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    kept: list[NDArray[np.float64]] = []
    for order in orders:
        if all(np.abs(order - own).max() > ROOM for own in kept):
            kept.append(order)
    return kept


def _order(haul: Haul, order: NDArray[np.float64]) -> Order:
    return Order(
        tuple(
            (part, float(share) * haul.dry_kg / part.usable)
            for part, share in zip(haul.parts, order, strict=True)
            if share > ROOM
        )
    )


def _edges(
    haul: Haul,
    heap: Part,
    prior: Prior,
    if_known: tuple[tuple[float, Order], ...],
) -> tuple[Edge, ...]:
    found = []
    words = (
        (haul.mix.clay_low, "too lean alone and wants a richer soil"),
        (haul.mix.clay_high, "ready or lean; above, it must be cut with sand"),
    )
    for at, says in words:
        below = [order for share, order in if_known if share < at]
        above = [order for share, order in if_known if share >= at]
        if below and above:
            chance = prior.chance_below(at)
            text = (
                f"Below {percent(at)} clay (a chance of {chance * 100:.0f} %) {heap.name} is"
                f" {says}. Order just below: {below[-1].text}. Just above: {above[0].text}."
            )
            found.append(Edge(at, chance, below[-1], above[0], text))
    return tuple(found)
