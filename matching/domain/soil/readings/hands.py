"""Reading what hands, nose and a dropped ball say."""

from __future__ import annotations

from itertools import pairwise

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import Finding, Rung, bounded, percent, ranged
from matching.domain.soil.records import (
    BallDrop,
    BallFall,
    Feel,
    Ribbon,
    Roll,
    Smell,
    SmellAndColour,
    StoneScreen,
)
from matching.domain.soil.stones import STONE_MM, stones_of
from matching.domain.soil.texture import Texture, bounds_of

# The ribbon's classes are those of the USDA flow chart for texture by feel (Thien 1979): a
# ribbon under 1 in, of 1-2 in, over 2 in, each gritty, smooth or neither (lengths and
# classes seen in several guides, the chart itself not).
_NO_RIBBON = (Texture.SAND, Texture.LOAMY_SAND)
_RIBBONS: tuple[tuple[float, float, dict[Feel, Texture]], ...] = (
    (
        0.0,
        25.0,
        {
            Feel.GRITTY: Texture.SANDY_LOAM,
            Feel.SMOOTH: Texture.SILT_LOAM,
            Feel.NEITHER: Texture.LOAM,
        },
    ),
    (
        25.0,
        50.0,
        {
            Feel.GRITTY: Texture.SANDY_CLAY_LOAM,
            Feel.SMOOTH: Texture.SILTY_CLAY_LOAM,
            Feel.NEITHER: Texture.CLAY_LOAM,
        },
    ),
    (
        50.0,
        float("inf"),
        {
            Feel.GRITTY: Texture.SANDY_CLAY,
            Feel.SMOOTH: Texture.SILTY_CLAY,
            Feel.NEITHER: Texture.CLAY,
        },
    ),
)
# Two ribbons of one soil differ by some millimetres; near a limit both classes count (ours).
RIBBON_ERROR_MM = 3.0
# Likely clay by length, within the class: 5 mm under 5 %, 15-20 mm 10-20 %, 25 mm about
# 25 %, 40-50 mm 30-35 %, 50-75 mm 35-45 %, over 75 mm over 45 % (Australian texture guides
# after Northcote 1979, two of them seen).
_LENGTHS = (
    (0.0, 0.03),
    (5.0, 0.06),
    (17.0, 0.15),
    (25.0, 0.24),
    (45.0, 0.33),
    (62.0, 0.40),
)
_LONGEST = (90.0, 0.50)
# Surveyors' field textures against laboratories: the class was right in 50 % of 598 cases,
# and within 4 points of it in 67 % (Foss, Wright and Coles 1975, abstract seen); students
# after a term 45 % (Arizona 1983-87, abstract seen). So 4 points for practised hands, and
# 8 for others (ours).
PRACTISED_POINTS = 0.04
UNPRACTISED_POINTS = 0.08


def read_ribbon(ribbon: Ribbon) -> Finding:
    """Clay and silt of the classes that the ribbon allows, widened for the hand."""
    classes = _ribbon_classes(ribbon)
    bounds = [bounds_of(texture) for texture in classes]
    error = PRACTISED_POINTS if ribbon.practised else UNPRACTISED_POINTS
    clay = bounded(
        min(bound.clay.low for bound in bounds) - error,
        _likely_clay(ribbon.length_mm),
        max(bound.clay.high for bound in bounds) + error,
    )
    silt = bounded(
        min(bound.silt.low for bound in bounds) - error,
        sum(bound.silt.likely for bound in bounds) / len(bounds),
        max(bound.silt.high for bound in bounds) + error,
    )
    return Finding(
        kind=ribbon.kind,
        rung=Rung.HAND,
        sample=ribbon.sample,
        clay=clay,
        silt=silt,
        says=f"A ribbon of {ribbon.length_mm:g} mm means"
        f" {' or '.join(texture.words for texture in classes)}: {ranged(clay)} clay.",
        doubt="Field textures hit the laboratory's class about half the time, and come"
        " within 4 points of it in two of three (598 cases, Foss 1975); roots, stones, iron"
        " and fine sand mislead."
        f" Widened by {error * 100:.0f} points.",
    )


def _ribbon_classes(ribbon: Ribbon) -> tuple[Texture, ...]:
    feels = tuple(Feel) if ribbon.feel is None else (ribbon.feel,)
    least, most = ribbon.length_mm - RIBBON_ERROR_MM, ribbon.length_mm + RIBBON_ERROR_MM
    found = list(_NO_RIBBON) if least <= 0 else []
    for low, high, by_feel in _RIBBONS:
        if most > low and least < high and (ribbon.length_mm > 0 or low > 0):
            found.extend(by_feel[feel] for feel in feels)
    return tuple(found)


def _likely_clay(length_mm: float) -> float:
    points = (*_LENGTHS, _LONGEST)
    for (short, less), (long, more) in pairwise(points):
        if length_mm <= long:
            return less + (more - less) * (length_mm - short) / (long - short)
    return _LONGEST[1]


# Ours, after the builders' rule: pancakes are too wet or too clayey, shattered balls too
# sandy or too dry (seen); the ranges are wide because the water decides as much as the clay.
_BALLS = {
    BallFall.FLATTENS: (Spread(0.15, 0.35, 0.80), "flattened: fat, or too wet"),
    BallFall.HOLDS: (Spread(0.10, 0.22, 0.40), "kept its shape with some cracks"),
    BallFall.SHATTERS: (Spread(0.0, 0.08, 0.20), "shattered: sandy, or too dry"),
}


def read_ball(drop: BallDrop) -> Finding:
    """A wide range of clay from a dropped ball."""
    clay, what = _BALLS[drop.fall]
    return Finding(
        kind=drop.kind,
        rung=Rung.HAND,
        sample=drop.sample,
        clay=clay,
        says=f"The dropped ball {what}; {ranged(clay)} clay.",
        doubt="The ball tells of water as much as of clay; the ranges are ours.",
    )


def read_roll(roll: Roll) -> Finding:
    """Clay from a thread: whether 3 mm is reached, and how long it hangs together."""
    clay, what = _thread(roll)
    return Finding(
        kind=roll.kind,
        rung=Rung.HAND,
        sample=roll.sample,
        clay=clay,
        says=f"The thread {what}; {ranged(clay)} clay.",
        doubt="A soil that cannot be rolled to 3 mm is not plastic, and about 10 % clay"
        " makes it so (textbook figures, seen); lengths and ranges are ours. A perfect cob"
        " mix fails this test.",
    )


def _thread(roll: Roll) -> tuple[Spread, str]:
    if roll.unbroken_mm is not None:
        length = f"of 3 mm hung together for {roll.unbroken_mm:g} mm"
        if roll.unbroken_mm < 50:
            return Spread(0.05, 0.13, 0.30), length
        if roll.unbroken_mm <= 150:
            return Spread(0.10, 0.25, 0.45), length
        return Spread(0.20, 0.42, 0.90), length
    breaks = roll.breaks_at_mm or 0.0
    if breaks > 3:
        return Spread(0.0, 0.08, 0.18), f"broke at {breaks:g} mm, before 3 mm"
    return Spread(0.08, 0.28, 0.80), f"reached {breaks:g} mm"


def read_smell(nose: SmellAndColour) -> Finding:
    """How much organic matter smell, colour and roots speak of. Ranges are ours: no
    figures were found; builders say that topsoil is dark, smells and rots."""
    marks = (nose.smell is Smell.MUSTY) * 2 + (nose.smell is Smell.EARTHY)
    marks += nose.dark + nose.roots
    organic = (
        Spread(0.0, 0.005, 0.015),
        Spread(0.002, 0.012, 0.03),
        Spread(0.005, 0.025, 0.06),
        Spread(0.015, 0.04, 0.12),
    )[min(marks, 3)]
    look = "dark" if nose.dark else "pale"
    smell = "no smell" if nose.smell is Smell.NONE else f"a {nose.smell} smell"
    roots = ", roots in it" if nose.roots else ""
    return Finding(
        kind=nose.kind,
        rung=Rung.HAND,
        sample=nose.sample,
        organic=organic,
        says=f"A {look} soil with {smell}{roots}: {organic.low * 100:.1f} to"
        f" {organic.high * 100:.1f} % organic matter.",
        doubt="Some clean subsoils are dark from iron or manganese, and dry soil hardly"
        " smells: wet it first.",
    )


def read_screen(screen: StoneScreen) -> Finding:
    """Stones from a screened bucket: one bucket may differ by a fifth from the heap, by
    volume a third (ours). Of a mesh finer than 20 mm see `stones_of`."""
    share = screen.kept / screen.total
    error = 0.2 if screen.by_mass else 0.33
    stones = stones_of(share, screen.mesh_mm, error)
    basis = "mass" if screen.by_mass else "loose volume"
    return Finding(
        kind=screen.kind,
        rung=Rung.HAND,
        sample=screen.sample,
        stones=stones,
        says=f"A mesh of {screen.mesh_mm:g} mm kept {percent(share)} by {basis}:"
        f" {ranged(stones)} stones over {STONE_MM:g} mm.",
        doubt=_screen_doubt(screen),
    )


def _screen_doubt(screen: StoneScreen) -> str:
    text = "One bucket is a small part of a heap"
    if screen.mesh_mm >= STONE_MM:
        return f"{text}, and stones finer than the mesh stay in the soil."
    return (
        f"{text}, and a mesh this fine also keeps fine gravel, which is welcome in cob:"
        f" how much of it is stones is a guess. Screen again at {STONE_MM:g} mm or more."
    )
