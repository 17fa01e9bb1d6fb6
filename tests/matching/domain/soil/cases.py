"""A label for samples, and ranges for hypothesis."""

from __future__ import annotations

from datetime import date

from hypothesis import strategies as st

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import Finding, Rung
from matching.domain.soil.samples import Sample

LABEL = Sample("pit-1", "north face", 0.8, 1.2, date(2026, 5, 4), "Ada")


@st.composite
def spreads(draw: st.DrawFn) -> Spread:
    """Ranges of shares in whole percents, so that ends often meet."""
    low, likely, high = sorted(draw(st.integers(0, 100)) for _ in range(3))
    return Spread(low / 100, likely / 100, high / 100)


@st.composite
def findings(draw: st.DrawFn) -> Finding:
    """A finding of any rung on clay, and often on silt."""
    rung = draw(st.sampled_from([rung for rung in Rung if rung is not Rung.NOTHING]))
    return Finding(
        kind=rung.name.lower(),
        rung=rung,
        sample=LABEL,
        says="It says so.",
        doubt="It may mislead.",
        clay=draw(spreads()),
        silt=draw(st.none() | spreads()),
    )
