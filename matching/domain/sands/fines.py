"""Clay and silt of a sand from its sieves, or from a figure for its fines.

Sieves end at 0.075 mm: what passes them is clay and silt together, the silt of the USDA
(to 0.05 mm) and a little more. How much of it is clay no sieve tells.
"""

from __future__ import annotations

from logistics.domain.quantities import Spread
from matching.domain.grounds import Known
from matching.domain.sands.classes import FINES_MM
from matching.domain.sands.records import SandRecord
from matching.domain.silt import SAND_SILT

# Our own choice, no source: washed sand keeps mostly rock flour, so a quarter of fines of
# unknown kind is taken as clay; three quarters where they are known to be clayey, none
# where they are known not to be. The ranges allow what the words leave open.
CLAY_OF_FINES: dict[Known, Spread] = {
    Known.UNKNOWN: Spread(0.0, 0.25, 1.0),
    Known.YES: Spread(0.5, 0.75, 1.0),
    Known.NO: Spread(0.0, 0.0, 0.5),
}


def fines_of(record: SandRecord) -> Spread | None:
    """Share of dry mass finer than 0.075 mm, or None where nothing tells. Of two accounts
    both ends count, and the greater is the likely one."""
    told = []
    if record.grading is not None:
        low, high = record.grading.bounds(FINES_MM)
        likely = low if low == high else min(max(SAND_SILT.likely, low), high)
        told.append(Spread(low, likely, high))
    if record.fines is not None:
        told.append(Spread.exactly(record.fines))
    if not told:
        return None
    return Spread(
        min(own.low for own in told),
        max(own.likely for own in told),
        max(own.high for own in told),
    )


def clay_and_silt(record: SandRecord) -> tuple[Spread, Spread] | None:
    """Clay and silt of a sand, shares of dry mass, or None where nothing tells. Likely
    figures add up to the likely fines, and neither can exceed all fines."""
    fines = fines_of(record)
    if fines is None:
        return None
    clay = CLAY_OF_FINES[record.clayey]
    return (
        Spread(
            fines.low * clay.low, fines.likely * clay.likely, fines.high * clay.high
        ),
        Spread(
            0.0,
            fines.likely * (1 - clay.likely),
            fines.high * (1 - clay.low),
        ),
    )
