"""Reading trials of the mix and walls built with it.

A mix of s parts of sand to one of soil holds 1/(1 + s) of the soil's clay. If it works,
the soil behaves as if its clay lay in the window times (1 + s), whatever a sheet says.
"""

from __future__ import annotations

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import (
    ClayWindow,
    Finding,
    Rung,
    bounded,
    ranged,
)
from matching.domain.soil.trials import (
    LEAST_STRENGTH_MPA,
    MOST_SHRINKAGE,
    STRENGTH_SAMPLES,
    WARN_SHRINKAGE,
    MixTrial,
    Outcome,
    StandingWall,
    parts_by_mass,
)

Tried = MixTrial | StandingWall

# A wall must have stood a winter before it says more than a brick does (ours).
PROVEN_YEARS = 1.0
# No soil is dug with more clay than this, or hardly (ours).
RICHEST = 0.80


def read_mixes(tried: tuple[Tried, ...], window: ClayWindow) -> tuple[Finding, ...]:
    """Findings from everything mixed with one soil, in the order given.

    A series of ratios is read together. Once one works, those that failed only tell which
    way it went wrong; while none works, one that cracked and a leaner one that crumbled
    bracket the soil between them. Bricks that a failed wall speaks against do not count.
    """
    overruled = {trial for trial in tried if _overruled(trial, tried)}
    counted = iter(
        _counted(tuple(one for one in tried if one not in overruled), window)
    )
    return tuple(
        _finding(trial, None) if trial in overruled else next(counted)
        for trial in tried
    )


def _counted(tried: tuple[Tried, ...], window: ClayWindow) -> tuple[Finding, ...]:
    sound = [trial for trial in tried if trial.outcome is Outcome.SOUND]
    if sound:
        best = max(_rung(trial) for trial in sound)
        return tuple(
            _finding(trial, _worked(trial, window))
            if trial in sound
            # A wall that failed says more than bricks that did not.
            else _finding(trial, _failed(trial, window, None), bound=True)
            if _rung(trial) > best
            else _finding(trial, None)
            for trial in tried
        )
    bracket = _bracket(tried, window)
    return tuple(
        _finding(trial, _failed(trial, window, bracket), bound=bracket is None)
        for trial in tried
    )


def quarrels(tried: tuple[Tried, ...]) -> tuple[str, ...]:
    """Pairs of mixes of one soil that cannot both be right, in words: a mix that cracked
    though it held no less sand than one that worked or crumbled, and the other way."""
    return tuple(
        sorted(
            {
                f"{_what(one)} of {one.sand_parts:g} sand to 1 soil was {_verdict(one)},"
                f" one of {other.sand_parts:g} was {_verdict(other)}: more sand cannot"
                " make a mix richer. Make both again from the same heap."
                for one in tried
                for other in tried
                if _quarrel(one, other)
            }
        )
    )


def _overruled(trial: Tried, tried: tuple[Tried, ...]) -> bool:
    """Whether a wall failed at a mix that this trial, of a lesser rung, says was fine."""
    return trial.outcome is Outcome.SOUND and any(
        _rung(other) > _rung(trial)
        and (_quarrel(trial, other) or _quarrel(other, trial))
        for other in tried
    )


def _quarrel(one: Tried, other: Tried) -> bool:
    """Whether `one` is judged richer than `other` though it holds no less sand."""
    order = {Outcome.LEAN: 0, Outcome.SOUND: 1, Outcome.RICH: 2}
    if Outcome.UNCLEAR in (one.outcome, other.outcome):
        return False
    more_sand = parts_by_mass(one).likely >= parts_by_mass(other).likely
    return more_sand and order[one.outcome] > order[other.outcome]


def _verdict(trial: Tried) -> str:
    return {
        Outcome.SOUND: "good",
        Outcome.RICH: "too rich",
        Outcome.LEAN: "too lean",
    }[trial.outcome]


def _worked(trial: Tried, window: ClayWindow) -> Spread:
    parts = parts_by_mass(trial)
    return bounded(
        window.low * (1 + parts.low),
        window.best * (1 + parts.likely),
        window.high * (1 + parts.high),
    )


def _failed(trial: Tried, window: ClayWindow, bracket: Spread | None) -> Spread | None:
    """One-sided, from the window's middle on: water, sun and haste crack a good mix too."""
    if trial.outcome is Outcome.UNCLEAR:
        return None
    if bracket is not None:
        return bracket
    parts = parts_by_mass(trial)
    if trial.outcome is Outcome.RICH:
        return bounded(
            min(window.best * (1 + parts.low), RICHEST),
            1.2 * window.high * (1 + parts.likely),
            1.0,
        )
    return bounded(
        0.0, 0.8 * window.low * (1 + parts.likely), window.best * (1 + parts.high)
    )


def _bracket(tried: tuple[Tried, ...], window: ClayWindow) -> Spread | None:
    """Between the leanest mix that cracked and the richest that crumbled."""
    cracked = [parts_by_mass(trial) for trial in tried if trial.outcome is Outcome.RICH]
    crumbled = [
        parts_by_mass(trial) for trial in tried if trial.outcome is Outcome.LEAN
    ]
    if not cracked or not crumbled:
        return None
    least = max(parts.low for parts in cracked)
    most = min(parts.high for parts in crumbled)
    if least >= most:
        return None
    return bounded(
        window.best * (1 + least),
        window.best * (1 + (least + most) / 2),
        window.best * (1 + most),
    )


def _rung(trial: Tried) -> Rung:
    proven = isinstance(trial, StandingWall) and trial.years >= PROVEN_YEARS
    return Rung.WALL if proven else Rung.TRIAL


def _finding(trial: Tried, clay: Spread | None, *, bound: bool = False) -> Finding:
    parts = parts_by_mass(trial).likely
    return Finding(
        kind=trial.kind,
        rung=_rung(trial),
        bound=bound and clay is not None,
        sample=trial.sample,
        clay=clay,
        says=f"{_what(trial)} of {_ratio(trial, parts)} {_result(trial)}."
        f" {_meaning(trial, clay)}",
        doubt=_wall_doubt(trial)
        if isinstance(trial, StandingWall)
        else _trial_doubt(trial),
    )


def _what(trial: Tried) -> str:
    if isinstance(trial, MixTrial):
        return "A trial"
    return f"A wall of {trial.years:g} years"


def _ratio(trial: Tried, parts: float) -> str:
    text = f"{trial.sand_parts:g} sand to 1 soil"
    if abs(parts - trial.sand_parts) > 0.005:
        text += f" in buckets ({parts:.2f} by dry mass)"
    return text


def _result(trial: Tried) -> str:
    if isinstance(trial, StandingWall):
        return f"stands {trial.condition}"
    told = []
    if trial.shrinkage is not None:
        told.append(_shrunk(trial.shrinkage))
    if trial.box_cracked is not None:
        told.append("the box cracked" if trial.box_cracked else "no cracks in the box")
    if trial.bricks is not None:
        told.append(f"bricks {trial.bricks}")
    if trial.strength_mpa is not None:
        told.append(_strength(trial))
    return "gave: " + ", ".join(told)


def _shrunk(shrinkage: float) -> str:
    text = f"{shrinkage * 100:.1f} % shrinkage"
    if shrinkage > MOST_SHRINKAGE + 1e-12:
        return f"{text} (over the code's 25 mm in 610 mm)"
    if shrinkage > WARN_SHRINKAGE:
        return f"{text} (passes the code; over the 1 % that some practise)"
    return text


def _strength(trial: MixTrial) -> str:
    text = f"{trial.strength_mpa:g} MPa"
    if trial.strength_mpa is not None and trial.strength_mpa < LEAST_STRENGTH_MPA:
        text += f" (under the code's {LEAST_STRENGTH_MPA} MPa)"
    if (trial.strength_samples or 0) < STRENGTH_SAMPLES:
        text += f" from fewer than {STRENGTH_SAMPLES} pieces"
    return text


def _meaning(trial: Tried, clay: Spread | None) -> str:
    outcome = trial.outcome
    if isinstance(trial, StandingWall) and outcome is Outcome.UNCLEAR:
        return "It may still be wet inside and says nothing of the mix yet."
    if outcome is Outcome.UNCLEAR:
        return (
            "Shrinking and crumbling at once points to silt, humus or poor mixing, not to"
            " one clay share."
        )
    if clay is None and outcome is Outcome.SOUND:
        return "A wall of such a mix failed, and a wall says more: it does not count."
    if clay is None:
        way = "richer" if outcome is Outcome.RICH else "leaner"
        return f"That mix was {way} than it should be; another one worked and decides."
    how = {Outcome.SOUND: "as if it held", Outcome.RICH: "as a rich soil,"}.get(
        outcome, "as a lean soil,"
    )
    return f"The soil behaves {how} {ranged(clay)} clay."


def _trial_doubt(trial: Tried) -> str:
    text = (
        "Bricks and boxes judge the mix itself, and dry faster than a wall: too much water"
        " or sun cracks a good mix."
    )
    if parts_by_mass(trial).low < parts_by_mass(trial).high:
        text += " Buckets were turned to dry mass, 15 % either way."
    return text


def _wall_doubt(wall: StandingWall) -> str:
    if wall.outcome is Outcome.UNCLEAR:
        return "Cob takes 3 to 12 months to dry: look again when it has."
    if _rung(wall) is Rung.WALL:
        return (
            "The strongest evidence there is, for this soil and this mix; roof, plinth and"
            " plaster share the credit and the blame."
        )
    return "It has not yet stood a winter, so it counts as a trial."
