"""Lengths on the ellipsoid against published lines.

Sources: C. F. F. Karney, test set for geodesics (GeodTest, zenodo 32156), of which the
geographiclib package carries 20 rows; the GDA Technical Manual's line from Flinders
Peak to Buninyong.
"""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from geographiclib.test.test_geodesic import GeodesicTest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.places import Point, geodesic_m
from logistics.domain.roads.geodesics import lengths_m, metres_per_degree

MILLIMETRE = 1e-3
ROWS = [
    (row[0], row[1], row[3], row[4], row[6])  # lat1 lon1 azi1 lat2 lon2 azi2 s12
    for row in GeodesicTest.testcases
]
# Rows of the full GeodTest file that the package does not carry.
MORE_ROWS = [
    (
        36.530042355041,
        0.0,
        -48.164270779097768864,
        5.762344694676510456,
        9_398_502.0434687,
    ),
    (78.10174623178, 0.0, 78.099711031638792, 0.014156770744057927, 397.364659),
    (8.226828747671, 0.0, -8.516119211674269, 178.68897958262922, 19_886_305.6710041),
]


def degrees(sign: int, whole: int, minutes: int, seconds: float) -> float:
    return sign * (whole + minutes / 60 + seconds / 3600)


FLINDERS_PEAK = Point(degrees(-1, 37, 57, 3.72030), degrees(1, 144, 25, 29.52440))
BUNINYONG = Point(degrees(-1, 37, 39, 10.15610), degrees(1, 143, 55, 35.38390))


@pytest.mark.parametrize("row", ROWS + MORE_ROWS)
def test_both_ways_of_measuring_meet_the_published_lengths(row):
    lat1, lon1, lat2, lon2, metres = row
    east_or_west = (lon2 + 180) % 360 - 180  # some rows count on beyond 180 degrees
    one = geodesic_m(Point(lat1, lon1), Point(lat2, east_or_west))
    assert one == pytest.approx(metres, abs=MILLIMETRE)
    assert float(lengths_m(lat1, lon1, lat2, lon2)) == pytest.approx(
        metres, abs=MILLIMETRE
    )


def test_all_published_lines_at_once_meet_their_lengths():
    columns = np.array(ROWS + MORE_ROWS).T
    assert np.abs(lengths_m(*columns[:4]) - columns[4]).max() < MILLIMETRE


def test_flinders_peak_to_buninyong_is_54972_metres_and_271_millimetres():
    # Published on GRS 80, whose flattening differs from WGS 84 by 1e-11: 0.1 mm here.
    metres = 54_972.271
    assert geodesic_m(FLINDERS_PEAK, BUNINYONG) == pytest.approx(metres, abs=MILLIMETRE)
    ends = (FLINDERS_PEAK.lat, FLINDERS_PEAK.lon, BUNINYONG.lat, BUNINYONG.lon)
    assert float(lengths_m(*ends)) == pytest.approx(metres, abs=MILLIMETRE)


@given(
    lat=st.floats(-89.9, 89.9),
    lon=st.floats(-180, 180),
    north=st.floats(-1.5, 1.5),
    east=st.floats(-1.5, 1.5),
)
def test_lines_of_the_length_of_roads_are_exact_to_a_millimetre(lat, lon, north, east):
    # The source is geographiclib.
    lat2 = float(np.clip(lat + north, -90, 90))
    expected = Geodesic.WGS84.Inverse(lat, lon, lat2, lon + east)["s12"]
    metres = float(lengths_m(lat, lon, lat2, lon + east))
    assert metres == pytest.approx(expected, abs=MILLIMETRE)


def test_lines_of_no_length_and_along_the_equator_are_measured_too():
    # source: geographiclib; here the formula's quotients are 0/0
    assert lengths_m([0.0, 46.0, 90.0], 3.0, [0.0, 46.0, 90.0], 3.0).tolist() == [
        0,
        0,
        0,
    ]
    equator = Geodesic.WGS84.Inverse(0, 0, 0, 1)["s12"]
    assert float(lengths_m(0, 0, 0, 1)) == pytest.approx(equator, abs=MILLIMETRE)
    across = Geodesic.WGS84.Inverse(10, 179.9, 10.1, -179.9)["s12"]
    assert float(lengths_m(10, 179.9, 10.1, -179.9)) == pytest.approx(
        across, abs=MILLIMETRE
    )


@pytest.mark.parametrize("lat", [-60.0, 0.0, 46.6, 70.0])
def test_a_degree_is_as_long_as_a_short_geodesic_says(lat):
    # source: geographiclib, over 0.001 degrees
    per_lat, per_lon = metres_per_degree(lat)
    north = Geodesic.WGS84.Inverse(lat - 5e-4, 0, lat + 5e-4, 0)["s12"]
    east = Geodesic.WGS84.Inverse(lat, 0, lat, 1e-3)["s12"]
    assert per_lat == pytest.approx(north * 1000, rel=1e-8)
    assert per_lon == pytest.approx(east * 1000, rel=1e-8)
