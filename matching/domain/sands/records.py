"""What is known of a sand: its name at the yard, its grains, its sieves, what it carries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from logistics.domain.errors import refuse
from matching.domain.grading import Grading
from matching.domain.grounds import Known


class Called(StrEnum):
    """What the holder calls the sand. Concrete sand is also sold as sharp or grit sand,
    masonry sand as soft, building, plastering or mortar sand."""

    CONCRETE = "concrete"
    MASONRY = "masonry"
    PLAY = "play"
    BEACH = "beach"
    DUNE = "dune"
    UNKNOWN = "unknown"


class Shape(StrEnum):
    """What the grains look like through a lens, or feel like between the fingers."""

    SHARP = "sharp"
    ROUNDED = "rounded"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class SandRecord:
    """One look at one sand. Shares are of dry mass: `chloride` ions, `fines` below
    0.075 mm by a jar or a laboratory; `moisture` is water over dry mass. Raises Refused
    for a share outside 0..1."""

    called: Called = Called.UNKNOWN
    shape: Shape = Shape.UNKNOWN
    grading: Grading | None = None
    salt: Known = Known.UNKNOWN
    chloride: float | None = None
    shells: Known = Known.UNKNOWN
    fines: float | None = None
    clayey: Known = Known.UNKNOWN
    moisture: float | None = None
    sold_by_volume: Known = Known.UNKNOWN
    place: str = ""
    taken_on: date | None = None
    tester: str = ""

    def __post_init__(self) -> None:
        for name in ("chloride", "fines", "moisture"):
            share = getattr(self, name)
            if share is not None and not 0 <= share <= 1:
                raise refuse(
                    "share_outside_0_1",
                    field=f"sand.{name}",
                    given=share,
                    message="a share of the mass lies between 0 and 1",
                    remedy="Give 0.03 for 3 %, or leave it out.",
                )
