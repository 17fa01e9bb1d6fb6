"""Forms of bales: published sizes and masses, and how many a build takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.errors import refuse
from logistics.domain.materials import Bale
from logistics.domain.quantities import Spread
from matching.domain.straws.moisture import LB_KG, dry_kg

_IN = 0.0254
_FT = 0.3048
# Our own choice, no source: published bales lie between 67 and 215 kg/m3; outside these
# bounds a mass or a form is mistaken.
DENSITY = (40.0, 250.0)


class BaleForm(StrEnum):
    """A form as farms name it. Big bales are named by height x width in cm or ft."""

    TWO_STRING = "two_string"
    SMALL_CONVENTIONAL = "small_conventional"
    SMALL_IRISH = "small_irish"
    THREE_STRING = "three_string"
    BIG_80_90 = "big_80x90x240"
    BIG_120_70 = "big_120x70x240"
    BIG_120_90 = "big_120x90x240"
    BIG_120_120 = "big_120x120x240"
    BIG_8_2_2 = "big_8x2x2ft"
    BIG_8_4_3 = "big_8x4x3ft"
    BIG_8_4_4 = "big_8x4x4ft"
    ROUND_4_4 = "round_4x4ft"


@dataclass(frozen=True, slots=True)
class FormFacts:
    """Outer size in m (a round bale: length is its width, width and height its diameter),
    mass in kg as sold, whether two people can carry it, and who published it."""

    title: str
    length_m: float
    width_m: float
    height_m: float
    kg: Spread
    by_hand: bool
    source: str
    is_round: bool = False

    @property
    def m3(self) -> float:
        """Volume of the straw."""
        box = self.length_m * self.width_m * self.height_m
        return box * math.pi / 4 if self.is_round else box


_SIZES = "a page on straw bale sizes (seen)"
_MERCHANT = "a hay and straw merchant's page, for guidance (seen)"
_PAPER = "an Irish farming paper (seen)"

FORMS: dict[BaleForm, FormFacts] = {
    # Straw 35-50 lb of the 40-60 lb that the page gives for any crop.
    BaleForm.TWO_STRING: FormFacts(
        "Two-string, 14 x 18 x 36 in",
        36 * _IN,
        18 * _IN,
        14 * _IN,
        Spread(35 * LB_KG, 16.0, 50 * LB_KG),
        by_hand=True,
        source=_SIZES,
    ),
    BaleForm.SMALL_CONVENTIONAL: FormFacts(
        "Small conventional, 100 x 40 x 30 cm",
        1.0,
        0.4,
        0.3,
        Spread(18.0, 18.0, 20.0),
        by_hand=True,
        source=_MERCHANT,
    ),
    BaleForm.SMALL_IRISH: FormFacts(
        "Small square (Ireland), size of a two-string bale taken",
        36 * _IN,
        18 * _IN,
        14 * _IN,
        Spread(10.0, 14.0, 18.0),
        by_hand=True,
        source=_PAPER,
    ),
    BaleForm.THREE_STRING: FormFacts(
        "Three-string, 16 x 22 x 44 in",
        44 * _IN,
        22 * _IN,
        16 * _IN,
        Spread(70 * LB_KG, 95 * LB_KG, 120 * LB_KG),
        by_hand=True,
        source=_SIZES,
    ),
    BaleForm.BIG_80_90: FormFacts(
        "Big square, 80 x 90 x 240 cm",
        2.4,
        0.8,
        0.9,
        Spread(240.0, 265.0, 290.0),
        by_hand=False,
        source=_MERCHANT,
    ),
    BaleForm.BIG_120_70: FormFacts(
        "Big square, 120 x 70 x 240 cm",
        2.4,
        1.2,
        0.7,
        Spread(250.0, 300.0, 350.0),
        by_hand=False,
        source=_MERCHANT,
    ),
    BaleForm.BIG_120_90: FormFacts(
        "Big square, 120 x 90 x 240 cm",
        2.4,
        1.2,
        0.9,
        Spread(400.0, 450.0, 500.0),
        by_hand=False,
        source=_MERCHANT,
    ),
    BaleForm.BIG_120_120: FormFacts(
        "Big square, 120 x 120 x 240 cm",
        2.4,
        1.2,
        1.2,
        Spread(500.0, 525.0, 550.0),
        by_hand=False,
        source=_MERCHANT,
    ),
    BaleForm.BIG_8_2_2: FormFacts(
        "Big square, 8 x 2 x 2 ft",
        8 * _FT,
        2 * _FT,
        2 * _FT,
        Spread(150.0, 180.0, 200.0),
        by_hand=False,
        source=_PAPER,
    ),
    BaleForm.BIG_8_4_3: FormFacts(
        "Big square, 8 x 4 x 3 ft",
        8 * _FT,
        4 * _FT,
        3 * _FT,
        Spread(380.0, 400.0, 420.0),
        by_hand=False,
        source=_PAPER,
    ),
    BaleForm.BIG_8_4_4: FormFacts(
        "Big square, 8 x 4 x 4 ft",
        8 * _FT,
        4 * _FT,
        4 * _FT,
        Spread(480.0, 560.0, 600.0),
        by_hand=False,
        source=_PAPER,
    ),
    BaleForm.ROUND_4_4: FormFacts(
        "Round, 4 ft wide, 4 ft across",
        4 * _FT,
        4 * _FT,
        4 * _FT,
        Spread(120.0, 150.0, 200.0),
        by_hand=False,
        source=_PAPER,
        is_round=True,
    ),
}


@dataclass(frozen=True, slots=True)
class BaleCount:
    """Whole bales: the fewest, the likely number and the most."""

    low: int
    likely: int
    high: int


def bale_of(form: BaleForm, kg: float | None = None) -> Bale:
    """A bale of a form, of the likely mass unless weighed; mass to the nearest kg. Raises
    Refused for a mass that no bale of that size has (40 to 250 kg/m3)."""
    facts = FORMS[form]
    mass = facts.kg.likely if kg is None else kg
    least, most = (density * facts.m3 for density in DENSITY)
    if not least <= mass <= most:
        raise refuse(
            "bale_mass_unlikely",
            field="bale.kg",
            given=mass,
            message=f"a bale of this form holds {facts.m3:.2f} m3 and weighs from"
            f" {facts.kg.low:.0f} to {facts.kg.high:.0f} kg",
            remedy="Check the form, and that the mass is of one bale in kilograms.",
        )
    return Bale(kg=max(1, round(mass)), m3=facts.m3)


def form_of(bale: Bale) -> BaleForm:
    """The form whose volume is nearest by ratio; the first listed of equals."""
    return min(FORMS, key=lambda form: abs(math.log(FORMS[form].m3 / bale.m3)))


def bales_for(straw_kg: Spread, bale: Bale, *, moisture: float = 0.0) -> BaleCount:
    """Whole bales that hold a mass of straw. `straw_kg` is as weighed; when it is dry
    mass, give the bales' `moisture` (wet basis). Raises Refused for a negative mass."""
    if straw_kg.low < 0:
        raise refuse(
            "straw_negative",
            field="straw_kg",
            given=straw_kg.low,
            message="a need is zero or more",
            remedy="Give kilograms of straw.",
        )
    each = dry_kg(bale.kg, moisture)
    return BaleCount(*(_whole(kg / each) for kg in _ends(straw_kg)))


def minor_per_tonne(minor_per_bale: float, bale: Bale) -> float:
    """Price of a tonne, in minor units, from the price of a bale: small bales hide a
    dear tonne."""
    return minor_per_bale * 1000 / bale.kg


def _ends(spread: Spread) -> tuple[float, float, float]:
    return spread.low, spread.likely, spread.high


def _whole(count: float) -> int:
    # A mass that is an exact number of bales must not cost one more through rounding.
    return math.ceil(count - 1e-9)
