"""Weighing evidence: hand-worked cases and the properties that the rule was chosen for."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.domain.quantities import Spread
from matching.domain.soil.combine import combine, cut_to, fitting_silt
from matching.domain.soil.estimate import estimate_of
from matching.domain.soil.evidence import Finding, Rung
from tests.matching.domain.soil.cases import LABEL, findings, spreads

WEIGHTS = [rung.weight for rung in Rung if rung is not Rung.NOTHING]
weighed = st.lists(
    st.tuples(spreads(), st.sampled_from(WEIGHTS)), min_size=1, max_size=6
)


def combined(told: list[tuple[Spread, int]]) -> Spread:
    found = combine(told)
    assert found is not None
    return found


def test_nothing_says_nothing():
    assert combine([]) is None


def test_the_better_rung_overrules_the_lesser():
    """Hand-worked: laboratory 12 against jar 2; the jar does not meet the range."""
    found = combined([(Spread(0.10, 0.12, 0.15), 12), (Spread(0.30, 0.40, 0.50), 2)])
    assert found == Spread(0.10, 0.12, 0.15)


def test_the_lesser_rung_pulls_the_best_estimate_where_they_meet():
    """Hand-worked: (12 x 0.20 + 3 x 0.30) / 15 = 0.22."""
    found = combined([(Spread(0.15, 0.20, 0.25), 12), (Spread(0.22, 0.30, 0.40), 3)])
    assert (found.low, found.high) == (0.15, 0.25)
    assert found.likely == pytest.approx(0.22)


def test_two_of_one_rung_that_disagree_both_count():
    """Hand-worked: two ribbons apart give their hull and the mean."""
    found = combined([(Spread(0.10, 0.15, 0.20), 3), (Spread(0.30, 0.35, 0.40), 3)])
    assert (found.low, found.high) == (0.10, 0.40)
    assert found.likely == pytest.approx(0.25)


def test_lesser_evidence_that_agrees_against_the_best_widens_it():
    """Hand-worked: map, jar, ribbon and box weigh 1 + 2 + 3 + 6 = 12, as a laboratory."""
    lesser = [(Spread(0.30, 0.35, 0.40), weight) for weight in (1, 2, 3, 6)]
    best = (Spread(0.10, 0.12, 0.15), 12)
    assert combined([best, *lesser]).high == 0.40
    assert combined([best, *lesser[1:]]).high == 0.15


@given(weighed, st.data())
def test_widening_any_evidence_never_narrows_the_range(told, data):
    """Property: the condition of the issue."""
    before = combined(told)
    index = data.draw(st.integers(0, len(told) - 1))
    share, weight = told[index]
    wider = Spread(
        share.low * data.draw(st.floats(0, 1)),
        share.likely,
        share.high + (1 - share.high) * data.draw(st.floats(0, 1)),
    )
    after = combined([*told[:index], (wider, weight), *told[index + 1 :]])
    assert after.low <= before.low
    assert after.high >= before.high


@given(weighed)
def test_the_range_holds_the_best_estimate_and_stays_among_the_evidence(told):
    """Property."""
    found = combined(told)
    assert found.low <= found.likely <= found.high
    assert found.low >= min(share.low for share, _ in told)
    assert found.high <= max(share.high for share, _ in told)


@given(weighed)
def test_the_weightiest_finding_stays_inside(told):
    """Property: nothing below it can cut the best rung's range."""
    found = combined(told)
    heaviest = max(weight for _, weight in told)
    for share, weight in told:
        if weight == heaviest:
            assert found.low <= share.low
            assert found.high >= share.high


@given(weighed, st.randoms())
def test_order_does_not_matter(told, random):
    """Property."""
    shuffled = list(told)
    random.shuffle(shuffled)
    assert combine(shuffled) == combine(told)


@given(spreads(), spreads())
def test_clay_and_silt_never_exceed_the_whole(clay, silt):
    """Property."""
    found = fitting_silt(clay, silt)
    assert found.low <= found.likely <= found.high
    assert clay.likely + found.likely <= 1 + 1e-12
    assert clay.low + found.high <= 1 + 1e-12
    assert clay.high + found.low <= 1 + 1e-12


@given(st.lists(findings(), min_size=1, max_size=5), st.data())
def test_widening_a_finding_widens_clay_and_silt(found, data):
    """Property, through the whole estimate: silt is cut by clay and still never narrows."""
    before = estimate_of(found)
    index = data.draw(st.integers(0, len(found) - 1))
    one = found[index]
    wider = replace(one, clay=_wider(one.clay, data), silt=_wider(one.silt, data))
    after = estimate_of([*found[:index], wider, *found[index + 1 :]])
    for name in ("clay", "silt"):
        was, now = getattr(before, name), getattr(after, name)
        if was is not None:
            assert now.low <= was.low + 1e-12
            assert now.high >= was.high - 1e-12


def _wider(share: Spread | None, data: st.DataObject) -> Spread | None:
    if share is None:
        return None
    return Spread(
        share.low * data.draw(st.floats(0, 1)),
        share.likely,
        share.high + (1 - share.high) * data.draw(st.floats(0, 1)),
    )


@given(st.lists(findings(), max_size=5))
def test_the_first_texture_is_that_of_the_best_estimate(found):
    """Property: and no class is named twice."""
    textures = estimate_of(found).textures
    assert len(set(textures)) == len(textures) > 0


def test_every_pair_that_cannot_both_be_right_is_named_with_the_weightier():
    """Hand-worked: a ribbon far above two laboratories that agree."""
    ribbon = Finding(
        "ribbon", Rung.HAND, LABEL, "r", "d", clay=Spread(0.40, 0.45, 0.60)
    )
    sheet = Finding(
        "laboratory", Rung.LABORATORY, LABEL, "l", "d", clay=Spread(0.10, 0.12, 0.15)
    )
    again = replace(sheet, says="l again", clay=Spread(0.14, 0.16, 0.20))
    found = estimate_of([ribbon, sheet, again])
    assert [quarrel.kinds for quarrel in found.contradictions] == [
        ("laboratory", "ribbon"),
        ("laboratory", "ribbon"),
    ]
    assert "a laboratory weighs more" in found.contradictions[0].text
    assert found.clay.high == 0.20


@given(spreads(), st.lists(spreads(), max_size=4), st.randoms())
def test_bounds_cut_in_any_order(range_, bounds, random):
    """Property."""
    shuffled = list(bounds)
    random.shuffle(shuffled)
    cut = cut_to(range_, bounds)
    assert cut == cut_to(range_, shuffled)
    assert cut.low <= cut.likely <= cut.high


def test_bounds_cut_stretch_or_leave_the_range_between_them():
    """Hand-worked: 20-80 % under 60 is 20-60; over 90 reaches to 90; over 60 and under 30
    leave 30 to 60."""
    range_, over = Spread(0.2, 0.4, 0.8), Spread(0.6, 0.7, 1.0)
    under = Spread(0.0, 0.1, 0.3)
    assert cut_to(range_, [Spread(0.0, 0.5, 0.6)]) == Spread(0.2, 0.4, 0.6)
    assert cut_to(range_, [Spread(0.9, 0.95, 1.0)]) == Spread(0.2, 0.4, 0.9)
    assert cut_to(range_, [over, under]) == Spread(0.3, 0.4, 0.6)
