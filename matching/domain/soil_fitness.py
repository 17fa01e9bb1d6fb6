"""Whether a soil makes a wall: as dug, with sand, in a blend, not until, or not at all.

What forbids it comes first, then what must be settled, then how it is to be used. A trial
of the very mix, or a wall that stands, outweighs every figure (`soil.estimate`).
"""

from __future__ import annotations

from collections.abc import Iterator

from logistics.domain.quantities import Spread
from matching.domain.grounds import Known
from matching.domain.materials import History, Subsoil
from matching.domain.silt import guessed_silt
from matching.domain.soil.estimate import SoilEstimate
from matching.domain.soil.evidence import Rung
from matching.domain.soil.trials import MixTrial, Outcome, StandingWall
from matching.domain.takeoff import MixTarget
from matching.domain.tested import estimate_for
from matching.domain.verdicts import Reason, Standing, Verdict

# Practitioners want subsoil free of organic matter, because it rots and shrinks; 2 % of dry
# mass and 30 % of stones after screening are common practice, no source.
MOST_ORGANIC = 0.02
MOST_STONES = 0.30
# Rule of thumb: soil of 30-50 % clay is cut with sand (practitioners, seen quoted). Above
# that it takes so much sand, and soaks and mixes so slowly, that it serves best as the rich
# part beside a leaner soil.
RICH_PART = 0.50
# Topsoil is 0.1 to 0.3 m deep as a rule; common practice, no source.
TOPSOIL_M = 0.30
# A wider range that crosses both edges of the window tells nothing; ours.
MOST_WIDTH = 0.30
# Less sand than this is no recipe: buckets are not that exact; ours.
LEAST_PARTS = 0.05

BRICKS_FIRST = Reason(
    "test_bricks_first",
    "no trial of this very mix",
    "test bricks of the very mix",
    "Make test bricks with this soil before any truck moves: figures alone mislead.",
)
BRICKS_OF_EACH = Reason(
    "test_bricks_first",
    "a trial of this soil",
    "test bricks of what really came",
    "It has proved itself; make test bricks again of what really comes: earth changes"
    " within a few feet.",
)
WALL_CODES = Reason(
    "wall_codes",
    "figures on the soil",
    "tests of the mix",
    "No wall code that we know prescribes a share of clay. The residential code's cob"
    " appendix (IRC AU) asks that the mix shrink at most 25 mm in a 610 mm box and bear"
    " 60 psi (0.41 MPa), seen by the official before a wall is begun. Local code decides;"
    " walls that carry loads want a licensed professional.",
)


def judge_soil(soil: Subsoil, mix: MixTarget) -> Verdict:
    """The verdict on a soil for a mix, with what to test next."""
    known = estimate_for(soil, mix) if soil.tests else None
    proven = known is not None and known.rung >= Rung.TRIAL and _worked(soil)
    doubtful = tuple(_doubtful(soil))
    forbidden = (*_forbidden(soil), *(() if proven else doubtful))
    if forbidden:
        return Verdict(Standing.UNFIT, forbidden)
    clay = known.clay if known else soil.clay
    unsettled = (*_unsettled(soil, known), *_unknown(clay, known, mix))
    if unsettled:
        cautions = (*_cautions(known), WALL_CODES)
        return Verdict(Standing.NOT_UNTIL, (*unsettled, BRICKS_FIRST), cautions)
    standing, reason = _use(clay, _silt(soil, known), mix)
    bricks = BRICKS_OF_EACH if proven else BRICKS_FIRST
    # What a trial or a wall disproved is still told.
    overruled = doubtful if proven else ()
    cautions = (*overruled, *_cautions(known), WALL_CODES)
    return Verdict(standing, (reason, bricks), cautions)


def _worked(soil: Subsoil) -> bool:
    return any(
        isinstance(own, MixTrial | StandingWall) and own.outcome is Outcome.SOUND
        for own in soil.tests
    )


def _forbidden(soil: Subsoil) -> Iterator[Reason]:
    """What no brick can disprove."""
    if soil.topsoil:
        yield Reason(
            "topsoil",
            "topsoil",
            "subsoil",
            "Topsoil rots and shrinks in a wall; take the earth below it.",
        )
    if soil.salty is Known.YES:
        yield Reason(
            "salty",
            "salt in the ground",
            "ground without salt",
            "Salts draw water, bloom and break the surface of the wall.",
        )


def _doubtful(soil: Subsoil) -> Iterator[Reason]:
    """What forbids a soil unless a trial of it worked."""
    if soil.organic > MOST_ORGANIC:
        yield Reason(
            "organic",
            _percent(soil.organic),
            f"at most {_percent(MOST_ORGANIC)}",
            "Roots and humus rot in the wall.",
        )
    if soil.stones > MOST_STONES:
        yield Reason(
            "stony",
            _percent(soil.stones),
            f"at most {_percent(MOST_STONES)}",
            "Too stony to be worth screening.",
        )


def _unsettled(soil: Subsoil, known: SoilEstimate | None) -> Iterator[Reason]:
    if soil.history is not History.CLEAR:
        yield _history_reason(soil.history)
    smelled = known is not None and known.organic is not None
    if soil.depth_to_m is not None and soil.depth_to_m <= TOPSOIL_M and not smelled:
        yield Reason(
            "topsoil_depth",
            f"dug to {soil.depth_to_m:g} m",
            f"earth from below {TOPSOIL_M:g} m, or a smell test",
            "So near the surface it is topsoil as a rule: not until it has been smelled"
            " and looked through for roots.",
        )
    if soil.frozen:
        yield Reason(
            "frozen",
            "frozen ground",
            "thawed earth",
            "Frozen lumps hide their water and do not mix: not until it has thawed.",
        )


def _unknown(
    clay: Spread, known: SoilEstimate | None, mix: MixTarget
) -> Iterator[Reason]:
    """Where the clay share is so little known that no recipe can be meant."""
    found = f"{_percent(clay.low)} to {_percent(clay.high)} clay"
    best = [
        own.clay
        for own in (known.findings if known else ())
        if known and own.rung is known.rung and own.clay and not own.bound
    ]
    if best and max(own.low for own in best) > min(own.high for own in best):
        yield Reason(
            "evidence_quarrels",
            found,
            "evidence that agrees",
            "The best tests contradict each other: not until another one, or test"
            " bricks, says which is right. Were both samples of this heap?",
        )
    elif clay.high - clay.low > MOST_WIDTH and (
        clay.low < mix.clay_low and clay.high > mix.clay_high
    ):
        yield Reason(
            "clay_unknown",
            found,
            f"a range of at most {_percent(MOST_WIDTH)}",
            "At one end of what is known it wants a richer soil, at the other much sand:"
            " not until a test says which. A practised ribbon takes ten minutes, a"
            " laboratory or test bricks settle it.",
        )


def _history_reason(history: History) -> Reason:
    if history is History.SUSPECT:
        return Reason(
            "contamination_suspected",
            "suspect ground",
            "laboratory results",
            "Hands and feet knead this earth: not until a laboratory has cleared it. Never"
            " thin bad soil with clean soil. Local rules decide.",
        )
    return Reason(
        "history_unknown",
        "unknown history",
        "a statement of past use",
        "If nobody knows what stood there, do not take it: ask for address, past use and"
        " depth, look for rubble, stains and smell, test where in doubt.",
    )


def _silt(soil: Subsoil, known: SoilEstimate | None) -> float:
    silt = known.silt if known else soil.silt
    clay = known.clay if known else soil.clay
    return (silt or guessed_silt(clay)).likely


def _use(clay: Spread, silt: float, mix: MixTarget) -> tuple[Standing, Reason]:
    """How a sound soil is to be used, by its likely shares."""
    found = (
        f"{_percent(clay.likely)} ({_percent(clay.low)} to {_percent(clay.high)}) clay"
    )
    wanted = f"{_percent(mix.clay_low)} to {_percent(mix.clay_high)} in the mix"
    fines = clay.likely + silt
    if clay.likely < mix.clay_low:
        text = "Too lean alone: blend it with a richer soil."
        if fines > mix.fines_limit:
            text = (
                f"Too lean and too silty ({_percent(silt)}): it needs a richer soil, and"
                " sand for its silt. Hardly worth a truck."
            )
        return Standing.FIT_WITH_RICHER_SOIL, Reason("lean", found, wanted, text)
    for_silt = min(1.0, mix.fines_limit / fines)
    if clay.likely * for_silt < mix.clay_low:
        return Standing.FIT_WITH_RICHER_SOIL, Reason(
            "silty",
            f"{found}, {_percent(silt)} silt",
            f"{wanted}, clay and silt at most {_percent(mix.fines_limit)}",
            "Too silty alone: enough sand for its silt would leave too little clay. Blend"
            " it with a richer soil and sand.",
        )
    for_clay = mix.clay_target / clay.likely if clay.likely > mix.clay_high else 1.0
    cut = min(for_clay, for_silt)
    if 1 / cut - 1 < LEAST_PARTS:
        text = "Has the clay that the mix wants as it is dug."
        return Standing.FIT, Reason("ready", found, wanted, text)
    parts = f"Cut it with about {_parts(clay, silt, mix)} of sand by dry mass."
    if clay.likely > RICH_PART:
        return Standing.FIT_AS_RICH_PART, Reason(
            "rich_part",
            found,
            wanted,
            "Very rich: the rich part of a blend with a leaner soil. Soak it for days"
            f" before mixing. Alone: {parts[0].lower()}{parts[1:]}",
        )
    if for_silt < for_clay:
        wanted = f"{wanted}, clay and silt at most {_percent(mix.fines_limit)}"
        found, code = f"{found}, {_percent(silt)} silt", "silty_with_sand"
        return Standing.FIT_WITH_SAND, Reason(code, found, wanted, parts)
    return Standing.FIT_WITH_SAND, Reason("rich", found, wanted, parts)


def sand_parts(soil: Subsoil, mix: MixTarget) -> Spread | None:
    """Parts of sand to one of soil by dry mass, with the range that its clay leaves; 0: as
    dug. None for a soil that wants a richer one beside it."""
    known = estimate_for(soil, mix) if soil.tests else None
    clay = known.clay if known else soil.clay
    silt = _silt(soil, known)
    standing, _ = _use(clay, silt, mix)
    if standing is Standing.FIT_WITH_RICHER_SOIL:
        return None
    return _parts_range(clay, silt, mix)


def _parts_range(clay: Spread, silt: float, mix: MixTarget) -> Spread:
    def parts(share: float) -> float:
        for_clay = mix.clay_target / share if share > mix.clay_high else 1.0
        for_silt = mix.fines_limit / (share + silt) if share + silt else 1.0
        return 1 / min(for_clay, for_silt, 1.0) - 1

    low, likely, high = parts(clay.low), parts(clay.likely), parts(clay.high)
    return Spread(min(low, likely), likely, max(likely, high))


def _parts(clay: Spread, silt: float, mix: MixTarget) -> str:
    """Parts of sand to one of soil, with the range that the clay share leaves."""
    parts = _parts_range(clay, silt, mix)
    if parts.high - parts.low < 0.05:
        return f"{parts.likely:.1f} parts"
    return f"{parts.likely:.1f} parts ({parts.low:.1f} to {parts.high:.1f})"


def _declared(known: SoilEstimate | None) -> Iterator[Reason]:
    if known is not None and known.rung is not Rung.NOTHING:
        return
    yield Reason(
        "declared_only",
        "a declaration",
        "a test of this heap",
        "No test stands behind the clay share: a jar and two hand tests take a quarter"
        " of an hour.",
    )


def _cautions(known: SoilEstimate | None) -> Iterator[Reason]:
    """What does not decide, but could: weak, old or quarrelling evidence, and what to
    test next."""
    yield from _declared(known)
    if known is None:
        return
    if known.jar_decides:
        yield Reason(
            "jar_alone",
            "a jar and nothing better",
            "hand tests, a shrinkage box or bricks",
            "A jar never decides alone: settled volume is not mass.",
        )
    for quarrel in known.contradictions:
        yield Reason(
            "contradiction",
            " and ".join(quarrel.kinds),
            "evidence that agrees",
            quarrel.text,
        )
    for old in known.stale:
        yield Reason("test_again", str(old.code), "a test of this heap", old.text)
    for gone in known.set_aside:
        yield Reason("set_aside", gone.kind, "a test of this heap", gone.reason.text)
    for step in known.next_tests:
        yield Reason("test_next", step.kind, step.takes, f"{step.how} {step.why}")


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %"
