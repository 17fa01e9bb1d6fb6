"""When a test no longer stands for the heap: another source, another depth, or rain."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from matching.domain.soil.samples import Sample, check

# Soil changes "within a few feet" (builders' reports, seen): a foot of margin is ours.
DEPTH_MARGIN_M = 0.30


class NewTestCode(StrEnum):
    """Why a new test is asked for."""

    SOURCE = "new_source"
    DEPTH = "new_depth"
    RAIN = "rain"


@dataclass(frozen=True, slots=True)
class NewTest:
    """A reason to test again. `clay_stands`: the clay share is still good, only moisture
    and what hangs on it (buckets, weights, water to add) must be measured anew."""

    code: NewTestCode
    text: str
    clay_stands: bool = False


@dataclass(frozen=True, slots=True)
class Heap:
    """What is to be judged: the source's key and the depths that are dug (m below the
    surface). None: not known. `rained_since`: rain fell since the sample was taken.
    Raises Refused for depths out of range."""

    source: str
    depth_from_m: float | None = None
    depth_to_m: float | None = None
    rained_since: bool = False

    def __post_init__(self) -> None:
        for name in ("depth_from_m", "depth_to_m"):
            depth = getattr(self, name)
            if depth is not None:
                check(f"heap.{name}", depth, 0, 30, "metres down")


def needs_new_test(sample: Sample, heap: Heap) -> NewTest | None:
    """The gravest reason why a sample does not stand for a heap, or None.

    Rain moves water, not clay: it makes dug earth heavier, changes how much sand a bucket
    holds and how hands and balls read, so moisture is asked for anew and the clay stands.
    """
    if sample.source != heap.source:
        return NewTest(
            NewTestCode.SOURCE,
            f"The sample is from {sample.source}, the earth from {heap.source}: a new"
            " source is a new soil. Test it before it is mixed.",
        )
    if _elsewhere(sample, heap):
        return NewTest(
            NewTestCode.DEPTH,
            f"The sample stands for {sample.depth_from_m:g}-{sample.depth_to_m:g} m, the"
            f" earth comes from {_depths(heap)}: another layer may be another soil.",
        )
    if sample.rained_since or heap.rained_since:
        return NewTest(
            NewTestCode.RAIN,
            "It rained since: the clay share stands, but weigh and dry a sample again"
            " before counting buckets, loads or water.",
            clay_stands=True,
        )
    return None


def _elsewhere(sample: Sample, heap: Heap) -> bool:
    above = (
        heap.depth_from_m is not None
        and heap.depth_from_m < sample.depth_from_m - DEPTH_MARGIN_M - 1e-9
    )
    below = (
        heap.depth_to_m is not None
        and heap.depth_to_m > sample.depth_to_m + DEPTH_MARGIN_M + 1e-9
    )
    return above or below


def _depths(heap: Heap) -> str:
    known = [
        f"{depth:g}"
        for depth in (heap.depth_from_m, heap.depth_to_m)
        if depth is not None
    ]
    return "-".join(known) + " m"
