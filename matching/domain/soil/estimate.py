"""From all evidence on a soil to a clay share with its range, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from logistics.domain.quantities import Spread
from matching.domain.soil.combine import combine, cut_to, fitting_silt, within_all
from matching.domain.soil.evidence import ClayWindow, Finding, Record, Rung, ranged
from matching.domain.soil.findings import as_hint, read_records
from matching.domain.soil.nexttests import NextTest, worth_testing
from matching.domain.soil.readings.mixes import quarrels
from matching.domain.soil.staleness import Heap, NewTest, NewTestCode, needs_new_test
from matching.domain.soil.texture import Texture, texture_of, textures_within
from matching.domain.soil.trials import MixTrial, StandingWall

# Nothing is known: any share. The likely one is what take-offs assume of unknown soil.
UNKNOWN_CLAY = Spread(0.0, 0.30, 1.0)


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two pieces of evidence that cannot both be right, and which weighs more."""

    kinds: tuple[str, str]
    text: str


@dataclass(frozen=True, slots=True)
class SetAside:
    """A record that does not stand for the heap, and why."""

    kind: str
    reason: NewTest


@dataclass(frozen=True, slots=True)
class SoilEstimate:
    """What is known of a soil. Shares are of dry mass: clay and silt (USDA) of what passes
    2 mm, stones and organic of the whole; None: nothing speaks of it.

    `rung` is the best evidence on clay; `jar_decides`: nothing better than a jar, and a
    jar never decides alone. `textures`: the likely class first, then any other that the
    ranges touch. `stale`: samples of these findings that ask for a new test.
    """

    clay: Spread
    silt: Spread | None
    stones: Spread | None
    organic: Spread | None
    rung: Rung
    jar_decides: bool
    findings: tuple[Finding, ...]
    contradictions: tuple[Contradiction, ...]
    textures: tuple[Texture, ...]
    next_tests: tuple[NextTest, ...]
    set_aside: tuple[SetAside, ...] = ()
    stale: tuple[NewTest, ...] = ()


def estimate(
    records: Iterable[Record],
    *,
    heap: Heap | None = None,
    window: ClayWindow | None = None,
) -> SoilEstimate:
    """Weigh all records of a soil; see `combine` for the rule.

    With a heap, records of another source are set aside, those of another depth count as a
    hint only, and rain is noted. The order of records does not matter.
    """
    window = window or ClayWindow()
    once = tuple(dict.fromkeys(records))
    kept, hints, aside, stale = _sorted_by_heap(once, heap)
    findings = _ordered(
        (
            *read_records(kept, window),
            *(as_hint(finding) for finding in read_records(hints, window)),
        )
    )
    tried = tuple(
        record for record in kept if isinstance(record, MixTrial | StandingWall)
    )
    return _estimate(
        findings,
        window,
        contradictions_of(findings, tried),
        set_aside=aside,
        stale=stale,
    )


def estimate_of(
    findings: Iterable[Finding], window: ClayWindow | None = None
) -> SoilEstimate:
    """Weigh findings that were read already. Widening any of them never narrows a range,
    as long as no bound is among them: see `combine`."""
    found = _ordered(findings)
    return _estimate(found, window or ClayWindow(), contradictions_of(found))


def _estimate(
    findings: tuple[Finding, ...],
    window: ClayWindow,
    contradictions: tuple[Contradiction, ...],
    *,
    set_aside: tuple[SetAside, ...] = (),
    stale: tuple[NewTest, ...] = (),
) -> SoilEstimate:
    clay = _share(findings, "clay") or UNKNOWN_CLAY
    silt = _share(findings, "silt")
    if silt is not None:
        silt = fitting_silt(clay, silt)
    stones, organic = _share(findings, "stones"), _share(findings, "organic")
    # Bounds count for the rung only where there is nothing else.
    rung = _tested(findings) or max(
        (found.rung for found in findings if found.clay is not None),
        default=Rung.NOTHING,
    )
    return SoilEstimate(
        clay=clay,
        silt=silt,
        stones=stones,
        organic=organic,
        rung=rung,
        jar_decides=rung is Rung.JAR,
        findings=findings,
        contradictions=contradictions,
        textures=textures_for(clay, silt),
        next_tests=worth_testing(
            clay,
            _tested(findings),
            window,
            stones_known=stones is not None,
            organic_known=organic is not None,
        ),
        set_aside=set_aside,
        stale=stale,
    )


def next_tests(
    found: SoilEstimate, window: ClayWindow | None = None
) -> tuple[NextTest, ...]:
    """What to test next for another window than the estimate was made with."""
    return worth_testing(
        found.clay,
        _tested(found.findings),
        window or ClayWindow(),
        stones_known=found.stones is not None,
        organic_known=found.organic is not None,
    )


def contradictions_of(
    findings: tuple[Finding, ...], tried: tuple[MixTrial | StandingWall, ...] = ()
) -> tuple[Contradiction, ...]:
    """Pairs of findings whose clay ranges do not meet, and mixes that quarrel."""
    found = [
        Contradiction((one.kind, other.kind), _against(one, other))
        for one, other in combinations(findings, 2)
        if _apart(one.clay, other.clay)
    ]
    found.extend(Contradiction(("mix", "mix"), text) for text in quarrels(tried))
    return tuple(found)


def explain(found: SoilEstimate) -> tuple[str, ...]:
    """The estimate in lines of text: result, grounds, contradictions, doubts."""
    first = f"Clay {ranged(found.clay)} of dry mass; best evidence: {found.rung.words}."
    lines = [first]
    if found.jar_decides:
        lines.append("Only a jar speaks so far, and a jar never decides alone.")
    if found.silt is not None:
        lines.append(f"Silt (USDA) {ranged(found.silt)}.")
    names = [texture.words for texture in found.textures]
    others = f"; it may also be {', '.join(names[1:])}" if names[1:] else ""
    lines.append(f"Texture: {names[0]}{others}.")
    if found.stones is not None:
        lines.append(f"Stones {ranged(found.stones)}.")
    if found.organic is not None:
        organic = found.organic
        lines.append(
            f"Organic matter {organic.low * 100:.1f} to {organic.high * 100:.1f} %."
        )
    lines.extend(f"{finding.says} {finding.doubt}" for finding in found.findings)
    lines.extend(f"Contradiction: {quarrel.text}" for quarrel in found.contradictions)
    lines.extend(f"Not counted: {aside.reason.text}" for aside in found.set_aside)
    lines.extend(reason.text for reason in found.stale)
    return tuple(lines)


def _sorted_by_heap(
    records: tuple[Record, ...], heap: Heap | None
) -> tuple[
    tuple[Record, ...], tuple[Record, ...], tuple[SetAside, ...], tuple[NewTest, ...]
]:
    """Records that count, that are hints, that are set aside, and reasons to test anew."""
    if heap is None:
        return records, (), (), ()
    kept: list[Record] = []
    hints: list[Record] = []
    aside: list[SetAside] = []
    stale: dict[NewTest, None] = {}
    for record in records:
        reason = needs_new_test(record.sample, heap)
        if reason is None:
            kept.append(record)
            continue
        if reason.code is NewTestCode.SOURCE:
            aside.append(SetAside(record.kind, reason))
            continue
        stale[reason] = None
        (kept if reason.clay_stands else hints).append(record)
    ordered = sorted(stale, key=lambda reason: (reason.code, reason.text))
    aside.sort(key=lambda one: (one.kind, one.reason.text))
    return tuple(kept), tuple(hints), tuple(aside), tuple(ordered)


def _ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(
        sorted(
            findings,
            key=lambda one: (
                -one.rung,
                one.kind,
                one.sample.taken_on,
                one.says,
                repr(one),
            ),
        )
    )


def _share(findings: tuple[Finding, ...], name: str) -> Spread | None:
    told = [
        (share, found)
        for found in findings
        if (share := getattr(found, name)) is not None
    ]
    votes = [(share, own.rung) for share, own in told if not own.bound]
    range_ = combine([(share, rung.weight) for share, rung in votes])
    if range_ is None:
        return within_all([(share, own.rung.weight) for share, own in told])
    # What is known of another depth cuts nothing that was tested here.
    best = max(rung for _, rung in votes)
    return cut_to(
        range_, [share for share, own in told if own.bound and own.rung >= best]
    )


def _tested(findings: tuple[Finding, ...]) -> Rung:
    """The best rung that tells how much clay there is, not only how much at most."""
    return max(
        (own.rung for own in findings if own.clay is not None and not own.bound),
        default=Rung.NOTHING,
    )


def textures_for(clay: Spread, silt: Spread | None) -> tuple[Texture, ...]:
    """The likely class first, then any other that the ranges touch."""
    rest = (1 - clay.likely) / 2 if silt is None else silt.likely
    likely = texture_of(clay.likely, min(rest, 1 - clay.likely))
    others = textures_within(clay, silt)
    return (likely, *(texture for texture in others if texture is not likely))


def _apart(one: Spread | None, other: Spread | None) -> bool:
    if one is None or other is None:
        return False
    return one.high < other.low or other.high < one.low


def _against(one: Finding, other: Finding) -> str:
    told = " ".join(
        f"{found.rung.words.capitalize()} ({found.kind.replace('_', ' ')}) says"
        f" {ranged(found.clay)} clay."
        for found in (one, other)
        if found.clay is not None
    )
    if one.bound is not other.bound:
        return (
            f"{told} The range reaches to the edge of the mix that failed: test again."
        )
    if one.rung is other.rung:
        return f"{told} They weigh the same, so the range covers both: test again."
    heavier = max(one, other, key=lambda found: found.rung)
    return f"{told} They cannot both be right; {heavier.rung.words} weighs more."
