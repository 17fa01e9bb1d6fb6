"""The rule sets by name."""

from __future__ import annotations

from enum import StrEnum

from logistics.domain.legal.axles import AxleLayout
from logistics.domain.legal.eu_directive import eu_limits
from logistics.domain.legal.limits import LimitSet
from logistics.domain.legal.uk_weights import older_limits, uk_limits
from logistics.domain.legal.us_bridge import us_limits


class WeightRule(StrEnum):
    """By which rule the gross weight of a truck is found."""

    PLAIN = "plain"
    US = "us_bridge"
    EU = "eu_96_53"
    UK = "uk_aw"
    UK_OLDER = "uk_cu"


RULE_WORDS = {
    WeightRule.PLAIN: "the payload as given",
    WeightRule.US: "US bridge formula and axle limits",
    WeightRule.EU: "EU Directive 96/53/EC",
    WeightRule.UK: "UK Authorised Weight Regulations",
    WeightRule.UK_OLDER: "UK Construction and Use Regulations",
}


def limit_sets(rule: WeightRule, layout: AxleLayout) -> tuple[LimitSet, ...]:
    """The ways to keep a rule; none for a plain payload.

    Raises Refused for axles of which the rule says nothing.
    """
    if rule is WeightRule.US:
        return us_limits(layout)
    if rule is WeightRule.EU:
        return eu_limits(layout)
    if rule is WeightRule.UK:
        return uk_limits(layout)
    return older_limits(layout) if rule is WeightRule.UK_OLDER else ()
