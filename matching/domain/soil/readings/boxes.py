"""Reading a shrinkage box of the raw soil."""

from __future__ import annotations

from matching.domain.soil.evidence import Finding, Rung, bounded, ranged
from matching.domain.soil.records import ShrinkageBox

# Plasticity index = 2.13 x linear shrinkage in % (BS 1377; from memory). The standard bar
# is dried from the liquid limit, a builder's box from stiff mud, so its shrinkage stands
# for 1 to 1.6 times as much (ours).
PLASTICITY_PER_SHRINKAGE = 2.13
WETTER = (1.0, 1.3, 1.6)
# Activity = plasticity index / clay %: Skempton 1953, normal clays 0.75-1.25 (seen); after
# Grim 1968 illite 0.3-0.6, calcium smectite 1.2-1.3 (seen). About 10 % clay shows no
# plasticity at all in silty soils (seen in the same textbook).
ACTIVITY = (1.5, 0.9, 0.5)
IDLE_CLAY = (0.0, 0.05, 0.10)


def read_box(box: ShrinkageBox) -> Finding:
    """Clay from shrinkage, over clays from lazy to very active."""
    shrinkage = box.shrinkage_mm / box.length_mm
    low, likely, high = (
        idle + PLASTICITY_PER_SHRINKAGE * shrinkage * wetter / activity
        for idle, wetter, activity in zip(IDLE_CLAY, WETTER, ACTIVITY, strict=True)
    )
    clay = bounded(low, likely, high)
    return Finding(
        kind=box.kind,
        rung=Rung.BOX,
        sample=box.sample,
        clay=clay,
        says=f"The raw soil shrank {box.shrinkage_mm:g} mm in {box.length_mm:g} mm"
        f" ({shrinkage * 100:.1f} %): it works like {ranged(clay)} clay.",
        doubt="Shrinkage tells what the clay does, not how much there is: an active clay"
        " shrinks three times as much as a lazy one (Skempton's activity), and more water"
        " in the box shrinks more.",
    )
