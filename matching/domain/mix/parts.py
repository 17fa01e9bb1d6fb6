"""What a mix can be made of, and the limits that it keeps."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from logistics.domain.errors import Problem, Refused
from logistics.domain.quantities import Spread
from matching.domain.silt import SAND_SILT, guessed_silt
from matching.domain.takeoff import MixTarget


@dataclass(frozen=True, slots=True)
class MixLimits:
    """What the grains must keep besides the clay window: clay and silt together at most
    `most_fines` of the dry mass, so that sand and gravel make up the rest.

    Half: ready-mix subsoil has "> 50 % coarse sand" (practitioners, seen published). The
    regional association's equal thirds of clay and silt, sand, and fine gravel make 67 % of
    aggregate; the old cob that Williams-Ellis had analysed held 24.4 + 19.7 + 32.5 = 76.6 %
    of stones and sand. No code prescribes a share.
    """

    most_fines: float = 0.50

    def __post_init__(self) -> None:
        if not 0 < self.most_fines <= 1:
            raise Refused(
                Problem(
                    "fines_out_of_range",
                    "limits.most_fines",
                    str(self.most_fines),
                    "clay and silt together must be a share of the dry mass",
                    "Give a share above 0 and up to 1; 1 sets no limit.",
                )
            )

    @staticmethod
    def of(mix: MixTarget) -> MixLimits:
        """The limits that a mix states."""
        return MixLimits(mix.fines_limit)


@dataclass(frozen=True, slots=True)
class Part:
    """A soil or sand for a mix.

    `clay` and `silt` (USDA) are shares of the dry mass once stones are screened out; silt
    is None where nobody has measured it. `stones` is the share of dry mass that is
    screened out, `moisture` water over dry mass. `loose_kg_per_m3` is moist, as loaded.
    `per_kg` is the delivered cost of a moist kg in minor units, None if unknown, negative
    if the holder pays; `most_kg` the moist kg to be had, None for any amount.

    Raises Refused for shares outside 0..1 and for densities that are not positive.
    """

    key: str
    name: str
    clay: Spread
    silt: Spread | None = None
    stones: float = 0.0
    moisture: Spread | float = 0.0
    loose_kg_per_m3: float = 1500.0
    per_kg: float | None = None
    most_kg: float | None = None
    is_sand: bool = False

    def __post_init__(self) -> None:
        checks = (
            ("clay", self.clay.low >= 0 and self.clay.high <= 1, "a share from 0 to 1"),
            (
                "silt",
                _fits(self.clay, self.silt),
                "shares whose least sum is at most 1",
            ),
            ("stones", 0 <= self.stones < 1, "a share of at least 0 and below 1"),
            ("moisture", self.water.low >= 0, "water over dry mass, at least 0"),
            ("loose_kg_per_m3", _positive(self.loose_kg_per_m3), "kg in a loose m3"),
            (
                "per_kg",
                self.per_kg is None or math.isfinite(self.per_kg),
                "a cost in minor units, or nothing",
            ),
            (
                "most_kg",
                self.most_kg is None or 0 <= self.most_kg < math.inf,
                "moist kg, or nothing for any amount",
            ),
        )
        bad = [
            Problem(
                "part_out_of_range",
                f"parts.{self.key}.{name}",
                str(getattr(self, name)),
                "the figure cannot be used",
                f"Give {wanted}.",
            )
            for name, good, wanted in checks
            if not good
        ]
        if bad:
            raise Refused(*bad)

    @property
    def in_bucket(self) -> str:
        """What goes into a bucket: the part, screened if it holds stones."""
        return f"{self.name} (screened)" if self.stones > 0 else self.name

    @property
    def water(self) -> Spread:
        """Moisture as a range."""
        if isinstance(self.moisture, Spread):
            return self.moisture
        return Spread.exactly(self.moisture)

    @property
    def usable(self) -> float:
        """Dry kg for the mix in one moist kg, stones screened out, at likely moisture."""
        return (1 - self.stones) / (1 + self.water.likely)

    @property
    def silt_range(self) -> Spread:
        """Silt, or where it is unknown all that it may be with a stated guess."""
        if self.silt is not None:
            return self.silt
        return SAND_SILT if self.is_sand else guessed_silt(self.clay)

    @property
    def most_fines(self) -> float:
        """Clay and silt at the far end of what was measured."""
        silt = self.silt_range.likely if self.silt is None else self.silt.high
        return min(1.0, self.clay.high + silt)

    @property
    def fines(self) -> Spread:
        """Clay and silt together, never more than all."""
        silt = self.silt_range
        likely = min(1.0, self.clay.likely + silt.likely)
        return Spread(
            min(likely, self.clay.low + silt.low),
            likely,
            max(likely, min(1.0, self.clay.high + silt.high)),
        )

    @property
    def per_dry_kg(self) -> float | None:
        """Delivered cost of a usable dry kg at likely moisture, minor units."""
        return None if self.per_kg is None else self.per_kg / self.usable

    @property
    def dry_kg_per_litre(self) -> float:
        """Dry kg in a loose litre as it goes into a bucket, stones already out."""
        return self.loose_kg_per_m3 / (1 + self.water.likely) / 1000

    def moist_kg(self, dry_kg: Spread) -> Spread:
        """Moist kg as loaded, stones and water included, for usable dry kg."""
        wet, solid = self.water, 1 - self.stones
        return Spread(
            dry_kg.low * (1 + wet.low) / solid,
            dry_kg.likely * (1 + wet.likely) / solid,
            dry_kg.high * (1 + wet.high) / solid,
        )


def _fits(clay: Spread, silt: Spread | None) -> bool:
    if silt is None:
        return True
    return silt.low >= 0 and silt.high <= 1 and clay.low + silt.low <= 1


def _positive(value: float) -> bool:
    return 0 < value < math.inf


def in_key_order(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """Parts sorted by key. Raises Refused where two share one."""
    twice = sorted(key for key, n in Counter(p.key for p in parts).items() if n > 1)
    if twice:
        raise Refused(
            *(
                Problem(
                    "part_twice",
                    "parts",
                    key,
                    "two parts have the same key",
                    "Give each part its own key.",
                )
                for key in twice
            )
        )
    return tuple(sorted(parts, key=lambda part: part.key))


def mineral_dry_kg_per_m3(mix: MixTarget) -> Spread:
    """Dry kg of soil and sand for a placed m3 of wall, waste included, straw left out."""
    dry, waste, straw = mix.dry_density, mix.waste, mix.straw
    return Spread(
        dry.low * (1 + waste.low) * (1 - straw.high),
        dry.likely * (1 + waste.likely) * (1 - straw.likely),
        dry.high * (1 + waste.high) * (1 - straw.low),
    )
