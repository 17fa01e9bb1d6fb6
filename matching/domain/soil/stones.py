"""What of the coarse grains is stones: fine gravel is welcome in cob and is not.

Old cob held 24 % of stones and gravel (Williams-Ellis, 2nd ed., analysis seen), and the
Devon Earth Building Association asks for about equal parts of clay with silt, sand and
fine gravel (its questions and answers, seen). Fine gravel ends at 20 mm here: ours, near
the 19-20 mm at which systems of sizes part coarse from finer gravel.
"""

from __future__ import annotations

import math

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import bounded

STONE_MM = 20.0
# Where gravel ends (ISO 14688, 63 mm): the guess spreads a kept share up to it.
GRAVEL_MM = 63.0
# Below this much of the whole no bucket and no sheet tells stones from none (ours).
LEAST_POINTS = 0.01


def stones_of(kept: float, finest_mm: float, error: float) -> Spread:
    """The share of stones when `kept` of the dry mass is coarser than `finest_mm`.

    `error` is the part of it by which another bucket may differ. From 20 mm on all of it
    is stones. Finer, it is the most that they can be, none the least, and the likely
    share a guess: even in the logarithm of size up to 63 mm.
    """
    most = kept * (1 + error) + LEAST_POINTS
    if finest_mm >= STONE_MM:
        return bounded(kept * (1 - error) - LEAST_POINTS, kept, most)
    part = math.log(GRAVEL_MM / STONE_MM) / math.log(GRAVEL_MM / finest_mm)
    return bounded(0.0, part * kept, most)
