"""Clay and silt of a sand from what passes its finest sieve."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matching.domain.grading import Grading
from matching.domain.grounds import Known
from matching.domain.sands.fines import clay_and_silt, fines_of
from matching.domain.sands.records import SandRecord

shares = st.floats(0, 1)
gradings = st.none() | st.builds(
    lambda low, high, finest: Grading(
        ((finest, min(low, high)), (10.0, max(low, high)))
    ),
    shares,
    shares,
    st.sampled_from([0.002, 0.063, 0.075, 0.15, 0.6]),
)
sands = st.builds(
    SandRecord,
    grading=gradings,
    fines=st.none() | shares,
    clayey=st.sampled_from(Known),
)


def test_a_sand_of_which_nothing_was_measured_has_no_fines_of_its_own():
    assert clay_and_silt(SandRecord()) is None


def test_what_passes_the_finest_sieve_is_clay_and_silt():
    """By hand: 8 % pass 0.075 mm; a quarter of it is taken as clay (our own choice)."""
    record = SandRecord(grading=Grading(((0.075, 0.08), (4.75, 1.0))))
    found = clay_and_silt(record)
    assert found is not None
    clay, silt = found
    assert (clay.low, clay.likely, clay.high) == pytest.approx((0, 0.02, 0.08))
    assert (silt.low, silt.likely, silt.high) == pytest.approx((0, 0.06, 0.08))


def test_fines_that_smear_are_mostly_clay():
    """By hand: of 8 % at least half, likely three quarters."""
    record = SandRecord(fines=0.08, clayey=Known.YES)
    found = clay_and_silt(record)
    assert found is not None
    clay, silt = found
    assert (clay.low, clay.likely, clay.high) == pytest.approx((0.04, 0.06, 0.08))
    assert silt.high == pytest.approx(0.04)


def test_sieves_that_end_above_the_fines_bound_them_only():
    """By hand: 12 % pass 0.15 mm, so between none and 12 % are fines."""
    fines = fines_of(SandRecord(grading=Grading(((0.15, 0.12), (4.75, 1.0)))))
    assert fines is not None
    assert (fines.low, fines.high) == (0, 0.12)
    assert fines.likely == pytest.approx(0.02)


@given(sands)
def test_likely_clay_and_silt_are_the_likely_fines_and_neither_exceeds_all(record):
    """Property."""
    fines, found = fines_of(record), clay_and_silt(record)
    assert (fines is None) is (found is None)
    if fines is None or found is None:
        return
    clay, silt = found
    assert clay.likely + silt.likely == pytest.approx(fines.likely)
    assert max(clay.high, silt.high) <= fines.high + 1e-12
