"""What is on offer: subsoil, sand and straw, with what is known of their quality."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.loads import PartLoadTerms
from logistics.domain.materials import BULK, MOISTURE, SMALL_BALE, Bale, Bulk, Earth
from logistics.domain.quantities import Spread
from logistics.domain.trucks import Cargo
from matching.domain.grounds import Known
from matching.domain.sands.records import SandRecord
from matching.domain.soil.evidence import Record
from matching.domain.straws.records import StrawRecord


class History(StrEnum):
    """What the holder can say of the ground's past."""

    CLEAR = "clear"
    UNKNOWN = "unknown"
    SUSPECT = "suspect"


@dataclass(frozen=True, slots=True)
class Subsoil:
    """A heap or bank of earth. Shares are of dry mass; `clay` is of what passes 2 mm less
    stones, with the range that its evidence leaves. `silt` (0.002 to 0.05 mm) is None
    where nothing tells of it.

    `tests` is that evidence, if it is more than a declaration (`matching.domain.tested`);
    depths are m below the surface, of what is dug; `rained_since`: since the last test.
    """

    clay: Spread
    silt: Spread | None = None
    earth: Earth = Earth.COMMON_EARTH
    stones: float = 0.0
    organic: float = 0.0
    topsoil: bool = False
    history: History = History.UNKNOWN
    moisture: Spread = MOISTURE[Earth.COMMON_EARTH]
    tests: tuple[Record, ...] = ()
    depth_from_m: float | None = None
    depth_to_m: float | None = None
    salty: Known = Known.UNKNOWN
    frozen: bool = False
    rained_since: bool = False

    @property
    def bulk(self) -> Bulk:
        """Densities of this kind of earth."""
        return BULK[self.earth]

    @property
    def usable(self) -> float:
        """Dry kg for the mix in one moist kg, stones screened out."""
        return (1 - self.stones) / (1 + self.moisture.likely)


@dataclass(frozen=True, slots=True)
class Sand:
    """Sand from a yard and what is known of it; `clay` is its own share of clay, usually
    next to nothing, and `silt` is None where no sieve has told of it."""

    record: SandRecord
    clay: Spread = Spread(0.0, 0.0, 0.02)
    silt: Spread | None = None
    moisture: Spread = MOISTURE[Earth.SAND]

    @property
    def bulk(self) -> Bulk:
        """Densities of sand."""
        return BULK[Earth.SAND]

    @property
    def usable(self) -> float:
        """Dry kg for the mix in one moist kg."""
        return 1 / (1 + self.moisture.likely)


@dataclass(frozen=True, slots=True)
class Straw:
    """Bales and what is known of their straw."""

    record: StrawRecord
    bale: Bale = SMALL_BALE

    @property
    def usable(self) -> float:
        """Straw counts as weighed."""
        return 1.0


Material = Subsoil | Sand | Straw


def cargo(material: Material) -> Cargo:
    """What the material is to a truck."""
    if isinstance(material, Subsoil):
        return Cargo.SUBSOIL
    return Cargo.SAND if isinstance(material, Sand) else Cargo.STRAW


def loose_density(material: Material) -> float:
    """kg/m3 as loaded, moist."""
    if isinstance(material, Straw):
        return material.bale.kg_per_m3
    return material.bulk.loose_kg_per_m3


class HaulPayer(StrEnum):
    """Who pays for bringing the material to the build."""

    BUILDER = "builder"
    HOLDER = "holder"


@dataclass(frozen=True, slots=True)
class Price:
    """`minor` currency units for `per_kg` kilograms, moist as loaded; negative when the
    holder pays to be rid of it."""

    minor: int = 0
    per_kg: float = 1000.0

    def of(self, kg: float) -> float:
        """Price of a mass, not rounded."""
        return self.minor * kg / self.per_kg


@dataclass(frozen=True, slots=True)
class Disposal:
    """What it would cost the holder, in minor units a tonne, to have it tipped elsewhere."""

    tipping_per_t: int = 0
    haulage_per_t: int = 0

    @property
    def per_kg(self) -> float:
        """Both together for one kg."""
        return (self.tipping_per_t + self.haulage_per_t) / 1000


@dataclass(frozen=True, slots=True)
class Offer:
    """A holder's material at a place. Masses are moist kg; `windows` are the moments, in
    seconds UTC, when loading is possible, `loader_windows` those when somebody is there
    to load a truck that cannot load itself (None: always)."""

    key: str
    name: str
    place: int
    material: Material
    quantity_kg: int
    price: Price = Price()
    min_lot_kg: int = 0
    whole_loads: bool = False
    haul_payer: HaulPayer = HaulPayer.BUILDER
    disposal: Disposal = Disposal()
    load_s: int = 900
    loading_fee: int = 0
    part_load: PartLoadTerms = PartLoadTerms()
    windows: tuple[tuple[int, int], ...] = ()
    loader_windows: tuple[tuple[int, int], ...] | None = None

    @property
    def unit_kg(self) -> int:
        """Mass of a piece that cannot be cut."""
        return self.material.bale.kg if isinstance(self.material, Straw) else 1
