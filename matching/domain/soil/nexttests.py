"""What to test next: only what could change the decision, the cheapest first."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import ClayWindow, Rung, percent


class CheckKind(StrEnum):
    """A test that somebody can make."""

    SMELL = "smell_and_colour"
    HANDS = "ribbon_and_ball"
    SCREEN = "stone_screen"
    JAR = "jar"
    BOX = "shrinkage_box"
    LABORATORY = "laboratory"
    BRICKS = "test_bricks"


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test worth making: how, why with the figures, how long it takes."""

    kind: CheckKind
    how: str
    why: str
    takes: str


_HOW: dict[CheckKind, tuple[str, str]] = {
    CheckKind.SMELL: (
        "Wet a handful of fresh soil, smell it and look for roots.",
        "1 min",
    ),
    CheckKind.HANDS: (
        "Press a moist ribbon out between thumb and finger and measure it; drop a ball.",
        "10 min",
    ),
    CheckKind.SCREEN: ("Screen one bucket and weigh what the mesh keeps.", "15 min"),
    CheckKind.JAR: (
        "Shake soil with water and a pinch of washing soda; read it by the clock.",
        "1 to 2 days",
    ),
    CheckKind.BOX: (
        "Fill a 610 mm box with the raw soil as stiff mud, dry it, push the cracks shut.",
        "1 to 2 weeks",
    ),
    CheckKind.LABORATORY: (
        "Send 1 kg for sieve and hydrometer, and name the size limits you want.",
        "1 to 3 weeks",
    ),
    CheckKind.BRICKS: (
        "Make bricks and a 610 mm box of the very mix; dry, break and drop them.",
        "1 to 4 weeks",
    ),
}
# The rung that each clay test lifts the evidence to. The jar comes after the hands: it
# takes a day and is trusted less.
_LIFTS = (
    (CheckKind.HANDS, Rung.HAND),
    (CheckKind.JAR, Rung.JAR),
    (CheckKind.BOX, Rung.BOX),
    (CheckKind.LABORATORY, Rung.LABORATORY),
)


def worth_testing(
    clay: Spread,
    rung: Rung,
    window: ClayWindow,
    *,
    stones_known: bool,
    organic_known: bool,
) -> tuple[NextTest, ...]:
    """Tests in order of effort. Bricks of the very mix come last and always, unless a
    trial or a wall is there already and settles the ratio."""
    found = []
    if not organic_known:
        found.append(_test(CheckKind.SMELL, "Nothing says yet whether it is topsoil."))
    why = undecided(clay, window)
    if why:
        found.extend(clay_tests(rung, why))
    if not stones_known:
        found.append(
            _test(
                CheckKind.SCREEN, "The share of stones is lost mass, and not known yet."
            )
        )
    found.sort(key=lambda test: list(CheckKind).index(test.kind))
    if rung < Rung.TRIAL:
        why = "Test bricks first: no other test decides, and none of this mix was made."
    if why:
        found.append(_bricks(clay, window, why))
    return tuple(found)


def clay_tests(rung: Rung, why: str) -> tuple[NextTest, ...]:
    """Tests of clay that are trusted more than what there is, in order of effort."""
    return tuple(_test(kind, why) for kind, lifts in _LIFTS if rung < lifts)


def undecided(clay: Spread, window: ClayWindow) -> str | None:
    """Why the range leaves the recipe open, or None when one recipe does for all of it.

    The recipe is set for the likely share; it holds for an end of the range if the mix
    then still lies in the window. Soil below the window all through needs a richer soil
    whatever its share.
    """
    if clay.high < window.low:
        return None
    if clay.low < window.low <= clay.high:
        return (
            f"The range of {_range(clay)} clay crosses {percent(window.low)}: below it the"
            " soil needs a richer one, above it does not."
        )
    thinned = min(1.0, window.best / clay.likely) if clay.likely > window.high else 1.0
    low, high = clay.low * thinned, clay.high * thinned
    if low >= window.low - 1e-9 and high <= window.high + 1e-9:
        return None
    parts = [max(0.0, end / window.best - 1) for end in (clay.low, clay.high)]
    return (
        f"From {_range(clay)} clay the sand wanted runs from {parts[0]:.1f} to"
        f" {parts[1]:.1f} parts to one of soil by dry mass: no one recipe does for all of"
        " it."
    )


def _bricks(clay: Spread, window: ClayWindow, why: str) -> NextTest:
    """Bricks at the ratios that the ends and the middle of the range would want."""
    parts = sorted(
        {
            round(max(0.0, share / window.best - 1), 1)
            for share in (clay.low, clay.likely, clay.high)
        }
    )
    how, takes = _HOW[CheckKind.BRICKS]
    ratios = ", ".join(f"{part:g}" for part in parts)
    return NextTest(
        CheckKind.BRICKS,
        f"{how} Parts of sand to one of soil, by dry mass: {ratios}.",
        why,
        takes,
    )


def _range(clay: Spread) -> str:
    return f"{clay.low * 100:.0f} to {clay.high * 100:.0f} %"


def _test(kind: CheckKind, why: str) -> NextTest:
    how, takes = _HOW[kind]
    return NextTest(kind, how, why, takes)
