"""Reading a ticked class, plain words or a soil map: wide ranges, weak grounds."""

from __future__ import annotations

from matching.domain.soil.evidence import Finding, Rung, bounded, ranged
from matching.domain.soil.records import PlainTexture, SoilMap, TickedTexture
from matching.domain.soil.texture import Texture, bounds_of

# What plain words cover: ours, by the names of the classes.
CLASSES: dict[PlainTexture, tuple[Texture, ...]] = {
    PlainTexture.SANDY: (Texture.SAND, Texture.LOAMY_SAND, Texture.SANDY_LOAM),
    PlainTexture.LOAMY: (Texture.LOAM, Texture.SANDY_LOAM, Texture.SANDY_CLAY_LOAM),
    PlainTexture.SILTY: (Texture.SILT, Texture.SILT_LOAM, Texture.SILTY_CLAY_LOAM),
    PlainTexture.CLAYEY: (
        Texture.SANDY_CLAY_LOAM,
        Texture.CLAY_LOAM,
        Texture.SILTY_CLAY_LOAM,
        Texture.SANDY_CLAY,
        Texture.SILTY_CLAY,
    ),
    PlainTexture.HEAVY_CLAY: (Texture.SILTY_CLAY, Texture.CLAY),
}
# Trained surveyors hit the class half the time (Foss 1975); a holder less, a map knows the
# area and not the pit. Points added on both sides: ours.
TICKED_POINTS = 0.08
MAP_POINTS = 0.12


def read_ticked(ticked: TickedTexture) -> Finding:
    """The range of the ticked class, widened."""
    told = ticked.texture or ticked.words
    classes, name = _classes(told), str(told).replace("_", " ")
    return _named(
        ticked,
        classes,
        TICKED_POINTS,
        f'The holder calls it "{name}"',
        "Nobody measured it; even surveyors name the laboratory's class only half the"
        " time (Foss 1975).",
    )


def read_map(printed: SoilMap) -> Finding:
    """The range of the printed class, widened more."""
    return _named(
        printed,
        (printed.texture,),
        MAP_POINTS,
        f'{printed.map_name} prints "{printed.texture.words}"',
        "A map knows the area, not this pit; surveys themselves ask for a look on site.",
    )


def _classes(told: Texture | PlainTexture | None) -> tuple[Texture, ...]:
    if isinstance(told, PlainTexture):
        return CLASSES[told]
    return () if told is None else (told,)


def _named(
    record: TickedTexture | SoilMap,
    classes: tuple[Texture, ...],
    points: float,
    who: str,
    doubt: str,
) -> Finding:
    bounds = [bounds_of(texture) for texture in classes]
    clay, silt = (
        bounded(
            min(share.low for share in shares) - points,
            sum(share.likely for share in shares) / len(shares),
            max(share.high for share in shares) + points,
        )
        for shares in (
            [bound.clay for bound in bounds],
            [bound.silt for bound in bounds],
        )
    )
    return Finding(
        kind=record.kind,
        rung=Rung.MAP,
        sample=record.sample,
        clay=clay,
        silt=silt,
        says=f"{who}: {ranged(clay)} clay.",
        doubt=f"{doubt} Widened by {points * 100:.0f} points.",
    )
