"""Lengths of many short lines over the WGS 84 ellipsoid at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from logistics.domain.places import Point, geodesic_m

Floats = NDArray[np.float64]

WGS84_AXIS_M = 6_378_137.0
WGS84_FLATTENING = 1 / 298.257_223_563
_POLAR_AXIS_M = WGS84_AXIS_M * (1 - WGS84_FLATTENING)
_ROUNDS = 20
_CLOSE_ENOUGH_RAD = 1e-12


def lengths_m(
    lat_from: ArrayLike, lon_from: ArrayLike, lat_to: ArrayLike, lon_to: ArrayLike
) -> Floats:
    """Geodesic length in metres of each line, given in degrees; the shapes broadcast.

    Vincenty's inverse formula (Survey Review 23(176), 1975), which is exact to
    well under a millimetre. The few nearly antipodal lines on which it does not settle
    are computed one by one by `geodesic_m`.
    """
    given = (
        np.asarray(a, dtype=np.float64) for a in (lat_from, lon_from, lat_to, lon_to)
    )
    lat1, lon1, lat2, lon2 = np.broadcast_arrays(*given)
    with np.errstate(invalid="ignore", divide="ignore"):
        metres, settled = _vincenty(
            _reduced(lat1),
            _reduced(lat2),
            # The short way round, also across the 180th meridian.
            np.deg2rad((lon2 - lon1 + 180) % 360 - 180),
        )
    metres = np.atleast_1d(metres)
    flat = metres.reshape(-1)
    for index in np.flatnonzero(~np.atleast_1d(settled).reshape(-1)):
        start = Point(float(lat1.flat[index]), float(lon1.flat[index]))
        end = Point(float(lat2.flat[index]), float(lon2.flat[index]))
        flat[index] = geodesic_m(start, end)
    return metres.reshape(lat1.shape)


def metres_per_degree(lat: float) -> tuple[float, float]:
    """Metres per degree of latitude and of longitude at a latitude, on WGS 84.

    From the radii of curvature in the meridian and in the prime vertical.
    """
    square = WGS84_FLATTENING * (2 - WGS84_FLATTENING)
    shrink = 1 - square * np.sin(np.deg2rad(lat)) ** 2
    meridian = WGS84_AXIS_M * (1 - square) / shrink**1.5
    vertical = WGS84_AXIS_M / np.sqrt(shrink)
    degree = np.pi / 180
    return (
        float(meridian * degree),
        float(vertical * np.cos(np.deg2rad(lat)) * degree),
    )


def _reduced(lat: Floats) -> Floats:
    """Reduced latitude in radians."""
    tangent = (1 - WGS84_FLATTENING) * np.tan(np.deg2rad(lat))
    return np.asarray(np.arctan(tangent), dtype=np.float64)


def _vincenty(
    u1: Floats, u2: Floats, difference: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Lengths, and which of them are settled."""
    sine, cosine = np.sin(u1) * np.sin(u2), np.cos(u1) * np.cos(u2)
    cross, other = np.cos(u1) * np.sin(u2), np.sin(u1) * np.cos(u2)
    f = WGS84_FLATTENING
    lam, metres = difference, np.zeros_like(difference)
    settled = np.zeros(difference.shape, dtype=np.bool_)
    for _ in range(_ROUNDS):
        sin_sigma = np.hypot(np.cos(u2) * np.sin(lam), cross - other * np.cos(lam))
        cos_sigma = sine + cosine * np.cos(lam)
        sigma = np.arctan2(sin_sigma, cos_sigma)
        # Where both ends are one point, or on the equator, the quotients are 0/0.
        sin_alpha = np.nan_to_num(cosine * np.sin(lam) / sin_sigma)
        cos2_alpha = 1 - sin_alpha**2
        middle = np.nan_to_num(
            cos_sigma - 2 * sine / cos2_alpha, posinf=0.0, neginf=0.0
        )
        c = f / 16 * cos2_alpha * (4 + f * (4 - 3 * cos2_alpha))
        wave = middle + c * cos_sigma * (2 * middle**2 - 1)
        previous = lam
        lam = difference + (1 - c) * f * sin_alpha * (sigma + c * sin_sigma * wave)
        settled = (np.abs(lam - previous) < _CLOSE_ENOUGH_RAD) & (np.abs(lam) <= np.pi)
        metres = _arc_m(sin_sigma, cos_sigma, cos2_alpha, middle)
        if bool(np.all(settled)):
            break
    return metres, settled


def _arc_m(
    sin_sigma: Floats, cos_sigma: Floats, cos2_alpha: Floats, middle: Floats
) -> Floats:
    square = cos2_alpha * ((WGS84_AXIS_M / _POLAR_AXIS_M) ** 2 - 1)
    big = 1 + square / 16384 * (4096 + square * (-768 + square * (320 - 175 * square)))
    small = square / 1024 * (256 + square * (-128 + square * (74 - 47 * square)))
    third = small / 6 * middle * (4 * sin_sigma**2 - 3) * (4 * middle**2 - 3)
    bend = cos_sigma * (2 * middle**2 - 1) - third
    change = small * sin_sigma * (middle + small / 4 * bend)
    sigma = np.arctan2(sin_sigma, cos_sigma)
    return np.asarray(_POLAR_AXIS_M * big * (sigma - change), dtype=np.float64)
