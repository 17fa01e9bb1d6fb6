"""Grounds of a judgement on sand or straw, and how the worst of them decides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import Literal

StandingName = Literal["fit", "not_until", "unfit"]


class Known(StrEnum):
    """An answer that a holder may not have."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Level(IntEnum):
    """How far a finding settles the matter; the greatest decides."""

    CAUTION = 0
    FIT = 1
    NOT_UNTIL = 2
    UNFIT = 3


@dataclass(frozen=True, slots=True)
class Ground:
    """What was found, what is wanted, and what follows, in words for a person."""

    code: str
    found: str
    wanted: str
    text: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A ground with its level."""

    level: Level
    ground: Ground


_NAMES: dict[Level, StandingName] = {
    Level.CAUTION: "fit",
    Level.FIT: "fit",
    Level.NOT_UNTIL: "not_until",
    Level.UNFIT: "unfit",
}


def settle(
    findings: Iterable[Finding],
) -> tuple[StandingName, tuple[Ground, ...], tuple[Ground, ...]]:
    """Standing, the grounds that decide it (the worst first, then lesser faults, or the
    good ones when there is no fault), and the cautions that do not."""
    ordered = sorted(findings, key=lambda finding: -finding.level)
    top = ordered[0].level if ordered else Level.FIT
    least = Level.NOT_UNTIL if top > Level.FIT else Level.FIT
    grounds = tuple(each.ground for each in ordered if each.level >= least)
    cautions = tuple(each.ground for each in ordered if each.level is Level.CAUTION)
    return _NAMES[top], grounds, cautions


def percent(share: float) -> str:
    """A share as a person reads it, to a tenth of a per cent."""
    return f"{share * 100:.1f} %"
