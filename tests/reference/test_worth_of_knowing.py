"""The value of information against worked examples; payoffs enter as negative costs."""

from __future__ import annotations

import pytest

from matching.domain.mix.worth import worth_of_knowing, worth_of_test


def costs(*payoffs: tuple[float, ...]) -> list[list[float]]:
    return [[-own for own in row] for row in payoffs]


def test_a_new_design_with_three_outcomes():
    """A lecture's solution (coursehero p2jp11h, seen with its answer): present worth 79,063,
    11,042 or -63,781 with 0.30, 0.55 and 0.15, against 0 for the current design. Expected
    20,225; with perfect information 29,792; worth 9,567."""
    found = worth_of_knowing(
        costs((79_063, 11_042, -63_781), (0, 0, 0)), (0.30, 0.55, 0.15)
    )
    assert found.action == 0
    assert found.known == (0, 0, 1)
    assert -found.cost_now == pytest.approx(20_225, abs=1)
    assert -found.cost_known == pytest.approx(29_792, abs=1)
    assert found.worth == pytest.approx(9_567, abs=1)


def test_three_sizes_of_plant():
    """ "Thompson Lumber" slides (scribd 328234192, seen: payoffs, chances, the expected
    86,000 and 48,000). With perfect information 0.3 x 200,000 + 0.5 x 100,000 = 110,000,
    so 24,000, computed here."""
    table = costs((200_000, 100_000, -120_000), (90_000, 50_000, -20_000), (0, 0, 0))
    chances = (0.3, 0.5, 0.2)
    found = worth_of_knowing(table, chances)
    assert -found.cost_now == pytest.approx(86_000)
    assert -worth_of_knowing(table[1:], chances).cost_now == pytest.approx(48_000)
    assert found.worth == pytest.approx(24_000)


def test_three_sizes_of_condominium_and_a_survey():
    """ "Pittsburgh Development" (payoffs seen in stored lecture notes; chances 0.8 and 0.2,
    the survey's 0.90 and 0.25 and the answers from memory): expected 14.2, perfect 17.4,
    worth 3.2. The survey, unrounded: 0.77 and 0.23 for its readings, 13.95 + 1.87 = 15.82,
    worth 1.62; the book prints 15.93 and 1.73 from chances rounded to two places."""
    table, chances = costs((8, 7), (14, 5), (20, -9)), (0.8, 0.2)
    found = worth_of_knowing(table, chances)
    assert -found.cost_now == pytest.approx(14.2)
    assert -found.cost_known == pytest.approx(17.4)
    assert found.worth == pytest.approx(3.2)
    survey = ((0.90, 0.25), (0.10, 0.75))
    assert worth_of_test(table, chances, survey) == pytest.approx(1.62)
