"""Which OpenStreetMap ways a heavy vehicle may drive, in which direction, how fast.

The meaning of the tags is that of the OpenStreetMap wiki (Key:highway, Key:access,
Key:oneway, Key:junction). Conditional restrictions (`...:conditional`), turn
restrictions and the order of lanes are not read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from logistics.domain.roads.limits import (
    DEFAULT_VEHICLE,
    HeavyVehicle,
    limit_that_stops,
)
from logistics.domain.roads.speeds import CLASS_KMH, truck_kmh

# Fixed order: a network on disk stores the position in it.
ROAD_CLASSES: tuple[str, ...] = tuple(CLASS_KMH)
_NOT_BUILT = frozenset(
    {
        "construction",
        "proposed",
        "planned",
        "abandoned",
        "disused",
        "razed",
        "demolished",
    }
)
# Nobody loads or tips at the edge of these.
_NO_STOPPING = frozenset({"motorway", "motorway_link", "ferry"})

_MODES = ("hgv", "motor_vehicle", "vehicle", "access")
_OPEN = frozenset(
    {
        "yes",
        "designated",
        "permissive",
        "official",
        "destination",
        "delivery",
        "customers",
        "discouraged",
        "local",
        "loading",
        "unloading",
    }
)
_OPEN_AT_THE_END_ONLY = frozenset({"destination", "delivery", "customers", "local"})
_SAYS_NOTHING = frozenset({"", "unknown", "unspecified"})

_ONEWAY = {
    "yes": "forward",
    "true": "forward",
    "1": "forward",
    "-1": "backward",
    "reverse": "backward",
    "no": "both",
    "false": "both",
    "0": "both",
    "reversible": "alternating",
    "alternating": "alternating",
}
_ONEWAY_KEYS = ("oneway:hgv", "oneway:motor_vehicle", "oneway:vehicle", "oneway")
_ROUND = frozenset({"roundabout", "circular"})

_HARD_BARRIERS = frozenset(
    {
        "block",
        "bollard",
        "bus_trap",
        "chain",
        "cycle_barrier",
        "debris",
        "ditch",
        "fence",
        "full-height_turnstile",
        "hedge",
        "horse_stile",
        "jersey_barrier",
        "kissing_gate",
        "log",
        "motorcycle_barrier",
        "planter",
        "rope",
        "stile",
        "sump_buster",
        "turnstile",
        "wall",
        "wicket_gate",
    }
)

# What the report says about each reason for leaving a way out.
REASONS: dict[str, str] = {
    "not_a_road": "neither a road nor a ferry",
    "not_for_trucks": "a path, footway, steps or other way that no truck drives",
    "not_built": "planned, under construction or given up",
    "area": "a square or yard drawn as an area",
    "no_access": "closed to trucks (private, no, agricultural and the like)",
    "weight_limit": "a weight limit below the vehicle's",
    "axle_limit": "an axle load limit below the vehicle's",
    "height_limit": "a height limit below the vehicle's",
    "width_limit": "a width limit below the vehicle's",
    "length_limit": "a length limit below the vehicle's",
    "impassable": "too rough for a truck",
    "alternating": "one-way with a direction that changes over time",
    "ferry": "a ferry, and ferries were not asked for",
}


@dataclass(frozen=True, slots=True)
class Drivable:
    """A way that may be driven.

    Speeds are in km/h and None where that direction is forbidden. `crossing_s` is the
    time for the whole way, of ferries that state it. `may_stop` is False where no truck
    loads or tips (motorways, ferries).
    """

    road_class: str
    forward_kmh: float | None
    backward_kmh: float | None
    may_stop: bool
    end_only: bool = False
    crossing_s: float | None = None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A way that may not be driven; `reason` is a key of `REASONS`."""

    reason: str


def judge_way(
    tags: Mapping[str, str],
    *,
    ferries: bool = False,
    vehicle: HeavyVehicle = DEFAULT_VEHICLE,
) -> Drivable | LeftOut:
    """What a heavy vehicle may do on a way with these tags."""
    road_class = _road_class(tags)
    way = direction_of(tags)
    reason = (
        "ferry"
        if road_class == "ferry" and not ferries
        else _reason_to_leave_out(tags, road_class, vehicle)
    )
    if reason is None and way == "alternating":
        reason = "alternating"
    if reason is not None:
        return LeftOut(reason)
    speeds = {
        side: truck_kmh(road_class, tags, side)
        for side in ("forward", "backward")
        if way in (side, "both") and may_enter(tags, side)
    }
    if not speeds:
        return LeftOut("no_access")
    return Drivable(
        road_class=road_class,
        forward_kmh=speeds.get("forward"),
        backward_kmh=speeds.get("backward"),
        may_stop=road_class not in _NO_STOPPING and tags.get("motorroad") != "yes",
        end_only=_deciding_value(tags, "forward") in _OPEN_AT_THE_END_ONLY,
        crossing_s=(
            parse_duration_s(tags.get("duration", ""))
            if road_class == "ferry"
            else None
        ),
    )


def blocks_trucks(
    tags: Mapping[str, str], vehicle: HeavyVehicle = DEFAULT_VEHICLE
) -> bool:
    """Whether a node on a road (bollard, locked gate, low bar) stops a truck.

    A barrier that only says it is a gate is taken to be open.
    """
    barrier = tags.get("barrier", "")
    if not barrier:
        return False
    if limit_that_stops(tags, vehicle) is not None:
        return True
    value = _deciding_value(tags, "forward")
    if value:
        return not _is_open(value)
    if barrier == "height_restrictor":
        return "maxheight" not in tags
    return barrier in _HARD_BARRIERS


def direction_of(tags: Mapping[str, str]) -> str:
    """ "forward", "backward", "both" or "alternating".

    The most specific `oneway` key that can be read wins; without one, roundabouts,
    motorways and their links are one-way.
    """
    for key in _ONEWAY_KEYS:
        found = _ONEWAY.get(tags.get(key, ""))
        if found is not None:
            return found
    implied = tags.get("junction") in _ROUND or tags.get("highway") in (
        "motorway",
        "motorway_link",
    )
    return "forward" if implied else "both"


def may_enter(tags: Mapping[str, str], direction: str) -> bool:
    """Whether trucks are admitted in a direction; nothing said means yes.

    hgv beats motor_vehicle beats vehicle beats access, and a form for the direction
    (`hgv:backward`) beats the plain one. A word that is not known as an opening is
    taken as a closure.
    """
    value = _deciding_value(tags, direction)
    return not value or _is_open(value)


def parse_duration_s(text: str) -> float | None:
    """Seconds from "HH:MM", "HH:MM:SS", minutes or ISO 8601 ("PT1H20M"), or None."""
    text = text.strip()
    if re.fullmatch(r"\d+", text):
        return int(text) * 60.0 or None
    clock = re.fullmatch(r"(\d+):(\d\d)(?::(\d\d))?", text)
    iso = re.fullmatch(r"PT(?=\d)(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?", text)
    found = clock or iso
    if not found:
        return None
    hours, minutes, seconds = (int(part or 0) for part in found.groups())
    return hours * 3600.0 + minutes * 60.0 + seconds or None


def _road_class(tags: Mapping[str, str]) -> str:
    """The class, "" for what is no road, or the raw value for what no truck drives."""
    highway = tags.get("highway", "")
    if highway:
        # `ferry` is our name of a class, not a value of this key.
        return highway if highway != "ferry" else f"highway={highway}"
    return "ferry" if tags.get("route") == "ferry" else ""


def _reason_to_leave_out(
    tags: Mapping[str, str], road_class: str, vehicle: HeavyVehicle
) -> str | None:
    reason = _class_reason(tags, road_class)
    if reason is None and not (
        may_enter(tags, "forward") or may_enter(tags, "backward")
    ):
        reason = "no_access"
    if reason is None:
        reason = limit_that_stops(tags, vehicle)
    rough = tags.get("smoothness") in ("very_horrible", "impassable")
    if reason is None and (rough or tags.get("4wd_only") in ("yes", "recommended")):
        reason = "impassable"
    return reason


def _class_reason(tags: Mapping[str, str], road_class: str) -> str | None:
    if not road_class:
        return "not_a_road"
    if road_class in _NOT_BUILT or tags.get("construction") == "yes":
        return "not_built"
    if road_class not in ROAD_CLASSES:
        return "not_for_trucks"
    return "area" if tags.get("area") == "yes" else None


def _deciding_value(tags: Mapping[str, str], direction: str) -> str:
    for mode in _MODES:
        for key in (f"{mode}:{direction}", mode):
            value = tags.get(key, "")
            if value not in _SAYS_NOTHING:
                return value
    return ""


def _is_open(value: str) -> bool:
    return any(part.strip() in _OPEN for part in value.split(";"))
