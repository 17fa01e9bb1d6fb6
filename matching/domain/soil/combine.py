"""How findings are weighed together.

The rule: each finding weighs what its rung weighs. The range is the hull of all shares
whose covering findings together weigh at least as much as the weightiest finding alone.
So the best rung's range always stands; lesser findings that agree against it widen it
together; two of one rung cover both. It was chosen because it is a rule under which
widening any finding can never narrow the result: every share's weight only grows, and the
weightiest stays what it is.

A mix that failed is a bound: "more than this" or "less than that". Bounds do not vote.
They cut the range where they meet it; where they do not, the range reaches to their edge.
So they are exempt from the rule: with a bound, a wider finding may meet what a narrow one
missed, and be cut by it.

The best estimate is the weighted mean of the likely figures of the findings that meet the
range, cut into it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from logistics.domain.quantities import Spread

Weighed = tuple[Spread, int]


def combine(findings: Sequence[Weighed]) -> Spread | None:
    """One range and best estimate from ranges with their weights; None from none.

    The order does not matter. Weights must be above zero.
    """
    if not findings:
        return None
    heaviest = max(weight for _, weight in findings)
    # Weights change only at ends of ranges, and ranges hold their ends.
    ends = {end for share, _ in findings for end in (share.low, share.high)}
    held = [end for end in ends if _weight_at(end, findings) >= heaviest]
    low, high = min(held), max(held)
    near = [
        (share, weight)
        for share, weight in findings
        if share.low <= high and share.high >= low
    ]
    # From the least on, so that figures that agree give exactly themselves.
    least = min(share.likely for share, _ in near)
    mean = least + math.fsum(
        (share.likely - least) * weight for share, weight in near
    ) / sum(weight for _, weight in near)
    return Spread(low, min(max(mean, low), high), high)


def cut_to(range_: Spread, bounds: Sequence[Spread]) -> Spread:
    """A range cut to bounds that meet it, and stretched to the edge of those that do not.
    Bounds that meet it and not each other leave what lies between their edges. The order
    of bounds does not matter."""
    low, high = range_.low, range_.high
    apart = [own for own in bounds if own.low > high or own.high < low]
    near = [own for own in bounds if own not in apart]
    low = max([low, *(own.low for own in near)])
    high = min([high, *(own.high for own in near)])
    low, high = min(low, high), max(low, high)
    for own in apart:
        low, high = min(low, own.high), max(high, own.low)
    return Spread(low, min(max(range_.likely, low), high), high)


def within_all(bounds: Sequence[Weighed]) -> Spread | None:
    """Where nothing but bounds is known: what all of them allow, or, where they allow
    nothing together, their hull as of any findings."""
    range_ = combine(bounds)
    if range_ is None:
        return None
    low = max(own.low for own, _ in bounds)
    high = min(own.high for own, _ in bounds)
    if low > high:
        return range_
    return Spread(low, min(max(range_.likely, low), high), high)


def _weight_at(value: float, findings: Sequence[Weighed]) -> int:
    return sum(weight for share, weight in findings if share.low <= value <= share.high)


def fitting_silt(clay: Spread, silt: Spread) -> Spread:
    """Silt cut so that clay and silt never exceed 1, likely with likely and least with
    most. Widening the clay never narrows it."""
    low = min(silt.low, max(0.0, 1 - clay.high))
    high = max(low, min(silt.high, 1 - clay.low))
    likely = min(silt.likely, 1 - clay.likely)
    return Spread(low, min(max(likely, low), high), high)
