"""How fast a heavy vehicle gets along a road, from its class and its tags.

Class speeds, surface speeds and the share of a limit that a truck keeps up are common
practice, no source: they are round figures for a loaded rigid truck, meant to be a
little slow rather than a little fast. Legal figures are named where they are used.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

MPH_KMH = 1.609_344
KNOT_KMH = 1.852

# Mean speed in km/h where nothing else is known.
CLASS_KMH: dict[str, float] = {
    "motorway": 80,
    "trunk": 70,
    "primary": 60,
    "secondary": 55,
    "tertiary": 45,
    "unclassified": 35,
    "residential": 25,
    "living_street": 10,
    "service": 15,
    "road": 30,
    "track": 15,
    "motorway_link": 45,
    "trunk_link": 40,
    "primary_link": 40,
    "secondary_link": 35,
    "tertiary_link": 30,
    "ferry": 15,
}
# On these a posted limit may be faster than the class speed; on all others the road
# itself, not the sign, is what holds a truck back.
_BUILT_FOR_SPEED = frozenset({"motorway", "trunk", "primary", "secondary", "tertiary"})
RURAL_CAP_KMH = 80.0
MOTORWAY_CAP_KMH = 90.0  # speed limiters, Directive 92/6/EEC
SHARE_OF_LIMIT = 0.9
WALKING_KMH = 7.0
SLOWEST_KMH = 5.0

SURFACE_KMH: dict[str, float] = {
    "concrete:lanes": 50,
    "concrete:plates": 60,
    "paving_stones": 40,
    "sett": 30,
    "unhewn_cobblestone": 20,
    "cobblestone": 25,
    "metal": 40,
    "wood": 20,
    "compacted": 50,
    "fine_gravel": 40,
    "gravel": 30,
    "unpaved": 30,
    "pebblestone": 30,
    "rock": 15,
    "ground": 20,
    "dirt": 20,
    "earth": 20,
    "grass_paver": 20,
    "grass": 15,
    "sand": 10,
    "mud": 10,
}
TRACKTYPE_KMH: dict[str, float] = {
    "grade1": 30,
    "grade2": 20,
    "grade3": 15,
    "grade4": 10,
    "grade5": 7,
}
SMOOTHNESS_KMH: dict[str, float] = {
    "bad": 30,
    "very_bad": 15,
    "horrible": 8,
}
# What the words of a limit mean. Countries differ (a town is 48 to 60 km/h), but the
# truck's own cap levels out all of the faster ones.
_ZONES_KMH: dict[str, float] = {
    "walk": WALKING_KMH,
    "living_street": WALKING_KMH,
    "pedestrian_zone": WALKING_KMH,
    "urban": 50,
    "bicycle_road": 30,
    "school": 30,
    "rural": RURAL_CAP_KMH,
    "nsl_restricted": 30 * MPH_KMH,
    "nsl_single": 50 * MPH_KMH,
    "nsl_dual": 60 * MPH_KMH,
    "trunk": MOTORWAY_CAP_KMH,
    "motorway": MOTORWAY_CAP_KMH,
    "none": MOTORWAY_CAP_KMH,
}
_LIMIT_KEYS = ("maxspeed:hgv", "maxspeed:goods", "maxspeed")
_ZONE_KEYS = ("maxspeed:type", "source:maxspeed", "zone:maxspeed", "zone:traffic")
_FIGURE = re.compile(r"^(\d+(?:\.\d+)?)\s*(km/?h|kmh|kph|mph|knots)?$")
_ZONE_FIGURE = re.compile(r"^(?:[a-z]{2}:)?zone:?(\d+)$")
_UNITS = {"mph": MPH_KMH, "knots": KNOT_KMH}


def truck_kmh(road_class: str, tags: Mapping[str, str], direction: str) -> float:
    """Mean speed in km/h of a truck; `direction` is "forward" or "backward".

    A posted limit is first cut to 80 km/h (90 on motorways), then 90 % of it is taken to
    be what a truck keeps up. Surface, tracktype and smoothness slow it further.
    """
    speed = CLASS_KMH[road_class]
    limit = posted_kmh(tags, direction)
    if limit is not None:
        cap = MOTORWAY_CAP_KMH if road_class == "motorway" else RURAL_CAP_KMH
        kept = min(limit, cap) * SHARE_OF_LIMIT
        faster_too = road_class in _BUILT_FOR_SPEED
        speed = kept if faster_too else min(speed, kept)
    for key, table in (
        ("surface", SURFACE_KMH),
        ("tracktype", TRACKTYPE_KMH),
        ("smoothness", SMOOTHNESS_KMH),
    ):
        speed = min(speed, table.get(tags.get(key, ""), speed))
    return max(speed, SLOWEST_KMH)


def posted_kmh(tags: Mapping[str, str], direction: str) -> float | None:
    """The posted limit in one direction, or None when there is none that can be read.

    The form for heavy goods vehicles comes first, then the one for the direction.
    """
    for key in _LIMIT_KEYS:
        for full in (f"{key}:{direction}", key):
            limit = parse_maxspeed(tags[full]) if full in tags else None
            if limit is not None:
                return limit
    for key in _ZONE_KEYS:
        limit = parse_maxspeed(tags[key]) if key in tags else None
        if limit is not None:
            return limit
    return None


def parse_maxspeed(text: str) -> float | None:
    """km/h from the value of a speed tag; the lowest of a list; None if unreadable.

    Reads "50", "50 km/h", "30 mph", "5 knots", "walk", "none", zones such as
    "DE:urban", "DE:zone:30" or "GB:nsl_single", and lists such as "80;60". Signals and
    variable limits are None.
    """
    parts = [_parse_one(part.strip()) for part in re.split(r"[;|,]", text.lower())]
    known = [part for part in parts if part is not None and part > 0]
    return min(known) if known else None


def _parse_one(text: str) -> float | None:
    if figure := _FIGURE.match(text):
        return float(figure[1]) * _UNITS.get(figure[2] or "", 1.0)
    if zone := _ZONE_FIGURE.match(text):
        return float(zone[1])
    return _ZONES_KMH.get(text.rpartition(":")[2])
