"""What may be loaded: gross limit less tare, and which limit set it, in words.

Nothing here calls a truck or a route legal: it says which figures were compared. The plated
weight, posted signs and the driver decide.
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import Refused, refuse
from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.limits import (
    GroupCheck,
    GroupLimit,
    LimitSet,
    centred_load,
    checks,
    most_gross,
)
from logistics.domain.legal.rules import RULE_WORDS, WeightRule, limit_sets

DECIDES = "Plated weight, posted signs and the driver decide."


@dataclass(frozen=True, slots=True)
class LegalLoad:
    """What a rule leaves a truck to load, kg.

    `payload_kg` is `gross_kg` less `tare_kg`, if the load may lie anywhere; `binds` says
    which limit sets the gross. `centred_kg` is what may lie in the middle of the body, and
    `centred_binds` what stops it there; `groups` are the axles under `payload_kg` in the
    middle; None and empty where axle tares or the body's middle are not known.
    """

    rule: WeightRule
    gross_kg: int
    tare_kg: int
    payload_kg: int
    binds: str
    source: str
    unchecked: tuple[str, ...] = ()
    groups: tuple[GroupCheck, ...] = ()
    centred_kg: int | None = None
    centred_binds: str = ""

    @property
    def loaded_kg(self) -> int:
        """What a plan loads: as much as keeps the gross limit, and the axles too where
        the load lies in the middle of the body."""
        if self.centred_kg is None:
            return self.payload_kg
        return min(self.payload_kg, self.centred_kg)

    @property
    def binding(self) -> str:
        """The limit that sets `loaded_kg`, in words."""
        if self.centred_kg is not None and self.centred_kg < self.payload_kg:
            return f"{self.centred_binds}, with the load in the middle of the body"
        return self.binds


def legal_load(
    layout: AxleLayout,
    rule: WeightRule,
    *,
    plated_kg: int | None = None,
    stated_kg: int | None = None,
    share: float = 1.0,
    season: str = "",
) -> LegalLoad:
    """The largest load by a rule, or by the plate or the payload that its owner states
    (`stated_kg`) where one of them is less.

    `share` below 1 cuts every limit, as a thaw does (`season` says it in words); the tare
    stays, so the payload falls further. Raises Refused where the rule has no figure, where
    nothing limits the truck, and where the empty truck is too heavy already.
    """
    found = [
        _load(
            layout, rule, _with_plate(layout, own, plated_kg, stated_kg), share, season
        )
        for own in limit_sets(rule, layout) or (LimitSet((), "the weight given"),)
    ]
    best = max(found, key=lambda own: own.loaded_kg)
    if best.loaded_kg <= 0:
        raise _too_heavy(layout, best)
    return best


def _with_plate(
    layout: AxleLayout, own: LimitSet, plated_kg: int | None, stated_kg: int | None
) -> LimitSet:
    last, more = len(layout.axles) - 1, []
    if plated_kg is not None:
        words = f"plated weight: {plated_kg:,} kg"
        more.append(GroupLimit(0, last, plated_kg, words))
    if stated_kg is not None:
        words = f"payload stated: {stated_kg:,} kg"
        more.append(GroupLimit(0, last, stated_kg + layout.tare_kg, words))
    return LimitSet((*own.limits, *more), own.source, own.unchecked)


def _load(
    layout: AxleLayout, rule: WeightRule, own: LimitSet, share: float, season: str
) -> LegalLoad:
    if share < 1:
        own = own.reduced(share, season or f"cut to {share * 100:g} %")
    tares = layout.axle_tares or (0,) * len(layout.axles)
    most = most_gross(own.limits, tares, len(layout.axles))
    if most is None:
        raise _unlimited(own)
    gross = int(most.kg + 1e-6)
    payload = max(gross - layout.tare_kg, 0)
    middle = centred_load(layout, own.limits)
    return LegalLoad(
        rule=rule,
        gross_kg=gross,
        tare_kg=layout.tare_kg,
        payload_kg=payload,
        binds=" + ".join(dict.fromkeys(limit.words for limit in most.binds)),
        source=own.source,
        unchecked=own.unchecked,
        groups=checks(layout, own.limits, payload),
        centred_kg=None if middle is None else int(middle[0] + 1e-6),
        centred_binds="" if middle is None else middle[1].words,
    )


def _unlimited(own: LimitSet) -> Refused:
    if own.limits:
        return refuse(
            "empty_too_heavy",
            field="axles",
            given="tares of the axles",
            message="an axle carries more than its limit when the truck is empty",
            remedy="Correct the tare_kg of the axles.",
        )
    return refuse(
        "payload_unknown",
        field="payload_kg",
        given="none",
        message="nothing says what the truck may weigh",
        remedy="Give payload_kg, plated_gross_kg, or axles with a rule other than plain"
        f" ({RULE_WORDS[WeightRule.US]}, ...).",
    )


def _too_heavy(layout: AxleLayout, best: LegalLoad) -> Refused:
    return refuse(
        "empty_too_heavy",
        field="tare_kg",
        given=layout.tare_kg,
        message=f"nothing may be loaded: {best.binding}",
        remedy="Correct the tare, the axles or the rule.",
    )
