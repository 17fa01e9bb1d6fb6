"""Checks of typed sizes that all parts of a wall share."""

from __future__ import annotations

import math

from logistics.domain.errors import refuse

# Sites are drawn in metres from a corner of their own, not on a national grid.
MOST_COORDINATE_M = 10_000.0
MOST_LENGTH_M = 1000.0
MOST_HEIGHT_M = 30.0
MOST_THICKNESS_M = 5.0


def check_number(value: float, *, field: str, least: float, most: float) -> None:
    """Raises Refused "not_a_sane_size" unless least <= value <= most, in m; also for NaN."""
    if math.isfinite(value) and least <= value <= most:
        return
    raise refuse(
        "not_a_sane_size",
        field=field,
        given=value,
        message=f"not a number between {least:g} and {most:g}",
        remedy="Give metres, such as 0.5 for 500 mm.",
    )


def check_size(value: float, *, field: str, most: float) -> None:
    """Raises Refused "not_a_sane_size" unless 0 < value <= most, in m; also for NaN."""
    check_number(value, field=field, least=math.ulp(0.0), most=most)
