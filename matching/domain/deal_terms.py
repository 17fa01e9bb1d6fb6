"""What a deal costs beside its haulage, kept with the plan so that it can be billed anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pydantic import TypeAdapter

from logistics.domain.planning.result import CostLine, LineKind
from logistics.domain.quantities import round_half_up
from matching.domain.community import Deal
from matching.domain.materials import Price
from matching.domain.scenario import Scenario


@dataclass(frozen=True, slots=True)
class DealTerms:
    """The terms of one deal; moist kg and minor units. `used_kg` of what was agreed go
    into the wall. `disposal_per_kg` is None where tipping avoided is not counted."""

    offer: str
    demand: str
    agreed_kg: int
    used_kg: int
    price: Price
    disposal_per_kg: float | None

    def lines(self, kg: int) -> list[CostLine]:
        """The lines of the bill if so much comes of it, as a plan's bill has them."""
        price, used = self.price, min(kg, self.used_kg)
        found = [
            CostLine(
                LineKind.MATERIAL,
                f"{self.offer} > {self.demand}",
                round_half_up(price.of(kg)),
                f"{kg} kg x {price.minor} per {price.per_kg:g} kg",
            )
        ]
        if self.disposal_per_kg is not None:
            avoided = self.disposal_per_kg
            found.append(
                CostLine(
                    LineKind.TIPPING_AVOIDED,
                    self.offer,
                    -round_half_up(avoided * used),
                    f"{used} kg x {avoided * 1000:g} per 1000 kg not tipped",
                )
            )
        return [line for line in found if line.amount]


TERMS = TypeAdapter(tuple[DealTerms, ...])


def terms_of(scenario: Scenario, deals: Sequence[Deal]) -> tuple[DealTerms, ...]:
    """The terms of the deals of a plan."""
    return tuple(
        DealTerms(
            offer=scenario.offers[own.offer].key,
            demand=scenario.demands[own.demand].key,
            agreed_kg=own.kg,
            used_kg=own.used_kg,
            price=scenario.offers[own.offer].price,
            disposal_per_kg=scenario.offers[own.offer].disposal.per_kg
            if scenario.count_disposal
            else None,
        )
        for own in deals
    )
