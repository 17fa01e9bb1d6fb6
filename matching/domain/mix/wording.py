"""Figures as people read them."""

from __future__ import annotations

from logistics.domain.quantities import Spread


def percent(share: float) -> str:
    """A share as "12.5 %"."""
    return f"{share * 100:.1f} %"


def percent_range(share: Spread) -> str:
    """A share with its range: "12.0 % (8.0 to 16.0 %)"; without where it has none."""
    if share.high - share.low < 5e-4:
        return percent(share.likely)
    ends = f"{share.low * 100:.1f} to {share.high * 100:.1f} %"
    return f"{percent(share.likely)} ({ends})"


def tonnes(kg: float) -> str:
    """A mass as "4.2 t", or in kg where it is small."""
    return f"{kg:.0f} kg" if abs(kg) < 100 else f"{kg / 1000:.2f} t"


def parts_of(number: float) -> str:
    """A number of parts, as "1 part" or "1.3 parts"."""
    text = f"{number:.1f}".removesuffix(".0")
    return f"{text} part" if text == "1" else f"{text} parts"
