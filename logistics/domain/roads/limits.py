"""The vehicle that a network is made for, and the posted limits that stop it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from logistics.domain.errors import refuse

POUND_KG = 0.453_592_37
FOOT_M = 0.3048
_TONNES = {
    "": 1.0,
    "t": 1.0,
    "kg": 0.001,
    "st": 2000 * POUND_KG / 1000,
    "lt": 2240 * POUND_KG / 1000,
    "lbs": POUND_KG / 1000,
    "lb": POUND_KG / 1000,
}
_METRES = {"": 1.0, "m": 1.0, "cm": 0.01, "ft": FOOT_M, "'": FOOT_M}
_NUMBER = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*([a-z']*)\s*$")
_FEET_INCHES = re.compile(r"^\s*(\d+)\s*(?:'|ft)\s*(\d+(?:\.\d+)?)\s*(?:\"|in)\s*$")


@dataclass(frozen=True, slots=True)
class HeavyVehicle:
    """The largest vehicle that must be able to drive every road of a network.

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

# Limit of the road, what it is compared with, and how its figure is read. A weight
# limit of the combination also binds a single truck.
_RULES: tuple[tuple[str, tuple[str, ...], str, dict[str, float]], ...] = (
    (
        "weight_limit",
        ("maxweight:hgv", "maxweight", "maxweightrating:hgv", "maxweightrating"),
        "gross_t",
        _TONNES,
    ),
    ("axle_limit", ("maxaxleload:hgv", "maxaxleload"), "axle_t", _TONNES),
    ("height_limit", ("maxheight", "maxheight:physical"), "height_m", _METRES),
    ("width_limit", ("maxwidth", "maxwidth:physical"), "width_m", _METRES),
    ("length_limit", ("maxlength:hgv", "maxlength"), "length_m", _METRES),
)


def limit_that_stops(tags: Mapping[str, str], vehicle: HeavyVehicle) -> str | None:
    """Name of the first posted limit that is below the vehicle's size, or None.

    Where a key has a form for heavy goods vehicles, that form is the one that counts.
    Limits in words (`default`, `none`, `unsigned`) are no limit. Conditional limits are
    not read.
    """
    for reason, keys, size, units in _RULES:
        limit = _first_limit(tags, keys, units)
        if limit is not None and limit < getattr(vehicle, size):
            return reason
    return None


def _first_limit(
    tags: Mapping[str, str], keys: tuple[str, ...], units: Mapping[str, float]
) -> float | None:
    lowest: float | None = None
    for key in keys:
        if key not in tags:
            continue
        figure = parse_measure(tags[key], units)
        if figure is not None and (lowest is None or figure < lowest):
            lowest = figure
        if key.endswith(":hgv") and figure is not None:
            return figure
    return lowest


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
