"""Conditional tags as far as they hold at every hour.

The form is that of the OpenStreetMap wiki (Conditional restrictions): clauses
`value @ condition`, parted by semicolons, conditions joined by AND. Read are bounds on the
vehicle's own mass and size and the exception for those who have business on the road;
hours, weather and all else are for the driver.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from logistics.domain.roads.limits import METRES, TONNES, parse_measure

_SIZES = {
    "weight": ("gross_t", TONNES),
    "maxweight": ("gross_t", TONNES),
    "weightrating": ("gross_t", TONNES),
    "maxweightrating": ("gross_t", TONNES),
    "axleload": ("axle_t", TONNES),
    "maxaxleload": ("axle_t", TONNES),
    "height": ("height_m", METRES),
    "width": ("width_m", METRES),
    "length": ("length_m", METRES),
}
_BUSINESS = frozenset(
    {"destination", "delivery", "access", "customers", "loading", "unloading"}
)
_BOUND = re.compile(r"^([a-z]+)\s*(>=|>)\s*(.+)$")
_CLAUSE = re.compile(r"([^;@]+)@\s*(\([^()]*\)|[^;]*)")


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause. `over` is a field of `Rule` and the figure beyond which the value holds;
    `at_the_end`: it holds for those who have business on the road. Neither where the
    condition is of another kind."""

    value: str
    over: tuple[str, float] | None = None
    at_the_end: bool = False


def clauses(text: str) -> list[Clause]:
    """The clauses of a conditional tag, in order."""
    return [
        _clause(value.strip().lower(), condition.strip("() \t").lower())
        for value, condition in _CLAUSE.findall(text)
    ]


def _clause(value: str, condition: str) -> Clause:
    parts = [part.strip() for part in condition.split(" and ")]
    if all(part in _BUSINESS for part in parts):
        return Clause(value, at_the_end=True)
    # "hgv" beside a bound says what every vehicle here is.
    bounds = [_bound(part) for part in parts if part != "hgv"]
    return Clause(value, over=bounds[0] if len(bounds) == 1 else None)


def _bound(text: str) -> tuple[str, float] | None:
    found = _BOUND.match(text)
    if not found or found[1] not in _SIZES:
        return None
    name, units = _SIZES[found[1]]
    figure = parse_measure(found[3], units)
    if figure is None:
        return None
    return name, figure if found[2] == ">" else math.nextafter(figure, 0)
