"""Where a sample was taken, and the checks that all evidence shares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from logistics.domain.errors import refuse

DEEPEST_M = 30.0


@dataclass(frozen=True, slots=True)
class Sample:
    """A handful of earth and its label. `source` is the key of the offer or pit, `place`
    where in it, depths are below the surface. `rained_since`: rain fell on the open heap
    or pit after the sample was taken.

    Raises Refused: no source, no tester, depths negative, beyond 30 m or upside down.
    """

    source: str
    place: str
    depth_from_m: float
    depth_to_m: float
    taken_on: date
    tester: str
    rained_since: bool = False

    def __post_init__(self) -> None:
        for field in ("source", "tester"):
            if not getattr(self, field).strip():
                raise refuse(
                    "label_incomplete",
                    field=f"sample.{field}",
                    given="nothing",
                    message="a sample without a label proves nothing",
                    remedy="Say which heap it is from and who tested it.",
                )
        check("sample.depth_from_m", self.depth_from_m, 0, DEEPEST_M, "metres down")
        check("sample.depth_to_m", self.depth_to_m, 0, DEEPEST_M, "metres down")
        if self.depth_to_m < self.depth_from_m:
            raise refuse(
                "depths_upside_down",
                field="sample.depth_to_m",
                given=f"{self.depth_from_m:g} to {self.depth_to_m:g}",
                message="the lower depth must not be above the upper",
                remedy="Give metres below the surface, the shallower first.",
            )


def check(field: str, value: float, low: float, high: float, unit: str) -> None:
    """Raise Refused ("figure_out_of_range") unless low <= value <= high."""
    if not (math.isfinite(value) and low <= value <= high):
        raise refuse(
            "figure_out_of_range",
            field=field,
            given=value,
            message=f"must be {low:g} to {high:g} {unit}",
            remedy="Measure again, and mind the unit.",
        )


def check_given(field: str, *values: object) -> None:
    """Raise Refused ("nothing_observed") when every value is None."""
    if all(value is None for value in values):
        raise refuse(
            "nothing_observed",
            field=field,
            given="nothing",
            message="the record holds no observation",
            remedy="Give at least one of these.",
        )
