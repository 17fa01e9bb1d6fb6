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

# A reading less likely than this never comes.
_NEVER = 1e-300


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
    """Expected costs in minor units for the whole: of the order that the answer gives, put
    right once the clay shows; of ordering once the clay is known; and their difference,
    which is what knowing saves in purchase and haulage. A wall that cracks is not in it.

    `if_known` gives the order for each clay share of the prior, by the aim of the answer.
    """

    prior: Prior
    order_now: Order
    cost_now: float
    cost_known: float
    worth: float
    if_known: tuple[tuple[float, Order], ...]
    edges: tuple[Edge, ...]
    tests: tuple[WorthOfTest, ...]


def knowing(
    haul: Haul, prior: Prior | None = None, tests: tuple[SoilTest, ...] = ()
) -> Knowing | NoRecipe:
    """The worth of knowing the heap's clay, other parts taken at their likely figures.

    Without a test the recipe at likely figures is ordered, as the answer says; with one,
    the recipe of the same aim for the clay that it shows, or still the first where that
    comes cheaper. So a worth is never the gain of another aim. Either order is put right,
    at the surcharge, where the mix would leave its window. The prior is triangular over
    the heap's range unless given. NoRecipe("no_recourse") where a state leaves no wall at
    all: add a source that always does, such as a ready mix at its price. Raises Refused
    for an unknown heap, a mass that is not positive, or a missing price.
    """
    heap = _heap(haul)
    prior = prior or Prior.of(heap.clay)
    states = [share for share, _ in prior.points]
    programme = Programme(haul, states)
    orders: list[NDArray[np.float64]] = []
    for share in (heap.clay.likely, *states):
        recipe = design(
            haul.if_clay(share),
            haul.mix,
            haul.limits,
            haul.dry_kg,
            target_first=haul.target_first,
        )
        if isinstance(recipe, NoRecipe):
            return _no_recourse(heap, share, recipe)
        orders.append(np.array([recipe.share_of(p.key) for p in haul.parts]))
    table = np.array([programme.costs_of(order) for order in orders])
    # What another order would save beyond the better of the answer's and that of the state
    # is the gain of another aim, not of knowing.
    told = np.maximum(table, np.minimum(table[0], np.diag(table[1:]))).tolist()
    chances = [chance for _, chance in prior.points]
    worth = worth_of_knowing(told, chances, action=0)
    if_known = tuple(
        (share, _order(haul, order))
        for share, order in zip(states, orders[1:], strict=True)
    )
    return Knowing(
        prior=prior,
        order_now=_order(haul, orders[0]),
        cost_now=worth.cost_now,
        cost_known=worth.cost_known,
        worth=worth.worth,
        if_known=if_known,
        edges=_edges(haul, heap, prior, if_known),
        tests=tuple(WorthOfTest(own, _worth_of(own, told, prior)) for own in tests),
    )


def _worth_of(test: SoilTest, told: list[list[float]], prior: Prior) -> float:
    """What a test that errs saves: after each reading the recipe for the clay then to be
    expected is ordered, where that is cheaper on average than the order of the answer,
    which is the first row of costs."""
    shares = np.array([share for share, _ in prior.points])
    chances = np.array([chance for _, chance in prior.points])
    likelihood = test.likelihood(prior)
    answers = []
    for row in likelihood:
        joint = np.array(row) * chances
        expected = joint @ shares / max(float(joint.sum()), _NEVER)
        answers.append(1 + int(np.abs(shares - expected).argmin()))
    return worth_of_test(told, list(chances), likelihood, action=0, answers=answers)


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
