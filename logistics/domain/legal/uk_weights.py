"""The limits of Great Britain: the Authorised Weight Regulations 1998, and the older
Construction and Use Regulations 1986, of which a vehicle keeps one or the other.

Gross weights were read on hgvalliance.com/HGV-maximum-weights; axles on
legislation.gov.uk/nisr/1999/258/schedule/3, the same regulations for Northern Ireland; that
the metres between the outer axles, times a factor, limit the gross weight, to the next 10 kg,
on app.croneri.co.uk. The factors themselves (6000, 5500 and 5000 kg/m), and that axles up to
2.5 m apart count as a tandem, are from memory.
"""

from __future__ import annotations

import math

from logistics.domain.errors import Refused, refuse
from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.limits import GroupLimit, LimitSet
from logistics.domain.legal.metric import (
    DRIVING_KG,
    TWIN_DRIVING_KG,
    single_limits,
    tandem_limits,
    triaxle_limits,
    whole,
)

SOURCE = "Road Vehicles (Authorised Weight) Regulations 1998"
OLDER_SOURCE = "Road Vehicles (Construction and Use) Regulations 1986"
TANDEM_UP_TO_M = 2.5
FACTORS = {2: 6_000, 3: 5_500, 4: 5_000}
"""kg of gross weight for each metre between the outer axles of a rigid truck."""
RIGID = {2: (18_000, 18_000), 3: (25_000, 26_000), 4: (30_000, 32_000)}
ARTICULATED: dict[int, tuple[int | None, int]] = {
    3: (None, 26_000),
    4: (36_000, 38_000),
    5: (40_000, 40_000),
    6: (40_000, 44_000),
}
"""kg without and with road-friendly suspension; None: no figure was found."""
DRIVING_AT_44_T_KG = 10_500
OLDER_RIGID = {2: 17_000, 3: 25_000, 4: 30_000}


def uk_limits(layout: AxleLayout) -> tuple[LimitSet, ...]:
    """The ways to keep the Authorised Weight Regulations: as the truck is sprung, and, with
    twin tyres on each driving axle, with no more than 9.5 t on each of those.

    Raises Refused for axles of which no figure was found.
    """
    ways = []
    if layout.driven_twins:
        driving = DRIVING_KG if layout.road_friendly else TWIN_DRIVING_KG
        ways.append(_set(layout, softly=True, driving_kg=driving))
    plain = _set(layout, softly=False, driving_kg=DRIVING_KG)
    found = tuple(own for own in (*ways, plain) if own is not None)
    if not found:
        raise _unknown(layout)
    return found


def older_limits(layout: AxleLayout) -> tuple[LimitSet, ...]:
    """Gross weights of rigid trucks by the Construction and Use Regulations.

    Raises Refused for a combination.
    """
    count = min(len(layout.axles), 4)
    if layout.trailer_axles:
        raise _unknown(layout)
    gross = whole(layout, OLDER_RIGID[count], f"rigid truck with {count} axles")
    return (LimitSet((gross,), OLDER_SOURCE, ("limits on axles and their distances",)),)


def _set(layout: AxleLayout, *, softly: bool, driving_kg: int) -> LimitSet | None:
    gross = _gross_kg(layout, softly=softly)
    if gross is None:
        return None
    if gross > 40_000:
        driving_kg = min(driving_kg, DRIVING_AT_44_T_KG)

    def tandem(driven: bool, apart_m: float) -> int:  # noqa: FBT001
        return _tandem_kg(apart_m, driven=driven, softly=softly)

    below = TANDEM_UP_TO_M + 0.001
    kind = "articulated truck" if layout.trailer_axles else "rigid truck"
    limits: list[GroupLimit] = [
        *single_limits(layout, driving_kg),
        *tandem_limits(layout, tandem, below_m=below, trailer=False),
        *tandem_limits(layout, tandem, below_m=below, trailer=True),
        *triaxle_limits(layout, below_m=1.8, trailer_only=False),
        whole(layout, gross, f"{kind} with {len(layout.axles)} axles"),
    ]
    if not layout.trailer_axles:
        limits.append(_spread(layout))
    left = ("the distance from kingpin to axles",) if layout.trailer_axles else ()
    return LimitSet(tuple(limits), SOURCE, left)


def _gross_kg(layout: AxleLayout, *, softly: bool) -> int | None:
    table = ARTICULATED if layout.trailer_axles else RIGID
    plain, soft = (
        table[min(len(layout.axles), max(table))] if _listed(layout) else (None, None)
    )
    return soft if softly else plain


def _listed(layout: AxleLayout) -> bool:
    """Combinations are those of a tractor and a semi-trailer; drawbars have other figures."""
    if not layout.trailer_axles:
        return True
    return layout.kingpin_m is not None and len(layout.axles) in ARTICULATED


def _spread(layout: AxleLayout) -> GroupLimit:
    count = len(layout.axles)
    metres = round(layout.length_m(0, count - 1), 3)
    kg = 10 * math.ceil(round(metres * FACTORS[min(count, 4)] / 10, 6))
    return GroupLimit(
        0, count - 1, kg, f"{metres:g} m between the outer axles: {kg:,} kg"
    )


def _tandem_kg(apart_m: float, *, driven: bool, softly: bool) -> int:
    if apart_m < 1.0:
        return 11_500 if driven else 11_000
    if apart_m < 1.3:
        return 16_000
    if driven:
        return 19_000 if softly else 18_000
    return 18_000 if apart_m < 1.8 else 20_000


def _unknown(layout: AxleLayout) -> Refused:
    return refuse(
        "no_limit_for_axles",
        field="rule",
        given=f"{len(layout.axles)} axles, {layout.trailer_axles} of a trailer",
        message="no British gross weight is known here for these axles",
        remedy='Correct the axles, or give the plated weight with "rule": "plain".',
    )
