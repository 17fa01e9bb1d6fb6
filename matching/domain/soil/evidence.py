"""All kinds of evidence as one tagged union, and what a finding from one is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from logistics.domain.quantities import Spread
from matching.domain.soil.records import (
    BallDrop,
    JarTest,
    LabGrading,
    Ribbon,
    Roll,
    ShrinkageBox,
    SmellAndColour,
    SoilMap,
    StoneScreen,
    TickedTexture,
)
from matching.domain.soil.samples import Sample
from matching.domain.soil.trials import MixTrial, StandingWall

Record = (
    JarTest
    | LabGrading
    | ShrinkageBox
    | Ribbon
    | BallDrop
    | Roll
    | SmellAndColour
    | StoneScreen
    | MixTrial
    | StandingWall
    | TickedTexture
    | SoilMap
)


class Rung(IntEnum):
    """The ladder of trust, rising: builders call the jar close to useless and say that
    only bricks and walls count (mailing lists of cob builders; seen)."""

    NOTHING = 0
    MAP = 1
    JAR = 2
    HAND = 3
    BOX = 4
    LABORATORY = 5
    TRIAL = 6
    WALL = 7

    @property
    def weight(self) -> int:
        """What a finding of this rung counts. Ours: from the hand tests up each weighs
        as much as one finding of every lower rung together, so those can widen what it
        says when they all agree against it, and never overrule it."""
        return (0, 1, 2, 3, 6, 12, 24, 48)[self]

    @property
    def words(self) -> str:
        """The rung for people."""
        return (
            "nothing",
            "a map or a ticked class",
            "a jar",
            "a test by hand",
            "a shrinkage box",
            "a laboratory",
            "a trial of the mix",
            "a wall that stands",
        )[self]


@dataclass(frozen=True, slots=True)
class ClayWindow:
    """The clay share that a mix wants: low <= best <= high, of dry mass. 15-25 % is
    practitioners' (75-85 % sand; seen published); no code prescribes one."""

    low: float = 0.15
    best: float = 0.20
    high: float = 0.25


@dataclass(frozen=True, slots=True)
class Finding:
    """What one piece of evidence says. Shares are of dry mass: clay and silt (USDA) of
    what passes 2 mm, stones (over 20 mm) and organic of the whole; None: not spoken of.

    `says` is one sentence with the figures, `doubt` how far and why this kind misleads.
    `bound`: the clay is a bound only (a mix that failed says "more" or "less").
    """

    kind: str
    rung: Rung
    sample: Sample
    says: str
    doubt: str
    clay: Spread | None = None
    silt: Spread | None = None
    organic: Spread | None = None
    stones: Spread | None = None
    bound: bool = False


def percent(share: float) -> str:
    """A share as people read it."""
    return f"{share * 100:.0f} %"


def ranged(spread: Spread) -> str:
    """A range with its likely figure, for sentences."""
    return (
        f"{spread.low * 100:.0f} to {spread.high * 100:.0f} %,"
        f" likely {spread.likely * 100:.0f} %"
    )


def bounded(low: float, likely: float, high: float) -> Spread:
    """A share's range, cut to 0..1 and put in order with `likely` inside."""
    low, high = max(0.0, min(low, 1.0)), max(0.0, min(high, 1.0))
    low, high = min(low, high), max(low, high)
    return Spread(low, min(max(likely, low), high), high)
