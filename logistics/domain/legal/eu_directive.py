"""The limits of Council Directive 96/53/EC, annex I, on weights.

Gross weights were read on legislation.gov.uk/eudr/1996/53/annexes and
transportxxl.eu/vehicle_weights-3.html, axles on transportxxl.eu/axle_loads-9.html. They bind
international traffic; many states keep the same at home. What zero-emission trucks may weigh
more is left out.
"""

from __future__ import annotations

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

SOURCE = "Directive 96/53/EC, annex I"
TANDEM_BELOW_M = 1.8
UNCHECKED = ("a quarter of the weight on the driving axles", "national limits")


def eu_limits(layout: AxleLayout) -> tuple[LimitSet, ...]:
    """The ways to keep the Directive: as the truck is sprung, and, with twin tyres on each
    driving axle, with no more than 9.5 t on each of those.

    Raises Refused for axles of which the Directive says nothing.
    """
    ways = []
    if layout.driven_twins and layout.road_friendly:
        ways.append(_set(layout, softly=True, driving_kg=DRIVING_KG))
    elif layout.driven_twins:
        ways.append(_set(layout, softly=True, driving_kg=TWIN_DRIVING_KG))
    gentle = bool(ways)
    if _gross_kg(layout, softly=False) is not None:
        ways.append(_set(layout, softly=False, driving_kg=DRIVING_KG))
    elif not gentle:
        raise _unknown(layout)
    return tuple(ways)


def _set(layout: AxleLayout, *, softly: bool, driving_kg: int) -> LimitSet:
    def tandem(driven: bool, apart_m: float) -> int:  # noqa: FBT001
        del driven
        return _tandem_kg(apart_m, on_trailer=False, softly=softly)

    def behind(driven: bool, apart_m: float) -> int:  # noqa: FBT001
        del driven
        return _tandem_kg(apart_m, on_trailer=True, softly=softly)

    gross = _gross_kg(layout, softly=softly)
    if gross is None:
        raise _unknown(layout)
    kind = "combination" if layout.trailer_axles else "motor vehicle"
    name = f"{kind} with {len(layout.axles)} axles"
    limits: list[GroupLimit] = [
        *single_limits(layout, driving_kg),
        *tandem_limits(layout, tandem, below_m=TANDEM_BELOW_M, trailer=False),
        *tandem_limits(layout, behind, below_m=TANDEM_BELOW_M, trailer=True),
        *triaxle_limits(layout, below_m=TANDEM_BELOW_M, trailer_only=True),
        whole(layout, gross, name),
    ]
    own = len(layout.own)
    if own == 4:
        # Point 4.3 of annex I; for the motor vehicle alone.
        spread = layout.length_m(0, 3)
        limits.append(
            GroupLimit(
                0, 3, spread * 5_000, f"5 t for each of {spread:g} m between axles"
            )
        )
    return LimitSet(tuple(limits), SOURCE, UNCHECKED)


def _gross_kg(layout: AxleLayout, *, softly: bool) -> int | None:
    """Gross weight; `softly`: twin tyres, and air suspension or 9.5 t a driving axle."""
    count = len(layout.axles)
    if layout.trailer_axles:
        return _combination_kg(layout, softly=softly)
    if count == 4:
        steered = sum(axle.steered for axle in layout.axles)
        return 32_000 if steered >= 2 and softly else None
    return {2: 18_000, 3: 26_000 if softly else 25_000}.get(count)


def _combination_kg(layout: AxleLayout, *, softly: bool) -> int | None:
    count = len(layout.axles)
    if count == 4 and len(layout.own) == 2:
        semi = layout.kingpin_m is not None
        wide = semi and layout.length_m(2, 3) > TANDEM_BELOW_M
        return 38_000 if wide and softly and layout.road_friendly else 36_000
    return 40_000 if count in (5, 6) and len(layout.own) in (2, 3) else None


def _tandem_kg(apart_m: float, *, on_trailer: bool, softly: bool) -> int:
    if apart_m < 1.0:
        return 11_000 if on_trailer else 11_500
    if apart_m < 1.3:
        return 16_000
    return 19_000 if softly and not on_trailer else 18_000


def _unknown(layout: AxleLayout) -> Refused:
    return refuse(
        "no_limit_for_axles",
        field="rule",
        given=f"{len(layout.axles)} axles, {layout.trailer_axles} of a trailer",
        message="Directive 96/53/EC has no gross weight for these axles; four need two"
        " that steer, and twin tyres on the driving axles",
        remedy='Correct the axles, or give the plated weight with "rule": "plain".',
    )
