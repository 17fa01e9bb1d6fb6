"""The limits of the United States' Interstate system: 23 USC 127, 23 CFR 658.17.

Formula, axle limits, gross limit and the exception for two tandems were read on
ops.fhwa.dot.gov/freight/sw/faqs/qa.cfm?category=9. That halves between two steps of 500 lb
are printed rounded down (9 ft, 3 axles: 42,500) is from memory of the printed table.
"""

from __future__ import annotations

import math

from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.limits import GroupLimit, LimitSet

SOURCE = "23 USC 127 and 23 CFR 658.17 (bridge formula B)"
LB = 0.453_592_37
FOOT = 0.3048
GROSS_LB, SINGLE_LB, TANDEM_LB = 80_000, 20_000, 34_000
SINGLE_FT, TANDEM_FT, APART_FT = 40 / 12, 8.0, 36.0
"""Axles within 40 inches are one, within 8 ft a tandem; tandems 36 ft apart are free."""


def bridge_lb(length_ft: float, axles: int) -> int:
    """What `axles` axles in a row may weigh together by the formula alone, lb.

    W = 500 (L N / (N - 1) + 12 N + 36), to the nearest 500 lb, a half downwards. From 2
    axles.
    """
    exact = 500 * (length_ft * axles / (axles - 1) + 12 * axles + 36)
    return 500 * math.ceil(round(exact / 500 - 0.5, 6))


def group_lb(length_ft: float, axles: int) -> int:
    """The entry of the printed table: the formula, and up to 8 ft the limits of an axle
    (within 40 in) and of a tandem. Not yet capped by the gross limit."""
    if axles == 1 or length_ft <= SINGLE_FT + 0.05:
        return SINGLE_LB
    if length_ft <= TANDEM_FT:
        return TANDEM_LB
    return bridge_lb(length_ft, axles)


def us_limits(layout: AxleLayout) -> tuple[LimitSet, ...]:
    """Every group of axles in a row. Distances count to a tenth of a foot, so that metres
    given to the centimetre do not miss a limit that stands in whole feet."""
    count = len(layout.axles)
    limits = []
    for first in range(count):
        for last in range(first, count):
            feet = round(layout.length_m(first, last) / FOOT, 1)
            most = group_lb(feet, last - first + 1)
            if last - first == 3 and _two_tandems(layout, first, feet):
                most = max(most, 2 * TANDEM_LB)
            name = _name(first, last)
            limits.append(
                GroupLimit(first, last, most * LB, f"{name}{_over(feet)}{most:,} lb")
            )
    whole = GroupLimit(0, count - 1, GROSS_LB * LB, f"gross {GROSS_LB:,} lb")
    return (
        LimitSet(
            (*limits, whole),
            SOURCE,
            ("limits of states and of roads off the Interstate system",),
        ),
    )


def _two_tandems(layout: AxleLayout, first: int, feet: float) -> bool:
    """Whether four axles are two tandems whose outer axles stand 36 ft apart or more."""
    pairs = (layout.length_m(first, first + 1), layout.length_m(first + 2, first + 3))
    return feet >= APART_FT and all(
        SINGLE_FT < round(length / FOOT, 1) <= TANDEM_FT for length in pairs
    )


def _name(first: int, last: int) -> str:
    return f"axle {first + 1}" if first == last else f"axles {first + 1}-{last + 1}"


def _over(feet: float) -> str:
    return f" over {feet:g} ft: " if feet else ": "
