"""What a deal saves its two sides, and a payment that leaves both better off.

Alone, the holder pays to have the material tipped, and the builders get along without it.
Together the holder saves the tipping (A) and gets the agreed price (P, negative if the
holder pays it), and the builders save V: their cheapest bill without the offer less their
bill with it, the price included. A payment of (A + P - V) / 2 from holder to builders
leaves each half of A + P + V: the equal split of the gain, which is the Nash bargaining
solution of two parties. Whatever price was agreed, both end up with the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from logistics.domain.quantities import round_half_up
from matching.domain.allocation import Allocation, allocate
from matching.domain.programme import AllocationProblem
from matching.domain.scenario import Scenario

NODES, ROUGH = 200, 0.002
"""Ends of the branch and bound: these are figures for a proposal, at estimated haulage."""


@dataclass(frozen=True, slots=True)
class Saving:
    """Figures of one offer in minor units. `worth` is None where the builders cannot do
    without the offer, and no payment is proposed then. Haulage is at its estimate, and
    counts as the builders' whoever pays it.

    `price` goes from the builders to the holder as agreed, `payment` from the holder to the
    builders on top of it; negative means the other way.
    """

    offer: int
    avoided: int
    price: int
    worth: int | None = None
    payment: int | None = None

    @property
    def gain_each(self) -> int | None:
        """What each side is better off than alone, with the payment."""
        if self.worth is None or self.payment is None:
            return None
        return self.avoided + self.price - self.payment


def savings(
    scenario: Scenario, question: AllocationProblem, decided: Allocation
) -> tuple[Saving, ...]:
    """The saving of each offer that supplies anything and costs its holder to tip."""
    kilograms: dict[int, int] = {}
    used: dict[int, float] = {}
    for share in decided.shares:
        offer = question.pairs[share.pair].offer
        kilograms[offer] = kilograms.get(offer, 0) + share.kg
        usable = scenario.offers[offer].material.usable
        moist = min(share.kg, share.used_dry_kg / usable)
        used[offer] = used.get(offer, 0.0) + moist
    bills = replace(question, count_disposal=False)
    held = _bill(bills, decided)
    found = []
    for offer, kg in sorted(kilograms.items()):
        avoided = round_half_up(scenario.offers[offer].disposal.per_kg * used[offer])
        if avoided:
            price = round_half_up(scenario.offers[offer].price.of(kg))
            alone = Saving(offer, avoided, price)
            found.append(
                alone if held is None else _saving(bills, decided, held, alone)
            )
    return tuple(found)


def _saving(
    bills: AllocationProblem, decided: Allocation, held: float, own: Saving
) -> Saving:
    """The saving of an offer with what it is worth to the builders and the payment."""
    without = allocate(_without(bills, own.offer), nodes=NODES, gap=ROUGH)
    if sum(without.short) > sum(decided.short) + 1:
        return own
    worth = round_half_up(without.cost - held)
    if own.avoided + own.price + worth <= 0:
        return replace(own, worth=worth)
    return replace(own, worth=worth, payment=(own.avoided + own.price - worth) // 2)


def _bill(bills: AllocationProblem, decided: Allocation) -> float | None:
    """What the builders pay for the decided shares, at estimated haulage."""
    fixed = {share.pair: share.kg for share in decided.shares}
    pairs = tuple(
        replace(pair, most_kg=fixed.get(index, 0))
        for index, pair in enumerate(bills.pairs)
    )
    answer = allocate(replace(bills, pairs=pairs), nodes=NODES, gap=ROUGH)
    return answer.cost if sum(answer.short) <= sum(decided.short) + 1 else None


def _without(bills: AllocationProblem, offer: int) -> AllocationProblem:
    pairs = tuple(
        replace(pair, most_kg=0) if pair.offer == offer else pair
        for pair in bills.pairs
    )
    return replace(bills, pairs=pairs)
