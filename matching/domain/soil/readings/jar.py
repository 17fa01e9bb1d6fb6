"""Reading a jar: from settled layers to shares of dry mass, with all that blurs them.

A layer's height is a volume of grains and water. Settled clay holds several times as much
water as settled sand, so heights overstate clay; clay that stays in crumbs or afloat is
missed. Grains that started low come down with larger ones, and what the clock missed at
0.05 and 0.002 mm lies in the next layer: both are reckoned by Stokes' law and moved back.
No published comparison of jars with laboratories was found: the figures for crumbs and
floating clay, and the 1 mm of reading error, are ours and wide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logistics.domain.quantities import Spread
from matching.domain.soil.evidence import Finding, Rung, bounded, percent, ranged
from matching.domain.soil.records import JarTest
from matching.domain.soil.settling import settling_time, size_in_suspension

# Dry kg in 1 m3 of fresh deposit under water. US Bureau of Reclamation, Design of Small
# Dams (1974), quoted in a permit file: clay 40, silt 72, sand 97 lb/ft3; always under
# water: clay 26, silt 70; river bed: clay 60 (those from memory). Lecture notes: sand has
# 40-45 % pores, mud up to 80 % (530 kg/m3). A jar's clay lies a day only: less still.
SAND_KG_PER_M3 = Spread(1350.0, 1550.0, 1700.0)
SILT_KG_PER_M3 = Spread(900.0, 1120.0, 1350.0)
CLAY_KG_PER_M3 = Spread(300.0, 500.0, 960.0)

READING_ERROR_MM = 1.0
# Share of the silt layer that is clay in crumbs, and clay still afloat per clay settled.
CRUMBS = Spread(0.0, 0.10, 0.30)
CRUMBS_DISPERSED = Spread(0.0, 0.03, 0.15)
AFLOAT = Spread(0.0, 0.25, 1.0)

USUAL_FALL_M = 0.10
USUAL_WATER_C = 20.0
# Published instructions read the sand at 40 s to 1 min and the silt at 30 min to 6 h.
USUAL_SAND_S = 60.0
USUAL_SILT_S = 7200.0
LATEST_SILT_S = 6 * 3600.0
EARLIEST_SILT_S = 1800.0

CLAY_MM = 0.002
SILT_MM = 0.05
SAND_MM = 2.0
FINEST_MM = 0.0002
_CLAY, _SILT, _SAND = (FINEST_MM, CLAY_MM), (CLAY_MM, SILT_MM), (SILT_MM, SAND_MM)
_MOST = 0.8
# Read more than four times too soon or too late, a layer of one name is mostly another's:
# what the owner has left no longer tells what strayed, and the layer is split instead by
# the sizes that it can hold. Sizes go with the root of time. Ours.
FAR_OFF = 4.0


@dataclass(frozen=True, slots=True)
class _Stray:
    """A share of grains in the wrong layer: of all the owner's grains, or (`of_host`) of
    the layer that they lie in."""

    share: float = 0.0
    of_host: bool = False


_NONE = _Stray()


@dataclass(frozen=True, slots=True)
class _Range:
    """A stray's least, likely and greatest share."""

    low: _Stray = _NONE
    likely: _Stray = _NONE
    high: _Stray = _NONE


@dataclass(frozen=True, slots=True)
class _Moves:
    """What ended in the wrong layer; crumbs of clay per silt layer; clay afloat per clay
    layer."""

    silt_in_clay: _Stray = _NONE
    clay_in_silt: _Stray = _NONE
    sand_in_silt: _Stray = _NONE
    silt_in_sand: _Stray = _NONE
    clay_in_sand: _Stray = _NONE
    crumbs: float = 0.0
    afloat: float = 0.0


# No jar is surer than a laboratory, which differs by 5 points from the next; without a
# dispersant clay clumps, and twice as much is in doubt. Ours.
DISPERSED_POINTS, CLUMPED_POINTS = 0.05, 0.10


def _at_least(low: float, likely: float, high: float, points: float) -> Spread:
    return bounded(min(low, likely - points), likely, max(high, likely + points))


def read_jar(jar: JarTest) -> Finding:
    """Clay and silt of what settled, with their ranges."""
    heights = jar.layers_mm
    sand, silt, clay = SAND_KG_PER_M3, SILT_KG_PER_M3, CLAY_KG_PER_M3
    least, likely, most = _moves(jar)
    low_clay = _shares(
        _nudged(heights, (1, 1, -1)), (sand.high, silt.high, clay.low), least
    )
    mid = _shares(heights, (sand.likely, silt.likely, clay.likely), likely)
    high_clay = _shares(
        _nudged(heights, (-1, -1, 1)), (sand.low, silt.low, clay.high), most
    )
    low_silt = _shares(
        _nudged(heights, (1, -1, 1)), (sand.high, silt.low, clay.high), most
    )
    high_silt = _shares(
        _nudged(heights, (-1, 1, -1)), (sand.low, silt.high, clay.low), least
    )
    plain = heights[2] / sum(heights)
    plain_silt = heights[1] / sum(heights)
    least_doubt = DISPERSED_POINTS if jar.dispersant else CLUMPED_POINTS
    share = _at_least(
        min(low_clay[0], plain), mid[0], max(high_clay[0], plain), least_doubt
    )
    return Finding(
        kind=jar.kind,
        rung=Rung.JAR,
        sample=jar.sample,
        clay=share,
        silt=_at_least(
            min(low_silt[1], plain_silt),
            mid[1],
            max(high_silt[1], plain_silt),
            least_doubt,
        ),
        says=f"{_layers(heights)}: {percent(plain)} of the height is clay layer, which as"
        f" dry mass is {ranged(share)} clay.",
        doubt=" ".join(_doubts(jar)),
    )


def _layers(heights: tuple[float, float, float]) -> str:
    sand, silt, clay = heights
    return f"Layers of {sand:g} mm sand, {silt:g} mm silt and {clay:g} mm clay"


def _nudged(
    heights: tuple[float, float, float], way: tuple[int, int, int]
) -> tuple[float, float, float]:
    sand, silt, clay = (
        max(0.0, height + READING_ERROR_MM * sign)
        for height, sign in zip(heights, way, strict=True)
    )
    return sand, silt, clay


def _shares(
    heights: tuple[float, float, float],
    densities: tuple[float, float, float],
    moves: _Moves,
) -> tuple[float, float]:
    """Clay and silt as shares of dry mass, every grain moved back where it belongs."""
    sand, silt, clay = (
        height * density for height, density in zip(heights, densities, strict=True)
    )
    clay, sand = _moved_back(clay, sand, moves.clay_in_sand)
    silt, clay = _moved_back(silt, clay, moves.silt_in_clay)
    clay, silt = _moved_back(clay, silt, moves.clay_in_silt)
    sand, silt = _moved_back(sand, silt, moves.sand_in_silt)
    silt, sand = _moved_back(silt, sand, moves.silt_in_sand)
    crumbs = moves.crumbs * silt
    clay, silt = (clay + crumbs) * (1 + moves.afloat), silt - crumbs
    total = sand + silt + clay
    return (clay / total, silt / total) if total > 0 else (0.0, 0.0)


def _moved_back(owner: float, host: float, strayed: _Stray) -> tuple[float, float]:
    """Masses of a layer and of the one that holds what strayed of it."""
    if strayed.of_host:
        back = host * strayed.share
    else:
        back = min(host, owner * strayed.share / (1 - strayed.share))
    return owner + back, host - back


def _moves(jar: JarTest) -> tuple[_Moves, _Moves, _Moves]:
    """What strayed, for the least clay, the likely and the most clay."""
    crumbs = CRUMBS_DISPERSED if jar.dispersant else CRUMBS
    afloat = Spread.exactly(0.0) if jar.cleared else AFLOAT
    silt_in_clay, clay_in_silt = _at_clay_limit(jar)
    sand_in_silt, silt_in_sand, clay_in_sand = _at_sand_limit(jar)
    least = _Moves(
        silt_in_clay=silt_in_clay.high,
        clay_in_silt=clay_in_silt.low,
        silt_in_sand=silt_in_sand.high,
        clay_in_sand=clay_in_sand.low,
    )
    likely = _Moves(
        silt_in_clay.likely,
        clay_in_silt.likely,
        sand_in_silt.likely,
        silt_in_sand.likely,
        clay_in_sand.likely,
        crumbs.likely,
        afloat.likely,
    )
    most = _Moves(
        silt_in_clay=silt_in_clay.low,
        clay_in_silt=clay_in_silt.high,
        sand_in_silt=sand_in_silt.high,
        clay_in_sand=clay_in_sand.high,
        crumbs=crumbs.high,
        afloat=afloat.high,
    )
    return least, likely, most


def _at_clay_limit(jar: JarTest) -> tuple[_Range, _Range]:
    """The silt still up when the silt was read, and the clay already down."""
    if jar.silt_read_s is not None:
        size = _floating_mm(jar, jar.silt_read_s)
        up, down = _up(_SILT, size), 1 - _up(_CLAY, size)
        if _far_off(size, CLAY_MM) and size > CLAY_MM:
            return _split(CLAY_MM, size, (FINEST_MM, size)), _doubtful(down)
        if _far_off(size, CLAY_MM):
            return _doubtful(up), _split(size, CLAY_MM, (size, SILT_MM))
        return _doubtful(up), _doubtful(down)
    soonest, usual, latest = (
        _floating_mm(jar, time)
        for time in (EARLIEST_SILT_S, USUAL_SILT_S, LATEST_SILT_S)
    )
    return (
        _of_owner(_up(_SILT, usual), _up(_SILT, soonest)),
        _of_owner(1 - _up(_CLAY, usual), 1 - _up(_CLAY, latest)),
    )


def _at_sand_limit(jar: JarTest) -> tuple[_Range, _Range, _Range]:
    """The sand still up when the sand was read, and the silt and clay already down."""
    size = _floating_mm(jar, jar.sand_read_s or USUAL_SAND_S)
    up, down = _up(_SAND, size), 1 - _up(_SILT, size)
    if _far_off(size, SILT_MM) and size > SILT_MM:
        return _split(SILT_MM, size, (CLAY_MM, size)), _doubtful(down), _Range()
    if _far_off(size, SILT_MM):
        # Clay is moved out first, so silt is split off what is left above it.
        return (
            _doubtful(up),
            _split(CLAY_MM, SILT_MM, (max(size, CLAY_MM), SAND_MM)),
            _split(size, CLAY_MM, (size, SAND_MM)),
        )
    return _doubtful(up), _doubtful(down), _Range()


def _far_off(size_mm: float, limit_mm: float) -> bool:
    """Whether a reading came so early or late that grains of `size_mm`, not those of
    `limit_mm`, had just come down."""
    return max(size_mm / limit_mm, limit_mm / size_mm) > math.sqrt(FAR_OFF)


def _split(fine_mm: float, coarse_mm: float, held: tuple[float, float]) -> _Range:
    """The share of a layer that lies between two sizes, even in the logarithm of size over
    all that it can hold; anything from none to most of it is possible."""
    finest, coarsest = max(held[0], FINEST_MM), min(held[1], SAND_MM)
    fine, coarse = max(fine_mm, finest), min(coarse_mm, coarsest)
    if fine >= coarse:
        return _Range()
    share = min(math.log(coarse / fine) / math.log(coarsest / finest), _MOST)
    return _Range(_NONE, _Stray(share, True), _Stray(_MOST, True))


def _up(band: tuple[float, float], size_mm: float) -> float:
    """Share of a band of sizes that still floats once grains of `size_mm` are all down.

    Smaller grains are down by the square of their size, as far as they started low enough
    (Stokes); within the band mass is taken even in the logarithm of size.
    """
    finest, coarsest = band
    top = min(coarsest, size_mm)
    if top <= finest:
        return 0.0
    floating = math.log(top / finest) - (top**2 - finest**2) / (2 * size_mm**2)
    return floating / math.log(coarsest / finest)


def _doubtful(share: float) -> _Range:
    """From none to twice the share: grains are not even in the logarithm of size."""
    share = min(max(share, 0.0), _MOST)
    return _of_owner(share, min(2 * share, _MOST))


def _of_owner(likely: float, high: float) -> _Range:
    return _Range(_NONE, _Stray(likely), _Stray(high))


def _floating_mm(jar: JarTest, seconds: float) -> float:
    return size_in_suspension(seconds, _fall_m(jar), _water_c(jar))


def _fall_m(jar: JarTest) -> float:
    return USUAL_FALL_M if jar.fall_mm is None else jar.fall_mm / 1000


def _water_c(jar: JarTest) -> float:
    return USUAL_WATER_C if jar.water_c is None else jar.water_c


def _doubts(jar: JarTest) -> list[str]:
    told = [
        "A jar never decides alone: settled volume is not mass (clay holds more water)."
    ]
    if not jar.dispersant:
        told.append(
            "Nothing kept the clay from clumping, so crumbs of it lie in the silt."
        )
    if not jar.cleared:
        told.append("The water had not cleared: clay still floats.")
    told.append(_clay_timing(jar))
    if jar.sand_read_s is not None:
        told.extend(_sand_timing(jar, jar.sand_read_s))
    told.extend(_guesses(jar))
    if jar.water_c is None or jar.fall_mm is None:
        told.append(
            f"Taken with water of {_water_c(jar):g} C and a fall of"
            f" {_fall_m(jar) * 1000:g} mm where not noted."
        )
    return told


def _guesses(jar: JarTest) -> list[str]:
    readings = (
        ("sand", jar.sand_read_s or USUAL_SAND_S, SILT_MM),
        ("silt", jar.silt_read_s, CLAY_MM),
    )
    return [
        f"That is so far off that what was read as {name} was split by a guess, even in"
        " the logarithm of size: shake it and read it again."
        for name, seconds, limit in readings
        if seconds is not None and _far_off(_floating_mm(jar, seconds), limit)
    ]


def _clay_timing(jar: JarTest) -> str:
    need = settling_time(CLAY_MM, _fall_m(jar), _water_c(jar)) / 3600
    if jar.silt_read_s is None:
        return (
            f"When the silt was read is not noted; 0.002 mm needs {need:.1f} h to fall."
        )
    size = _floating_mm(jar, jar.silt_read_s)
    hours = jar.silt_read_s / 3600
    if size > CLAY_MM * 1.1:
        return (
            f"Read after {hours:.2g} h, the clay layer also holds silt up to {size:.4f} mm:"
            f" by Stokes' law 0.002 mm needs {need:.1f} h."
        )
    if size < CLAY_MM / 1.1:
        return (
            f"Read after {hours:.2g} h, the silt layer also holds clay down to"
            f" {size:.4f} mm: by Stokes' law 0.002 mm needs {need:.1f} h."
        )
    return f"Read after {hours:.2g} h, close to the {need:.1f} h of Stokes' law."


def _sand_timing(jar: JarTest, seconds: float) -> list[str]:
    need = settling_time(SILT_MM, _fall_m(jar), _water_c(jar))
    size = _floating_mm(jar, seconds)
    if size > SILT_MM * 1.25:
        return [
            f"The sand was read early: after {seconds:g} s, 0.05 mm needs {need:.0f} s."
        ]
    if size < SILT_MM / 1.25:
        return [
            f"The sand was read late: after {seconds:g} s, 0.05 mm needs {need:.0f} s."
        ]
    return []
