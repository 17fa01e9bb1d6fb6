"""Whether a sand makes a wall: what the yard calls it, what the sieves say, what it carries.

Cob is not concrete. The limits of ASTM C33 show where a sand departs from what is known to
lock together; they are no bar. Concrete or "reject" sand with rough edges is asked for,
rounded ocean sand slides (a cob builder's handbook, seen); beach and desert sand are too
rounded (a builders' letter, seen).
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import Refused
from logistics.domain.quantities import Spread
from matching.domain.grading import Grading
from matching.domain.grounds import (
    Finding,
    Ground,
    Known,
    Level,
    StandingName,
    settle,
)
from matching.domain.sands.classes import sand_class
from matching.domain.sands.fineness import fineness_range
from matching.domain.sands.limits import Departure, Limit, departures
from matching.domain.sands.origin import (
    bulking_findings,
    name_finding,
    salt_findings,
    shape_findings,
)
from matching.domain.sands.records import SandRecord
from matching.domain.sands.sieved import fines_findings, size_findings


@dataclass(frozen=True, slots=True)
class SandJudgement:
    """The standing of a sand for large walls, the grounds that decide it, cautions that do
    not, and the figures: ASTM fineness modulus (None when the sieves do not give it),
    departures from ASTM C33, Unified class names still open (none for what is no sand)."""

    standing: StandingName
    grounds: tuple[Ground, ...]
    cautions: tuple[Ground, ...]
    fineness: float | None
    departures: tuple[Departure, ...]
    symbols: tuple[str, ...]


def judge_sand(
    record: SandRecord, clay: Spread | None = None, silt: Spread | None = None
) -> SandJudgement:
    """Judge a sand for cob walls. A sieve result overrules the name at the yard on how
    coarse the sand is, and both are reported; it says nothing of shape or salt.

    `clay` and `silt`, shares of dry mass, are those that the mix is worked out with: a sand
    of more than 12 % of both is as dirty as one whose fines were sieved."""
    standing, grounds, cautions = settle(
        [
            *_size(record),
            *shape_findings(record),
            *salt_findings(record),
            *fines_findings(record.grading, record.fines, _earthy(clay, silt)),
            *bulking_findings(record),
        ]
    )
    grading = record.grading
    return SandJudgement(
        standing,
        grounds,
        cautions,
        None if grading is None else _modulus(grading),
        () if grading is None else departures(grading, Limit.ASTM_C33),
        () if grading is None else _symbols(grading, record.clayey),
    )


def _earthy(clay: Spread | None, silt: Spread | None) -> tuple[float, ...]:
    # Silt that nobody told of counts for nothing: clay alone is the least of the fines.
    return tuple(share.likely for share in (clay, silt) if share is not None)


def _size(record: SandRecord) -> list[Finding]:
    named = name_finding(record.called)
    if record.grading is None:
        return [] if named is None else [named]
    sieved = size_findings(record.grading)
    decided = sieved[0]
    if named is None or named.ground.code == "name_unknown":
        return sieved
    if named.level is decided.level or decided.level is Level.NOT_UNTIL:
        return sieved
    overruled = Ground(
        "name_overruled",
        f"called {record.called} sand; sieves say {decided.ground.code.replace('_', ' ')}",
        "name and sieves that agree",
        "The sieves count, not the name; make sure that the sample is of this heap.",
    )
    return [*sieved, Finding(Level.CAUTION, overruled)]


def _modulus(grading: Grading) -> float | None:
    low, high = fineness_range(grading)
    return low if low == high else None


def _symbols(grading: Grading, clayey: Known) -> tuple[str, ...]:
    try:
        return sand_class(grading, clayey).symbols
    except Refused:
        return ()
