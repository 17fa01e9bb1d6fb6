"""Everything that one planning question takes, gathered from the tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from logistics.domain.calendar import windows
from logistics.domain.distances import DistanceTable
from logistics.domain.errors import refuse
from logistics.domain.places import Point
from logistics.domain.planning.problem import Slot
from logistics.domain.trucks import Cargo, Truck
from logistics.selectors import StoredPlace, StoredTruck, fleet_of, list_trucks
from matching.domain.builds import Build, demands
from matching.domain.dated import dated
from matching.domain.ends import safely
from matching.domain.lifts.batches import Gate
from matching.domain.materials import Offer
from matching.domain.requests import PlanRequest
from matching.domain.scenario import Scenario
from matching.selectors.builds import StoredBuild, get_builds
from matching.selectors.offers import Search, StoredOffer, free_offers

# As many as a scenario document may hold: beyond it the tables of distances and of
# pairs grow with the square and the product. The nearest are kept, and the run says so.
MOST_OFFERS = 200


@dataclass(frozen=True)
class Gathered:
    """A scenario that only lacks its distances, and the row ids behind its indices.

    `need_ids` leads from the key of a demand to its need. `left_out` offers were within
    reach, but farther than those here.
    """

    places: tuple[StoredPlace, ...]
    offers: tuple[Offer, ...]
    builds: tuple[Build, ...]
    trucks: tuple[Truck, ...]
    slots: tuple[Slot, ...]
    offer_ids: tuple[int, ...]
    truck_ids: tuple[int, ...]
    need_ids: dict[str, int]
    left_out: int

    @property
    def points(self) -> tuple[Point, ...]:
        """Where the places are, in the order of the table of distances."""
        return tuple(own.place.point for own in self.places)

    def scenario(
        self,
        distances: DistanceTable,
        request: PlanRequest,
        own_ways: Mapping[str, DistanceTable] | None = None,
    ) -> Scenario:
        """The whole question; `own_ways` has the tables of single trucks, by key."""
        scenario = Scenario(
            places=tuple(own.place for own in self.places),
            distances=distances,
            offers=self.offers,
            builds=self.builds,
            trucks=self.trucks,
            slots=self.slots,
            reach_m=request.reach_m,
            count_disposal=request.count_disposal,
            own_ways=own_ways or {},
        )
        return safely(scenario) if request.safe else scenario


def gather(
    request: PlanRequest,
    *,
    zone: ZoneInfo,
    kinds: frozenset[Cargo] | None = None,
    most_offers: int = MOST_OFFERS,
) -> Gathered:
    """The builds asked for, the offers in reach with what is free of them, the trucks.

    `kinds` None means offers of all that the builds need. Raises Refused "unknown_build" or
    "unknown_truck".
    """
    stored = get_builds(request.build_ids)
    trucks = chosen_trucks(request.truck_ids)
    search = Search(
        points=tuple(own.place.place.point for own in stored),
        kinds=_wanted(stored) if kinds is None else kinds,
        first_day=request.first_day,
        last_day=request.last_day,
        reach_m=request.reach_m,
    )
    nearest, left_out = free_offers(search, most=most_offers)
    # In the order in which they were posted: what is nearest to the first build must not
    # decide, and a file with the same offers gives the same plan.
    offers = sorted(nearest, key=lambda own: own.id)
    places = _distinct(
        [
            *(own.place for own in stored),
            *(own.place for own in offers),
            *(own.base for own in trucks),
            *(own.overnight for own in trucks if own.overnight),
        ]
    )
    at = {own.id: index for index, own in enumerate(places)}
    builds = tuple(_build(own, at, request, zone) for own in stored)
    fleet = fleet_of(trucks, request.days, zone, at, request.weak_roads)
    return Gathered(
        places=places,
        offers=tuple(_offer(own, at, request, zone) for own in offers),
        builds=builds,
        trucks=fleet.trucks,
        slots=fleet.slots,
        offer_ids=tuple(own.id for own in offers),
        truck_ids=tuple(trucks[owner].id for owner in fleet.owners),
        need_ids=_need_ids(stored, builds),
        left_out=left_out,
    )


def chosen_trucks(ids: Sequence[int] | None) -> list[StoredTruck]:
    """The trucks asked for, or all. Raises Refused "unknown_truck"."""
    trucks = list_trucks(ids)
    found = {own.id for own in trucks}
    for wanted in ids or ():
        if wanted not in found:
            raise refuse(
                "unknown_truck",
                field="trucks",
                given=wanted,
                message="there is no such truck",
                remedy="List the trucks to see which there are.",
            )
    return trucks


def _wanted(builds: Sequence[StoredBuild]) -> frozenset[Cargo]:
    wanted = demands(tuple(own.build for own in builds))
    return frozenset(cargo for demand in wanted for cargo in demand.cargoes)


def _distinct(places: Iterable[StoredPlace]) -> tuple[StoredPlace, ...]:
    return tuple({own.id: own for own in places}.values())


def _offer(
    own: StoredOffer, at: dict[int, int], request: PlanRequest, zone: ZoneInfo
) -> Offer:
    return replace(
        own.offer,
        place=at[own.place.id],
        quantity_kg=own.free_kg,
        windows=windows(
            own.place.hours,
            request.days,
            zone,
            first=own.available_from,
            last=own.available_until,
        ),
        loader_windows=None
        if own.loader_hours is None
        else windows(own.loader_hours, request.days, zone),
    )


def _build(
    own: StoredBuild, at: dict[int, int], request: PlanRequest, zone: ZoneInfo
) -> Build:
    gate = Gate(own.place.hours, zone, own.deliver_from, own.deliver_until)
    return dated(replace(own.build, place=at[own.place.id]), gate, request.days)


def _need_ids(stored: Sequence[StoredBuild], builds: Sequence[Build]) -> dict[str, int]:
    """From the keys of demands to the rows of needs: what each lift wants is part of the
    need for all of them."""
    found: dict[str, int] = {}
    for own, build in zip(stored, builds, strict=True):
        ids = {need.key: need.id for need in own.needs}
        ids |= {batch.key: ids[batch.need] for batch in build.batches or ()}
        found |= {f"{build.key}/{key}": number for key, number in ids.items()}
    return found
