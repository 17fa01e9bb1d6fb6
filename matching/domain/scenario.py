"""The whole of a planning question, ready for computation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from logistics.domain.distances import DistanceTable
from logistics.domain.places import Place
from logistics.domain.planning.problem import Slot
from logistics.domain.quantities import End
from logistics.domain.trucks import Truck
from matching.domain.builds import Build, Demand, demands
from matching.domain.materials import Offer


@dataclass(frozen=True)
class Scenario:
    """Offers, builds, trucks and the days on which they drive, over one distance table.

    `reach_m` is the farthest road distance from an offer to a build. `count_disposal` says
    whether the plan minimises what everybody pays together (the tipping that holders avoid
    counts as a gain) or the bills of material and haulage alone. `needs_at` is
    how much the walls are taken to swallow. `plain` is set where a plan must hold at the
    far end of what is known (`matching.domain.ends.safely`): the same at likely figures.
    `own_ways` has the distances of trucks, by key, that may not use the same roads.
    """

    places: tuple[Place, ...]
    distances: DistanceTable
    offers: tuple[Offer, ...]
    builds: tuple[Build, ...]
    trucks: tuple[Truck, ...]
    slots: tuple[Slot, ...]
    reach_m: int = 80_000
    count_disposal: bool = True
    needs_at: End = End.LIKELY
    plain: Scenario | None = None
    own_ways: Mapping[str, DistanceTable] = field(default_factory=dict)

    @cached_property
    def demands(self) -> tuple[Demand, ...]:
        """What the builds ask for."""
        return demands(self.builds, at=self.needs_at, safe=self.plain is not None)
