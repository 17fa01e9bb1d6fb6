"""How to keep bales until they are used, and when to have them brought."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logistics.domain.errors import refuse
from matching.domain.straws.bales import FORMS, BaleForm

# A straw-bale builder's page (seen): two layers of pallets, a tarpaulin over the top, sides
# open, stacked to a peak. Pallet 1.2 x 1.0 m: from memory.
PALLET_M2 = 1.2
PALLET_LAYERS = 2
PALLET_M = 0.15
OVERHANG_M = 0.5
# Fire services and a county council (seen): stacks at least 10 m apart and apart from other
# buildings.
BETWEEN_STACKS_M = 10.0
# Heights that people lift and that stand safely among helpers: common practice, no source.
LAYERS_BY_HAND = 5
LAYERS_BY_MACHINE = 2


@dataclass(frozen=True, slots=True)
class Advice:
    """A sentence for the person who keeps the bales, and where it comes from."""

    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Keeping:
    """Room for a stack: footprint in m2, height in m on its pallets, layers of bales,
    pallets, tarpaulin in m2, and the m to keep from another stack or a building."""

    bales: int
    volume_m3: float
    footprint_m2: float
    height_m: float
    layers: int
    pallets: int
    tarpaulin_m2: float
    between_stacks_m: float
    advice: tuple[Advice, ...]


ADVICE: tuple[Advice, ...] = (
    Advice(
        "just_in_time",
        "Leave the bales in the farmer's barn until the roof is up or the week of use:"
        " bales that wait on site get wet.",
        "a straw-bale builder's page and a straw-bale handbook (seen)",
    ),
    Advice(
        "off_the_ground",
        "Stand them on two layers of pallets on a dry spot.",
        "a straw-bale builder's page (seen)",
    ),
    Advice(
        "cover",
        "Stack to a peak and tie a tarpaulin over the top; leave the sides open to the"
        " air. A wet top soaks the whole bale, a wet side dries.",
        "a straw-bale builder's page (seen)",
    ),
    Advice(
        "fire",
        f"Keep {BETWEEN_STACKS_M:.0f} m between stacks and away from buildings and fuel;"
        " no smoking or grinding near; clear loose straw daily; water at hand.",
        "fire services and a county council (seen); daily clearing is common practice",
    ),
    Advice(
        "heat",
        "Stack nothing above 20 % moisture; push a hand into the stack now and then: a"
        " warm, sweet or musty bale is heating. Take it out.",
        "fire services, 18 to 22 % (seen); hay figures, on the safe side for straw",
    ),
)


def keeping(bales: int, form: BaleForm) -> Keeping:
    """Room and advice for a stack of bales on site. Raises Refused for fewer than one."""
    if bales < 1:
        raise refuse(
            "no_bales",
            field="bales",
            given=bales,
            message="a stack has at least one bale",
            remedy="Give the number of bales to be kept.",
        )
    facts = FORMS[form]
    layers = min(bales, _most_layers(form))
    footprint = math.ceil(bales / layers) * facts.length_m * facts.width_m
    cover = (math.sqrt(footprint) + 2 * OVERHANG_M) ** 2
    return Keeping(
        bales=bales,
        volume_m3=bales * facts.m3,
        footprint_m2=footprint,
        height_m=layers * facts.height_m + PALLET_LAYERS * PALLET_M,
        layers=layers,
        pallets=PALLET_LAYERS * math.ceil(footprint / PALLET_M2 - 1e-9),
        tarpaulin_m2=cover,
        between_stacks_m=BETWEEN_STACKS_M,
        advice=ADVICE,
    )


def _most_layers(form: BaleForm) -> int:
    facts = FORMS[form]
    if facts.is_round:
        return 1
    return LAYERS_BY_HAND if facts.by_hand else LAYERS_BY_MACHINE
