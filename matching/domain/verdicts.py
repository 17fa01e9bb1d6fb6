"""A verdict carries its reasons, and cautions that do not decide it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """The outcome of a judgement."""

    FIT = "fit"
    FIT_WITH_SAND = "fit_with_sand"
    FIT_AS_RICH_PART = "fit_as_rich_part"
    FIT_WITH_RICHER_SOIL = "fit_with_richer_soil"
    NOT_UNTIL = "not_until"
    UNFIT = "unfit"


@dataclass(frozen=True, slots=True)
class Reason:
    """One ground of a verdict."""

    code: str
    found: str
    wanted: str
    text: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a material may be allotted, with the reasons that decide it and cautions
    that do not."""

    standing: Standing
    reasons: tuple[Reason, ...]
    cautions: tuple[Reason, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether the material may be allotted to a wall."""
        return self.standing not in (Standing.NOT_UNTIL, Standing.UNFIT)
