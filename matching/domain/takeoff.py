"""What walls swallow: from placed volume to masses with their spread.

placed volume -> dry mass (density in the wall, waste) -> clay-bearing soil and sand for a
clay share -> moist mass -> loose volume. Every step names its source.
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.materials import BULK, MOISTURE, Earth
from logistics.domain.quantities import Spread
from matching.domain.walls.volumes import placed_m3
from matching.domain.walls.wall import Wall


@dataclass(frozen=True, slots=True)
class MixTarget:
    """The mix a build wants. Shares are of dry mass.

    The clay window 15-25 % is practitioners' (75-85 % sand and aggregate, seen published);
    no building code prescribes a share. Straw: 1.25 % in old cob (Williams-Ellis) to 3 %
    (50 kg/m3); dry density in the wall 1400-1700 kg/m3 (French bauge), 1650-1700 (cubes).
    `most_fines` is the most of clay and silt together: ready-mix subsoils have more than
    half of coarse sand (practitioners, seen published), and the regional cob association's
    equal thirds of clay and silt, sand, and fine gravel stay well below.
    `reference_clay` is the clay share of the soil assumed while none is chosen.
    """

    clay_low: float = 0.15
    clay_target: float = 0.20
    clay_high: float = 0.25
    straw: Spread = Spread(0.0125, 0.015, 0.03)
    dry_density: Spread = Spread(1400.0, 1650.0, 1700.0)
    waste: Spread = Spread(0.05, 0.10, 0.15)
    mixing_moisture: Spread = Spread(0.20, 0.25, 0.33)
    reference_clay: float = 0.30
    most_fines: float = 0.50

    def __post_init__(self) -> None:
        if not 0 < self.clay_low <= self.clay_target <= self.clay_high < 1:
            raise refuse(
                "clay_window_out_of_order",
                field="mix",
                given=f"{self.clay_low}, {self.clay_target}, {self.clay_high}",
                message="the clay window must be 0 < low <= target <= high < 1",
                remedy="Give shares of dry mass, such as 0.15, 0.20 and 0.25.",
            )
        if not 0 < self.most_fines <= 1:
            raise refuse(
                "fines_beyond_all",
                field="mix.most_fines",
                given=self.most_fines,
                message="the most of clay and silt together must be above 0 and at most 1",
                remedy="Give a share of the dry mass such as 0.5; 1 sets no limit.",
            )
        if self.reference_clay < self.clay_target:
            raise refuse(
                "reference_soil_too_lean",
                field="mix.reference_clay",
                given=self.reference_clay,
                message="a soil leaner than the mix cannot be cut with sand to reach it",
                remedy="Give at least the target clay share.",
            )

    @property
    def fines_limit(self) -> float:
        """Most clay and silt together: a mix that asks for more clay asks for as much."""
        return max(self.most_fines, self.clay_high)


@dataclass(frozen=True, slots=True)
class TakeOff:
    """What walls swallow. Masses in kg, volumes in m3, each low, likely and high.

    `mineral_dry_kg` is soil and sand together; soil and sand are for the reference soil.
    """

    placed_m3: float
    mineral_dry_kg: Spread
    straw_kg: Spread
    soil_dry_kg: Spread
    soil_moist_kg: Spread
    soil_bank_m3: Spread
    soil_loose_m3: Spread
    sand_dry_kg: Spread
    sand_moist_kg: Spread
    sand_loose_m3: Spread
    water_l: Spread


def take_off(walls: tuple[Wall, ...], mix: MixTarget) -> TakeOff:
    """Masses and volumes for walls and a mix."""
    return take_off_of(placed_m3(walls), mix)


def take_off_of(placed: float, mix: MixTarget) -> TakeOff:
    """Masses and volumes for m3 of wall in place and a mix."""
    solid = Spread(
        *(
            placed * density * (1 + waste)
            for density, waste in zip(
                _ends(mix.dry_density), _ends(mix.waste), strict=True
            )
        )
    )
    straw = _product(solid, mix.straw)
    mineral = Spread(
        solid.low * (1 - mix.straw.high),
        solid.likely * (1 - mix.straw.likely),
        solid.high * (1 - mix.straw.low),
    )
    share = mix.clay_target / mix.reference_clay
    soil, sand = _scaled(mineral, share), _scaled(mineral, 1 - share)
    earth, grit = BULK[Earth.COMMON_EARTH], BULK[Earth.SAND]
    soil_moist = _moist(soil, MOISTURE[Earth.COMMON_EARTH])
    sand_moist = _moist(sand, MOISTURE[Earth.SAND])
    bank = _scaled(soil_moist, 1 / earth.bank_kg_per_m3)
    return TakeOff(
        placed_m3=placed,
        mineral_dry_kg=mineral,
        straw_kg=straw,
        soil_dry_kg=soil,
        soil_moist_kg=soil_moist,
        soil_bank_m3=bank,
        soil_loose_m3=_product(bank, _plus(earth.swell, 1)),
        sand_dry_kg=sand,
        sand_moist_kg=sand_moist,
        sand_loose_m3=_scaled(sand_moist, 1 / grit.loose_kg_per_m3),
        water_l=_water(mineral, soil, sand, mix),
    )


def _water(mineral: Spread, soil: Spread, sand: Spread, mix: MixTarget) -> Spread:
    """Litres to add: what the mix holds less what soil and sand bring along."""
    wet, damp = MOISTURE[Earth.COMMON_EARTH], MOISTURE[Earth.SAND]
    low = (
        mineral.low * mix.mixing_moisture.low
        - soil.low * wet.high
        - sand.low * damp.high
    )
    likely = (
        mineral.likely * mix.mixing_moisture.likely
        - soil.likely * wet.likely
        - sand.likely * damp.likely
    )
    high = (
        mineral.high * mix.mixing_moisture.high
        - soil.high * wet.low
        - sand.high * damp.low
    )
    return Spread(max(0.0, low), max(0.0, likely), max(0.0, high))


def _ends(spread: Spread) -> tuple[float, float, float]:
    return spread.low, spread.likely, spread.high


def _scaled(spread: Spread, factor: float) -> Spread:
    return Spread(spread.low * factor, spread.likely * factor, spread.high * factor)


def _plus(spread: Spread, term: float) -> Spread:
    return Spread(spread.low + term, spread.likely + term, spread.high + term)


def _product(one: Spread, other: Spread) -> Spread:
    return Spread(one.low * other.low, one.likely * other.likely, one.high * other.high)


def _moist(dry: Spread, moisture: Spread) -> Spread:
    return _product(dry, _plus(moisture, 1))
