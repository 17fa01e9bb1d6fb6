"""What the map of a page needs beside its places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.cache import patch_cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from api.documents.plan_models import PlanAnswer
from api.web.roads import network, road_credit, roads_geojson

KEPT_S = 3600


@dataclass(frozen=True, slots=True)
class MapBase:
    """Where the map's background comes from; without a tile server it is the roads."""

    tile_url: str
    tile_credit: str
    road_credit: str


@dataclass(frozen=True, slots=True)
class MapPlace:
    """A place on the map: `role` picks its mark, `what` says why it is there."""

    name: str
    lat: float
    lon: float
    role: str
    what: str
    used: bool = True

    def as_json(self) -> dict[str, Any]:
        """The place for the script; five digits are one metre."""
        return {
            "name": self.name,
            "lat": round(self.lat, 5),
            "lon": round(self.lon, 5),
            "role": self.role,
            "what": self.what,
            "used": self.used,
        }


ROLES = ("build", "subsoil", "sand", "straw", "base")
SAYING = {"build": "building site", "base": "trucks start here"}


def map_base() -> MapBase:
    """The background that this deployment is set to."""
    return MapBase(
        tile_url=settings.MARLPIT_TILE_URL,
        tile_credit=settings.MARLPIT_TILE_CREDIT,
        road_credit=road_credit(network()),
    )


def plan_places(plan: PlanAnswer) -> tuple[MapPlace, ...]:
    """The places of a plan with the mark of their first role; what is used comes first.

    Two entries with one name at one spot are one place on the map.
    """
    visited = {stop.place for shift in plan.shifts for stop in shift.stops}
    roles: dict[tuple[str, float, float], set[str]] = {}
    used = set()
    for place in plan.places:
        spot = (place.name, place.lat, place.lon)
        roles.setdefault(spot, set()).update(place.roles)
        if place.key in visited or "build" in place.roles:
            used.add(spot)
    pins = [
        _pin(*spot, sorted(own, key=ROLES.index), used=spot in used)
        for spot, own in roles.items()
    ]
    return tuple(
        sorted(pins, key=lambda own: (not own.used, ROLES.index(own.role), own.name))
    )


def _pin(
    name: str, lat: float, lon: float, roles: Sequence[str], *, used: bool
) -> MapPlace:
    what = ", ".join(SAYING.get(role, role) for role in roles)
    return MapPlace(name, lat, lon, roles[0] if roles else "base", what, used)


@require_safe
@gzip_page
def roads_view(_request: HttpRequest) -> HttpResponse:
    """The roads as GeoJSON; an empty collection when none were imported."""
    roads = network()
    if roads is None:
        return JsonResponse(roads_geojson(None))
    key = f"roads:{roads.facts.name}:{roads.facts.imported_at}"
    answer = cache.get_or_set(key, lambda: roads_geojson(roads), KEPT_S)
    response = JsonResponse(answer, json_dumps_params={"separators": (",", ":")})
    patch_cache_control(response, max_age=300)
    return response
