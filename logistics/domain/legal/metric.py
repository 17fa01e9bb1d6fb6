"""What the European and the British limits on axles have in common."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.limits import GroupLimit, neighbours

DRIVING_KG, OTHER_KG, TWIN_DRIVING_KG = 11_500, 10_000, 9_500
TandemLimit = Callable[[bool, float], int]
"""The limit of two axles: whether one of them drives, and the metres between them."""


def single_limits(
    layout: AxleLayout, driving_kg: int = DRIVING_KG
) -> Iterator[GroupLimit]:
    """A limit for each axle by itself."""
    for number, axle in enumerate(layout.axles):
        most = driving_kg if axle.driven else OTHER_KG
        kind = "driving axle" if axle.driven else "axle"
        yield GroupLimit(number, number, most, f"{kind} {number + 1}: {most:,} kg")


def tandem_limits(
    layout: AxleLayout, most: TandemLimit, *, below_m: float, trailer: bool
) -> Iterator[GroupLimit]:
    """A limit for each two axles of the truck, or of its trailer, that stand so close."""
    for first, last in _rows(layout, 2, trailer=trailer):
        apart = round(layout.length_m(first, last), 3)
        if apart < below_m:
            driven = any(own.driven for own in layout.axles[first : last + 1])
            kg = most(driven, apart)
            words = f"axles {first + 1} and {last + 1}, {apart:g} m apart: {kg:,} kg"
            yield GroupLimit(first, last, kg, words)


def triaxle_limits(
    layout: AxleLayout, *, below_m: float, trailer_only: bool
) -> Iterator[GroupLimit]:
    """21 t for three axles in a row of which one stands within 1.3 m of the next, 24 t for
    those farther apart."""
    sides = (True,) if trailer_only else (True, False)
    for trailer in sides:
        for first, last in _rows(layout, 3, trailer=trailer):
            if neighbours(layout, first, last, below_m):
                near = min(
                    layout.length_m(first, first + 1), layout.length_m(first + 1, last)
                )
                kg = 21_000 if round(near, 3) <= 1.3 else 24_000
                words = f"axles {first + 1}-{last + 1}: {kg:,} kg"
                yield GroupLimit(first, last, kg, words)


def whole(layout: AxleLayout, kg: float, words: str) -> GroupLimit:
    """A limit on all axles together."""
    return GroupLimit(0, len(layout.axles) - 1, kg, f"{words}: {kg:,.0f} kg")


def _rows(layout: AxleLayout, size: int, *, trailer: bool) -> Iterator[tuple[int, int]]:
    own = len(layout.own)
    start, end = (own, len(layout.axles)) if trailer else (0, own)
    return ((first, first + size - 1) for first in range(start, end - size + 1))
