"""Which OpenStreetMap ways a heavy vehicle may drive, in which direction, how fast.

The meaning of the tags is that of the OpenStreetMap wiki (Key:highway, Key:access,
Key:oneway, Key:junction). The order of lanes is not read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from logistics.domain.roads.access import MODES, barrier_rule, rule_of
from logistics.domain.roads.conditions import clauses
from logistics.domain.roads.limits import (
    DEFAULT_VEHICLE,
    FREE,
    LIMIT_TAGS,
    NONE,
    HeavyVehicle,
    Rule,
)
from logistics.domain.roads.speeds import CLASS_KMH, truck_kmh

# Fixed order: a network on disk stores the position in it.
SIDES = ("forward", "backward")
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
# Conditions on others, as on bicycles or parking, are no matter of a truck's.
_OF_TRUCKS = frozenset({*MODES, *LIMIT_TAGS, "maxspeed", "oneway"})
_ROUND = frozenset({"roundabout", "circular"})

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
    """A way that some truck may drive.

    Speeds are in km/h and None where that direction is forbidden; the rules say what a
    direction asks of a truck. `crossing_s` is the time for the whole way, of ferries that
    state it. `may_stop` is False where no truck loads or tips (motorways, ferries).
    `conditional` says that a conditional tag was read, `unread` that one was not.
    """

    road_class: str
    forward_kmh: float | None
    backward_kmh: float | None
    may_stop: bool
    forward_rule: Rule = FREE
    backward_rule: Rule = FREE
    crossing_s: float | None = None
    conditional: bool = False
    unread: bool = False

    @property
    def rules(self) -> tuple[Rule, ...]:
        """The rules of the directions that may be driven."""
        return tuple(
            rule
            for kmh, rule in (
                (self.forward_kmh, self.forward_rule),
                (self.backward_kmh, self.backward_rule),
            )
            if kmh is not None
        )

    @property
    def end_only(self) -> bool:
        """Whether all or the heavier vehicles may not drive through."""
        return any(rule.end_over_t < NONE for rule in self.rules)

    def stops(self, vehicle: HeavyVehicle) -> str | None:
        """Reason for which a vehicle may drive neither direction, or None."""
        reasons = [rule.stops(vehicle) for rule in self.rules]
        return None if None in reasons else reasons[0]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A way that may not be driven; `reason` is a key of `REASONS`."""

    reason: str


def read_way(tags: Mapping[str, str], *, ferries: bool = False) -> Drivable | LeftOut:
    """What trucks may do on a way with these tags, whatever their size."""
    road_class = _road_class(tags)
    reason = (
        "ferry"
        if road_class == "ferry" and not ferries
        else _reason_to_leave_out(tags, road_class)
    )
    way = direction_of(tags)
    if reason is None and way == "alternating":
        reason = "alternating"
    if reason is not None:
        return LeftOut(reason)
    readings = {side: rule_of(tags, side) for side in SIDES if way in (side, "both")}
    rules = {side: own.rule for side, own in readings.items() if own.rule is not None}
    if not rules:
        return LeftOut("no_access")
    speeds = {side: truck_kmh(road_class, tags, side) for side in rules}
    read = max(own.clauses_read for own in readings.values())
    return Drivable(
        road_class=road_class,
        forward_kmh=speeds.get("forward"),
        backward_kmh=speeds.get("backward"),
        may_stop=road_class not in _NO_STOPPING and tags.get("motorroad") != "yes",
        forward_rule=rules.get("forward", FREE),
        backward_rule=rules.get("backward", FREE),
        crossing_s=(
            parse_duration_s(tags.get("duration", ""))
            if road_class == "ferry"
            else None
        ),
        conditional=read > 0,
        unread=_clauses_in(tags) > read,
    )


def judge_way(
    tags: Mapping[str, str],
    *,
    ferries: bool = False,
    vehicle: HeavyVehicle = DEFAULT_VEHICLE,
) -> Drivable | LeftOut:
    """What this vehicle may do on a way with these tags."""
    verdict = read_way(tags, ferries=ferries)
    if isinstance(verdict, LeftOut):
        return verdict
    reason = verdict.stops(vehicle)
    if reason is not None:
        return LeftOut(reason)
    forward, backward = verdict.forward_rule, verdict.backward_rule
    return replace(
        verdict,
        forward_kmh=None if forward.stops(vehicle) else verdict.forward_kmh,
        backward_kmh=None if backward.stops(vehicle) else verdict.backward_kmh,
    )


def blocks_trucks(
    tags: Mapping[str, str], vehicle: HeavyVehicle = DEFAULT_VEHICLE
) -> bool:
    """Whether a barrier on a road (bollard, locked gate, low bar) stops this vehicle."""
    rule = barrier_rule(tags)
    return rule is None or rule.stops(vehicle) is not None


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


def _reason_to_leave_out(tags: Mapping[str, str], road_class: str) -> str | None:
    rough = tags.get("smoothness") in ("very_horrible", "impassable")
    reason = _class_reason(tags, road_class)
    if reason is None and (rough or tags.get("4wd_only") in ("yes", "recommended")):
        return "impassable"
    return reason


def _clauses_in(tags: Mapping[str, str]) -> int:
    return sum(
        max(1, len(clauses(value)))
        for key, value in tags.items()
        if key.endswith(":conditional") and key.partition(":")[0] in _OF_TRUCKS
    )


def _class_reason(tags: Mapping[str, str], road_class: str) -> str | None:
    if not road_class:
        return "not_a_road"
    if road_class in _NOT_BUILT or tags.get("construction") == "yes":
        return "not_built"
    if road_class not in ROAD_CLASSES:
        return "not_for_trucks"
    return "area" if tags.get("area") == "yes" else None
