"""How fast grains sink in water: Stokes' law, with the water's temperature.

v = g (grain density - water density) d^2 / (18 viscosity). Grains are taken as spheres of
2650 kg/m3. Clay is plates, not spheres, so times for clay are of equivalent spheres, as
everywhere. The law fails for grains above about 0.1 mm, which stir the water (Reynolds
number near 1); nothing here asks about larger ones than 0.063 mm.
"""

from __future__ import annotations

import math

from logistics.domain.errors import refuse

GRAVITY = 9.806_65
GRAIN_KG_PER_M3 = 2650.0
COLDEST_C = 0.0
HOTTEST_C = 40.0


def water_density(celsius: float) -> float:
    """kg/m3 of water at 0-40 C: Kell 1975, J. Chem. Eng. Data 20, 97 (seen in public code).

    Raises Refused ("water_temperature") outside that range.
    """
    t = _temperature(celsius)
    top = -2.805_425_3e-10
    for factor in (
        1.055_630_2e-7,
        -4.617_046_1e-5,
        -7.987_040_1e-3,
        16.945_176,
        999.839_52,
    ):
        top = top * t + factor
    return top / (1 + 0.016_879_85 * t)


def water_viscosity(celsius: float) -> float:
    """Pa s of water at 0-40 C: Laliberte 2007, J. Chem. Eng. Data (seen in public code).

    Raises Refused ("water_temperature") outside that range.
    """
    t = _temperature(celsius)
    return 1e-3 * (t + 246) / ((0.055_94 * t + 5.2842) * t + 137.37)


def stokes_speed(
    size_mm: float,
    *,
    viscosity: float,
    water_kg_per_m3: float,
    gravity: float = GRAVITY,
) -> float:
    """m/s at which a grain of `size_mm` sinks in water of a given viscosity in Pa s."""
    excess = GRAIN_KG_PER_M3 - water_kg_per_m3
    return gravity * excess * (size_mm / 1000) ** 2 / (18 * viscosity)


def settling_time(size_mm: float, fall_m: float, celsius: float = 20.0) -> float:
    """Seconds in which every grain of `size_mm` or more has sunk `fall_m`.

    Raises Refused for a size or height that is not above zero, or water outside 0-40 C.
    """
    _positive("size_mm", size_mm)
    _positive("fall_m", fall_m)
    return fall_m / _speed(size_mm, celsius)


def size_in_suspension(seconds: float, fall_m: float, celsius: float = 20.0) -> float:
    """mm of the largest grain that may still float after so many seconds: larger ones have
    all sunk `fall_m`.

    Raises Refused for a time or height that is not above zero, or water outside 0-40 C.
    """
    _positive("seconds", seconds)
    _positive("fall_m", fall_m)
    return math.sqrt(fall_m / seconds / _speed(1.0, celsius))


def _speed(size_mm: float, celsius: float) -> float:
    return stokes_speed(
        size_mm,
        viscosity=water_viscosity(celsius),
        water_kg_per_m3=water_density(celsius),
    )


def _temperature(celsius: float) -> float:
    if not COLDEST_C <= celsius <= HOTTEST_C:
        raise refuse(
            "water_temperature",
            field="water_c",
            given=celsius,
            message="the water must be between 0 and 40 C",
            remedy="Give its temperature in degrees Celsius; 68 F is 20 C.",
        )
    return celsius


def _positive(field: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise refuse(
            "not_above_zero",
            field=field,
            given=value,
            message="must be above zero",
            remedy="Give a measured figure.",
        )
