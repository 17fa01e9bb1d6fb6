"""The lines that the shifts of a plan drive, by road where there is a network."""

from __future__ import annotations

from api.documents.plan_models import PlanAnswer
from api.exports.book import Line
from logistics.domain.errors import Refused
from logistics.domain.places import Point
from logistics.domain.roads.network import RoadNetwork


def road_ways(plan: PlanAnswer, roads: RoadNetwork) -> dict[tuple[str, str], Line]:
    """Each way that a shift drives, by the keys of its ends, as (lon, lat).

    Ways that the network does not have are left out: the plan was made with another.
    """
    at = {place.key: Point(place.lat, place.lon) for place in plan.places}
    ends = {
        (before.place, stop.place): None
        for shift in plan.shifts
        for before, stop in zip(shift.stops, shift.stops[1:], strict=False)
        if before.place != stop.place
    }
    ways = {}
    for start, end in ends:
        try:
            route = roads.route(at[start], at[end])
        except Refused:
            continue
        ways[start, end] = tuple((point.lon, point.lat) for point in route.points)
    return ways
