"""The vehicle that drives, and what one direction of a road asks of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields

from logistics.domain.errors import refuse

POUND_KG = 0.453_592_37
FOOT_M = 0.3048
NONE = float("inf")
HGV_OVER_T = 3.5
"""Key:hgv of the OpenStreetMap wiki: heavy goods vehicles are those over 3.5 t."""
TONNES = {
    "": 1.0,
    "t": 1.0,
    "kg": 0.001,
    "st": 2000 * POUND_KG / 1000,
    "lt": 2240 * POUND_KG / 1000,
    "lbs": POUND_KG / 1000,
    "lb": POUND_KG / 1000,
}
METRES = {"": 1.0, "m": 1.0, "cm": 0.01, "ft": FOOT_M, "'": FOOT_M}
_NUMBER = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*([a-z']*)\s*$")
_FEET_INCHES = re.compile(r"^\s*(\d+)\s*(?:'|ft)\s*(\d+(?:\.\d+)?)\s*(?:\"|in)\s*$")


@dataclass(frozen=True, slots=True)
class HeavyVehicle:
    """A vehicle as the road sees it: gross mass and driving axle in tonnes, outer sizes.

    The defaults are a loaded four-axle tipper: 32 t gross, 2.55 m wide and 4 m high are
    what Directive 96/53/EC allows such a vehicle, 11.5 t its driving axle; the length of
    10 m is common practice, no source. Raises Refused for a size that is not positive.
    """

    gross_t: float = 32.0
    axle_t: float = 11.5
    height_m: float = 4.0
    width_m: float = 2.55
    length_m: float = 10.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            value = float(getattr(self, name))
            if not 0 < value < float("inf"):
                raise refuse(
                    "vehicle_size_not_positive",
                    field=f"vehicle.{name}",
                    given=value,
                    message="no vehicle has this size",
                    remedy="Give a number above 0.",
                )


DEFAULT_VEHICLE = HeavyVehicle()


@dataclass(frozen=True, slots=True)
class Rule:
    """What one direction of a road asks; infinite where it asks nothing.

    The first five are posted limits. Vehicles of more than `closed_over_t` gross have no
    access whatever the road bears; those of more than `end_over_t` may begin or end their
    way here, but not drive through. A network on disk stores the fields in this order.
    """

    gross_t: float = NONE
    axle_t: float = NONE
    height_m: float = NONE
    width_m: float = NONE
    length_m: float = NONE
    closed_over_t: float = NONE
    end_over_t: float = NONE

    def stops(self, vehicle: HeavyVehicle) -> str | None:
        """Reason (a key of `tags.REASONS`) for which the vehicle may not drive here."""
        if vehicle.gross_t > self.closed_over_t:
            return "no_access"
        return next(
            (
                reason
                for name, reason in LIMIT_REASONS.items()
                if getattr(vehicle, name) > getattr(self, name)
            ),
            None,
        )


FREE = Rule()
RULE_FIELDS = tuple(field.name for field in fields(Rule))
LIMIT_REASONS = {
    "gross_t": "weight_limit",
    "axle_t": "axle_limit",
    "height_m": "height_limit",
    "width_m": "width_limit",
    "length_m": "length_limit",
}
# A weight limit of the combination also binds a single truck.
_LIMIT_KEYS: dict[str, tuple[tuple[str, ...], dict[str, float]]] = {
    "gross_t": (("maxweight", "maxweightrating", "maxgcweight"), TONNES),
    "axle_t": (("maxaxleload",), TONNES),
    "height_m": (("maxheight", "maxheight:physical"), METRES),
    "width_m": (("maxwidth", "maxwidth:physical"), METRES),
    "length_m": (("maxlength",), METRES),
}
LIMIT_TAGS = frozenset(key for keys, _ in _LIMIT_KEYS.values() for key in keys)


def posted_limits(tags: Mapping[str, str], direction: str) -> dict[str, float]:
    """The posted limits of a direction ("forward", "backward") by field of `Rule`.

    The form for heavy goods vehicles and the form for the direction come before the plain
    one. Limits in words (`default`, `none`, `unsigned`) are no limit. Conditional limits
    are read in `conditions`.
    """
    found = {}
    for name, (keys, units) in _LIMIT_KEYS.items():
        limit = min(_posted(tags, key, direction, units) for key in keys)
        if limit < NONE:
            found[name] = limit
    return found


def _posted(
    tags: Mapping[str, str], key: str, direction: str, units: Mapping[str, float]
) -> float:
    for full in (f"{key}:hgv:{direction}", f"{key}:hgv", f"{key}:{direction}", key):
        text = tags.get(full)
        if text is None:
            continue
        figure = parse_measure(text, units)
        if figure is not None:
            return figure
        if text == "none":
            return NONE
    return NONE


def parse_measure(text: str, units: Mapping[str, float]) -> float | None:
    """A figure with an optional unit, or the lowest of a list, in the base unit.

    None for words and for units that are not in the table.
    """
    figures = [_parse_one(part, units) for part in re.split(r"[;|]", text.lower())]
    known = [figure for figure in figures if figure is not None]
    return min(known) if known else None


def _parse_one(text: str, units: Mapping[str, float]) -> float | None:
    feet = _FEET_INCHES.match(text)
    if feet and "ft" in units:
        return (int(feet[1]) + float(feet[2]) / 12) * FOOT_M
    found = _NUMBER.match(text)
    if not found or found[2] not in units:
        return None
    return float(found[1].replace(",", ".")) * units[found[2]]
