"""What a blend must keep: its clay inside a window, its silt and clay below a limit.

Each rule is linear: the sum of `excess x dry mass` over what is used must not exceed 0.
So a programme, a recipe of two parts and a check of a finished blend read the same rule.
"""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.quantities import Spread
from matching.domain.materials import Material, Straw, Subsoil
from matching.domain.silt import SAND_SILT, guessed_silt
from matching.domain.takeoff import MixTarget


@dataclass(frozen=True, slots=True)
class BlendWindow:
    """Least and most clay and most clay and silt together, as shares of the dry mass.

    `safe` holds the rules at the far end of what is known of each material; otherwise the
    likely figures count.
    """

    clay_low: float
    clay_high: float
    most_fines: float = 1.0
    safe: bool = False

    @staticmethod
    def of(mix: MixTarget, *, safe: bool = False) -> BlendWindow:
        """The window of a mix."""
        return BlendWindow(mix.clay_low, mix.clay_high, mix.fines_limit, safe)

    def excesses(self, material: Material) -> tuple[float, float, float]:
        """How far a material alone lies outside: too lean, too rich, too fine; negative
        figures are room."""
        clay, silt = clay_of(material), silt_of(material)
        if self.safe:
            leanest, richest = clay.low, clay.high
            measured = not isinstance(material, Straw) and material.silt is not None
            finest = min(1.0, clay.high + (silt.high if measured else silt.likely))
        else:
            leanest = richest = clay.likely
            finest = clay.likely + silt.likely
        return (
            self.clay_low - leanest,
            richest - self.clay_high,
            finest - self.most_fines,
        )

    def admits(self, material: Material) -> bool:
        """Whether a material keeps every rule alone."""
        return all(excess <= 1e-12 for excess in self.excesses(material))

    @property
    def words(self) -> str:
        """The window for people."""
        text = f"{self.clay_low * 100:.0f} to {self.clay_high * 100:.0f} % clay"
        if self.most_fines < 1:
            text += f" and at most {self.most_fines * 100:.0f} % clay and silt"
        return text + (" at both ends of what is known" if self.safe else "")


def clay_of(material: Material) -> Spread:
    """Clay share; straw has none."""
    return Spread.exactly(0.0) if isinstance(material, Straw) else material.clay


def silt_of(material: Material) -> Spread:
    """Silt share; where nobody has measured it a stated guess with all that it may be."""
    if isinstance(material, Straw):
        return Spread.exactly(0.0)
    if material.silt is not None:
        return material.silt
    return guessed_silt(material.clay) if isinstance(material, Subsoil) else SAND_SILT


def blended(parts: tuple[tuple[Material, float], ...]) -> tuple[Spread, Spread]:
    """Clay share and share of clay and silt of dry masses of materials."""
    total = sum(kg for _, kg in parts)

    def mean(of: tuple[tuple[Spread, float], ...]) -> Spread:
        low = sum(own.low * kg for own, kg in of) / total
        likely = sum(own.likely * kg for own, kg in of) / total
        high = sum(own.high * kg for own, kg in of) / total
        return Spread(low, min(max(likely, low), high), high)

    clay = mean(tuple((clay_of(own), kg) for own, kg in parts))
    silt = mean(tuple((silt_of(own), kg) for own, kg in parts))
    fines = Spread(
        clay.low + silt.low,
        clay.likely + silt.likely,
        max(clay.likely + silt.likely, min(1.0, clay.high + silt.high)),
    )
    return clay, fines
