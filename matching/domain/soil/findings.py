"""From records to findings: each kind read by its own reading, trials read together."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import ClayWindow, Finding, Record, Rung, bounded
from matching.domain.soil.readings.boxes import read_box
from matching.domain.soil.readings.hands import (
    read_ball,
    read_ribbon,
    read_roll,
    read_screen,
    read_smell,
)
from matching.domain.soil.readings.jar import read_jar
from matching.domain.soil.readings.laboratory import read_laboratory
from matching.domain.soil.readings.mixes import read_mixes
from matching.domain.soil.readings.names import read_map, read_ticked
from matching.domain.soil.trials import MixTrial, StandingWall

_READINGS: dict[str, Callable[[Any], Finding]] = {
    "jar": read_jar,
    "laboratory": read_laboratory,
    "shrinkage_box": read_box,
    "ribbon": read_ribbon,
    "ball_drop": read_ball,
    "roll": read_roll,
    "smell_and_colour": read_smell,
    "stone_screen": read_screen,
    "ticked": read_ticked,
    "soil_map": read_map,
}
# A sample from another depth of the same pit is a hint and no more (ours).
ELSEWHERE_POINTS = 0.10


def read_record(record: Record, window: ClayWindow | None = None) -> Finding:
    """What one record says by itself."""
    if isinstance(record, MixTrial | StandingWall):
        return read_mixes((record,), window or ClayWindow())[0]
    return _READINGS[record.kind](record)


def read_records(
    records: Iterable[Record], window: ClayWindow | None = None
) -> tuple[Finding, ...]:
    """What all records of one soil say. The same record given twice counts once; trials
    and walls are read as one series."""
    once = tuple(dict.fromkeys(records))
    tried = tuple(
        record for record in once if isinstance(record, MixTrial | StandingWall)
    )
    mixed = dict(zip(tried, read_mixes(tried, window or ClayWindow()), strict=True))
    return tuple(
        mixed[record]
        if isinstance(record, MixTrial | StandingWall)
        else read_record(record)
        for record in once
    )


def as_hint(finding: Finding) -> Finding:
    """The finding of a sample from elsewhere in the same pit: the rung of a map, widened
    by 10 points."""
    return replace(
        finding,
        rung=min(finding.rung, Rung.MAP),
        clay=_wider(finding.clay),
        silt=_wider(finding.silt),
        stones=_wider(finding.stones),
        organic=_wider(finding.organic),
        doubt=f"Taken at another depth, so it counts as a hint only. {finding.doubt}",
    )


def _wider(share: Spread | None) -> Spread | None:
    if share is None:
        return None
    return bounded(
        share.low - ELSEWHERE_POINTS, share.likely, share.high + ELSEWHERE_POINTS
    )
