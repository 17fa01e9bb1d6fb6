"""Silt that nobody has measured: a stated guess with all that it may be."""

from __future__ import annotations

from logistics.domain.quantities import Spread

# ASTM C33 concrete sand: at most 3 to 5 % passes 75 micrometres; half of that is a guess.
SAND_SILT = Spread(0.0, 0.02, 0.05)
# Of a soil's part that is not clay, a third is taken to be silt, a third sand and a third
# gravel; a guess, no source. Anything else is possible, and the range says so.
OF_THE_REST = 1 / 3

# A safe mix keeps its limit on fines at the far end of silt that was measured. Where nobody
# has measured it the guess counts: "anything" would forbid every soil.


def guessed_silt(clay: Spread) -> Spread:
    """Silt of a soil with this clay, as shares of dry mass."""
    return Spread(0.0, (1 - clay.likely) * OF_THE_REST, 1 - clay.low)
