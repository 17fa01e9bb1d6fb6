"""The top of a wall along its path: points (distance along, height) in m, straight between.

Before the first point and behind the last the top is level.
"""

from __future__ import annotations

from itertools import pairwise

Top = tuple[tuple[float, float], ...]
Span = tuple[float, float]


def whole(top: Top, length_m: float) -> Top:
    """The top with a point at either end of the wall."""
    first, last = top[0], top[-1]
    before = ((0.0, first[1]),) if first[0] > 0 else ()
    behind = ((length_m, last[1]),) if last[0] < length_m else ()
    return (*before, *top, *behind)


def height_at(top: Top, along_m: float) -> float:
    """Height there; where the top steps, the lower one."""
    return lowest(top, along_m, along_m)


def lowest(top: Top, low_m: float, high_m: float) -> float:
    """The least height between two distances."""
    if high_m < top[0][0]:
        return top[0][1]
    if low_m > top[-1][0]:
        return top[-1][1]
    found = [h for s, h in top if low_m <= s <= high_m]
    for (s0, h0), (s1, h1) in pairwise(top):
        found += [
            h0 + (h1 - h0) * (s - s0) / (s1 - s0)
            for s in (low_m, high_m)
            if s0 <= s <= s1 and s0 < s1
        ]
    return min(found)


def area(top: Top) -> float:
    """Area under it, m2 (trapezoids)."""
    return sum((s1 - s0) * (h0 + h1) / 2 for (s0, h0), (s1, h1) in pairwise(top))


def moment(top: Top) -> float:
    """Integral along the wall of height squared, m3: exact, by Simpson's rule."""
    return sum(
        (s1 - s0) * (h0**2 + h0 * h1 + h1**2) / 3
        for (s0, h0), (s1, h1) in pairwise(top)
    )


def standing(top: Top, height_m: float) -> tuple[Span, ...]:
    """Where the top is above a height, in order and joined where they touch."""
    found: list[Span] = []
    for (s0, h0), (s1, h1) in pairwise(top):
        low, high = s0, s1
        if max(h0, h1) <= height_m or s0 == s1:
            continue
        cut = s0 + (s1 - s0) * (height_m - h0) / (h1 - h0) if h0 != h1 else s0
        if h0 <= height_m:
            low = cut
        elif h1 <= height_m:
            high = cut
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)


def without(spans: tuple[Span, ...], hole: Span) -> tuple[Span, ...]:
    """Spans less one hole."""
    return tuple(
        part
        for low, high in spans
        for part in ((low, min(high, hole[0])), (max(low, hole[1]), high))
        if part[0] < part[1]
    )
