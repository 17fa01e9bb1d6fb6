"""What is believed of a clay share before it is tested, and how a test reads it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from logistics.domain.errors import refuse
from logistics.domain.quantities import Spread

POINTS = 21


@dataclass(frozen=True, slots=True)
class Prior:
    """Clay shares that are possible, ascending, each with its chance: (share, chance).

    Raises Refused where shares are not ascending in 0..1 or chances do not add up to 1.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        shares = [share for share, _ in self.points]
        chances = [chance for _, chance in self.points]
        ascending = all(a < b for a, b in pairwise(shares))
        inside = bool(shares) and shares[0] >= 0 and shares[-1] <= 1
        whole = min(chances, default=-1.0) >= 0 and abs(sum(chances) - 1) <= 1e-9
        if not (ascending and inside and whole):
            raise refuse(
                "prior_not_usable",
                field="prior",
                given=self.points,
                message="a prior is clay shares in ascending order with their chances",
                remedy="Give shares from 0 to 1, and chances that add up to 1.",
            )

    @staticmethod
    def of(clay: Spread, points: int = POINTS) -> Prior:
        """A triangular distribution from low over likely to high, at equally likely points:
        its quantiles at (i + 1/2) / n. The triangle is a stated choice, not a finding."""
        if clay.high - clay.low < 1e-9:
            return Prior(((clay.likely, 1.0),))
        chances = [(i + 0.5) / points for i in range(points)]
        return Prior(tuple((_quantile(clay, q), 1 / points) for q in chances))

    def chance_below(self, share: float) -> float:
        """Chance that the clay is less than a share."""
        return sum(chance for own, chance in self.points if own < share)


def _quantile(clay: Spread, chance: float) -> float:
    """Inverse of the triangular distribution function."""
    width, rise = clay.high - clay.low, clay.likely - clay.low
    if chance * width < rise:
        return clay.low + math.sqrt(chance * width * rise)
    return clay.high - math.sqrt((1 - chance) * width * (clay.high - clay.likely))


@dataclass(frozen=True, slots=True)
class SoilTest:
    """A test of clay: `error` is the standard deviation of its reading, as a share of dry
    mass; 0 for one that never errs. `cost` in minor units. Raises Refused below 0."""

    name: str
    error: float
    cost: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.error < math.inf:
            raise refuse(
                "error_not_usable",
                field="test.error",
                given=self.error,
                message="a test errs by a share of at least 0",
                remedy="Give its standard deviation, such as 0.05.",
            )

    def likelihood(self, prior: Prior) -> tuple[tuple[float, ...], ...]:
        """Chance of each reading (rows) in each state (columns): a normal error, read to
        the nearest of the prior's shares."""
        shares = [share for share, _ in prior.points]
        columns = [self._column(truth, shares) for truth in shares]
        return tuple(zip(*columns, strict=True))

    def _column(self, truth: float, shares: list[float]) -> list[float]:
        if self.error == 0:
            return [float(share == truth) for share in shares]
        far = [((share - truth) / self.error) ** 2 / 2 for share in shares]
        weights = [math.exp(-own) for own in far]
        return [own / sum(weights) for own in weights]
